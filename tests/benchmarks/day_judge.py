"""What a day comes to on the true curves, whoever planned it: a judge that knows no search.

Times, dough temperatures and ice go in. Every dough is followed minute by minute through bulk,
bench and proof; a bulk or proof is outside its window below 0.90 or above 1.15 of its progress.
The same day is judged again in nights that turn out otherwise: every mix faster or slower by up
to a tenth, the room warmer or cooler by up to 1.5 °C all night. What a dough comes off the mixer
with stays as planned: flour and room are read before the mix, and its strip answers them.

`with_hindsight` is the same plan in the same night by people who see the dough: a divide and a
load are moved as little as brings them into their true window, in the plan's order where an oven
is full.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.batches import Batch
from planner.night import Night
from planner.physics.ripening_path import RipeningPath
from planner.rises import Divided, Rise, dough_rise, off_the_bench, piece_rise

Numbers = NDArray[np.float64]

FROM_PROGRESS, BY_PROGRESS = 0.90, 1.15
WITHIN_MIN = 1.0
"""A clock on the wall is read to a minute."""

RATE_OFF, ROOM_OFF_K = 0.10, 1.5


@dataclass(frozen=True, slots=True)
class LivedLoad:
    """A load: by which route, from when it proofed, when it went in, when it was ready."""

    route: int
    proof_start: float
    load_start: float
    ready: float
    oven_id: str
    places: int
    holds_min: float


@dataclass(frozen=True)
class LivedMix:
    """A mix as it was run [min, °C, kg]."""

    batch: Batch
    start: float
    mix_end: float
    dough_c: float
    ice_kg: float
    divide: float
    loads: tuple[LivedLoad, ...]
    leave_by: float | None


@dataclass(frozen=True)
class LivedStanding:
    """An inherited load as it was run: its window, when it went in, when it was ready [min]."""

    load: LivedLoad
    load_from: float
    load_by: float
    leave_by: float


@dataclass(frozen=True)
class Lived:
    """A day as it was run."""

    night: Night
    mixes: tuple[LivedMix, ...]
    standing: tuple[LivedStanding, ...]
    ovens: dict[str, int]
    missing: int = 0


@dataclass(frozen=True, slots=True)
class Other:
    """How nights turn out: rates per night and mix, and the room's offset per night [K]."""

    rate: Numbers
    room_k: Numbers


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a day came to.

    Attributes
    ----------
    late_loads, late_min
        Loads late, and minutes late in all; a load that is missing is late too.
    bulks, bulks_out, proofs, proofs_out
        How many there are, and how many outside their window.
    ice_kg
        Ice [kg].
    """

    late_loads: int
    late_min: float
    bulks: int
    bulks_out: int
    proofs: int
    proofs_out: int
    ice_kg: float

    @property
    def out(self) -> int:
        """Bulks and proofs outside their windows."""
        return self.bulks_out + self.proofs_out

    @property
    def share(self) -> float:
        """Share of them."""
        return self.out / max(1, self.bulks + self.proofs)


def as_foreseen(mixes: int) -> Other:
    """Return the one night that turns out as foreseen."""
    return Other(np.ones((1, mixes)), np.zeros(1))


def perturbed(mixes: int, nights: int, seed: int) -> Other:
    """Return nights that turn out otherwise; the same seed, the same nights."""
    rng = np.random.default_rng([seed, mixes, nights])
    return Other(
        rng.uniform(1 - RATE_OFF, 1 + RATE_OFF, (nights, mixes)),
        rng.uniform(-ROOM_OFF_K, ROOM_OFF_K, nights),
    )


def judge_all(days: Sequence[Lived]) -> list[Verdict]:
    """Return what several ways to run one day come to as foreseen, each mix followed in one go."""
    bulks, proofs = np.zeros(len(days), dtype=int), np.zeros(len(days), dtype=int)
    ids = dict.fromkeys(m.batch.id for day in days for m in day.mixes)
    mine = [{m.batch.id: m for m in day.mixes} for day in days]
    for one in ids:
        lanes = np.array([i for i, mixes in enumerate(mine) if one in mixes])
        mixes = [mine[i][one] for i in lanes]
        ones, none = np.ones(len(lanes)), np.zeros(len(lanes))
        end = np.array([m.mix_end for m in mixes])
        divide = np.array([m.divide for m in mixes])
        dough_c = np.array([m.dough_c for m in mixes])
        longest = float((divide - end).max())
        bulk = _bulk(days[0].night, mixes[0], ones, none, longest, (end, dough_c))
        bulks[lanes] += _is_out(bulk, divide - end)
        for k in range(max(len(m.loads) for m in mixes)):
            # A lane whose load is missing is followed with another's, and not counted.
            there = np.array([len(m.loads) > k for m in mixes])
            loads = [m.loads[min(k, len(m.loads) - 1)] if m.loads else None for m in mixes]
            spare = next(load for load in loads if load is not None)
            loads = [load or spare for load in loads]
            begins = np.array([load.proof_start for load in loads if load is not None])
            stands = np.array([load.load_start for load in loads if load is not None]) - begins
            first = replace(spare, load_start=spare.proof_start + float(stands.max()))
            proof = _proof(
                days[0].night, mixes[0], first, bulk, divide, ones, none, (end, begins - divide)
            )
            proofs[lanes] += _is_out(proof, stands) * there
    for i, day in enumerate(days):
        proofs[i] += sum(_stands_outside(one) for one in day.standing)
    return [_verdict(day, int(b), int(p)) for day, b, p in zip(days, bulks, proofs, strict=True)]


def _stands_outside(one: LivedStanding) -> bool:
    """Return whether an inherited load misses its window; the retarder keeps its temperature."""
    low, high = one.load_from - WITHIN_MIN, one.load_by + WITHIN_MIN
    return not low <= one.load.load_start <= high


def judge(day: Lived, other: Other | None = None) -> list[Verdict]:
    """Return what a day comes to in each night."""
    other = as_foreseen(len(day.mixes)) if other is None else other
    nights = len(other.room_k)
    bulk_out, proof_out = np.zeros(nights, dtype=int), np.zeros(nights, dtype=int)
    for i, mix in enumerate(day.mixes):
        rate = other.rate[:, i]
        divide = np.full(nights, mix.divide)
        bulk = _bulk(day.night, mix, rate, other.room_k, mix.divide - mix.mix_end)
        bulk_out += _is_out(bulk, divide - mix.mix_end)
        for load in mix.loads:
            proof = _proof(day.night, mix, load, bulk, divide, rate, other.room_k)
            proof_out += _is_out(proof, np.full(nights, load.load_start - load.proof_start))
    proof_out += sum(_stands_outside(one) for one in day.standing)
    return [
        _verdict(day, int(bulks), int(proofs))
        for bulks, proofs in zip(bulk_out, proof_out, strict=True)
    ]


def with_hindsight(day: Lived, other: Other) -> list[Verdict]:
    """Return what the same plan comes to in each night with divides and loads moved to suit."""
    nights = range(len(other.room_k))
    bulks = np.zeros(len(nights), dtype=int)
    wishes: list[list[tuple[float, float, float, LivedLoad]]] = [
        [(s.load.load_start, s.load_from, s.load_by, s.load) for s in day.standing] for _ in nights
    ]
    for i, mix in enumerate(day.mixes):
        rate, planned = other.rate[:, i], mix.divide - mix.mix_end
        bulk = _bulk(day.night, mix, rate, other.room_k, 1.6 * planned)
        low, high = _window(bulk)
        bulks += low > high
        divide = mix.mix_end + np.clip(planned, low, high)
        for load in mix.loads:
            proof = _proof(day.night, mix, load, bulk, divide, rate, other.room_k)
            begins = load.proof_start + divide - mix.divide
            first, last = (begins + minutes for minutes in _window(proof))
            for k in nights:
                wishes[k].append((load.load_start, float(first[k]), float(last[k]), load))
    return [_verdict(day, int(bulks[k]), _loads_outside(day.ovens, wishes[k])) for k in nights]


def _loads_outside(
    ovens: dict[str, int], wishes: Sequence[tuple[float, float, float, LivedLoad]]
) -> int:
    """Load in the plan's order, each as near to its planned minute as window and oven let it."""
    free = {oven_id: np.full(3000, places) for oven_id, places in ovens.items()}
    outside = 0
    for planned, low, high, load in sorted(wishes, key=lambda w: (w[0], w[1])):
        first = int(np.ceil(np.clip(planned, low, max(low, high)) - 1e-6))
        holds = int(load.holds_min)
        places = free[load.oven_id]
        # Sooner inside its window is as good as later: what lies nearest to the plan's minute.
        options = list(range(int(np.ceil(low)), first + 240))
        options.sort(key=lambda t: (abs(t - first), t))
        at = next((t for t in options if (places[t : t + holds] >= load.places).all()), first)
        places[at : at + holds] -= load.places
        outside += at > high + WITHIN_MIN
    return outside


