"""What working bakers ask of tubs, retarders and cold benches, through the planner's own rises.

Each docstring gives the question and the numbers of practice (trade magazines, bakers' forums,
baking-school texts), in our words.
"""

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

import numpy as np
import pytest

from planner import Limits, make_plan
from planner.bakery import Chamber, ChamberKind, Room
from planner.conditions import Conditions, HourlyForecast
from planner.corrections import Corrections
from planner.day import Order, Shift
from planner.errors import InputError
from planner.estimate import Estimate
from planner.night import Night
from planner.ripening import ByTheClock, Curve, HoursAt, Move, Ripening
from planner.rises import dough_rise, on_the_bench_c, piece_rise
from planner.verify import verify
from planner.water_sources import (
    IceKind,
    IceSupply,
    SupplyKind,
    WaterSupply,
)
from tests.planner.builders import START, at, bakery, day, lean_dough, loaf, night_of, steady_room

QUICK = Limits(list_only=True)
COLD_TAP = WaterSupply("tap", "tap", SupplyKind.TAP, Estimate(6.0))
HOT = WaterSupply("hot", "hot tap", SupplyKind.HOT, Estimate(60.0))


def cold(temperature_c=4.0, *, kw=None, racks=40, kind=ChamberKind.RETARDER):
    power = None if kw is None else Estimate(kw)
    return Chamber("cold", "retarder", kind, Estimate(temperature_c), racks, power)


def a_night(room_c=24.0, *, chamber=None, **changes) -> Night:
    values = {"bakery": bakery(chambers=(chamber or cold(),))} | changes
    return Night(day(**values), night_of(room_c), Corrections())


def one_clock(hours=4.5, share=0.6, retard=None):
    """A dough whose bulk and retard count on one clock; the bulk ends at a share of it."""
    bulk = Ripening(
        HoursAt(hours, 25.0), Curve.LEVAIN, "room",
        from_progress=0.8 * share, at_progress=share, by_progress=1.2 * share,
    )  # fmt: skip
    way = retard or Ripening(HoursAt(1.0, 25.0), Curve.LEVAIN, "cold", goes_on=True)
    return lean_dough(bulk=bulk), loaf(routes=(way,))


def ripeness_after(night, dough_c, bulk_min, retard_min, *, dough_kg=20.0):
    """Progress when the oven is free: after the bulk and so long in the retarder."""
    formula, product = night.day.formulas[0], night.day.products[0]
    bulk = dough_rise(night, formula.bulk, dough_kg, formula.dough_c)
    path = bulk.path(300.0, dough_c, span_min=bulk_min, step_min=1.0)
    proof = piece_rise(night, product, 0, formula.dough_c, bulk)
    on = proof.path(
        300.0 + bulk_min, float(path.temperature_c[-1]), span_min=retard_min, step_min=5.0,
        progress=float(path.progress[-1]),
    )  # fmt: skip
    return float(path.progress[-1]), float(on.progress[-1])


def solved(function, low, high):
    """Where a rising function passes nothing, by halving."""
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if function(middle) < 0 else (low, middle)
    return (low + high) / 2


# ---- one clock for bulk and retard -------------------------------------------------------------


def test_a_warm_dough_gains_more_in_the_cooler_and_is_cut_off_sooner():
    """22 and 28 °C at equal ripeness into the same cooler: the warm one is cut off less ripe."""
    formula, product = one_clock()
    night = a_night(formulas=(formula,), products=(product,))
    ends = []
    for dough_c in (22.0, 28.0):
        bulk_min = solved(
            lambda b, c=dough_c: ripeness_after(night, c, b, 720.0)[1] - 1.0, 20.0, 600.0
        )
        ends.append(ripeness_after(night, dough_c, bulk_min, 720.0)[0])
    assert ends[1] < ends[0] - 0.03


def test_the_search_sees_the_same_clock():
    """A retard goes on with the clock of the bulk: bulk and load both lie in their windows."""
    formula, product = one_clock(hours=4.0)
    plan = make_plan(
        day(
            bakery=bakery(chambers=(cold(),), supplies=(COLD_TAP, HOT)),
            formulas=(formula,),
            products=(product,),
            shifts=(Shift("ada", START, at(20)),),
            lines=(Order("o1", "loaf", 20, at(18)),),
        ),
        night_of(24.0),
        limits=QUICK,
    )
    assert verify(plan) == ()
    mix = plan.mixes[0]
    assert mix.ripeness == pytest.approx(0.6, abs=0.13)
    assert 0.88 <= mix.loads[0].ripeness <= 1.17
    assert mix.loads[0].load_utc - mix.divide_utc > timedelta(hours=3)


