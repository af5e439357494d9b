"""The balance of a mix as it is printed: it can be added up."""

import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.pages.balance import balance_text, rounded_to_nothing
from api.pages.wording import Units
from planner.remarks import Remark, RemarkKind, minutes, word
from planner.water_ticket import BalanceTerm
from tests.api.pages.sample import sample_plan
from tests.api.pages.sample_house import ZONE

TERMS = (
    BalanceTerm("flour", 41.2, 27.5, 190.04, 1.2),
    BalanceTerm("wetting of flour", None, None, 380.04, 2.4),
    BalanceTerm("cold", 13.2, 4.0, -570.08, -3.6),
)


def printed(units: Units = Units.METRIC) -> str:
    plan = sample_plan()
    mix = plan.mixes[0]
    mix = replace(mix, ticket=replace(mix.ticket, terms=TERMS))
    return balance_text(plan, mix, ZONE, units)


def test_the_printed_heats_add_up_to_nothing():
    rows = [
        line for line in printed().splitlines() if line.startswith(("flour", "wetting", "cold"))
    ]
    heats = [float(re.findall(r"([−\d.]+)  +[+−]", row)[-1].replace("−", "-")) for row in rows]
    assert sum(heats) == pytest.approx(0, abs=1e-9)
    assert len(heats) == 3


@given(st.lists(st.floats(-2000, 2000), min_size=1, max_size=12))
def test_rounding_keeps_nothing_nothing(heats):
    heats = [*heats, -sum(heats)]
    rounded = rounded_to_nothing(heats)
    assert sum(rounded) == 0
    assert all(abs(r / 10 - h) <= 0.1 + 1e-6 for r, h in zip(rounded, heats, strict=True))


def test_differences_are_converted_as_differences():
    """1.2 K is 2.2 °F, not 34."""
    assert "+2.2 °F" in printed(Units.US)


def test_the_mix_without_water_says_so():
    plan = sample_plan()
    mix = plan.mixes[0]
    dry = replace(mix, ticket=replace(mix.ticket, water=(), water_c=None, ice_kg=0.0, terms=TERMS))
    assert "No water to steer with." in balance_text(plan, dry, ZONE, Units.METRIC)


def test_why_it_stands_there_comes_last():
    plan = sample_plan()
    why = Remark(
        RemarkKind.REASON,
        "why_not_sooner",
        "Not {by} sooner: {cause}.",
        (minutes("by", 10.0), word("cause", "its mixer is taken")),
    )
    mix = replace(plan.mixes[0], reasons=(why,))
    text = balance_text(plan, mix, ZONE, Units.METRIC)
    assert text.endswith(
        "Why then and so, all other mixes held:\nNot 10 min sooner: its mixer is taken.\n"
    )
