"""Files of finished mixes: what the mixers have done so far, in TOML."""

from __future__ import annotations

from pydantic import ValidationError

from api.files.faults import faults_of_validation
from api.files.toml_day import parsed
from api.schemas.base import Faults, every
from api.schemas.finished import FinishedMixesInput
from planner import noted
from planner.conditions import Conditions
from planner.corrections import Corrections
from planner.day import Day
from planner.errors import Fault, InputError


def learned(text: str, name: str, day: Day, conditions: Conditions) -> Corrections:
    """Return what the finished mixes of a file have taught.

    Parameters
    ----------
    text, name
        Contents of the file, and how it is called in a fault.
    day, conditions
        The bakery with its mixers and formulas, and the night.

    Raises
    ------
    InputError
        With every fault of the file.
    """
    mixers, formulas = [m.id for m in day.bakery.mixers], [f.id for f in day.formulas]
    try:
        faults = Faults()
        mixes = faults.build(
            every, "finished", _read(text).finished, lambda one: one.to_core(mixers, formulas)
        )
        faults.settle()
        return noted(day, conditions, mixes or (), Corrections())
    except InputError as error:
        raise InputError(_of_file(fault, name) for fault in error.faults) from None


def _read(text: str) -> FinishedMixesInput:
    data = parsed(text)
    try:
        return FinishedMixesInput.model_validate(data)
    except ValidationError as error:
        raise InputError(faults_of_validation(error, data)) from None


def _of_file(fault: Fault, name: str) -> Fault:
    field = fault.field.replace("remembered[", "finished[", 1)
    return Fault(f"{name}, {field}", fault.value, fault.problem, fault.remedy)
