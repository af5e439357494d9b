"""Small and random days for the scheduling tests; all figures are invented."""

from __future__ import annotations

from dataclasses import replace
from math import ceil

import numpy as np

from planner.scheduling.preparation import Lag, Preparation
from planner.scheduling.problem import (
    Job,
    Load,
    Option,
    OvenChoice,
    OvenPlaces,
    Problem,
    Route,
    StandingLoad,
    Store,
    Worker,
)

GRID_MIN, BUCKET_MIN = 5, 30
NOTHING = Store(0, 0, 0)


def plain_job(one_id: str = "a", **changes: object) -> Job:
    """A mix of 10 min, bulk 30 at any start of the first four hours, divide 10, no loads."""
    job = Job(
        id=one_id,
        mixer_ids=("m",),
        scale_min=0,
        mix_min=10,
        divide_min=10,
        options=options(),
        loads=(),
        earliest_start=0,
        latest_start=235,
    )
    return replace(job, **changes)  # type: ignore[arg-type]


def options(
    bulks: tuple[int, ...] = (30,),
    *,
    cost: int = 0,
    ice_g: int = 0,
    chilled_g: int = 0,
    proof: tuple[int, int] | None = None,
    buckets: range = range(8),
) -> tuple[Option, ...]:
    """The same bulks in every bucket."""
    proofs = () if proof is None else (proof,)
    return tuple(Option(k, b, 0, cost, ice_g, chilled_g, proofs) for k in buckets for b in bulks)


def plain_load(one_id: str = "a.1", places: int = 1, bake_min: int = 30, racks: int = 0) -> Load:
    """A load that proofs in the room or, with racks, in the chamber `c`."""
    place = "c" if racks else "room"
    return Load(one_id, 10, (Route(place, racks),), (OvenChoice("o", places),), bake_min, 0)


def plain_day(*jobs: Job, **changes: object) -> Problem:
    """Five hours, one mixer, one oven of one place, four people there all the time."""
    day = Problem(
        span_min=300,
        grid_min=GRID_MIN,
        bucket_min=BUCKET_MIN,
        jobs=jobs,
        preparations=(),
        standing=(),
        workers=tuple(Worker(f"p{i}", ((0, 300),)) for i in range(4)),
        ovens=(OvenPlaces("o", 1, 0),),
        racks={"c": 1},
        clean_down_min={"m": 0},
        ice=NOTHING,
        chiller=NOTHING,
    )
    return replace(day, **changes)  # type: ignore[arg-type]


