"""The clock rule: one dough temperature, sheet times, earliest departure first.

What a careful house without a planner does: every dough is mixed to the same temperature; each
mix starts so long before its departure as the sheet says, and some slack sooner; bulk and proof
go by the clock; a busy mixer, hand or oven is waited for. Its sheet knows what its dough
temperature does to the times (held at it), not what the room does. It may take as much ice as its
balance asks for and its levains and scalds are always ready, which favours it. The best of five
temperatures and six slacks is taken for each day.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import NDArray

from planner.balances import dough_balance
from planner.batches import Batch
from planner.day import ReadyWindow
from planner.night import Night
from planner.options import NO_ALLOWANCE, Allowance, Offer, bowls_c, draw_with, steering_of
from planner.physics.fermentation import relative_rate
from planner.preparations import Offered
from planner.ripening import HoursAt, Ripening
from planner.scheduling.problem import Problem
from tests.benchmarks.core_day import Posed
from tests.benchmarks.day_judge import Lived, LivedLoad, LivedMix, LivedStanding, Verdict, judge_all

Numbers = NDArray[np.float64]

DOUGHS_C = (22.0, 23.0, 24.0, 25.0, 26.0)
SLACKS_MIN = (0, 15, 30, 45, 60, 90)
STEP = 5


@dataclass(frozen=True)
class Rule:
    """The rule at its best on one day."""

    dough_c: float
    slack_min: int
    lived: Lived
    verdict: Verdict


def best_rule(day: Posed) -> Rule:
    """Return the rule at its best: fewest late loads, then fewest outside, then least ice."""
    drawn = {batch.id: drawn_at(day, batch, DOUGHS_C) for batch in day.batches}
    ways = [(number, slack) for number in range(len(DOUGHS_C)) for slack in SLACKS_MIN]
    lives = []
    for number, slack in ways:
        came = {one: (a[:, number], b[:, number]) for one, (a, b) in drawn.items()}
        lives.append(run_rule(day, DOUGHS_C[number], slack, came))
    found = [
        Rule(DOUGHS_C[number], slack, lived, verdict)
        for (number, slack), lived, verdict in zip(ways, lives, judge_all(lives), strict=True)
    ]
    return min(found, key=lambda r: (r.verdict.late_loads, r.verdict.out, r.verdict.ice_kg))


def drawn_at(day: Posed, batch: Batch, doughs_c: tuple[float, ...]) -> tuple[Numbers, Numbers]:
    """Return dough off the mixer [°C] and ice [kg] by start slot and wanted dough temperature."""
    start = np.arange(0, day.night.day.span_min, STEP, dtype=np.float64)
    return came_off(day.night, batch, day.preparations, start, doughs_c)


def came_off(
    night: Night,
    batch: Batch,
    preparations: tuple[Offered, ...],
    start: Numbers,
    doughs_c: tuple[float, ...],
    *,
    iced: bool = True,
) -> tuple[Numbers, Numbers]:
    """Return dough [°C] and ice [kg] by start and wanted dough, after a warm bowl."""
    mixer = batch.mixers[0]
    parts = {p.part.id: p.curve(start) for p in preparations if p.feeds(batch.id)}
    balance = dough_balance(
        night, batch, mixer, start, parts, bowls_c(night, batch, mixer, start)[0]
    )
    ways = steering_of(night, batch, balance)
    by_dough = []
    for dough_c in doughs_c:
        allowed = NO_ALLOWANCE if iced else Allowance(ice_kg=0.0)
        drawn = draw_with(ways, balance, dough_c, allowed, use_chilled=True)
        by_dough.append((drawn.expected_c, drawn.ice_kg))
    return (
        np.stack([np.broadcast_to(a, start.shape) for a, _ in by_dough], axis=1),
        np.stack([np.broadcast_to(b, start.shape) for _, b in by_dough], axis=1),
    )


def sheet_min(ripening: Ripening, dough_c: float) -> int:
    """Return the minutes that stand on the sheet for a dough held at a temperature [min]."""
    reference = ripening.reference
    if not isinstance(reference, HoursAt):
        raise TypeError("sheet_min: the rule knows hours at a dough temperature only")
    rate = relative_rate(ripening.curve, dough_c) / relative_rate(ripening.curve, reference.dough_c)
    return ceil(60 * reference.hours / float(rate) / STEP - 1e-9) * STEP


class _House:
    """Who and what is free, in slots of five minutes."""

    def __init__(self, problem: Problem) -> None:
        self.slots = problem.span_min // STEP + 60
        self.people = np.zeros(self.slots, dtype=int)
        for worker in problem.workers:
            for first, end in worker.hours:
                self.people[ceil(first / STEP) : end // STEP] += 1
        self.mixers = {m: np.ones(self.slots, dtype=int) for j in problem.jobs for m in j.mixer_ids}
        self.ovens = {o.oven_id: np.full(self.slots, o.places) for o in problem.ovens}

    def soonest(
        self, first: int, wants: list[tuple[NDArray[np.int_], int, int, int]]
    ) -> int | None:
        """Return the first slot from one on at which all wants are met, and take them.

        A want is a row of what is free, where it begins beside the slot, how long, and how many.
        """
        for slot in range(max(first, 2), self.slots - 40):
            if all(
                (free[slot + at : slot + at + length] >= n).all() for free, at, length, n in wants
            ):
                for free, at, length, n in wants:
                    free[slot + at : slot + at + length] -= n
                return slot
        return None


def run_rule(
    day: Posed, dough_c: float, slack_min: int, came: dict[str, tuple[Numbers, Numbers]]
) -> Lived:
    """Run a day by the rule."""
    house = _House(day.problem)
    ovens = {o.oven_id: o for o in day.problem.ovens}
    offers = sorted(day.offers, key=lambda o: (_due(day, o.batch), o.batch.id))
    mixes, missing, to_load = [], 0, []
    for offered in offers:
        mixed = _mixed(day, house, offered, dough_c, slack_min)
        if mixed is None:
            missing += max(1, len(offered.proof_offsets_min))
            continue
        start, divide = mixed
        batch = offered.batch
        reached, ice = (float(rows[start]) for rows in came[batch.id])
        mixes.append((batch, offered, start * STEP, divide * STEP, reached, ice))
        if batch.product is not None:
            proof = sheet_min(batch.product.routes[0], dough_c)
            for k, offset in enumerate(offered.proof_offsets_min):
                begins = divide * STEP + offset
                to_load.append((begins + proof, batch.id, k, begins))
    for item in day.problem.standing:
        wanted = item.leave_by - item.load.bake_min - item.load.cool_min - slack_min
        to_load.append((max(item.load_from, wanted), item.load.id, -1, 0))
    loaded = _loaded(day, house, ovens, sorted(to_load))
    return _lived(day, mixes, loaded, missing)


def _due(day: Posed, batch: Batch) -> float:
    if batch.leave_by is not None:
        return day.night.day.minute(batch.leave_by)
    window = batch.window
    return day.night.day.minute(window.by_utc) if isinstance(window, ReadyWindow) else 1e9


def _mixed(
    day: Posed, house: _House, offered: Offer, dough_c: float, slack_min: int
) -> tuple[int, int] | None:
    """Return slots of start and divide."""
    batch, job = offered.batch, day.problem.job(offered.batch.id)
    bulk = sheet_min(batch.formula.bulk, dough_c)
    ahead = job.mix_min + bulk + slack_min
    if batch.product is not None:
        product = batch.product
        ahead += max(offered.proof_offsets_min) + sheet_min(product.routes[0], dough_c)
        ahead += product.bake_min + product.cool_min
    first = max(2, int((_due(day, batch) - ahead) // STEP))
    mix, scale = job.mix_min // STEP, job.scale_min // STEP
    starts = []
    for mixer in job.mixer_ids:  # the mixer that is free first
        trial = [(house.mixers[mixer], 0, mix, 1), (house.people, -scale, scale, 1)]
        kept = [(row, row.copy()) for row, *_ in trial]
        slot = house.soonest(first, trial)
        for row, was in kept:
            row[:] = was
        if slot is not None:
            starts.append((slot, mixer))
    if not starts:
        return None
    slot, mixer = min(starts)
    wants = [(house.mixers[mixer], 0, mix, 1), (house.people, -scale, scale, 1)]
    start = house.soonest(slot, wants)
    if start is None:
        return None
    work = (house.people, 0, max(1, job.divide_min // STEP), 1)
    divide = house.soonest(start + mix + bulk // STEP, [work])
    return None if divide is None else (start, divide)


def _loaded(
    day: Posed, house: _House, ovens: dict, to_load: list[tuple[float, str, int, float]]
) -> dict[tuple[str, int], LivedLoad]:
    """Load in the order of the clock; wait for the oven and for hands."""
    loads = {(s.load.id, -1): s.load for s in day.problem.standing}
    loads |= {(j.id, k): load for j in day.problem.jobs for k, load in enumerate(j.loads)}
    found = {}
    for when, one_id, k, begins in to_load:
        load = loads[one_id, k]
        oven = load.ovens[0]
        holds = ceil((load.bake_min + ovens[oven.oven_id].recovery_min) / STEP)
        hands = ceil(day.problem.load_work_min / STEP)
        wants = [(house.ovens[oven.oven_id], 0, holds, oven.places), (house.people, 0, hands, 1)]
        at = house.soonest(ceil(when / STEP), wants)
        if at is not None:
            ready = at * STEP + load.bake_min + load.cool_min
            found[one_id, k] = LivedLoad(
                0, begins, at * STEP, ready, oven.oven_id, oven.places, holds * STEP
            )
    return found


def _lived(
    day: Posed,
    mixes: list[tuple[Batch, Offer, int, int, float, float]],
    loaded: dict[tuple[str, int], LivedLoad],
    missing: int,
) -> Lived:
    lived = []
    for batch, offered, start, divide, dough_c, ice_kg in mixes:
        loads = [loaded.get((batch.id, k)) for k in range(len(offered.proof_offsets_min))]
        missing += loads.count(None)
        lived.append(
            LivedMix(
                batch=batch,
                start=start,
                mix_end=start + batch.formula.mix_min,
                dough_c=dough_c,
                ice_kg=ice_kg,
                divide=divide,
                loads=tuple(load for load in loads if load is not None),
                leave_by=None if batch.leave_by is None else day.night.day.minute(batch.leave_by),
            )
        )
    standing = [
        LivedStanding(loaded[s.load.id, -1], s.load_from, s.load_by, s.leave_by)
        for s in day.problem.standing
        if (s.load.id, -1) in loaded
    ]
    missing += len(day.problem.standing) - len(standing)
    ovens = {o.oven_id: o.places for o in day.problem.ovens}
    return Lived(day.night, tuple(lived), tuple(standing), ovens, missing)
