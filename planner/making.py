"""Each planned preparation on its true curve: its water, its window, its temperature at use."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from planner.balances import part_kg
from planner.batches import Batch
from planner.builds import BuildCourse, courses, made_min, seed_kg, total_flour_kg
from planner.explaining import preparation_remarks
from planner.formula import Part, Preferment, Scald, Soaker
from planner.lines import Line
from planner.materials import Material
from planner.night import Night
from planner.physics.ripening_path import temperature_after
from planner.physics.water import Draw
from planner.planned_preparation import PlannedBuild, PlannedPreparation
from planner.preparations import Offered
from planner.remarks import Remark, RemarkKind, mass, moment, temperature, word
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
from planner.stores import chilled_kg
from planner.supplies import water_lines
from planner.water_ticket import (
    ScalingLine,
    WaterLine,
)

LEAST_TOLD_K, LEAST_TOLD_KG = 0.5, 0.005
"""Less than this is not worth a word [K, kg]."""


@dataclass(frozen=True, slots=True)
class _Course:
    """When a preparation is ready, its temperature at the start and at each use [min, °C]."""

    ready_from: float
    ready_by: float
    start_c: float
    use_c: tuple[float, ...]


def planned_preparation(
    night: Night,
    offered: Offered,
    build: ScheduledBuild,
    mix_starts: Mapping[str, int],
    chilled_left_kg: float | None = None,
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
    chilled_left_kg
        What is in the chiller when it is set [kg]; None for a full tank.
    """
    users = [b for b in offered.users if b.id in build.job_ids]
    uses = np.array([mix_starts[b.id] for b in users], dtype=np.float64)
    mass_kg = sum(_mass_in(offered.part, b) for b in users)
    part = offered.part
    scald = _scald_planned(night, offered, mass_kg, build)
    chain: tuple[BuildCourse, ...] = ()
    if isinstance(part, Preferment):
        chain = courses(
            night, part, mass_kg, float(build.start), build.mixer_id,
            chilled_left_kg=chilled_left_kg,
            span_min=float(uses.max()) - build.start + 10.0, step_min=1.0,
        )  # fmt: skip
    course = _course(night, part, build, uses, chain, scald)
    seed = seed_kg(part, mass_kg) if isinstance(part, Preferment) else 0.0
    first = chain[0].part if chain else part
    fresh_kg = chain[0].fresh_kg if chain else mass_kg
    scaling = part_scaling(night, first, fresh_kg, float(build.start), seed)
    water = build_lines(night, chain[0].drawn) if chain else ()
    later: tuple[WaterLine, ...] = ()
    if scald is not None:
        water, later = scald_water(night, scald.way)
        scaling = with_poured_water(scaling, scald.part, scald.way)
    suffix = "" if offered.problem.max_builds == 1 else f"-{build.build + 1}"
    planned = PlannedPreparation(
        id=f"{offered.id}{suffix}",
        part_id=part.id,
        name=part.name,
        kind=offered.kind,
        formula_id=users[0].formula.id,
        mix_ids=tuple(b.id for b in users),
        made_kg=mass_kg + seed,
        kept_back_kg=seed,
        seed_kg=seed,
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
        builds=_planned_builds(night, chain) if len(chain) > 1 else (),
        vessel="" if scald is None else vessel_words(night, scald),
        way="" if scald is None else scald.way.code,
        way_words="" if scald is None or scald.way.is_own else scald.way.words,
        later_water=later,
        add_utc=_added_utc(night, scald),
    )
    warm: tuple[Remark, ...] = ()
    if isinstance(part, Scald):
        warm = scald_remarks(night, part, users, offered.ready_c)
        if scald is not None:
            warm = (*warm, *course_remarks(night, scald, float(uses.max())))
    elif isinstance(part, Preferment):
        warm = (
            *_short_of_chilled(chain[0].part, course.start_c, water, chilled_left_kg),
            *fed_in_time(planned.builds, chain),
            *night_note(night, part, mass_kg, float(build.start), float(uses.min())),
        )
    warm = tuple(replace(r, subject=planned.id) for r in warm)
    general = preparation_remarks(planned, part)
    if any(r.code.startswith("food_") for r in warm):  # the country's own lines say it better
        general = tuple(r for r in general if r.code != "cooling_code")
    return replace(planned, remarks=(*warm, *general))


