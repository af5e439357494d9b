"""What is wrong with an entry, in a baker's words instead of a library's."""

from __future__ import annotations

from difflib import get_close_matches
from typing import Any

from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

NOT_A_NUMBER = frozenset(
    {"float_parsing", "float_type", "int_parsing", "int_type", "int_parsing_size", "decimal_type"}
)
NOT_A_DATE = frozenset(
    {
        "date_type",
        "date_parsing",
        "date_from_datetime_parsing",
        "date_from_datetime_inexact",
        "datetime_type",
        "datetime_parsing",
        "datetime_from_date_parsing",
    }
)
A_TABLE = frozenset({"model_type", "model_attributes_type", "dict_type", "dataclass_type"})
A_WORD = frozenset({"enum", "literal_error", "union_tag_invalid"})
PROBLEMS: dict[str, str] = {
    **dict.fromkeys(NOT_A_NUMBER, "is not a number"),
    **dict.fromkeys(NOT_A_DATE, "is not a date"),
    **dict.fromkeys(A_TABLE, "is not a table of fields"),
    **dict.fromkeys(A_WORD, "is not one of the words known here"),
    "missing": "is missing",
    "json_invalid": "is not written as JSON",
    "extra_forbidden": "is not a field here",
    "finite_number": "is not a finite number",
    "union_tag_not_found": "does not say what it is",
    "string_type": "is not text",
    "string_too_short": "is empty",
    "string_pattern_mismatch": "cannot be read",
    "bool_type": "is neither true nor false",
    "bool_parsing": "is neither true nor false",
    "list_type": "is not a list",
    "too_short": "has too few entries",
    "int_from_float": "is not a whole number",
}


def sentence(
    error: ErrorDetails, info: FieldInfo | None, known_fields: list[str]
) -> tuple[str, str]:
    """Return problem and remedy of an error, without full stops.

    Parameters
    ----------
    error
        What the checking library found.
    info
        The field it found it in, if there is such a field.
    known_fields
        Fields of the entry, for a guess at what was meant.
    """
    kind = error["type"]
    context = error.get("ctx", {})
    if kind == "extra_forbidden":
        remedy = _other_spelling(str(error["loc"][-1]), known_fields)
    elif kind in A_WORD:
        remedy = f"use one of: {_choices(context)}"
    elif kind == "json_invalid":
        remedy = "look for a missing quote, bracket or comma there or just before"
    elif kind in NOT_A_DATE:
        remedy = "write year-month-day, such as 2026-07-15"
    else:
        remedy = f"enter {purpose(info)}"
    if kind == "string_too_short" and context.get("min_length", 1) > 1:
        return f"is shorter than {context['min_length']} letters", remedy
    return PROBLEMS.get(kind, "cannot be read"), remedy


def purpose(info: FieldInfo | None) -> str:
    """Return what a field wants, with an example, to stand after *enter*.

    Examples
    --------
    >>> purpose(None)
    'another value'
    """
    if info is None or not info.description:
        return "another value"
    text = info.description.split(". ")[0].rstrip(".")
    text = text[0].lower() + text[1:]
    example = info.examples[0] if info.examples else None
    if example is None or isinstance(example, dict | list):
        return text
    return f"{text}, such as {example}"


def _choices(context: dict[str, Any]) -> str:
    choices = str(context.get("expected") or context.get("expected_tags", ""))
    return choices.replace("'", "").replace(" or ", ", ")


def _other_spelling(key: str, known_fields: list[str]) -> str:
    near = get_close_matches(key, known_fields, n=1)
    return f"did you mean {near[0]}?" if near else "leave it out"