def random_day(count: int, seed: int, load: float = 0.62, *, hot: bool = False) -> Problem:
    """A night of `count` mixes: two shifts, chambers, shared levains and scalds, ice."""
    rng = np.random.default_rng(seed)
    mixers = [f"mixer{i}" for i in range(max(2, count // 12 + 1))]
    levains = [_levain(f"levain{i}", rng) for i in range(max(1, count // 8))]
    scalds = [_scald(f"scald{i}") for i in range(max(1, count // 10))]
    jobs = [_job(f"j{i:02}", mixers, levains, scalds, rng, hot=hot) for i in range(count)]
    places = sum(ld.ovens[0].places * (ld.bake_min + 5) for job in jobs for ld in job.loads)
    ovens = max(4, ceil(places / load / 600))
    people = max(2, ceil(count * 45 / load / 660))
    used = {p for job in jobs for p in job.preparation_ids}
    return Problem(
        span_min=1560,
        grid_min=GRID_MIN,
        bucket_min=BUCKET_MIN,
        jobs=tuple(jobs),
        preparations=tuple(p for p in [*levains, *scalds] if p.id in used),
        standing=tuple(_standing(i, rng) for i in range(count // 5)),
        workers=(
            Worker("evening", ((120, 600),)),
            *(Worker(f"night{i}", ((600, 1080),)) for i in range(people)),
            *(Worker(f"morning{i}", ((1020, 1500),)) for i in range(people)),
        ),
        ovens=(OvenPlaces("deck", ovens, 5), OvenPlaces("rack", max(4, ovens // 2), 10)),
        racks={"proofer": max(4, count // 2), "retarder": 2 * max(4, count // 2)},
        clean_down_min=dict.fromkeys(mixers, 10),
        ice=Store(2000 * count // 4, 100 * count, 2000 * count // 4),
        chiller=Store(20_000, 10_000, 40_000),
        early_before=690,
    )


def _levain(one_id: str, rng: np.random.Generator) -> Preparation:
    ripe = int(rng.integers(36, 84)) * 5
    lags = tuple(Lag(k, ripe - k, ripe + 180) for k in range(52))
    return Preparation(one_id, lags, 10, max_builds=3)


def _scald(one_id: str) -> Preparation:
    return Preparation(one_id, tuple(Lag(k, 150 + k, 720) for k in range(52)), 10, max_builds=2)


def _standing(index: int, rng: np.random.Generator) -> StandingLoad:
    start = int(rng.integers(130, 200)) * 5
    load = Load(f"s{index}", 0, (Route("retarder", 1),), (OvenChoice("deck", 1),), 35, 40)
    return StandingLoad(load, start, start + 180, start + 300)


def _job(
    one_id: str,
    mixers: list[str],
    levains: list[Preparation],
    scalds: list[Preparation],
    rng: np.random.Generator,
    *,
    hot: bool,
) -> Job:
    leave_by = int(rng.integers(66, 72 + 6 * 12)) * 5 + 780
    bulk, proof = float(rng.uniform(45, 120)), float(rng.uniform(45, 90))
    mix, divide = int(rng.integers(2, 5)) * 5, int(rng.integers(2, 5)) * 5
    bake, cool = int(rng.integers(3, 9)) * 5, int(rng.integers(6, 12)) * 5
    places = int(rng.integers(1, 3))
    count = int(rng.integers(1, 3))
    latest = leave_by - int(0.75 * (mix + bulk + divide + proof)) - bake - cool
    latest = min(latest + 60, 1555 - mix)
    earliest = max(600, latest - 400)
    needs = []
    if rng.random() < 0.35:
        needs.append(str(rng.choice([p.id for p in levains])))
    if rng.random() < 0.2:
        needs.append(str(rng.choice([p.id for p in scalds])))
    fits = [m for m in mixers if rng.random() < 0.7] or [mixers[0]]
    nuts = bool(rng.random() < 0.15)
    return Job(
        id=one_id,
        mixer_ids=tuple(fits),
        scale_min=10,
        mix_min=mix,
        divide_min=divide,
        options=tuple(_options(earliest, latest, bulk, proof, hot=hot)),
        loads=tuple(
            Load(
                f"{one_id}.{i + 1}",
                ceil(divide * (i + 1) / count / 5) * 5,
                (Route("room", 0), Route("proofer", places)),
                (OvenChoice("deck" if divide > 10 else "rack", places),),
                bake,
                cool,
            )
            for i in range(count)
        ),
        earliest_start=earliest // 5 * 5,
        latest_start=max(earliest, latest) // 5 * 5,
        folds_min=(30,) if rng.random() < 0.3 else (),
        leave_by=leave_by,
        preparation_ids=tuple(needs),
        allergens=frozenset({"nuts"}) if nuts else frozenset(),
    )


def _options(earliest: int, latest: int, bulk: float, proof: float, *, hot: bool) -> list[Option]:
    """Warmer dough, later starts and warmer rooms ferment faster; cold dough takes ice."""
    found = []
    for bucket in range(earliest // 30, latest // 30 + 1):
        room = (25.0 if hot else 19.0) + 10 * max(0.0, (bucket * 30 - 840) / 780)
        for choice in range(-4, 5):
            speed = 2.0 ** ((choice * 0.5 + (room - 24) * 0.4) / 10)
            low, high = 0.9 * bulk / speed, 1.15 * bulk / speed
            ice = max(0.0, (room - 22) * 120 - choice * 150)
            first = ceil(low / 5) * 5
            for length in range(first, max(first, int(high)) + 1, 5):
                off = abs(length - bulk / speed) / 5
                cost = round(2 * off + 1.5 * abs(choice))
                fast = 2.0 ** ((room - 24) * 0.7 / 10)
                ways = tuple(
                    (ceil(0.9 * p / 5) * 5, max(ceil(0.9 * p / 5), int(1.15 * p / 5)) * 5)
                    for p in (proof / fast, proof * 0.8)
                )
                found.append(Option(bucket, length, choice, cost, int(ice), int(ice) * 3, ways))
    return found
