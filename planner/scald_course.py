"""A planned scald on its true curve: steps with clock times, and what to take care of at each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planner.food_lines import food_remarks
from planner.formula import HoldPlace, Scald
from planner.materials import Material
from planner.night import Night
from planner.physics.scald_reading import second_reading_min
from planner.planned_preparation import PlannedPreparation
from planner.remarks import Figure, Remark, RemarkKind, mass, minutes, moment, temperature, word
from planner.scald_follow import Followed, follow_ways
from planner.scald_ways import STIR_EVERY_MIN, Kept, ScaldWay, way_of
from planner.scalds import LIVING_PARTS_C, scald_vessel
from planner.supplies import water_lines
from planner.water_sources import SupplyKind
from planner.water_ticket import ScalingLine, WaterLine

AFTER_MOVE_MIN = 30.0
"""A reading sooner after water, ice or a move tells of them and not of the cooling [min]."""

HELD_SHARE = 0.9
"""A stand that is this much of what was asked for is long enough."""


@dataclass(frozen=True)
class ScaldCourse:
    """One scald as planned.

    Attributes
    ----------
    followed
        Its way and its curve.
    start_min, poured_min
        Start of the work, and the end of the pour [min].
    ready_min
        When it is cool enough [min]; infinite when never.
    """

    part: Scald
    followed: Followed
    start_min: float
    poured_min: float
    ready_min: float

    @property
    def way(self) -> ScaldWay:
        """How it is cooled."""
        return self.followed.way

    def mean_c(self, minute: float) -> float:
        """Return its mean at a minute of the night [°C]."""
        return float(self.followed.path.mean_at(max(0.0, minute - self.poured_min))[0])


def scald_course(
    night: Night, part: Scald, mass_kg: float, start_min: float, ready_c: float, code: str
) -> ScaldCourse:
    """Return the course of a scald started at a minute.

    Parameters
    ----------
    night, part, mass_kg
        The scald [kg].
    start_min
        Start of the work [min].
    ready_c
        The warmest it may be at its use [°C].
    code
        Its way, by `ScaldWay.code`; empty for the baker's own.
    """
    poured = start_min + part.work_min
    way = way_of(night, part, mass_kg, ready_c, code)
    followed = follow_ways(night, part, mass_kg, [way], np.array([start_min]))[0]
    lag = float(followed.ready_min(ready_c, np.array([start_min]))[0])
    ready = poured + max(lag, part.hold_min) + np.ceil(way.labour_min)
    return ScaldCourse(part, followed, start_min, poured, float(ready))


def scald_water(night: Night, way: ScaldWay) -> tuple[tuple[WaterLine, ...], tuple[WaterLine, ...]]:
    """Return the cold water that goes on the flour first, and that which is kept back."""
    first = water_lines(night, way.pour.cold_kg, 0.0, 0.0)
    if night.supply(SupplyKind.CHILLER) is None:
        return first, water_lines(night, way.cold_kg, 0.0, 0.0)
    return first, water_lines(night, 0.0, way.cold_kg, 0.0)


def with_poured_water(
    lines: Sequence[ScalingLine], part: Scald, way: ScaldWay
) -> tuple[ScalingLine, ...]:
    """Return what to weigh, with only that water which is really poured hot."""
    own = [line for line in part.lines if line.material is Material.WATER]
    labels = {line.label for line in own}
    whole = sum(line.mass_kg for line in lines if line.name in labels)
    share = way.pour.hot_kg / whole if whole > 0 else 1.0
    if share > 1 - 1e-9:
        return tuple(lines)
    return tuple(
        ScalingLine(
            line.name, line.percent * share, line.mass_kg * share, line.temperature_c, line.step
        )
        if line.name in labels
        else line
        for line in lines
    )


def course_remarks(night: Night, course: ScaldCourse, last_use_min: float) -> tuple[Remark, ...]:
    """Return the steps of a scald by the clock, its cautions, and what food codes write.

    Parameters
    ----------
    night, course
        The scald.
    last_use_min
        When the last of it goes into a dough [min].
    """
    used = max(1.0, last_use_min - course.poured_min)
    country = night.day.bakery.food_lines
    hold = _hold_c(course)
    return (
        *_pour_step(night, course),
        *_hold_step(night, course),
        *_water_step(night, course),
        *_move_step(night, course),
        *_stir_step(night, course),
        *_reading_step(night, course, last_use_min),
        *_living_caution(course, last_use_min),
        *food_remarks(course.followed.path, used, country, hold),
    )


def _step(text: str, *figures: Figure, kind: RemarkKind = RemarkKind.NOTE) -> Remark:
    return Remark(kind, "scald_step", text, figures)


def _pour_step(night: Night, course: ScaldCourse) -> list[Remark]:
    pour, way = course.way.pour, course.way
    if pour.cold_kg <= 0 and way.kept is Kept.NONE:
        return []
    at = moment("at", night.day.moment(course.start_min))
    figures = (at, mass("hot", pour.hot_kg), temperature("start", pour.start_c))
    if pour.cold_kg > 0:
        text = "{at}: {cold} of cold water on the flour first, then pour {hot}: about {start}."
        return [_step(text, *figures, mass("cold", pour.cold_kg))]
    return [_step("{at}: pour only {hot} of its water; the rest is kept back.", *figures)]


def _hold_c(course: ScaldCourse) -> tuple[float, float] | None:
    """Return its warmest point at the start and the end of a long stand in the heat, if any."""
    if course.part.hold_min < 120:
        return None
    path = course.followed.path
    ends = (0.0, float(course.part.hold_min))
    return float(path.warmest_at(ends[0])[0]), float(path.warmest_at(ends[1])[0])


def _hold_step(night: Night, course: ScaldCourse) -> list[Remark]:
    part = course.part
    if part.hold_from_c is None or part.hold_to_c is None or part.hold_min <= 0:
        return []
    figures = (
        moment("until", night.day.moment(course.poured_min + part.hold_min)),
        temperature("low", part.hold_from_c),
        temperature("high", part.hold_to_c),
        word("place", str(part.hold_place)),
    )
    found = [_step("Until {until} between {low} and {high}, {place}.", *figures)]
    warm_min = float(course.followed.warm_min[0])
    if warm_min < HELD_SHARE * part.hold_min:
        found.append(_short_hold(part, warm_min))
    return found


def _short_hold(part: Scald, warm_min: float) -> Remark:
    better = "an insulated box or a heated place"
    if part.hold_place is HoldPlace.INSULATED:
        better = "a heated place"
    figures = (minutes("warm", warm_min), minutes("asked", part.hold_min), word("better", better))
    text = "Only {warm} of {asked} lie between its two temperatures; {better} would hold it."
    return Remark(RemarkKind.UNMET, "scald_hold_short", text, figures)


def _water_step(night: Night, course: ScaldCourse) -> list[Remark]:
    way = course.way
    if way.held_back_kg <= 0:
        return []
    at = moment("at", night.day.moment(course.poured_min + way.add_min))
    cold, ice = mass("cold", way.cold_kg), mass("ice", way.ice_kg)
    if way.ice_kg <= 0:
        step = _step("{at}: stir in the {cold} of cold water kept back from its own.", at, cold)
    elif way.cold_kg < 0.005:
        step = _step("{at}: stir in the {ice} of ice kept back from its water.", at, ice)
    else:
        text = "{at}: stir in {cold} of cold water and {ice} of ice, kept back from its own."
        step = _step(text, at, cold, ice)
    care = "The paste is hot: let it slide in, do not drop it."
    return [step, Remark(RemarkKind.CAUTION, "hot_paste", care)]


def _move_step(night: Night, course: ScaldCourse) -> list[Remark]:
    way, stand = course.way, course.way.stand
    if not stand.words or stand.code == "stirred":
        return []
    at = moment("at", night.day.moment(course.poured_min + way.add_min))
    figures: tuple[Figure, ...] = (at, word("how", stand.words))
    if stand.tipped:
        text = "{at}: stir through and tip it out {how}; hot paste burns and clings."
    else:
        text = "{at}: {how}."
    found = [_step(text, *figures)]
    if night.day.bakery.chamber(stand.place_id) is not None:
        text = "A hot mass warms the chamber and what stands in it: leave air around it."
        found.append(Remark(RemarkKind.CAUTION, "hot_mass", text))
    return found


def _stir_step(night: Night, course: ScaldCourse) -> list[Remark]:
    stand = course.way.stand
    if not stand.stirs:
        return []
    first = course.poured_min + course.way.add_min + STIR_EVERY_MIN
    last = min(first + (stand.stirs - 1) * STIR_EVERY_MIN, course.ready_min)
    text = f"Uncovered; stir through every {STIR_EVERY_MIN:g} min from {{first}} to {{last}}."
    figures = (
        moment("first", night.day.moment(first)),
        moment("last", night.day.moment(max(first, last))),
    )
    return [_step(text, *figures)]


def _reading_step(night: Night, course: ScaldCourse, last_use_min: float) -> list[Remark]:
    """Ask for a reading where one would tell something: after stirring, and when it tells most."""
    after = second_min(night, course)
    if course.way.add_min > 0:
        after = max(after, course.way.add_min + AFTER_MOVE_MIN)
    if course.poured_min + after > min(last_use_min, course.ready_min) - 30:
        return []
    text = (
        "Read it at {at}, stirred through if you can: a probe in the middle tells of the middle "
        "only, which lags behind."
    )
    return [_step(text, moment("at", night.day.moment(course.poured_min + after)))]


def _living_caution(course: ScaldCourse, last_use_min: float) -> list[Remark]:
    """Keep yeast, sour and egg away from a paste that is still hot when it is used."""
    if course.mean_c(last_use_min) <= LIVING_PARTS_C:
        return []
    text = (
        "Still above {limit} when it is used: yeast, sour and egg are harmed where they touch it; "
        "bring it together with flour and cold water first."
    )
    figure = temperature("limit", LIVING_PARTS_C)
    return [Remark(RemarkKind.CAUTION, "living_parts", text, (figure,))]


def second_min(night: Night, course: ScaldCourse) -> float:
    """Return when a second reading of a scald tells most, minutes after its pour [min]."""
    place_id = course.way.stand.place_id
    air_c = float(night.air_c(place_id)(np.asarray(course.poured_min)))
    return second_reading_min(course.followed.path, air_c)


def vessel_words(night: Night, course: ScaldCourse) -> str:
    """Return what the scald stands in, for its card."""
    stand = course.way.stand
    own = scald_vessel(night, course.part)
    if stand.tipped and own is not None:
        return f"{own.name}, then {stand.vessel}"
    return stand.vessel


def scald_notes(preparations: Sequence[PlannedPreparation], mix_id: str) -> tuple[Remark, ...]:
    """Return what a mixer hand is told about a scald that is not cooled in its usual way.

    Parameters
    ----------
    preparations
        What is prepared.
    mix_id
        The mix it goes into.
    """
    text = "{name}: {way}; expected at {use} when it goes in. All its water is in it."
    return tuple(
        Remark(
            RemarkKind.NOTE,
            "scald_way",
            text,
            (
                word("name", p.name),
                word("way", p.way_words),
                temperature("use", p.use_c[p.mix_ids.index(mix_id)]),
            ),
            mix_id,
        )
        for p in preparations
        if p.way_words and mix_id in p.mix_ids
    )
