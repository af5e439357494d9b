"""Levers of time: minutes of working and another hour, pulled, bring the dough back."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from planner.conditions import Conditions
from planner.corrections import Corrections
from planner.day import Order
from planner.estimate import Estimate
from planner.formula import MixStep
from planner.levers import missed_remarks
from planner.lines import Line
from planner.materials import Material
from planner.mixers import MixerKind, Speed, mixer
from planner.night import Night
from planner.options import Choice
from planner.tickets import MixTemperatures
from planner.water_sources import (
    IceKind,
    IceSupply,
    SupplyKind,
    WaterSupply,
)
from tests.planner.builders import at, bakery, day, lean_dough, steady_room
from tests.planner.missed import (
    HOUSE_WATER,
    a_night,
    figures,
    mixed,
    told,
)


def test_a_shorter_second_speed_as_told_brings_it_back():
    night = a_night(29.0)
    told_ = figures(told(night), "working_time", speed=Speed.SECOND)
    shorter = lean_dough(steps=(MixStep(Speed.FIRST, 4), MixStep(Speed.SECOND, 6 - told_["less"])))
    again = mixed(night, formula=shorter)
    assert again.ticket.expected_c == pytest.approx(26.0, abs=0.1)


def test_a_time_that_would_be_printed_as_none_is_told_in_words():
    """One that misses by a hundredth of a degree wants seconds, not "0 min"."""
    night = a_night(29.0)
    miss_k = mixed(night).ticket.expected_c - 26.0
    per_min = miss_k / figures(told(night), "working_time", speed=Speed.SECOND)["less"]
    nearly = night.day.formulas[0].dough_c + miss_k - 0.2 * per_min
    assert nearly > 25.0
    close = a_night(29.0, formula=lean_dough(dough_c=nearly))
    said = missed_remarks(mixed(close, choice=Choice(nearly, use_chilled=False)))
    texts = [remark.text for remark in said if remark.code == "working_time"]
    assert texts
    assert all(text.startswith("Up to half a minute less") for text in texts)


# ---- another hour of the night -------------------------------------------------------------------


def changing_night(by_hour, *, leave_h=20.0) -> Night:
    """A night whose room has a temperature for each hour, and bread that leaves at one."""
    hours = tuple(float(by_hour(h)) for h in range(40))
    return Night(
        day(lines=(Order("o1", "loaf", 40, at(leave_h)),), end_utc=at(30)),
        Conditions(rooms={"room": replace(steady_room(34.0), temperature_c=hours)}),
        Corrections(),
    )


def falling(h: float) -> float:
    return 34.0 - 0.9 * h if h < 16 else 20.0


def test_a_cooler_hour_of_the_same_night_is_named_with_the_dough_of_its_ticket():
    night = changing_night(falling)
    slot = figures(told(night), "other_slot")
    minute = night.day.minute(slot["start"])
    assert minute > 300.0
    there = mixed(night, start_min=minute, choice=Choice(26.0, use_chilled=False))
    assert slot["dough"] <= 26.05
    assert slot["dough"] == pytest.approx(there.ticket.expected_c, abs=0.01)


def test_no_hour_is_named_from_which_the_bread_would_leave_late():
    """Cool from the tenth hour on: too late to mix for bread that leaves at the fourteenth."""
    night = changing_night(lambda h: 36.0 if h < 10 else 20.0, leave_h=14.0)
    assert "other_slot" not in [code for code, _ in told(night)]
    later = changing_night(lambda h: 36.0 if h < 10 else 20.0, leave_h=20.0)
    start = figures(told(later), "other_slot")["start"]
    assert at(10) <= start <= at(20) - timedelta(minutes=10 + 90 + 60 + 40)


def test_no_hour_is_named_in_which_nobody_works():
    """Cool only after the shift, which ends with the fifteenth hour."""
    night = changing_night(lambda h: 36.0 if h < 16 else 20.0, leave_h=24.0)
    assert "other_slot" not in [code for code, _ in told(night)]


def test_an_hour_as_good_as_the_same_is_not_named():
    """Cool half an hour after the mix: what is named lies an hour off."""
    night = changing_night(lambda h: 33.0 if h <= 5 else 17.0, leave_h=12.0)
    start = figures(told(night), "other_slot")["start"]
    assert at(6) <= start <= at(7)


@pytest.mark.parametrize(("off_k", "named"), [(0.0, True), (4.0, True), (25.0, False)])
def test_another_hour_is_priced_with_flour_as_far_off_as_it_was_read(off_k, named):
    night = changing_night(falling, leave_h=22.0)
    forecast_c = {
        minute: next(
            float(i.temperature_c)
            for i in mixed(night, start_min=minute).balance.ingredients
            if i.is_fresh_flour
        )
        for minute in np.arange(300.0, 901.0, 30.0)
    }
    read = MixTemperatures(flour_c=forecast_c[300.0] + off_k, tap_c=14.0)
    slots = [f for code, f in told(night, measured=read) if code == "other_slot"]
    assert bool(slots) is named
    for slot in slots:
        minute = night.day.minute(slot["start"])
        there = mixed(
            night,
            start_min=minute,
            choice=Choice(26.0, use_chilled=False),
            measured=MixTemperatures(flour_c=forecast_c[minute] + off_k, tap_c=14.0),
        )
        assert slot["dough"] == pytest.approx(there.ticket.expected_c, abs=0.01)


# ---- minutes: what counts is the ticket of the shorter or longer mix ----------------------------


def retimed(night: Night, formula, minutes_by: float, **changes) -> float:
    """Return the dough when the last step is so much longer [°C]."""
    last = formula.steps[-1]
    steps = (*formula.steps[:-1], replace(last, minutes=last.minutes + minutes_by))
    return mixed(night, formula=replace(formula, steps=steps), **changes).ticket.expected_c


@pytest.mark.parametrize("room_c", [22.0, 24.0, 26.0, 28.0])
def test_minutes_told_for_cold_eggs_in_a_warm_room_are_those_that_do_it(room_c):
    """The room warms the dough too: fewer minutes of it count, and never the wrong way."""
    eggy = lean_dough(
        lines=(
            Line(Material.WHEAT_FLOUR, 100),
            Line(Material.EGG, 50, temperature_c=4.0),
            Line(Material.MILK, 10),
            Line(Material.BUTTER, 30, step=1),
            Line(Material.SUGAR, 12),
        ),
        steps=(MixStep(Speed.FIRST, 4), MixStep(Speed.SECOND, 8)),
        dough_c=24.0,
        band_k=0.0,
    )
    night = a_night(room_c, formula=eggy)
    now_c = mixed(night).ticket.expected_c
    for told_ in [f for code, f in told(night) if code == "working_time"]:
        sign = -1 if now_c > 24.0 else 1
        assert retimed(night, eggy, sign * told_["less"]) == pytest.approx(24.0, abs=0.05)


@pytest.mark.parametrize("flour_c", [44.0, 46.0])
def test_minutes_that_would_cost_the_ice_its_time_to_melt_are_not_told(flour_c):
    """Nuggets in ten minutes go into the bowl; a little shorter, they must be melted first.

    Then a wet dough takes less of them, and comes off warmer for the shorter mix.
    """
    nuggets = IceSupply(IceKind.NUGGET, Estimate(-1.0), Estimate(0.9, 0.05), 20.0, 60.0)
    tap = WaterSupply("tap", "tap", SupplyKind.TAP, Estimate(24.0))
    wet = lean_dough(
        lines=(Line(Material.WHEAT_FLOUR, 100), Line(Material.WATER, 80), Line(Material.SALT, 2)),
        dough_c=13.0,
    )
    night = a_night(30.0, formula=wet, house=bakery(ice=nuggets, supplies=(tap,)))
    as_is = {
        "choice": Choice(13.0, use_chilled=False),
        "measured": MixTemperatures(flour_c=flour_c),
    }
    one = mixed(night, **as_is)
    assert one.ticket.expected_c > 14.1
    assert retimed(night, wet, -2.0, **as_is) > one.ticket.expected_c + 0.5
    assert "working_time" not in [code for code, _ in told(night, **as_is)]


@pytest.mark.parametrize("room_c", [5.0, 10.0, 15.0, 18.0])
@pytest.mark.parametrize("tap_c", [30.0, 60.0])
def test_minutes_in_which_a_small_dough_loses_its_heat_are_never_told_the_wrong_way(room_c, tap_c):
    """A loaf's dough from warm water in a cool room: the longer it is worked, the cooler it is."""
    small = mixer("spiral", "spiral", MixerKind.SPIRAL, "room", 5.0, min_dough_kg=0.5)
    tap = WaterSupply("tap", "tap", SupplyKind.TAP, Estimate(tap_c))
    formula = lean_dough(
        lines=(Line(Material.WHEAT_FLOUR, 100), Line(Material.WATER, 80), Line(Material.SALT, 2)),
        steps=(MixStep(Speed.FIRST, 2), MixStep(Speed.SECOND, 12)),
        dough_c=26.0,
        band_k=0.0,
    )
    night = a_night(room_c, formula=formula, house=bakery(mixers=(small,), supplies=(tap,)))
    as_is = {"choice": Choice(26.0, use_chilled=False), "share": 0.175}
    now_c = mixed(night, **as_is).ticket.expected_c
    for told_ in [f for code, f in told(night, **as_is) if code == "working_time"]:
        sign = -1 if now_c > 26.0 else 1
        again_c = retimed(night, formula, sign * told_["less"], **as_is)
        assert again_c == pytest.approx(26.0, abs=0.05)


def test_a_shorter_mix_on_a_cooled_mixer_is_cooled_for_a_shorter_time():
    """Its coolant takes part only while the mixer runs."""
    machine = mixer("cold", "cooled", MixerKind.SPIRAL, "room", 60.0, coolant_c=-4.0)
    night = a_night(34.0, house=bakery(mixers=(machine,), supplies=HOUSE_WATER[:1]))
    read = MixTemperatures(flour_c=40.0)
    named = [f for code, f in told(night, measured=read) if code == "working_time"]
    for told_ in named:
        again_c = retimed(night, lean_dough(), -told_["less"], measured=read)
        assert again_c == pytest.approx(26.0, abs=0.05)


def test_a_cold_dough_is_worked_longer_by_what_is_told():
    night = a_night(21.0)
    cool = MixTemperatures(flour_c=19.0)
    told_ = figures(told(night, measured=cool), "working_time")
    again_c = retimed(night, lean_dough(), told_["less"], measured=cool)
    assert again_c == pytest.approx(24.0, abs=0.05)
