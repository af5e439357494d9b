"""What may be taken without robbing another mix, against a level drawn by hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner import Limits, make_plan
from planner.day import Order
from planner.estimate import Estimate
from planner.formula import Preferment
from planner.lines import Line
from planner.materials import Material
from planner.ripening import Curve, HoursAt, Ripening
from planner.stores import Stock, Use, chilled_kg, left_kg, spare_kg
from planner.water_sources import SupplyKind, WaterSupply
from tests.planner.builders import at, bakery, day, lean_dough, loaf, night_of


def test_nothing_is_spare_when_a_later_mix_takes_all():
    """10 kg, no more made: 4 now and 6 later leave nothing for either."""
    uses = [Use("now", 0.0, 4.0), Use("later", 60.0, 6.0)]
    assert spare_kg(Stock(10.0, 0.0, 20.0), uses) == {"now": 0.0, "later": 0.0}


def test_what_is_made_in_between_counts_for_the_later_one_only():
    """5 kg and 0.1 kg a minute: 5 − 4 = 1 after the first; 1 + 6 − 3 = 4 after the second."""
    uses = [Use("now", 0.0, 4.0), Use("later", 60.0, 3.0)]
    assert spare_kg(Stock(5.0, 0.1, 20.0), uses) == {"now": 1.0, "later": 4.0}


def test_a_full_bin_makes_no_more():
    """2 kg bin, full: an hour at 1 kg/min still leaves 2, so 1 is spare after taking 1."""
    assert spare_kg(Stock(2.0, 1.0, 2.0), [Use("one", 60.0, 1.0)]) == {"one": 1.0}


def test_a_tank_in_a_rush():
    """420 kg tank, 180 kg an hour, 200 kg at 0 and at 20 min: 420 − 400 + 120 = 140 left at 40."""
    uses = [Use("first", 0.0, 200.0), Use("second", 20.0, 200.0), Use("third", 40.0, 0.0)]
    assert spare_kg(Stock(420.0, 3.0, 420.0), uses)["third"] == 140.0


uses_of_a_night = st.lists(
    st.tuples(st.floats(0, 600), st.floats(0, 5)), min_size=1, max_size=8
).map(lambda rows: [Use(f"u{n}", minute, kg) for n, (minute, kg) in enumerate(rows)])


@given(uses_of_a_night, st.floats(0, 30), st.floats(0, 0.1))
def test_taking_what_is_spare_never_makes_another_short(uses, start_kg, rate):
    stock = Stock(start_kg, rate, 40.0)
    for chosen, more in spare_kg(stock, uses).items():
        level, clock, lowest, taken = stock.start_kg, 0.0, float("inf"), False
        for use in sorted(uses, key=lambda u: (u.minute, u.subject)):
            level = min(stock.room_kg, level + rate * (use.minute - clock))
            level -= use.kg + (more if use.subject == chosen else 0.0)
            clock, taken = use.minute, taken or use.subject == chosen
            lowest = min(lowest, level) if taken else lowest
        if more > 0:
            assert lowest >= -1e-6


def test_what_is_left_at_a_minute_follows_the_level_by_hand():
    """8 kg full, 3 kg/h: 8 − 6 + 0.5 · 3 = 3.5 at half an hour, − 2 + 1.5 = 3.0 at an hour."""
    uses = [Use("one", 0.0, 6.0), Use("two", 30.0, 2.0), Use("later", 90.0, 5.0)]
    stock = Stock(8.0, 0.05, 8.0)
    assert left_kg(stock, uses, 60.0) == pytest.approx(3.0)
    assert left_kg(stock, uses, 30.0) == pytest.approx(1.5)
    assert left_kg(stock, [], 60.0) == 8.0
    assert left_kg(stock, [Use("all", 10.0, 9.0)], 10.0) == 0.0


# ---- preferments draw from the same tank --------------------------------------------------------


def two_levains(tank_kg: float):
    """Two doughs whose levains are wanted at 20 °C in a room of 32, from a tap of 26."""
    tap = WaterSupply("tap", "tap", SupplyKind.TAP, Estimate(26.0))
    cold = WaterSupply(
        "cold", "chiller", SupplyKind.CHILLER, Estimate(3.0), tank_kg=tank_kg, recovery_kg_per_h=0.5
    )
    formulas = tuple(
        lean_dough(
            id=f"f{n}",
            name=f"dough {n}",
            lines=(
                Line(Material.WHEAT_FLOUR, 70),
                Line(Material.WATER, 35),
                Line(Material.SALT, 2),
            ),
            parts=(
                Preferment(
                    f"levain{n}",
                    f"levain {n}",
                    (Line(Material.WHEAT_FLOUR, 30), Line(Material.WATER, 30)),
                    Ripening(HoursAt(6, 22), Curve.LEVAIN, "room", by_progress=1.4),
                    20.0,
                    seed_percent=10,
                ),
            ),
        )
        for n in range(2)
    )
    one_day = day(
        bakery=bakery(supplies=(tap, cold)),
        formulas=formulas,
        products=tuple(loaf(id=f"l{n}", name=f"loaf {n}", formula_id=f"f{n}") for n in range(2)),
        lines=tuple(Order(f"o{n}", f"l{n}", 60, at(15)) for n in range(2)),
    )
    return make_plan(one_day, night_of(32.0), limits=Limits(list_only=True))


@pytest.mark.parametrize("tank_kg", [4.0, 8.0, 60.0])
def test_mixes_and_preferments_together_never_empty_the_chiller_below_nothing(tank_kg):
    plan = two_levains(tank_kg)
    minute = plan.day.minute
    drawn = [(minute(p.start_utc), chilled_kg(p.water)) for p in plan.preparations]
    drawn += [(minute(m.start_utc), chilled_kg(m.ticket.water)) for m in plan.mixes]
    level, clock = tank_kg, 0.0
    for at_min, kg in sorted(drawn):
        level, clock = min(tank_kg, level + 0.5 / 60 * (at_min - clock)) - kg, at_min
        assert level >= -1e-6
    assert "judge_chiller_within_tank" not in [r.code for r in plan.remarks]


def test_a_levain_that_finds_the_chiller_empty_is_set_warmer_and_says_so():
    first, second = two_levains(8.0).preparations
    assert first.start_c == pytest.approx(20.0, abs=0.01)
    assert second.start_c > 22.0
    assert chilled_kg(second.water) < chilled_kg(first.water) - 1
    short = next(r for r in second.remarks if r.code == "chiller_short")
    assert {f.name: f.value for f in short.figures} == pytest.approx(
        {"left": chilled_kg(second.water), "start": second.start_c, "wanted": 20.0}
    )
    assert "chiller_short" not in [
        r.code for p in two_levains(60.0).preparations for r in p.remarks
    ]
