"""Other nights made of the sample's mixes: many of them, plain ones, one on which clocks change."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import timedelta
from typing import TypeVar

from planner.plan_figures import HourBudget
from planner.planned import Plan, PlannedLoad, PlannedMix, PlannedTask
from planner.planned_preparation import PlannedPreparation
from tests.api.pages.sample import country_mix, sample_plan

Moved = TypeVar("Moved", PlannedMix, PlannedLoad, PlannedPreparation, PlannedTask, HourBudget)


def copies(mix: PlannedMix, count: int, every_min: int = 20, **changes: object) -> list[PlannedMix]:
    """The same mix again and again, each some minutes later."""
    made = []
    for i in range(count):
        later = timedelta(minutes=every_min * i)
        loads = tuple(
            replace(
                one,
                id=f"{mix.id}-{i}/1",
                **{
                    name: getattr(one, name) + later
                    for name in (
                        "proof_start_utc", "load_from_utc", "load_by_utc", "load_utc", "out_utc",
                        "ready_utc",
                    )
                },
            )
            for one in mix.loads
        )  # fmt: skip
        times = {
            name: getattr(mix, name) + later
            for name in (
                "start_utc", "mix_end_utc", "divide_from_utc", "divide_by_utc", "divide_utc",
                "divide_end_utc",
            )
        }  # fmt: skip
        folds = tuple(moment + later for moment in mix.folds_utc)
        id = f"{mix.id}-{i}"
        made.append(replace(mix, id=id, loads=loads, folds_utc=folds, **times, **changes))
    return made


def night_of(mixes: list[PlannedMix], people: int = 2) -> Plan:
    """A plan of these mixes with the usual tasks, and nothing to be read first."""
    who = ("ana", "tom")[:people]
    tasks = []
    for i, mix in enumerate(mixes):
        person = who[i % people]
        scale = mix.start_utc - timedelta(minutes=10)
        tasks += [
            PlannedTask("scale", mix.id, scale, mix.start_utc, person, mix.mixer_id),
            PlannedTask("divide", mix.id, mix.divide_utc, mix.divide_end_utc, person, ""),
            *(
                PlannedTask("fold", mix.id, fold, fold + timedelta(minutes=5), person, "")
                for fold in mix.folds_utc
            ),
            *(
                PlannedTask("load", load.id, load.load_utc, load.out_utc, person, load.oven_id)
                for load in mix.loads
            ),
        ]
    plan = sample_plan()
    return replace(
        plan, mixes=tuple(mixes), preparations=(), tasks=tuple(tasks), remarks=(), begun=()
    )


def plain_mixes(count: int) -> list[PlannedMix]:
    """Mixes without ice, scald or second water; neighbours differ in weight, so none is a run."""
    mixes = copies(country_mix(), count, preparation_ids=())
    return [replace(mix, dough_kg=mix.dough_kg + (i % 2) / 10) for i, mix in enumerate(mixes)]


def clocks_go_back(plan: Plan) -> Plan:
    """The same night moved to 25 October 2026, when clocks go back in Vienna at 01:00 UTC."""
    shift = timedelta(days=101)
    day = plan.day
    moved_day = replace(
        day,
        production_date=day.production_date + shift,
        start_utc=day.start_utc + shift,
        end_utc=day.end_utc + shift,
        lines=(),
        shifts=tuple(
            replace(one, start_utc=one.start_utc + shift, end_utc=one.end_utc + shift)
            for one in day.shifts
        ),
    )
    rooms = {
        key: replace(one, start_utc=one.start_utc + shift)
        for key, one in plan.conditions.rooms.items()
    }
    return replace(
        plan,
        day=moved_day,
        conditions=replace(plan.conditions, rooms=rooms),
        mixes=tuple(_later(mix, shift) for mix in plan.mixes),
        preparations=tuple(_later(one, shift) for one in plan.preparations),
        tasks=tuple(_later(task, shift) for task in plan.tasks),
        budgets=tuple(_later(hour, shift) for hour in plan.budgets),
    )


def _later(thing: Moved, shift: timedelta) -> Moved:
    """The same thing with each of its moments moved."""
    changes: dict[str, object] = {}
    for field in fields(thing):
        value = getattr(thing, field.name)
        if field.name.endswith("_utc") and value is not None:
            many = isinstance(value, tuple)
            changes[field.name] = tuple(one + shift for one in value) if many else value + shift
        elif field.name == "loads":
            changes["loads"] = tuple(_later(load, shift) for load in value)
    return replace(thing, **changes)
