"""How long a ticket takes, and the heat options of a day: `python -m tests.benchmarks.ticket`.

Medians of one run, and the memory of the whole process; nothing here is a test.
"""

# ruff: noqa: T201  (what it prints is all it does)

from __future__ import annotations

import resource
from dataclasses import replace
from statistics import median
from time import perf_counter

import numpy as np

from planner.balances import dough_balance
from planner.batches import batches_of
from planner.conditions import Conditions
from planner.corrections import Corrections
from planner.formula import MixStep, Preferment
from planner.levers import missed_remarks
from planner.lines import Line
from planner.materials import Material
from planner.mixers import Speed
from planner.night import Night
from planner.options import Choice, steering_of
from planner.physics.water import draw
from planner.ripening import (
    Curve,
    HoursAt,
    Ripening,
)
from planner.tickets import make_ticket
from tests.planner.builders import bakery, day, lean_dough, steady_room

MIXES, STARTS, DOUGHS = 40, 312, 21


def levain_dough():
    """A dough with an autolyse rest, a levain and late salt."""
    levain = Preferment(
        "levain",
        "levain",
        (Line(Material.WHEAT_FLOUR, 10), Line(Material.WATER, 10)),
        Ripening(HoursAt(6, 26), Curve.LEVAIN, "room"),
        26.0,
        seed_percent=20,
        step=2,
    )
    return lean_dough(
        lines=(
            Line(Material.WHEAT_FLOUR, 90),
            Line(Material.WATER, 52),
            Line(Material.WATER, 6, step=3),
            Line(Material.SALT, 2, step=2),
        ),
        parts=(levain,),
        steps=(
            MixStep(Speed.FIRST, 4),
            MixStep(Speed.REST, 20),
            MixStep(Speed.FIRST, 3),
            MixStep(Speed.SECOND, 5),
        ),
    )


def timed_ms(task, rounds: int) -> float:
    """Median of some rounds [ms]."""
    times = []
    for _ in range(rounds):
        began = perf_counter()
        task()
        times.append(1000 * (perf_counter() - began))
    return median(times)


def one_ticket(formula, room_c: float, parts: dict[str, float]) -> float:
    """A ticket with its strip, and the levers if it misses its band [ms]."""
    night = Night(
        replace(day(), formulas=(formula,)),
        Conditions(rooms={"room": steady_room(room_c)}),
        Corrections(),
    )
    batch = batches_of(night.day)[0]
    mixer, choice = bakery().mixers[0], Choice(25.0, use_chilled=False)

    def task() -> None:
        mixed = make_ticket(night, batch, mixer, 300.0, choice, parts)
        missed_remarks(mixed)

    return timed_ms(task, 100)


def day_of_options() -> float:
    """Water and ice of forty mixes for 312 starts and 21 dough temperatures [ms]."""
    night = Night(day(), Conditions(rooms={"room": steady_room(30.0)}), Corrections())
    batch, mixer = batches_of(night.day)[0], bakery().mixers[0]
    starts, doughs = np.arange(STARTS) * 5.0, np.linspace(20, 30, DOUGHS)[:, None]

    def task() -> None:
        for _ in range(MIXES):
            balance = dough_balance(night, batch, mixer, starts, {})
            ways = steering_of(night, batch, balance)
            draw(balance, doughs, ways.supplies, ways.ice, use_chilled=True, ice_cap_kg=3.0)

    return timed_ms(task, 5)


def main() -> None:
    """Print the medians."""
    print(f"plain ticket with strip, on its wish:     {one_ticket(lean_dough(), 22.0, {}):.2f} ms")
    print(f"plain ticket with strip and levers:       {one_ticket(lean_dough(), 32.0, {}):.2f} ms")
    with_levain = one_ticket(levain_dough(), 34.0, {"levain": 30.0})
    print(f"autolyse, levain, second water, levers:   {with_levain:.2f} ms")
    print(f"{MIXES} mixes x {STARTS} starts x {DOUGHS} doughs: {day_of_options():.0f} ms")
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory of this process:              {peak_mb:.0f} MB")


if __name__ == "__main__":
    main()