def _short_of_chilled(
    part: Preferment, start_c: float, water: Sequence[WaterLine], left_kg: float | None
) -> tuple[Remark, ...]:
    """Say when a build is set warmer than wished, because others emptied the chiller."""
    if left_kg is None or chilled_kg(water) < left_kg - LEAST_TOLD_KG:
        return ()
    if not chilled_kg(water) or start_c < part.temperature_c + LEAST_TOLD_K:
        return ()
    text = "The chiller has only {left} left for it: it is set at {start} instead of {wanted}."
    figures = (
        mass("left", left_kg),
        temperature("start", start_c),
        temperature("wanted", part.temperature_c),
    )
    return (Remark(RemarkKind.NOTE, "chiller_short", text, figures),)


def build_lines(night: Night, drawn: Draw) -> tuple[WaterLine, ...]:
    """Return what a preferment build draws from each supply."""
    return water_lines(night, float(drawn.tap_kg), float(drawn.chilled_kg), float(drawn.hot_kg))


def _mass_in(part: Part, batch: Batch) -> float:
    own = next(p for p in batch.formula.parts if p.id == part.id)
    return part_kg(own, batch.flour_kg)


def _course(
    night: Night,
    part: Part,
    build: ScheduledBuild,
    uses: NDArray[np.float64],
    chain: tuple[BuildCourse, ...],
    scald: ScaldCourse | None,
) -> _Course:
    if isinstance(part, Preferment):
        return _preferment_course(chain, uses)
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


def _added_utc(night: Night, scald: ScaldCourse | None) -> datetime | None:
    """Return when what a scald keeps back goes in."""
    if scald is None or scald.way.held_back_kg <= 0:
        return None
    return night.day.moment(scald.poured_min + scald.way.add_min)


def _preferment_course(chain: tuple[BuildCourse, ...], uses: NDArray[np.float64]) -> _Course:
    low, high, stands = _ripe_between(chain[-1])
    path = chain[-1].path
    use_c = [float(temperature_after(path, np.asarray(u - stands))) for u in uses]
    return _Course(low, high, float(chain[0].start_c), tuple(use_c))


def _ripe_between(course: BuildCourse) -> tuple[float, float, float]:
    """Return from when and by when a build is ripe, and since when it stands [min]."""
    stands = float(course.start_min) + made_min(course.part)
    low, _, high = (float(np.asarray(m).reshape(-1)[0]) for m in course.rise.window(course.path))
    longest = float(course.path.minutes[-1])
    return (
        stands + (low if np.isfinite(low) else longest),
        stands + (high if np.isfinite(high) else longest),
        stands,
    )


def _planned_builds(night: Night, chain: tuple[BuildCourse, ...]) -> tuple[PlannedBuild, ...]:
    """Return every build of a preferment that is fed in steps, as its card shows it."""
    found, fed_c = [], None
    for course in chain:
        low, high, _ = _ripe_between(course)
        start = float(course.start_min)
        seed = course.fed_kg if fed_c is None else 0.0
        found.append(
            PlannedBuild(
                name=course.part.name,
                start_utc=night.day.moment(start),
                start_c=float(course.start_c),
                fed_kg=course.fed_kg,
                fed_c=fed_c,
                ripe_from_utc=night.day.moment(np.ceil(low)),
                ripe_by_utc=night.day.moment(np.floor(high)),
                ripeness=None if course.ripeness is None else float(course.ripeness),
                scaling=part_scaling(night, course.part, course.fresh_kg, start, seed),
                water=build_lines(night, course.drawn),
            )
        )
        if course.waits_min is not None:
            fed_c = float(temperature_after(course.path, course.waits_min))
    return tuple(found)


def fed_in_time(builds: Sequence[PlannedBuild], chain: Sequence[BuildCourse]) -> tuple[Remark, ...]:
    """Name every build that is fed before it is ripe, or after."""
    found = []
    for planned, course in zip(builds, chain, strict=bool(builds)):
        if planned.ripeness is None:
            continue
        ripening = course.part.ripening
        if ripening.from_progress <= planned.ripeness <= ripening.by_progress:
            continue
        state = "young" if planned.ripeness < ripening.from_progress else "over-ripe"
        text = "{name} is {state} when it is fed: ripe {from} to {by}."
        figures = (
            word("name", planned.name),
            word("state", state),
            moment("from", planned.ripe_from_utc),
            moment("by", planned.ripe_by_utc),
        )
        found.append(Remark(RemarkKind.UNMET, "build_not_ripe", text, figures))
    return tuple(found)


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
