"""The card of a sour fed in steps: each build with its clock time, its lines, and the whole."""

from api.pages.preparation_card import preparation_card
from api.pages.timeline import timeline
from tests.api.pages.papers import reader_for
from tests.planner.test_builds import planned


def test_the_second_build_stands_under_its_own_head_and_all_of_it_adds_up():
    plan = planned()
    card = preparation_card(plan, plan.preparations[0], reader_for(plan))
    groups = list(dict.fromkeys(row.group for row in card.scaling))
    assert groups[0] == ""
    assert len(groups) == 2
    assert "feed all of it" in groups[1]
    assert f"set at {plan.preparations[0].builds[1].start_c:.1f} °C" in groups[1]
    names = [row.name for row in card.scaling if row.group == groups[1]]
    assert names == ["water, tap", "rye flour"]
    printed = sum(float(row.mass) for row in card.scaling)
    assert printed == float(card.total)


def test_the_sheet_has_a_row_for_feeding_with_somebody_there():
    plan = planned()
    rows = [row for row in timeline(plan, reader_for(plan)) if row.what == "feed rye sour"]
    assert [(row.at_utc, row.person) for row in rows] == [
        (plan.preparations[0].builds[1].start_utc, "Ada")
    ]
