"""The rules of what is stored and made: ice, chilled water, boiling water."""

from __future__ import annotations

from dataclasses import dataclass

from planner.scheduling.cpsat.builds import all_builds, in_buckets
from planner.scheduling.cpsat.model import BuildVars, JobVars, Model, Var
from planner.scheduling.problem import Store


@dataclass(frozen=True)
class _Draw:
    """What a mix or a build takes: how much, at most, in which bucket, and that by the hint."""

    amount: Var
    most: int
    inside: dict[int, Var]
    bucket: int
    hint: int


def keep_ice_within_store(model: Model) -> None:
    """Ice is taken only from what is stored and was made before."""
    _keep_within_store(model, model.problem.ice, "ice_g")


def keep_chilled_water_within_store(model: Model) -> None:
    """Chilled water is drawn only from what is in the tank and was cooled before."""
    _keep_within_store(model, model.problem.chiller, "chilled_g")


def keep_boiling_water_within_kettle(model: Model) -> None:
    """Boiling water is poured only as far as the kettle holds it or has boiled it before."""
    if model.problem.kettle is not None:
        _keep_within_store(model, model.problem.kettle, "hot_g")


def _keep_within_store(model: Model, store: Store, name: str) -> None:
    """Keep the level of a store at zero or more, bucket by bucket.

    What a bucket makes counts from the next one on, and a full store makes nothing: the next
    level is at most min(room, level + made) - used. Left out when even everything together
    would not empty the store.
    """
    jobs = [] if name == "hot_g" else model.jobs
    full = min(store.start_g, store.room_g)
    together = sum(_most_of_mix(job, name) for job in jobs)
    together += sum(_most_of_build(build, name) for build in all_builds(model))
    if together <= full:
        return
    draws = [_mix_draw(model, job, name) for job in jobs if _most_of_mix(job, name)]
    draws += [
        _build_draw(model, build, name)
        for build in all_builds(model)
        if _most_of_build(build, name)
    ]
    used = _used_by_bucket(model, draws)
    made = store.rate_g_per_h * model.problem.bucket_min // 60
    level, at = model.fixed(full), full
    for bucket in range(model.grid.buckets):
        taken = sum(used.get(bucket, []))
        model.cp.add(level >= taken)
        known = sum(draw.hint for draw in draws if draw.bucket == bucket)
        at = min(store.room_g, at + made) - known
        following = model.number(0, store.room_g, at)
        model.cp.add(following <= level + made - taken)
        model.cp.add(following <= store.room_g - taken)
        level = following


def _most_of_mix(job: JobVars, name: str) -> int:
    return max(int(getattr(job.job.options[r], name)) for r in job.rows)


def _most_of_build(build: BuildVars, name: str) -> int:
    ways = build.table.preparation.ways
    return max(int(getattr(ways[way], name)) for way in build.ways)


def _mix_draw(model: Model, job: JobVars, name: str) -> _Draw:
    """Return what a mix takes, by its option."""
    placed = next((j for j in model.known.jobs if j.job_id == job.job.id), None)
    buckets = sorted({int(job.table.bucket[r]) for r in job.rows})
    bucket, grams = int(job.table.bucket[job.rows[0]]), 0
    if placed is not None:
        option = job.job.options[placed.option]
        bucket, grams = option.bucket, int(getattr(option, name))
    inside = {k: model.truth(hint=k == bucket) for k in buckets}
    model.cp.add_exactly_one(inside.values())
    model.cp.add(job.bucket == sum(k * literal for k, literal in inside.items()))
    amount = job.ice if name == "ice_g" else job.chilled
    return _Draw(amount, _most_of_mix(job, name), inside, bucket, grams)


def _build_draw(model: Model, build: BuildVars, name: str) -> _Draw:
    """Return what a build takes, by its way."""
    ways = build.table.preparation.ways
    grams = {way: int(getattr(ways[way], name)) for way in build.ways}
    hint = grams[build.hinted_way] if build.hinted_users else 0
    amount = model.one_of([0, *grams.values()], hint)
    model.cp.add(amount == sum(grams[way] * literal for way, literal in build.ways.items()))
    bucket = int(build.table.start_min[build.hinted]) // model.problem.bucket_min
    return _Draw(amount, max(grams.values()), in_buckets(model, build), bucket, hint)


def _used_by_bucket(model: Model, draws: list[_Draw]) -> dict[int, list[Var]]:
    """Return what each takes in each bucket; in its own at least what it takes at all."""
    used: dict[int, list[Var]] = {}
    for draw in draws:
        for bucket, literal in draw.inside.items():
            taken = model.number(0, draw.most, draw.hint if bucket == draw.bucket else 0)
            model.cp.add(taken >= draw.amount).only_enforce_if(literal)
            used.setdefault(bucket, []).append(taken)
    return used