def test_a_proof_cannot_go_on_with_a_clock_that_ends_with_the_bulk():
    formula, product = one_clock()
    by_clock = replace(formula, bulk=Ripening(ByTheClock(90, 24.0), Curve.LEVAIN, "room"))
    with pytest.raises(InputError, match="hours at a dough temperature"):
        day(bakery=bakery(chambers=(cold(),)), formulas=(by_clock,), products=(product,))


# ---- loading the fridge ------------------------------------------------------------------------


def test_summer_doughs_are_mixed_cooler_by_physics():
    """A working bakery mixes 2 °C cooler in summer. Room 20 and 28 °C, same bulk, same oven slot.

    Two hours of bulk in tubs of 20 kg, then 14 h at 4 °C: the dough temperature that is as ripe.
    """
    formula, product = one_clock(hours=2.8)
    doughs = []
    for room_c in (20.0, 28.0):
        night = a_night(room_c, formulas=(formula,), products=(product,))
        doughs.append(
            solved(lambda c, n=night: ripeness_after(n, c, 120.0, 840.0)[1] - 1.0, 15.0, 33.0)
        )
    assert 1.0 <= doughs[0] - doughs[1] <= 3.0


def test_winter_loaves_wait_in_the_room_before_the_cold():
    """In winter 30 to 60 min out first; so much more in a room of 18 than of 26 °C, by physics."""

    def wait_min(room_c):
        def off(wait):
            way = Ripening(
                HoursAt(1.0, 25.0), Curve.LEVAIN, "room", goes_on=True, moves=(Move(wait, "cold"),)
            )
            formula, product = one_clock(hours=3.4, retard=way)
            night = a_night(room_c, formulas=(formula,), products=(product,))
            return ripeness_after(night, 25.0, 110.0, 840.0)[1] - 1.0

        return solved(off, 5.0, 400.0)

    winter, summer = wait_min(18.0), wait_min(26.0)
    assert winter > summer + 15
    assert 20 <= winter <= 120


def test_loaves_on_the_shelves_of_a_full_fridge_go_on_fermenting():
    """The first hours decide: the same loaves with a cooler a tenth as strong are far riper."""
    formula, product = one_clock()
    ripe = [
        ripeness_after(
            a_night(formulas=(formula,), products=(product,), chamber=cold(kw=kw)),
            25.0, 120.0, 600.0,
        )[1]
        for kw in (2.0, 0.2)
    ]  # fmt: skip
    assert ripe[1] > ripe[0] + 0.1


def test_a_working_retarder_gives_a_whole_night_to_bake_in():
    """Over 300 kg at 2 to 4 °C; bakes well from 7 to 20 h, by the blog of a working bakery.

    The formula is not given: a levain of four hours cut off at two thirds, cooler of 4 kW.
    """
    formula, product = one_clock(hours=4.0, share=0.66)
    night = a_night(
        24.0, formulas=(formula,), products=(product,), chamber=cold(3.0, kw=4.0),
        lines=(Order("o1", "loaf", 400, at(18)),),
    )  # fmt: skip
    bulk_min = solved(lambda b: ripeness_after(night, 25.0, b, 13.5 * 60)[1] - 1.0, 60.0, 300.0)
    ripe = [ripeness_after(night, 25.0, bulk_min, hours * 60)[1] for hours in (7.0, 20.0)]
    assert 0.90 <= ripe[0] < 1.0 < ripe[1] <= 1.15


# ---- six hours ---------------------------------------------------------------------------------


def six_hours(night, way):
    """Progress of loaves of 0.8 kg, shaped at 26 °C at midnight, at six."""
    product = loaf(routes=(way,))
    rise = piece_rise(night, product, 0, 26.0)
    return float(rise.path(480.0, 26.0, span_min=360.0, step_min=1.0).progress[-1])


@pytest.mark.parametrize("hours", [2.0, 2.5])
def test_six_hours_are_spent_at_ten_to_fifteen_degrees_or_warm_first(hours):
    """Two to two and a half hours of proof, bulk done at midnight, bake at six, nobody at three.

    The warm room is not given: 26 °C.
    """

    def throughout(air_c):
        way = Ripening(HoursAt(hours, 25.0), Curve.YEAST, "cold")
        return six_hours(a_night(chamber=cold(air_c)), way) - 1.0

    def warm_first(wait):
        way = Ripening(HoursAt(hours, 25.0), Curve.YEAST, "room", moves=(Move(wait, "cold"),))
        return six_hours(a_night(26.0), way) - 1.0

    assert 10.0 <= solved(throughout, 2.0, 25.0) <= 15.0
    assert 50.0 <= solved(warm_first, 5.0, 300.0) <= 100.0


