"""What is counted of a bakery, and nights in which bench, tubs or a chamber's weight bind."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.bakery import Chamber, ChamberKind, Room, Tub
from planner.batches import batches_of
from planner.day import Order
from planner.estimate import Estimate
from planner.pins import Limits
from planner.places import counted_places, in_its_tubs, tubs_for, weight_in
from planner.plan import make_plan
from planner.planned import TubsTaken
from planner.reasons import BINDS
from planner.replan import replan
from tests.planner.builders import at, bakery, day, lean_dough, loaf, night_of
from tests.planner.scheduling.days import plain_job

QUICK = Limits(list_only=True)
TUBS = (Tub("large", "large tub", 40, 6), Tub("small", "small tub", 15, 9))
COLD = Chamber("cold", "retarder", ChamberKind.RETARDER, Estimate(4.0), 8, most_kg=120)


def batch_of(kg: float):
    """A mix of so many kilos, and the bakery's tubs."""
    one = day(bakery=bakery(tubs=TUBS))
    return one, replace(batches_of(one)[0], dough_kg=kg)


def test_nothing_but_chambers_is_counted_unless_it_was_entered():
    assert counted_places(day()) == {}
    assert tubs_for(day(), batches_of(day())[0]) == ((),)


def test_what_is_entered_is_counted():
    house = bakery(
        rooms=(Room("room", "bakehouse", 5),), chambers=(COLD,), tubs=TUBS, bench_places=2
    )
    assert counted_places(day(bakery=house)) == {
        "cold": 8, "room": 5, "tub large": 6, "tub small": 9, "weight in cold": 120_000, "bench": 2,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("kg", "ways"),
    [
        # 60 / 40 = 1.5 and 60 / 15 = 4.
        (60, ((("tub large", 2),), (("tub small", 4),))),
        # 160 kg are 4 large tubs or 10.7 small ones, of which there are 9.
        (160, ((("tub large", 4),),)),
        # 6 large ones hold 240 of 260 kg, 2 small ones the rest.
        (260, ((("tub large", 6), ("tub small", 2)),)),
        # All hold 240 + 135 kg: 400 are 10 large ones, which there are not.
        (400, ((("tub large", 10),),)),
    ],
)
def test_a_mix_lies_in_tubs_of_one_kind_where_they_suffice(kg, ways):
    assert tubs_for(*batch_of(kg)) == ways


def test_a_formula_may_name_its_tub():
    one, batch = batch_of(60)
    bulk = replace(batch.formula.bulk, vessel_id="small")
    own = replace(batch, formula=lean_dough(bulk=bulk))
    assert tubs_for(one, own) == ((("tub small", 4),),)


def test_weight_counts_in_each_limited_chamber_on_the_way():
    one = day(bakery=bakery(chambers=(COLD,)))
    assert weight_in(one, ("room", "cold", "cold"), 12.5) == (("weight in cold", 12_500),)


def two_orders(**house: object):
    """Two mixes of the same loaf, both out of the door at the same time."""
    lines = tuple(Order(i, "loaf", 40, at(14)) for i in ("o1", "o2"))
    shifts = tuple(replace(day().shifts[0], person_id=p) for p in ("ada", "bea"))
    people = (bakery().people[0], replace(bakery().people[0], id="bea", name="Bea"))
    return day(
        bakery=bakery(
            people=people,
            mixers=(bakery().mixers[0], replace(bakery().mixers[0], id="second")),
            ovens=(replace(bakery().ovens[0], places=4),),
            **house,
        ),
        products=(loaf(shape_min_per_piece=Estimate(0.5)),),
        lines=lines,
        shifts=shifts,
    )


def overlap(one, other) -> bool:
    return one[0] < other[1] and other[0] < one[1]


def test_one_bench_place_keeps_divides_apart():
    free = make_plan(two_orders(), night_of(), limits=QUICK)
    bound = make_plan(two_orders(bench_places=1), night_of(), limits=QUICK)
    times = [[(m.divide_utc, m.divide_end_utc) for m in p.mixes] for p in (free, bound)]
    assert overlap(*times[0])
    assert not overlap(*times[1])


def test_a_mix_says_that_the_bench_or_the_tubs_keep_it_where_it_is():
    """Ten minutes later the one would be divided beside the other, or lie in its tub."""
    searched = Limits(deterministic_s=1.0, workers=1)
    for house in ({"bench_places": 1}, {"tubs": (replace(TUBS[0], count=1),)}):
        plan = make_plan(two_orders(**house), night_of(), limits=searched)
        kind = "tubs" if "tubs" in house else "bench"
        told = {a.binds or a.because for m in plan.mixes for a in m.alternatives}
        assert kind in told
        assert BINDS[kind] in {f.value for m in plan.mixes for r in m.reasons for f in r.figures}


def test_too_few_tubs_keep_bulks_apart():
    # 40 loaves of 0.8 kg with 1 % for handling are 32.3 kg: three tubs of 15 kg each.
    house = {"tubs": (Tub("small", "small tub", 15, 5),)}
    bound = make_plan(two_orders(**house), night_of(), limits=QUICK)
    assert not overlap(*[(m.mix_end_utc, m.divide_utc) for m in bound.mixes])
    free = make_plan(two_orders(tubs=TUBS[1:]), night_of(), limits=QUICK)
    assert overlap(*[(m.mix_end_utc, m.divide_utc) for m in free.mixes])


def test_a_dough_larger_than_all_tubs_is_named():
    house = {"tubs": (Tub("small", "small tub", 15, 2),)}
    plan = make_plan(two_orders(**house), night_of(), limits=QUICK)
    said = [r for r in plan.remarks if r.code == "no_place"]
    assert [{f.name: f.value for f in r.figures}["detail"] for r in said] == [
        "there are not tubs enough for it"
    ] * 2


def test_the_plan_tells_the_tubs_and_a_replan_leaves_a_dough_in_them():
    # 32.3 kg go into one large tub or three small ones; there is one large tub.
    tubs = (replace(TUBS[0], count=1), TUBS[1])
    plan = make_plan(two_orders(tubs=tubs), night_of(), limits=QUICK)
    assert {mix.tubs for mix in plan.mixes} == {
        (TubsTaken("large", 1),), (TubsTaken("small", 3),)
    }  # fmt: skip
    said = [r.text for mix in plan.mixes for r in mix.remarks if r.code == "tubs"]
    assert said == ["Rises in {count} × {tub}."] * 2
    begun = max(mix.mix_end_utc for mix in plan.mixes)
    later = replan(plan, begun, [])
    assert {m.id: m.tubs for m in later.mixes} == {m.id: m.tubs for m in plan.mixes}


def test_a_dough_that_lies_in_tubs_has_no_other_way():
    one, batch = batch_of(60)
    job = plain_job(tubs=tubs_for(one, batch))
    assert in_its_tubs(job, (TubsTaken("small", 4),)).tubs == ((("tub small", 4),),)
    assert in_its_tubs(job, ()).tubs == job.tubs