def _bulk(
    night: Night,
    mix: LivedMix,
    rate: Numbers,
    room_k: Numbers,
    span_min: float,
    off: tuple[Numbers, Numbers] | None = None,
) -> tuple[Rise, RipeningPath]:
    """Follow a bulk; ``off`` are the end of mixing and the dough of each lane, if they differ."""
    formula = mix.batch.formula
    mix_end, dough_c = off or (np.full(len(rate), mix.mix_end), np.full(len(rate), mix.dough_c))
    rise = dough_rise(night, formula.bulk, mix.batch.dough_kg, formula.dough_c)
    path = rise.path(
        mix_end,
        dough_c,
        span_min=span_min + 30,
        step_min=1.0,
        rate=rate,
        air_offset_k=_offset(night, formula.bulk.place_id, room_k),
    )
    return rise, path


def _proof(
    night: Night,
    mix: LivedMix,
    load: LivedLoad,
    bulk: tuple[Rise, RipeningPath],
    divide: Numbers,
    rate: Numbers,
    room_k: Numbers,
    lanes_own: tuple[Numbers, Numbers] | None = None,
) -> tuple[Rise, RipeningPath]:
    """Follow a proof; ``lanes_own`` are the end of mixing and the bench time of each lane."""
    product, (rise, path) = mix.batch.product, bulk
    if product is None:
        raise TypeError(f"_proof: {mix.batch.id} has a load and no product")
    mix_end, offset = lanes_own or (mix.mix_end, load.proof_start - mix.divide)
    stood, lanes = divide - mix_end, np.arange(len(rate))
    step = np.clip(stood, 0, path.minutes[-1]).astype(int)  # steps of a minute
    place = product.routes[load.route].place_id
    proof = piece_rise(night, product, load.route, mix.batch.formula.dough_c, rise)
    room_id = mix.batch.mixers[0].room_id
    divided = Divided(
        room_id,
        product.piece_kg,
        divide,
        path.temperature_c[step, lanes],
        path.progress[step, lanes],
    )
    piece_c, progress = off_the_bench(night, divided, proof, offset)
    stands = load.load_start - load.proof_start
    return proof, proof.path(
        divide + offset,
        piece_c,
        span_min=max(1.6 * stands, 60.0) + 60,
        step_min=1.0,
        rate=rate,
        air_offset_k=_offset(night, place, room_k),
        progress=progress,
    )


