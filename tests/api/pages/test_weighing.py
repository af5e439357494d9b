"""Weights on paper: to the step of the scale, adding up, never further off than their rounding."""

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.pages.mix_ticket import mix_ticket, ticket_masses
from api.pages.reader import reader_of
from api.pages.weighing import Scales, printed_masses
from api.pages.wording import Units
from planner.quantities import lb_from_kg
from planner.water_sources import IceKind, SupplyKind
from planner.water_ticket import ScalingLine, WaterLine
from tests.api.pages.papers import reader_for
from tests.api.pages.sample import sample_plan, white_mix
from tests.api.pages.sample_house import ZONE
from tests.api.pages.sample_nights import clocks_go_back

PLAN = sample_plan()
STEPS = st.sampled_from([None, 0.001, 0.005, 0.01, 0.02, 0.05, 0.1, 0.5])
KG = st.floats(0.002, 180, allow_nan=False)


def in_unit(kg, units):
    return lb_from_kg(kg) if units is Units.US else kg


@st.composite
def mixes(draw):
    """A mix with one to three supplies, perhaps ice, and up to ten lines of any weight."""
    water = tuple(
        WaterLine(f"supply {i}", SupplyKind.TAP, draw(KG), 12.0)
        for i in range(draw(st.integers(1, 3)))
    )
    ice_kg = draw(st.one_of(st.just(0.0), KG))
    lines = tuple(
        ScalingLine(f"line {i}", 10.0, draw(KG), None, 0) for i in range(draw(st.integers(1, 10)))
    )
    whole = sum(w.water_kg for w in water) + ice_kg + sum(line.mass_kg for line in lines)
    ticket = replace(
        white_mix().ticket,
        water=water,
        ice_kg=ice_kg,
        ice_kind=IceKind.FLAKE if ice_kg else None,
        strip=None,
    )
    return replace(white_mix(), ticket=ticket, scaling=lines, dough_kg=whole, remarks=())


@settings(max_examples=150, deadline=None)
@given(mixes(), st.sampled_from(Units), STEPS)
def test_what_a_ticket_prints_adds_up_and_is_the_plans_value(mix, units, step):
    """Lines add up to the total; the big water to its supplies; no line is a whole step off."""
    reader = replace(reader_for(PLAN, units), scales=Scales(step))
    ticket = mix_ticket(PLAN, mix, reader)
    printed = [Decimal(row.mass) for row in ticket.scaling]
    assert sum(printed) == Decimal(ticket.total)
    supplies = printed[: len(mix.ticket.water)]
    assert Decimal(ticket.numbers[3].value) == sum(supplies)
    exact = [w.water_kg for w in mix.ticket.water]
    exact += [mix.ticket.ice_kg] if mix.ticket.ice_kg else []
    exact += [line.mass_kg for line in mix.scaling]
    shown = [in_unit(kg, units) for kg in exact]
    steps = Scales(step).steps(shown, mix.dough_kg, units)
    for one, value, its_step in zip(printed, shown, steps, strict=True):
        assert abs(float(one) - value) < its_step * (1 + 1e-6)


@settings(max_examples=60, deadline=None)
@given(st.lists(KG, min_size=1, max_size=12), st.sampled_from(Units), STEPS)
def test_every_line_is_a_whole_number_of_steps(masses_kg, units, step):
    scales = Scales(step, small_step=0.002)
    printed = printed_masses(masses_kg, units, scales)
    shown = [in_unit(kg, units) for kg in masses_kg]
    steps = scales.steps(shown, sum(masses_kg), units)
    for line, its_step in zip(printed.lines, steps, strict=True):
        assert Decimal(line) % Decimal(str(its_step)) == 0


def test_other_lines_do_not_depend_on_how_the_water_is_split():
    """A run prints one list of the rest: the same kilos whatever water and ice are."""
    mix = white_mix()
    other = (WaterLine("tap", SupplyKind.TAP, 9.0049, 18.0),)
    changed = replace(mix, ticket=replace(mix.ticket, water=other, ice_kg=16.5614))
    reader = reader_for(PLAN)
    one, two = ticket_masses(mix, reader).lines, ticket_masses(changed, reader).lines
    assert one[3:] == two[2:]


def test_a_scale_of_twenty_grams_prints_even_hundredths():
    """12.345 + 7.651 + 0.4 kg on a 20 g scale: 12.34 + 7.66 and 0.400 on the small one."""
    printed = printed_masses([12.345, 7.651, 0.4], Units.METRIC, Scales(0.02))
    assert printed.lines == ("12.34", "7.66", "0.400")
    assert printed.total == "20.400"


def test_ounces_stand_behind_what_weighs_less_than_a_pound():
    """0.8247 kg of yeast is 1.818 lb; a tenth of it 2.9 oz."""
    mix = white_mix()
    small = replace(mix, scaling=(*mix.scaling[:1], ScalingLine("salt", 0.2, 0.08247, None, 0)))
    names = [row.name for row in mix_ticket(PLAN, small, reader_for(PLAN, Units.US)).scaling]
    assert "salt (2.9 oz)" in names
    assert "strong flour" in names


# -- nights on which clocks change ---------------------------------------------------------------


@pytest.mark.parametrize(
    ("moment", "text"),
    [
        (datetime(2026, 10, 25, 0, 30, tzinfo=UTC), "02:30 UTC+2"),
        (datetime(2026, 10, 25, 1, 30, tzinfo=UTC), "02:30 UTC+1"),
    ],
)
def test_the_hour_that_comes_twice_is_told_apart(moment, text):
    """Clocks go back at 01:00 UTC: half past two is at 00:30 and again at 01:30 UTC."""
    reader = reader_of(clocks_go_back(PLAN), ZONE)
    assert reader.clock.time(moment) == text


def test_a_time_after_midnight_has_its_date_beside_it():
    clock = reader_for(PLAN).clock
    evening = datetime(2026, 7, 15, 21, 40, tzinfo=UTC)
    assert clock.dated(datetime(2026, 7, 15, 21, 55, tzinfo=UTC), evening) == "23:55"
    assert clock.dated(datetime(2026, 7, 15, 22, 5, tzinfo=UTC), evening) == "Thu 16 00:05"
