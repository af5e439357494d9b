"""What a plan weighed, and how it fares on other nights, in the house's words."""

from __future__ import annotations

from api.pages.reader import Reader
from api.pages.wording import difference_text, number
from planner.bakery import Care
from planner.planned import Plan
from planner.robustness import USUAL

CARE_WORDS = {
    Care.IN_THE_USUAL_ORDER: "the usual order",
    Care.RIPE_DOUGHS: "ripe doughs",
    Care.FRESH_BREAD: "fresh bread",
    Care.LITTLE_ICE: "little ice",
    Care.LATE_START: "a late start",
    Care.FEW_CHANGES: "few changes",
}


def outlook_lines(plan: Plan, reader: Reader) -> tuple[str, ...]:
    """Return how many doughs other nights would put outside their windows, and what was weighed.

    Parameters
    ----------
    plan
        The plan; what was weighed is told where it is not the usual order.
    reader
        How the house reads quantities, and in which words.
    """
    lines: list[str] = []
    care = plan.day.bakery.cares_for
    if care is not Care.IN_THE_USUAL_ORDER:
        lines.append(
            reader.say(
                "Weighed most, once bread leaves in time: {care}.",
                care=reader.say(CARE_WORDS[care]),
            )
        )
    if plan.robustness is not None and plan.robustness.judged:
        lines.append(on_other_nights(plan, reader))
    return tuple(lines)


def on_other_nights(plan: Plan, reader: Reader) -> str:
    """Return the share of a plan's doughs outside their windows, with what it is counted on."""
    found = plan.robustness
    if found is None:
        return ""
    return reader.say(
        "By the clock alone, {share} % of divides and loadings would miss their window on nights"
        " with rooms up to {room} off, doughs and work up to {rate} % quicker or slower ({count}"
        " counted).",
        share=number(100 * found.outside_share),
        room=difference_text(USUAL.room_k, reader.units),
        rate=number(100 * USUAL.rate),
        count=str(found.judged),
    )
