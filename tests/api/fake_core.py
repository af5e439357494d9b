"""A core that plans at once, or when told to; and the day that the service's tests are about."""

from __future__ import annotations

import copy
from dataclasses import replace
from datetime import timedelta
from threading import Event

from planner.corrections import Corrections, MixingWorkCorrection
from planner.mixers import Speed
from planner.pins import Progress
from planner.planned import Answer
from planner.readings import ReadingKind
from tests.api.pages.sample import sample_plan

DAY = {
    "production_date": "2026-07-16",
    "bakery": {
        "id": "weir",
        "name": "Bakery at the Weir",
        "zone": "Europe/Vienna",
        "mixers": [{"id": "spiral_1", "name": "spiral 120", "kind": "spiral", "max_dough_kg": 120}],
        "water": [{"kind": "tap", "temperature_c": 18}],
        "flour_stores": [{"name": "sacks", "kind": "sack"}],
        "ovens": [{"name": "deck", "places": 4}],
        "people": [{"name": "Ana", "from": "22:00", "to": "06:00"}],
    },
    "formulas": [
        {
            "name": "white",
            "lines": [
                {"material": "wheat flour", "percent": 100},
                {"material": "water", "percent": 62},
                {"material": "fresh yeast", "percent": 2},
                {"material": "salt", "percent": 2},
            ],
            "steps": [{"speed": "first speed", "minutes": 5}],
            "dough_c": 25,
            "bulk": {"minutes": 90, "room_c": 24},
        }
    ],
    "products": [
        {
            "name": "loaf",
            "formula": "white",
            "piece_kg": 0.85,
            "proof": [{"minutes": 60, "room_c": 26}],
            "bake_min": 35,
            "pieces_per_place": 24,
        }
    ],
    "mix_list": [{"product": "loaf", "pieces": 96, "leave_by": "06:30"}],
    "conditions": {"coolest_c": 21, "hottest_c": 31},
    "pins": [{"mix": "loaf", "start": "23:30"}],
}
"""A small whole day, as it is sent."""


def day_document(**changes):
    """The day with some of its parts replaced."""
    return {**copy.deepcopy(DAY), **changes}


class FakeCore:
    """Returns the sample plan, of its own day, for whatever day it is asked to plan.

    Attributes
    ----------
    asked
        What it was asked for, call by call.
    go
        It plans once this is set; until then it reports progress.
    known, earlier
        The corrections and the plan of an earlier day it was given, call by call.
    error
        Raised instead of planning.
    """

    def __init__(self):
        self.asked, self.known, self.earlier, self.replanned = [], [], [], []
        self.later = timedelta(minutes=20)
        self.go = Event()
        self.go.set()
        self.error = None

    def make_plan(
        self, day, conditions, corrections=None, *, pins=(), limits, on_progress=None, earlier=None
    ):
        self.earlier.append(earlier)
        self.known.append(corrections)
        self.asked.append((day, conditions, pins, limits))
        if self.error is not None:
            raise self.error
        while on_progress(Progress("searching", 120.0, 80.0, 1.5)) and not self.go.wait(0.02):
            pass
        return replace(sample_plan(), pins=tuple(pins), limits=limits)

    def replan(self, plan, now, events, *, limits, on_progress=None):
        """Return the plan with each mix to come later by `self.later`; note what happened."""
        assert on_progress is not None
        self.replanned.append((plan, now, list(events), limits))
        moved = tuple(
            mix if mix.start_utc <= now else replace(mix, start_utc=mix.start_utc + self.later)
            for mix in plan.mixes
        )
        begun = tuple(mix.id for mix in plan.mixes if mix.start_utc <= now)
        return replace(plan, mixes=moved, begun=begun, as_of_utc=now)

    def answer(self, plan, reading):
        """Answer with a ticket whose ice counts the readings known before this one."""
        mix = plan.mix(reading.mix_id)
        ticket = replace(mix.ticket, ice_kg=float(len(plan.readings)))
        return Answer(replace(mix, ticket=ticket), changed=True, remarks=mix.remarks)

    def learn(self, plan, mix_ids, prior):
        """Learn of each mix that has come off one second speed; its factor is how often it was."""
        ends = [r for r in plan.readings if r.kind is ReadingKind.DOUGH_END_C]
        learned = {one.mixer_id: one for one in prior.mixing_work}
        for mixer_id in {plan.mix(r.mix_id).mixer_id for r in ends if r.mix_id in mix_ids}:
            count = learned[mixer_id].readings + 1 if mixer_id in learned else 1
            learned[mixer_id] = MixingWorkCorrection(
                mixer_id, (Speed.SECOND,), ("wheat",), (float(count), -0.1),
                ((0.04, 0.0), (0.0, 0.09)), count, (), ((Speed.SECOND, 0.4),),
            )  # fmt: skip
        return Corrections(tuple(learned.values()))
