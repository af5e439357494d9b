"""A night in a house where every place, hand and heat is scarce, planned again and again.

Its judges look at each version anew; beside them the plan's own tasks and loads are counted here.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import timedelta
from functools import cache
from itertools import pairwise

import pytest

from planner import Limits, make_plan, replan
from planner.bakery import Chamber, ChamberKind, Oven, OvenKind, Person, Tub
from planner.baking import baking_of, oven_places
from planner.conditions import Fire
from planner.crew import BreakRule, Skill
from planner.day import Order, Shift
from planner.estimate import Estimate
from planner.planned import Plan
from planner.ripening import Curve, HoursAt, Move, Ripening
from tests.planner.builders import at, bakery, day, lean_dough, loaf, night_of
from tests.planner.conftest import levain_dough

QUICK = Limits(list_only=True)
MINUTE = timedelta(minutes=1)
OVENS = (
    Oven("deck", "deck oven", OvenKind.DECK, 2, 3, 0.3, heats_k_per_min=5.0, cools_k_per_min=1.0),
    Oven("stone", "stone oven", OvenKind.DECK, 2, 0, 0.5, falls_k_per_h=20.0),
    Oven("belt", "belt oven", OvenKind.CONVEYOR, gap_min=7),
)
RETARD = Ripening(HoursAt(1.7, 25), Curve.YEAST, "room", moves=(Move(55, "cold"),))
BREADS = {
    "rolls": {"bake_c": 240.0, "bake_min": 18, "shape_people": 2},
    "loaf": {"bake_c": 210.0, "bake_min": 41},
    "stone": {"bake_c": 230.0, "bake_min": 52, "oven_ids": ("stone",), "formula_id": "country"},
    "pan": {"bake_c": 220.0, "bake_min": 33, "oven_ids": ("belt",), "pieces_per_min": 3.0},
    "toast": {"bake_c": 190.0, "bake_min": 33, "oven_ids": ("belt",), "pieces_per_min": 3.0},
    "cold": {"bake_c": 215.0, "bake_min": 37, "routes": (RETARD,)},
}
LINES = (
    ("rolls", 40, 13.0),
    ("loaf", 36, 14.0),
    ("stone", 30, 14.5),
    ("pan", 38, 13.5),
    ("toast", 38, 15.0),
    ("cold", 30, 19.0),
)


def folded(formula):
    return replace(formula, bulk=replace(formula.bulk, folds_min=(25, 50)))


@cache
def night() -> Plan:
    """Six doughs, three ovens, three people, one bench."""
    spiral = bakery().mixers[0]
    house = bakery(
        mixers=(spiral, replace(spiral, id="second", name="second spiral")),
        ovens=OVENS,
        chambers=(
            Chamber("cold", "retarder", ChamberKind.RETARDER, Estimate(9.0), 3, most_kg=60.0),
        ),
        tubs=(Tub("tub", "tub", 20, 5),),
        bench_places=1,
        people=(
            Person("ada", "Ada"),
            Person("bo", "Bo", (Skill.SCALE, Skill.DIVIDE, Skill.FOLD, Skill.LOAD)),
            Person("cy", "Cy"),
        ),
        breaks=(BreakRule(360, 20),),
    )
    white = folded(lean_dough())
    return make_plan(
        day(
            bakery=house,
            formulas=(white, folded(levain_dough())),
            products=tuple(loaf(id=i, name=i, **own) for i, own in BREADS.items()),
            lines=tuple(Order(i, i, pieces, at(hours)) for i, pieces, hours in LINES),
            shifts=(
                Shift("ada", at(0), at(9)), Shift("bo", at(5), at(13)), Shift("cy", at(7), at(19)),
            ),
        ),
        replace(night_of(25.0), fires={"stone": Fire(at(8), 290.0)}),
        limits=QUICK,
    )  # fmt: skip


def judged(plan: Plan) -> list[str]:
    return [r.code for r in plan.remarks if r.code.startswith("judge_")]


def work_of(plan: Plan) -> Counter[tuple[str, str]]:
    """How many minutes of each kind of work each mix, load and build has; whose does not matter."""
    minutes: Counter[tuple[str, str]] = Counter()
    for task in plan.tasks:
        minutes[task.kind, task.subject] += round((task.end_utc - task.start_utc) / MINUTE)
    return minutes


def clashes(plan: Plan) -> list[str]:
    """Return who does two things at once, and which oven, bench or chamber is overfull."""
    found = []
    mine = sorted(plan.tasks, key=lambda t: (str(t.person_id), t.start_utc))
    for one, other in pairwise(mine):
        if one.person_id == other.person_id and other.start_utc < one.end_utc:
            found.append(f"{one.person_id}: {one.kind} {one.subject}, {other.kind} {other.subject}")
    found += [f"{t.kind} {t.subject}: nobody" for t in plan.tasks if t.person_id is None]
    bench = sorted((m.divide_utc, m.divide_end_utc, m.id) for m in plan.mixes)
    for one, other in pairwise(bench):
        if other[0] < one[1]:
            found.append(f"bench: {one[2]}, {other[2]}")
    return found + overfull(plan)


def overfull(plan: Plan) -> list[str]:
    found = []
    loads = [load for mix in plan.mixes for load in mix.loads]
    for oven in oven_places(plan.day):
        uses = []
        for load in loads:
            if load.oven_id == oven.oven_id:
                baking = baking_of(
                    plan.day, plan.conditions, plan.day.product(load.product_id), load.pieces
                )
                hold = next(c.hold_min for c in baking.ovens if c.oven_id == oven.oven_id)
                uses.append((load.load_utc, load.load_utc + hold * MINUTE, load.oven_places))
        for start, _, _ in uses:
            if sum(n for a, b, n in uses if a <= start < b) > oven.places:
                found.append(f"{oven.oven_id} at {start}")
    for start in [m.mix_end_utc for m in plan.mixes]:
        tubs = [
            n.count for m in plan.mixes if m.mix_end_utc <= start < m.divide_utc for n in m.tubs
        ]
        if sum(tubs) > 5:
            found.append(f"tubs at {start}")
    return found


def test_the_night_is_planned_with_all_its_rules():
    plan = night()
    assert judged(plan) == []
    assert plan.unplaced == ()
    assert clashes(plan) == []
    assert Counter(t.kind for t in plan.tasks)["break"] == 3
    assert {m.start_utc.minute % 5 for m in plan.mixes} != {0}


@pytest.mark.parametrize("minute", range(65, 1080, 35))
def test_planned_again_at_any_minute_it_stays_sound(minute):
    plan, now = night(), at(minute / 60)
    after = replan(plan, now, [], limits=QUICK)
    assert judged(after) == []
    assert after.unplaced == ()
    assert clashes(after) == []
    assert work_of(after) == work_of(plan)