def _offset(night: Night, place_id: str, room_k: Numbers) -> Numbers:
    return room_k if night.day.bakery.chamber(place_id) is None else np.zeros_like(room_k)


def _is_out(rise_path: tuple[Rise, RipeningPath], minutes: Numbers) -> NDArray[np.int_]:
    """Return per night whether a dough is outside its window after some minutes."""
    progress = rise_path[1].progress
    lanes, last = np.arange(progress.shape[1]), len(progress) - 1
    later = progress[np.clip(np.ceil(minutes + WITHIN_MIN), 0, last).astype(int), lanes]
    sooner = progress[np.clip(np.floor(minutes - WITHIN_MIN), 0, last).astype(int), lanes]
    return ((later < FROM_PROGRESS) | (sooner > BY_PROGRESS)).astype(int)


def _window(rise_path: tuple[Rise, RipeningPath]) -> tuple[Numbers, Numbers]:
    """Return the minutes after which each dough comes into its window and leaves it."""
    progress = rise_path[1].progress  # in steps of a minute
    return (progress < FROM_PROGRESS).sum(axis=0), (progress <= BY_PROGRESS).sum(axis=0) - 1


def _verdict(day: Lived, bulks_out: int, proofs_out: int) -> Verdict:
    late = [
        load.ready - mix.leave_by
        for mix in day.mixes
        for load in mix.loads
        if mix.leave_by is not None
    ]
    late += [one.load.ready - one.leave_by for one in day.standing]
    over = [minutes for minutes in late if minutes > 0]
    return Verdict(
        late_loads=len(over) + day.missing,
        late_min=float(sum(over)),
        bulks=len(day.mixes),
        bulks_out=bulks_out,
        proofs=sum(len(m.loads) for m in day.mixes) + len(day.standing),
        proofs_out=proofs_out,
        ice_kg=float(sum(m.ice_kg for m in day.mixes)),
    )
