"""The defaults that cost most: what was read is no longer assumed."""

import pytest

from planner import Limits, make_plan
from planner.corrections import Corrections
from planner.learning.readings import learn
from planner.mixers import Speed
from planner.readings import MixOutcome
from tests.planner.builders import day, night_of


def read_at(*speeds: Speed) -> Corrections:
    """Five mixes as foreseen, three degrees of work at each of these speeds."""
    mix = MixOutcome(
        "a", "spiral", "wheat", 25.0, 25.0, 0.5,
        tuple((s, 3.0) for s in speeds), tuple((s, 1.0) for s in speeds),
        tuple((s, 0.4) for s in speeds),
    )  # fmt: skip
    return learn([mix] * 5, Corrections())


@pytest.mark.parametrize(
    ("speeds", "named"),
    [((), True), ((Speed.FIRST,), True), ((Speed.FIRST, Speed.SECOND), False)],
)
def test_mixing_work_is_assumed_until_each_speed_in_use_was_read(speeds, named):
    known = read_at(*speeds) if speeds else Corrections()
    plan = make_plan(day(), night_of(24.0), known, limits=Limits(list_only=True))
    assert ("mixing work of spiral" in [a.name for a in plan.assumptions]) is named


def test_the_speed_that_was_read_costs_nothing_any_more():
    """Second speed is most of the work: what the first still may cost is a part of it."""
    costs = []
    for known in (Corrections(), read_at(Speed.FIRST), read_at(Speed.SECOND)):
        plan = make_plan(day(), night_of(24.0), known, limits=Limits(list_only=True))
        costs.append(sum(a.effect_k for a in plan.assumptions if "mixing work" in a.name))
    both, second, first = costs
    assert both > second > first > 0.1
    assert second + first == pytest.approx(both, rel=0.05)