def test_a_plan_that_moves_loaves_has_somebody_there_for_it():
    """Warm for 80 min, then 4 °C: the move is work of a person who is at work."""
    way = Ripening(HoursAt(2.2, 25.0), Curve.YEAST, "room", moves=(Move(80, "cold"),))
    plan = make_plan(
        day(
            bakery=bakery(chambers=(cold(),)),
            products=(loaf(routes=(way,)),),
            shifts=(Shift("ada", at(3), at(9)), Shift("ada", at(12), at(16))),
            lines=(Order("o1", "loaf", 20, at(15)),),
        ),
        night_of(25.0),
        limits=QUICK,
    )
    assert verify(plan) == ()
    load = plan.mixes[0].loads[0]
    assert load.moves[0].place_id == "cold"
    moves = [task for task in plan.tasks if task.kind == "move"]
    assert moves[0].person_id == "ada"
    assert moves[0].start_utc == load.moves[0].at_utc
    assert not at(9) < moves[0].start_utc < at(12)


# ---- cold pieces, the morning's oven -----------------------------------------------------------


def test_cold_pieces_need_longer_and_the_retarded_go_straight_in():
    """800 g shaped at 6 °C in a room of 22: over an hour to pass 16 °C, and a longer proof."""
    night = a_night(22.0)
    rise = piece_rise(night, loaf(), 0, 25.0)
    cold_start, warm_start = (
        rise.path(600.0, c, span_min=600.0, step_min=1.0) for c in (6.0, 25.0)
    )
    minutes = float(np.interp(16.0, cold_start.temperature_c, cold_start.minutes))
    assert minutes > 60
    ripe = [float(rise.window(path)[1]) for path in (cold_start, warm_start)]
    assert ripe[0] > ripe[1] + 60
    retarded = Ripening(HoursAt(1.0, 25.0), Curve.YEAST, "cold")
    straight = piece_rise(night, loaf(routes=(retarded,)), 0, 25.0)
    assert np.isfinite(float(straight.window(straight.path(0.0, 25.0))[1]))


@pytest.mark.parametrize(("bake_at", "place"), [(8.0, "room"), (17.0, "cold")])
def test_the_plan_picks_the_way_by_the_slot_of_the_oven(bake_at, place):
    """Room proof for an oven that is free soon, retard for one that is free in the morning."""
    ways = (
        Ripening(HoursAt(1.0, 25.0), Curve.YEAST, "room"),
        Ripening(HoursAt(1.1, 25.0), Curve.YEAST, "cold"),
    )
    plan = make_plan(
        day(
            bakery=bakery(chambers=(cold(5.0),)),
            products=(loaf(routes=ways, cool_min=0),),
            shifts=(Shift("ada", at(2), at(7)), Shift("ada", at(bake_at - 1), at(bake_at + 1.5))),
            lines=(Order("o1", "loaf", 20, at(bake_at + 1)),),
        ),
        night_of(24.0),
        limits=QUICK,
    )
    assert [load.proof_place_id for load in plan.mixes[0].loads] == [place]


# ---- two schedules of one levain ---------------------------------------------------------------


FLOORS = (("slow", 21.1, 5.0), ("quick", 24.4, 2.0))


def test_the_warm_schedule_of_a_levain_is_not_over_ripe_where_the_cool_one_is_right():
    """70 °F with 5 h of floor and 24 h cold, 76 °F with 2 h and 28 h: at most as ripe."""
    ripe = {}
    for (name, dough_c, floor_h), cold_h in zip(FLOORS, (24.0, 28.0), strict=True):
        dough, product = one_clock(hours=7.0, share=0.5)
        night = a_night(dough_c, formulas=(dough,), products=(product,))
        ripe[name] = ripeness_after(night, dough_c, floor_h * 60, cold_h * 60, dough_kg=5.0)[1]
    assert ripe["quick"] <= 1.15 * ripe["slow"]


def test_the_plan_accepts_the_schedule_that_the_shifts_allow():
    """Four hours of shift: two hours of floor can be shaped in it, five cannot."""
    placed = {}
    for name, dough_c, floor_h in FLOORS:
        dough = lean_dough(
            dough_c=dough_c, bulk=Ripening(HoursAt(floor_h, dough_c), Curve.LEVAIN, "room")
        )
        way = Ripening(HoursAt(1.3, 25.0), Curve.LEVAIN, "cold")
        plan = make_plan(
            day(
                bakery=bakery(chambers=(cold(),)),
                formulas=(dough,),
                products=(loaf(routes=(way,)),),
                shifts=(Shift("ada", at(1), at(5)), Shift("ada", at(22), at(32))),
                lines=(Order("o1", "loaf", 10, at(31)),),
                end_utc=at(34),
            ),
            night_of(dough_c),
            limits=QUICK,
        )
        assert verify(plan) == ()
        placed[name] = bool(plan.mixes) and plan.mixes[0].divide_utc < at(6)
    assert placed == {"slow": False, "quick": True}


