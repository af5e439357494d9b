"""Sentences of a plan as they are sent: rendered in the bakery's units and clock time."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import ValidationInfo, model_validator

from api.schemas.reader import Read, reader_of, shown
from planner.remarks import Remark, RemarkKind


class RemarkRead(Read):
    """A reason, caution, unmet wish, lever or note."""

    kind: Annotated[RemarkKind, shown("What the sentence is for.", "reason")]
    code: Annotated[str, shown("Stable short name of the sentence.", "oven_full")]
    text: Annotated[
        str,
        shown("The sentence.", "A degree cooler: the deck oven is free only at 04:40."),
    ]
    subject: Annotated[
        str,
        shown("Id of the mix or preparation it is about; empty for the whole plan.", "white-1"),
    ]

    @model_validator(mode="before")
    @classmethod
    def _render(cls, value: Any, info: ValidationInfo) -> Any:  # noqa: ANN401  any input
        if not isinstance(value, Remark):
            return value
        return {
            "kind": value.kind,
            "code": value.code,
            "text": reader_of(info).sentence(value),
            "subject": value.subject,
        }
