"""Levers of time: fewer or more minutes of working, another hour of the night."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from planner.missing import NEAR_K, TOLD_K, Miss, dough_of, lever, mean_c
from planner.mixers import Speed
from planner.options import BUCKET_MIN
from planner.physics.heat_balance import MixBalance, Numbers
from planner.physics.mix_course import dough_temperature_c
from planner.remarks import Remark, minutes, moment, temperature, word
from planner.start_times import in_time_min, start_buckets
from planner.tickets import MixCase

SHORTEST_SHARE, LONGEST_SHARE = 0.5, 1.5
"""A working step may be shortened or lengthened to this share of itself (ours)."""

WORKED_ROUNDS = 4
"""Secant rounds for the length of a step; the course is almost straight in it."""

HALF_MIN = 0.5
"""A shorter time than this would be printed as none [min]."""

NEAREST_SLOT_MIN = 60.0
"""Another hour of the night lies at least so far from the planned one [min]."""


def working_time(miss: Miss) -> Iterator[Remark]:
    """Say by how much the fastest working step would have to be shorter or longer."""
    steps, effects = miss.batch.formula.steps, miss.mixed.effects.by_step
    worked = [
        (k, step) for k, step in enumerate(steps) if step.speed is not Speed.REST and effects[k] > 0
    ]
    if not worked:
        return
    k, step = max(worked, key=lambda pair: effects[pair[0]] / max(pair[1].minutes, 1e-9))
    share = _share_worked(miss, k, 1 - miss.off_k / effects[k])
    if share is None or (share < 1) is not miss.too_warm:
        return
    # A shorter mix may not melt its ice: what counts is the ticket that it would get.
    if miss.is_reached(dough_of(_worked_for(miss, k, share), miss.target_c)):
        less_min = abs(1 - share) * step.minutes
        text = "{less} less at {speed} would bring it back, if the dough allows it."
        if not miss.too_warm:
            text = "{less} more at {speed} would bring it back, if the dough allows it."
        if less_min < HALF_MIN:
            text = (
                "Up to half a minute less at {speed} would bring it back, if the dough allows it."
            )
            if not miss.too_warm:
                text = (
                    "Up to half a minute more at {speed} would bring it back, "
                    "if the dough allows it."
                )
        yield lever("working_time", text, minutes("less", less_min), word("speed", step.speed))


def _share_worked(miss: Miss, k: int, guess: float) -> float | None:
    """Return the share of its minutes at which a step gives the target; None when none does."""
    ticket, ice = miss.mixed.ticket, miss.mixed.ways.ice
    before, before_off_k = 1.0, miss.off_k
    share = min(max(guess, SHORTEST_SHARE), LONGEST_SHARE)
    for _ in range(WORKED_ROUNDS):
        balance = _worked_for(miss, k, share).balance()
        dough_c = dough_temperature_c(balance, ticket.water_c or 0.0, ticket.ice_kg, ice)
        off_k = float(dough_c) - miss.target_c
        if abs(off_k) < NEAR_K:
            return share
        if off_k == before_off_k:
            return None
        moved = share - off_k * (share - before) / (off_k - before_off_k)
        before, before_off_k = share, off_k
        share = min(max(moved, SHORTEST_SHARE), LONGEST_SHARE)
        if share == before:
            return None
    return None


def _worked_for(miss: Miss, k: int, share: float) -> MixCase:
    """Return the mix with one step of another length."""
    formula = miss.batch.formula
    step = replace(formula.steps[k], minutes=formula.steps[k].minutes * share)
    steps = (*formula.steps[:k], step, *formula.steps[k + 1 :])
    return replace(miss.case, batch=replace(miss.batch, formula=replace(formula, steps=steps)))


def other_slot(miss: Miss) -> Iterator[Remark]:
    """Say when the night itself would allow it, in time and with the same readings and stores."""
    night = miss.night
    starts = _starts_that_help(miss)
    if not len(starts):
        return
    reached = miss.case.drawn(_at_other_starts(miss, starts), miss.target_c).expected_c
    dough_c = np.broadcast_to(reached, starts.shape)
    good = [n for n, c in enumerate(dough_c) if miss.is_reached(float(c))]
    if not good:
        return
    nearest = min(good, key=lambda n: abs(starts[n] - miss.start_min))
    yield lever(
        "other_slot",
        "Mixed about {start} it comes off at {dough}.",
        moment("start", night.day.moment(float(starts[nearest]))),
        temperature("dough", float(dough_c[nearest])),
    )


def _starts_that_help(miss: Miss) -> Numbers:
    """Return the starts in time at which this ticket's water and ice would be enough [min]."""
    night, ticket = miss.night, miss.mixed.ticket
    buckets = range(night.day.span_min // BUCKET_MIN) if miss.buckets is None else miss.buckets
    starts = np.array(sorted(buckets), dtype=np.float64) * BUCKET_MIN
    starts = starts[np.abs(starts - miss.start_min) >= NEAREST_SLOT_MIN]
    if not len(starts):
        return starts
    ice, water_c = miss.mixed.ways.ice, ticket.water_c or 0.0
    balance = _at_other_starts(miss, starts)
    dough_c = dough_temperature_c(balance, water_c, ticket.ice_kg, ice)
    off_k = np.broadcast_to(dough_c, starts.shape) - miss.target_c
    starts = starts[off_k <= TOLD_K] if miss.too_warm else starts[off_k >= -TOLD_K]
    if not len(starts):
        return starts
    if miss.buckets is None:
        starts = starts[np.isin(starts, start_buckets(night, miss.batch, None) * BUCKET_MIN)]
    earliest, latest = in_time_min(night, miss.batch)
    return starts[(starts >= earliest) & (starts <= latest)]


def _at_other_starts(miss: Miss, starts: Numbers) -> MixBalance:
    """Return the mix at other starts: flour and room as far off their forecast as they were read.

    The bowl is as far off its room as it is now, unless it was read; parts and tap stay.
    """
    case = miss.case
    forecast = replace(case, measured=replace(case.measured, flour_c=None, room_c=None))
    is_read = case.measured.flour_c is not None or case.measured.room_c is not None
    now = forecast.balance() if is_read else miss.mixed.balance
    then = replace(forecast, start_min=starts).balance()
    room_now_c = float(np.asarray(now.air.room_c))
    flour_now = [i for i in now.ingredients if i.is_fresh_flour]
    read_c = case.measured.flour_c
    flour_k = read_c - mean_c(flour_now) if flour_now and read_c is not None else 0.0
    room_c = case.measured.room_c
    bowl_c = now.bowl.temperature_c
    if case.measured.bowl_c is None:
        bowl_c = bowl_c - room_now_c + then.air.room_c
    return replace(
        then,
        ingredients=tuple(
            replace(i, temperature_c=i.temperature_c + flour_k) if i.is_fresh_flour else i
            for i in then.ingredients
        ),
        bowl=replace(then.bowl, temperature_c=bowl_c),
        air=replace(
            then.air, room_c=then.air.room_c + (0.0 if room_c is None else room_c - room_now_c)
        ),
    )
