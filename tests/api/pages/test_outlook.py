"""What a plan weighed and how it fares on other nights: on the sheet, the table and as JSON."""

from dataclasses import replace

from api.pages.outlook import on_other_nights, outlook_lines
from api.pages.reader import reader_of
from api.pages.sheet import sheet_html
from api.pages.table import plain_text, plan_table
from api.pages.wording import Units
from api.schemas.plans import NightRead
from planner.bakery import Care
from planner.other_nights import Robustness
from planner.planned import Plan
from tests.api.pages.papers import reader_for
from tests.api.pages.sample import sample_plan
from tests.api.pages.sample_house import ZONE

FOUND = Robustness(200, 300, 30, 300, 15)
"""45 of 600: 7.5 %, told as 8."""


def judged(care: Care = Care.FRESH_BREAD) -> Plan:
    plan = sample_plan()
    house = replace(plan.day.bakery, cares_for=care)
    return replace(plan, day=replace(plan.day, bakery=house), robustness=FOUND)


def test_the_share_is_told_with_what_it_is_counted_on():
    plan = judged()
    weighed, share = outlook_lines(plan, reader_for(plan))
    assert weighed == "Weighed most, once bread leaves in time: fresh bread."
    assert "8 % of divides and loadings" in share
    assert "rooms up to 1.5 °C off" in share
    assert "(600 counted)" in share


def test_degrees_are_told_as_the_house_reads_them():
    """1.5 K are 2.7 °F."""
    plan = judged()
    assert "2.7 °F off" in outlook_lines(plan, reader_of(plan, ZONE, Units.US))[1]


def test_a_plan_that_was_not_judged_so_claims_no_share():
    plan = replace(judged(), robustness=None)
    assert len(outlook_lines(plan, reader_for(plan))) == 1
    empty = replace(plan, robustness=Robustness(200, 0, 0, 0, 0))
    assert len(outlook_lines(empty, reader_for(plan))) == 1


def test_the_usual_order_is_not_worth_a_line():
    plan = judged(Care.IN_THE_USUAL_ORDER)
    assert outlook_lines(plan, reader_for(plan)) == (on_other_nights(plan, reader_for(plan)),)


def test_it_stands_on_the_sheet_and_above_the_table():
    plan = judged()
    share = outlook_lines(plan, reader_for(plan))[1]
    assert share in sheet_html(plan, reader_for(plan))
    flat = " ".join(plain_text(plan_table(plan, ZONE)).split())
    assert share in flat


def test_it_is_sent_with_its_counts():
    sent = NightRead.of(judged(), Units.METRIC).model_dump(mode="json")
    assert sent["cares_for"] == "fresh bread"
    assert sent["robustness"] == {
        "nights": 200,
        "judged": 600,
        "outside_share": 0.075,
        "bulks": 300,
        "bulks_outside": 30,
        "proofs": 300,
        "proofs_outside": 15,
    }