# ---- a small bakery at 36 °C -------------------------------------------------------------------


def climbing(hours=40):
    """28 °C when the mixing begins, 36 °C six hours later."""
    degrees = tuple(float(np.interp(h, [0, 1, 7], [28, 28, 36])) for h in range(hours))
    return HourlyForecast(START, degrees, (1.0,) * hours, (0.5,) * hours)


def test_a_hot_day_with_a_climbing_room_has_its_own_water_for_each_mix():
    """68 loaves in four tubs, two minutes of shaping each, then 2 °C for the night; ice in."""
    way = Ripening(HoursAt(0.8, 25.0), Curve.YEAST, "cold")
    house = bakery(
        chambers=(cold(2.0, kw=1.5, racks=12),),
        mixers=(replace(bakery().mixers[0], max_dough_kg=16.0),),
        ice=IceSupply(IceKind.FLAKE, Estimate(-2.0), Estimate(0.9), 10.0, 200.0),
    )
    plan = make_plan(
        day(
            bakery=house,
            formulas=(lean_dough(band_k=2.0),),
            products=(loaf(routes=(way,), shape_min_per_piece=Estimate(2.0)),),
            shifts=(Shift("ada", at(1), at(18)),),
            lines=(Order("o1", "loaf", 68, at(17)),),
        ),
        Conditions({"room": climbing()}, ice_stored_kg=150.0),
        limits=QUICK,
    )
    assert verify(plan) == ()
    assert len(plan.mixes) >= 4
    mixes = sorted(plan.mixes, key=lambda m: m.start_utc)
    hours = [(m.start_utc - START) / timedelta(hours=1) for m in mixes]
    rooms = np.interp(hours, np.arange(40), climbing().temperature_c)
    needed = [m.ticket.equivalent_c + 2 * (25.0 - m.ticket.wanted_c) for m in mixes]
    assert rooms[-1] > rooms[0] + 1.5
    # The first meets a bowl as warm as the room, the others one that the dough before has cooled.
    assert all(later < one for one, later in pairwise(needed[1:]))
    assert len({round(m.ticket.equivalent_c, 2) for m in mixes}) == len(mixes)
    for mix in mixes:
        for load in mix.loads:
            assert load.load_from_utc <= load.load_utc <= load.load_by_utc


# ---- bench and rack ----------------------------------------------------------------------------


def test_a_cold_bench_cools_pieces_and_a_warm_cabinet_is_a_place_to_book():
    """In a bakery of 12 °C: twenty minutes on the bench cost degrees; the cabinet has its racks."""
    night = a_night(12.0)
    on_bench = float(on_the_bench_c(night, "room", 0.8, 26.0, 600.0, 20.0))
    assert on_bench < 26.0 - 1.0
    cabinet = Chamber("cabinet", "warm cabinet", ChamberKind.PROOFER, Estimate(26.0), 1)
    way = Ripening(HoursAt(1.0, 25.0), Curve.YEAST, "cabinet")
    plan = make_plan(
        day(
            bakery=bakery(
                chambers=(cabinet,),
                mixers=(replace(bakery().mixers[0], max_dough_kg=18.0),),
                supplies=(*bakery().supplies, HOT),
            ),
            products=(loaf(routes=(way,)),),
            shifts=(Shift("ada", at(2), at(16)),),
            lines=(Order("o1", "loaf", 40, at(15)),),
        ),
        night_of(12.0),
        limits=QUICK,
    )
    assert verify(plan) == ()
    stays = sorted(
        (load.proof_start_utc, load.load_utc) for mix in plan.mixes for load in mix.loads
    )
    assert len(stays) == 2
    assert stays[0][1] <= stays[1][0]  # one rack: one load after the other


def test_more_rooms_have_their_own_air():
    """Bulk place and bench have their own temperatures."""
    house = bakery(rooms=(Room("room", "bakehouse"), Room("loft", "loft")))
    forecasts = {"room": steady_room(12.0), "loft": steady_room(26.0)}
    night = Night(day(bakery=house), Conditions(forecasts), Corrections())
    paths = [
        dough_rise(night, Ripening(HoursAt(2, 25), Curve.YEAST, place), 20.0, 25.0).path(0.0, 25.0)
        for place in ("room", "loft")
    ]
    assert paths[0].temperature_c[24] < 25.0 - 2 < paths[1].temperature_c[24]
