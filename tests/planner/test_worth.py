"""A new version is told when it passes what a mixer hand would pass over, and only then."""

from dataclasses import replace
from datetime import timedelta

import pytest

from planner.planned import Plan
from planner.remarks import Remark, RemarkKind
from planner.worth import is_worth_telling, moved_mixes
from tests.api.pages.sample import sample_plan

PLAN: Plan = sample_plan()
"""Its white dough has water of 7.5 °C and 8.35 kg of ice."""


def with_white(**changes):
    """The plan with its white dough, or its ticket, changed."""
    white = PLAN.mix("white")
    ticket = {key: changes.pop(key) for key in ("water_c", "ice_kg") if key in changes}
    changed = replace(white, ticket=replace(white.ticket, **ticket), **changes)
    return replace(PLAN, mixes=tuple(changed if m.id == "white" else m for m in PLAN.mixes))


@pytest.mark.parametrize(
    ("changes", "is_told"),
    [
        ({"water_c": 8.5}, False),  # 1.0 °C
        ({"water_c": 8.6}, True),
        ({"water_c": 6.4}, True),
        ({"water_c": None}, True),
        ({"ice_kg": 8.0}, False),  # 4.2 % of 8.35
        ({"ice_kg": 7.9}, True),  # 5.4 %
        ({"ice_kg": 8.75}, False),  # 4.6 % of 8.75
        ({"ice_kg": 8.85}, True),  # 5.6 % of 8.85
        ({"start_utc": PLAN.mix("white").start_utc + timedelta(minutes=5)}, False),
        ({"start_utc": PLAN.mix("white").start_utc - timedelta(minutes=6)}, True),
        ({"mixer_id": "another"}, True),
    ],
)
def test_a_mix_that_moves_is_told_beyond_the_limits(changes, is_told):
    after = with_white(**changes)
    assert moved_mixes(PLAN, after) == (("white",) if is_told else ())
    assert is_worth_telling(PLAN, after) is is_told


def test_what_has_begun_is_not_told_again():
    later = with_white(start_utc=PLAN.mix("white").start_utc + timedelta(hours=1))
    assert not is_worth_telling(PLAN, replace(later, begun=("white",)))


@pytest.mark.parametrize("saved", [True, False])
def test_a_dough_that_is_saved_or_lost_is_told(saved):
    lost = replace(PLAN, unplaced=("late",))
    assert is_worth_telling(*((lost, PLAN) if saved else (PLAN, lost)))


def test_another_wish_that_is_missed_is_told_and_another_reason_is_not():
    for kind, is_told in ((RemarkKind.UNMET, True), (RemarkKind.REASON, False)):
        said = replace(PLAN, remarks=(*PLAN.remarks, Remark(kind, "made_up", "x", (), "white")))
        assert is_worth_telling(PLAN, said) is is_told


def test_the_same_plan_is_nothing_to_tell():
    assert not is_worth_telling(PLAN, PLAN)
