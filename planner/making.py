"""Each planned preparation on its true curve: its water, its window, its temperature at use."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.balances import build_seed_kg, part_kg
from planner.batches import Batch
from planner.explaining import preparation_remarks
from planner.formula import Line, Part, Preferment, Scald, Soaker
from planner.materials import Material
from planner.night import Night
from planner.physics.fermentation import temperature_after
from planner.physics.water import Draw
from planner.planned import (
    PlannedPreparation,
)
from planner.preparations import Offered, build_rise, build_water, made_min, total_flour_kg
from planner.remarks import Remark
from planner.rescue import night_note
from planner.scald_course import (
    ScaldCourse,
    course_remarks,
    scald_course,
    scald_water,
    vessel_words,
    with_poured_water,
)
from planner.scalds import scald_remarks
from planner.scheduling.schedule import ScheduledBuild
from planner.supplies import water_lines
from planner.water_ticket import (
    ScalingLine,
    WaterLine,
)


@dataclass(frozen=True, slots=True)
class _Course:
    """When a preparation is ready, its temperature at the start and at each use [min, °C]."""

    ready_from: float
    ready_by: float
    start_c: float
    use_c: tuple[float, ...]


def planned_preparation(
    night: Night, offered: Offered, build: ScheduledBuild, mix_starts: Mapping[str, int]
) -> PlannedPreparation:
    """Return one build of a preparation with everything its card shows.

    Parameters
    ----------
    night
        Temperatures of the night.
    offered
        The preparation.
    build
        Its start and the mixes it feeds.
    mix_starts
        Start of each mix [min].
    """
    users = [b for b in offered.users if b.id in build.job_ids]
    uses = np.array([mix_starts[b.id] for b in users], dtype=np.float64)
    mass_kg = sum(_mass_in(offered.part, b) for b in users)
    part = offered.part
    scald = _scald_planned(night, offered, mass_kg, build)
    course = _course(night, part, mass_kg, build, uses, scald)
    seed_kg = (
        build_seed_kg(part, total_flour_kg(part, mass_kg)) if isinstance(part, Preferment) else 0.0
    )
    scaling = part_scaling(night, part, mass_kg, float(build.start), seed_kg)
    water: tuple[WaterLine, ...] = ()
    if isinstance(part, Preferment):
        drawn = build_water(night, part, mass_kg, float(build.start), build.mixer_id)
        water = build_lines(night, drawn)
    if scald is not None:
        water = scald_water(night, scald.way)
        scaling = with_poured_water(scaling, scald.part, scald.way)
    suffix = "" if offered.problem.max_builds == 1 else f"-{build.build + 1}"
    planned = PlannedPreparation(
        id=f"{offered.id}{suffix}",
        part_id=part.id,
        name=part.name,
        kind=offered.kind,
        formula_id=users[0].formula.id,
        mix_ids=tuple(b.id for b in users),
        made_kg=mass_kg + seed_kg,
        kept_back_kg=seed_kg,
        seed_kg=seed_kg,
        place_id=part.ripening.place_id if isinstance(part, Preferment) else part.place_id,
        start_utc=night.day.moment(build.start),
        ready_from_utc=night.day.moment(np.ceil(course.ready_from)),
        ready_by_utc=night.day.moment(np.floor(course.ready_by)),
        start_c=course.start_c,
        use_c=course.use_c,
        use_at_most_c=offered.ready_c,
        scaling=scaling,
        water=water,
        ice_kg=0.0 if scald is None else scald.way.ice_kg,
        mixer_id=build.mixer_id,
        vessel="" if scald is None else vessel_words(night, scald),
        way="" if scald is None else scald.way.code,
        way_words="" if scald is None or scald.way.is_own else scald.way.words,
    )
    warm: tuple[Remark, ...] = ()
    if isinstance(part, Scald):
        warm = scald_remarks(night, part, users, offered.ready_c)
        if scald is not None:
            warm = (*warm, *course_remarks(night, scald, float(uses.max())))
    elif isinstance(part, Preferment):
        warm = night_note(night, part, mass_kg, float(build.start), float(uses.min()))
    warm = tuple(replace(r, subject=planned.id) for r in warm)
    general = preparation_remarks(planned, part)
    if any(r.code.startswith("food_") for r in warm):  # the country's own lines say it better
        general = tuple(r for r in general if r.code != "cooling_code")
    return replace(planned, remarks=(*warm, *general))


def build_lines(night: Night, drawn: Draw) -> tuple[WaterLine, ...]:
    """Return what a preferment build draws from each supply."""
    return water_lines(night, float(drawn.tap_kg), float(drawn.chilled_kg), float(drawn.hot_kg))


def _mass_in(part: Part, batch: Batch) -> float:
    own = next(p for p in batch.formula.parts if p.id == part.id)
    return part_kg(own, batch.flour_kg)


def _course(
    night: Night,
    part: Part,
    mass_kg: float,
    build: ScheduledBuild,
    uses: NDArray[np.float64],
    scald: ScaldCourse | None,
) -> _Course:
    if isinstance(part, Preferment):
        return _preferment_course(night, part, mass_kg, build, uses)
    if scald is not None:
        return _scald_course(scald, build, uses)
    if isinstance(part, Soaker):
        return _soaker_course(night, part, build, uses)
    raise TypeError(f"_course: {type(part).__name__} has no course")


def _scald_planned(
    night: Night, offered: Offered, mass_kg: float, build: ScheduledBuild
) -> ScaldCourse | None:
    part = offered.part
    if not isinstance(part, Scald):
        return None
    code = offered.way_codes[build.way] if build.way < len(offered.way_codes) else ""
    return scald_course(night, part, mass_kg, float(build.start), offered.ready_c, code)


def _preferment_course(
    night: Night,
    part: Preferment,
    mass_kg: float,
    build: ScheduledBuild,
    uses: NDArray[np.float64],
) -> _Course:
    start_c = float(
        build_water(night, part, mass_kg, float(build.start), build.mixer_id).expected_c
    )
    rise = build_rise(night, part, mass_kg)
    stands = build.start + made_min(part)
    span = max(rise.longest_min, float(uses.max()) - stands + 10)
    path = rise.path(stands, start_c, span_min=span, step_min=1.0)
    low, _, high = (float(np.asarray(m).reshape(-1)[0]) for m in rise.window(path))
    use_c = [float(temperature_after(path, np.asarray(u - stands))) for u in uses]
    return _Course(
        stands + (low if np.isfinite(low) else span),
        stands + (high if np.isfinite(high) else span),
        start_c,
        tuple(use_c),
    )


def _scald_course(scald: ScaldCourse, build: ScheduledBuild, uses: NDArray[np.float64]) -> _Course:
    by = build.start + scald.part.keep_at_most_h * 60
    ready = scald.ready_min if np.isfinite(scald.ready_min) else by
    return _Course(
        ready,
        by,
        scald.way.pour.start_c,
        tuple(scald.mean_c(float(u)) for u in uses),
    )


def _soaker_course(
    night: Night, part: Soaker, build: ScheduledBuild, uses: NDArray[np.float64]
) -> _Course:
    air = night.air_c(part.place_id)
    return _Course(
        build.start + part.soak_h * 60,
        build.start + part.keep_at_most_h * 60,
        float(air(np.asarray(float(build.start)))),
        tuple(float(air(np.asarray(u))) for u in uses),
    )


def part_scaling(
    night: Night, part: Part, mass_kg: float, start_min: float, seed_kg: float
) -> tuple[ScalingLine, ...]:
    """Return what to weigh for a part, water included for scalds and soakers."""
    flour_kg = total_flour_kg(part, mass_kg)
    place_id = part.ripening.place_id if isinstance(part, Preferment) else part.place_id
    lines = [
        ScalingLine(
            line.label,
            line.percent,
            flour_kg * line.percent / 100,
            _line_c(night, part, line, place_id, start_min),
            0,
        )
        for line in part.lines
        if not (isinstance(part, Preferment) and line.material is Material.WATER)
    ]
    if seed_kg > 0:
        lines.append(ScalingLine("ripe seed", 0.0, seed_kg, None, 0))
    return tuple(lines)


def _line_c(night: Night, part: Part, line: Line, place_id: str, start_min: float) -> float | None:
    if line.material is Material.WATER and isinstance(part, Scald):
        return night.boiling_c if part.pour_water_c is None else part.pour_water_c
    if line.material is Material.WATER:
        return None
    return float(night.line_c(line, place_id, start_min))


def builds_by_mix(
    preparations: Sequence[PlannedPreparation], mix_id: str
) -> tuple[PlannedPreparation, ...]:
    """Return the preparations that feed a mix."""
    return tuple(p for p in preparations if mix_id in p.mix_ids)


def part_c_for(preparations: Sequence[PlannedPreparation], mix_id: str) -> dict[str, float]:
    """Return the temperature of each part when it meets a mix [°C]."""
    return {
        p.part_id: p.use_c[p.mix_ids.index(mix_id)] for p in builds_by_mix(preparations, mix_id)
    }
