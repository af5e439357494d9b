"""Why each mix stands where it does: in the table, on the overview, in two languages."""

from dataclasses import replace

from api.pages.choice import Choice, Paper
from api.pages.sheet import sheet_html
from api.pages.table import plain_text, plan_table
from api.pages.why import why_rows
from api.pages.words import Words
from planner.planned import Plan
from planner.reasons import BINDS, TEXTS
from planner.remarks import Remark, RemarkKind, difference, minutes, word
from tests.api.pages.papers import reader_for
from tests.api.pages.sample import sample_plan
from tests.api.pages.sample_house import ZONE

FULL = Remark(
    RemarkKind.REASON, "why_not_sooner", TEXTS["binds"]["sooner"],
    (minutes("by", 10.0), word("cause", BINDS["ovens"])),
)  # fmt: skip
AS_WELL = Remark(
    RemarkKind.LEVER, "why_not_warmer", TEXTS["as_well"]["warmer"], (difference("by", 0.5),)
)
BOUND = "Not 10 min sooner: the oven has no room for it when it is ripe."
FREE = "0.5 °C warmer would do as well."


def reasoned() -> Plan:
    """The sample, its first mix with one reason that binds and one that does not."""
    plan = sample_plan()
    first = min(plan.mixes, key=lambda mix: mix.start_utc)
    told = replace(first, reasons=(FULL, AS_WELL))
    return replace(plan, mixes=tuple(told if mix is first else mix for mix in plan.mixes))


def test_a_mix_has_what_binds_apart_from_what_would_do_as_well():
    (row,) = why_rows(reasoned(), reader_for(reasoned()))
    assert (row.number, row.start, row.dough_c) == ("1", "23:40", "25.0 °C")
    assert (row.binds, row.free) == ((BOUND,), (FREE,))


def test_the_table_tells_what_binds_only():
    text = plain_text(plan_table(reasoned(), ZONE))
    assert f"mix 1: {BOUND}" in text
    assert FREE not in text
    assert "Why then" not in plain_text(plan_table(sample_plan(), ZONE))


def test_the_overview_tells_both_and_other_papers_neither():
    reader = reader_for(reasoned())
    overview = sheet_html(reasoned(), reader, Choice((Paper.OVERVIEW,)))
    assert BOUND in overview
    assert FREE in overview
    assert BOUND not in sheet_html(reasoned(), reader, Choice((Paper.DIVIDE,)))


def test_the_overview_tells_it_in_spanish():
    spanish = replace(reader_for(reasoned()), say=Words("es"))
    page = sheet_html(reasoned(), spanish, Choice((Paper.OVERVIEW,)))
    assert "Por qué entonces y así" in page
    assert "why" not in page.split("<tbody>")[-1]
    assert BOUND not in page
