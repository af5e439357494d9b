"""Plans, readings, answers and corrections of the core as JSON documents, and back."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from pydantic import TypeAdapter

from planner.corrections import Corrections
from planner.planned import Answer, Plan
from planner.quantities import Unit
from planner.readings import Reading

_PLAN = TypeAdapter(Plan)
_ANSWER = TypeAdapter(Answer)
_READING = TypeAdapter(Reading)
_CORRECTIONS = TypeAdapter(Corrections)
_FIGURE = {"name", "value", "unit"}


def plan_to_document(plan: Plan) -> dict[str, Any]:
    """Return a plan as a JSON document."""
    return _document(_PLAN, plan)


def plan_from_document(document: dict[str, Any]) -> Plan:
    """Return the plan of a document."""
    return _PLAN.validate_python(_moments_back(document))


def answer_to_document(answer: Answer) -> dict[str, Any]:
    """Return an answer as a JSON document."""
    return _document(_ANSWER, answer)


def answer_from_document(document: dict[str, Any]) -> Answer:
    """Return the answer of a document."""
    return _ANSWER.validate_python(_moments_back(document))


def reading_to_document(reading: Reading) -> dict[str, Any]:
    """Return a reading as a JSON document."""
    return _document(_READING, reading)


def reading_from_document(document: dict[str, Any]) -> Reading:
    """Return the reading of a document."""
    return _READING.validate_python(document)


def corrections_to_document(learned: Corrections) -> dict[str, Any]:
    """Return what was learned as a JSON document."""
    return _document(_CORRECTIONS, learned)


def corrections_from_document(document: dict[str, Any]) -> Corrections:
    """Return what was learned, of a document."""
    return _CORRECTIONS.validate_python(document)


def _document(adapter: TypeAdapter[Any], value: object) -> dict[str, Any]:
    # A whole number in a field of floats is no fault; without this it is a warning.
    document: dict[str, Any] = adapter.dump_python(value, mode="json", warnings=False)
    return document


def _moments_back(document: Any) -> Any:  # noqa: ANN401  any JSON
    """Return the document with every remark's moment as a moment.

    A figure may be a number, a moment or a word, and JSON has one form for the last two: its
    unit tells them apart.
    """
    if isinstance(document, list):
        return [_moments_back(one) for one in document]
    if not isinstance(document, dict):
        return document
    if document.keys() == _FIGURE and document["unit"] == Unit.TIME:
        return {**document, "value": datetime.fromisoformat(document["value"])}
    return {key: _moments_back(one) for key, one in document.items()}
