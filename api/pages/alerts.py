"""What must be read first: wishes that could not be met, with their levers, then cautions."""

from __future__ import annotations

from dataclasses import dataclass

from api.pages.names import Names
from api.pages.reader import Reader
from planner.planned import Plan
from planner.remarks import Remark, RemarkKind


@dataclass(frozen=True, slots=True)
class Alert:
    """One sentence to read before the work begins.

    Attributes
    ----------
    kind
        ``not met``, ``could help`` or ``take care``: printed in front of the sentence.
    about
        The mix or preparation it is about; empty for the whole plan.
    is_unmet, is_caution
        Whether it says what could not be met, or what to take care of at a step.
    """

    kind: str
    about: str
    text: str
    is_unmet: bool = False
    is_caution: bool = False


KIND_WORDS = {
    RemarkKind.UNMET: "not met",
    RemarkKind.LEVER: "could help",
    RemarkKind.CAUTION: "take care",
    RemarkKind.NOTE: "note",
    RemarkKind.REASON: "why",
}


def all_remarks(plan: Plan) -> tuple[Remark, ...]:
    """Return the remarks of a plan, of its mixes and preparations, each once."""
    of_mixes = [remark for mix in plan.mixes for remark in mix.remarks]
    of_preparations = [remark for one in plan.preparations for remark in one.remarks]
    return tuple(dict.fromkeys((*plan.remarks, *of_mixes, *of_preparations)))


def about(subjects: list[str], named: set[str], names: Names, plan: Plan, reader: Reader) -> str:
    """Return what a remark is about, in the words of the sheet.

    A dough that the sentence names anyway is not named twice; several mixes of which the same
    is said stand together.
    """
    mixes = [m for m in plan.mixes if any(_concerns(subject, m.id) for subject in subjects)]
    if len(mixes) > 1:
        return names.mixes((mix.id for mix in mixes), reader.say)
    if mixes:
        dough = names.dough(mixes[0])
        number = names.mix(mixes[0].id, reader.say)
        return number if dough in named else f"{number}, {dough}"
    preparations = [p.name for p in plan.preparations if p.id in subjects and p.name not in named]
    return ", ".join(dict.fromkeys(preparations))


def _concerns(subject: str, mix_id: str) -> bool:
    return subject == mix_id or subject.startswith(f"{mix_id}/")


def alerts(plan: Plan, reader: Reader) -> tuple[Alert, ...]:
    """List unmet wishes first, each followed by what could help, then levers left, then cautions.

    Parameters
    ----------
    plan
        The plan.
    reader
        How the house reads time and quantities.
    """
    names = Names(plan)
    grouped: dict[tuple[str, str], list[Remark]] = {}
    for remark in _in_order(all_remarks(plan)):
        key = (KIND_WORDS[remark.kind], reader.remark(remark))
        grouped.setdefault(key, []).append(remark)
    return tuple(
        Alert(
            reader.say(kind),
            about(
                [remark.subject for remark in remarks],
                {str(figure.value) for figure in remarks[0].figures},
                names,
                plan,
                reader,
            ),
            text,
            is_unmet=kind == KIND_WORDS[RemarkKind.UNMET],
            is_caution=kind == KIND_WORDS[RemarkKind.CAUTION],
        )
        for (kind, text), remarks in grouped.items()
    )


def _in_order(remarks: tuple[Remark, ...]) -> list[Remark]:
    levers = [r for r in remarks if r.kind is RemarkKind.LEVER]
    ordered: list[Remark] = []
    for unmet in (r for r in remarks if r.kind is RemarkKind.UNMET):
        ordered += [unmet, *(r for r in levers if r.subject == unmet.subject)]
    ordered += levers
    ordered += [r for r in remarks if r.kind is RemarkKind.CAUTION]
    return list(dict.fromkeys(ordered))
