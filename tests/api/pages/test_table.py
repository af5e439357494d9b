"""The table: what a baker finds in a terminal or a pipe."""

from dataclasses import replace
from datetime import timedelta

import pytest

from api.pages.table import plain_text, plan_table
from api.pages.wording import Units
from planner.planned import Plan
from planner.remarks import Remark, RemarkKind
from tests.api.pages.sample import sample_plan
from tests.api.pages.sample_house import ZONE


@pytest.fixture(scope="module")
def plan() -> Plan:
    return sample_plan()


def test_the_five_numbers_of_the_first_mix(plan):
    """4.0 kg tap + 13.2163 kg chilled = 17.2163 kg; 5 + 6 min."""
    row = plan_table(plan, ZONE).rows[0]
    numbers = (row.dough_c, row.water_c, row.water_kg, row.ice_kg, row.mixing_min)
    assert numbers == ("25.0", "7.5", "17.22", "8.35", "11")


def test_times_of_the_first_mix(plan):
    row = plan_table(plan, ZONE).rows[0]
    assert (row.date, row.start) == ("Wed 15 Jul", "23:40")
    assert (row.divide, row.load_by, row.leaves) == ("01:05–01:35", "02:50", "03:50")


def test_mixes_stand_in_order_of_starting(plan):
    shuffled = replace(plan, mixes=plan.mixes[::-1])
    assert [row.start for row in plan_table(shuffled, ZONE).rows] == ["23:40", "00:10", "02:00"]


def test_unmet_wishes_come_first_with_what_could_help(plan):
    kinds = [alert.kind for alert in plan_table(plan, ZONE).alerts]
    assert kinds == ["not met", "could help", "take care", "take care"]


def test_one_caution_of_several_mixes_is_said_once(plan):
    same = [Remark(RemarkKind.CAUTION, "c", "Hot.", subject=mix.id) for mix in plan.mixes]
    mixes = tuple(replace(m, remarks=(r,)) for m, r in zip(plan.mixes, same, strict=True))
    found = [a for a in plan_table(replace(plan, mixes=mixes), ZONE).alerts if a.text == "Hot."]
    assert [alert.about for alert in found] == ["mixes 1, 2, 3"]


def test_only_the_three_costliest_assumptions_with_their_readings(plan):
    rows = plan_table(plan, ZONE).assumptions
    assert [row.remedy.split()[0] for row in rows] == ["read", "read", "weigh"]
    assert "± 1.9 °C of dough, ± 17 min" in rows[0].cost


def test_hours_without_ice_or_chilled_water_are_left_out(plan):
    assert [row.hour for row in plan_table(plan, ZONE).budget] == ["23:00", "02:00"]


@pytest.mark.parametrize("units", Units)
@pytest.mark.parametrize("width", [80, 100, 110, 120])
def test_nothing_is_cut_at_usual_widths(plan, width, units):
    table = plan_table(plan, ZONE, units)
    text = plain_text(table, width)
    assert max(map(len, text.splitlines())) <= width
    assert "…" not in text
    for row in table.rows:
        line = next(line for line in text.splitlines() if row.start in line)
        assert all(cell in line for cell in (row.water_kg, row.divide, row.load_by, row.leaves))


def test_a_pipe_gets_no_control_characters(plan):
    text = plain_text(plan_table(plan, ZONE), 110)
    assert "\x1b" not in text
    assert "nan" not in text.lower()


def test_the_offset_is_printed_on_a_clock_change_night(plan):
    """Moved to the night of 25 October 2026, when Vienna's clocks go back at 03:00."""
    by = timedelta(days=101)
    day = replace(
        plan.day,
        start_utc=plan.day.start_utc + by,
        end_utc=plan.day.end_utc + by,
        production_date=plan.day.production_date + by,
        lines=(),
    )
    mix = replace(plan.mixes[0], start_utc=plan.mixes[0].start_utc + by)
    table = plan_table(replace(plan, day=day, mixes=(mix,)), ZONE)
    assert table.rows[0].start == "23:40 UTC+2"
