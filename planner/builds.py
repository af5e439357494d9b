"""Builds: a levain, sour or preferment set once, or fed in steps, on its way to the mix.

Each build is a small mix of its own: fresh flour and water, and the seed or the whole build before
it at the temperature it has then. Its heat balance and its water are those of a dough.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.balances import FedFrom, build_balance, build_seed_kg, steering
from planner.formula import Part, Preferment
from planner.lines import Line
from planner.mixers import Mixer
from planner.night import Night
from planner.physics.ripening_path import RipeningPath, progress_after, temperature_after
from planner.physics.water import Draw, draw
from planner.rises import Rise, dough_rise
from planner.stores import chilled_stock

Numbers = NDArray[np.float64]


@dataclass(frozen=True)
class BuildCourse:
    """One build on its way, for one start of the preferment or for many.

    Attributes
    ----------
    part
        The build as a preferment of its own: what goes in fresh.
    offset_min
        From the start of the first build to the start of this one [min].
    start_min
        Its own start [min].
    fresh_kg, fed_kg
        What goes in fresh, and of the build before it [kg].
    drawn
        Its water.
    rise, path
        Its ripening, and temperature and progress from the end of its work on.
    waits_min, ripeness
        From the end of its work until the next build takes it [min], and its progress then; None
        for the last.
    """

    part: Preferment
    offset_min: float
    start_min: Numbers
    fresh_kg: float
    fed_kg: float
    drawn: Draw
    rise: Rise
    path: RipeningPath
    waits_min: float | None
    ripeness: Numbers | None

    @property
    def start_c(self) -> Numbers:
        """Temperature when it is set [°C]."""
        return np.asarray(self.drawn.expected_c, dtype=np.float64)


def single_builds(part: Preferment) -> tuple[Preferment, ...]:
    """Return the builds of a preferment as preferments of their own, the first first.

    Parameters
    ----------
    part
        A preferment.

    Returns
    -------
    tuple of Preferment
        Each with what goes in fresh; the seed goes into the first.
    """
    builds = [
        replace(
            part,
            name=f"{part.name}, build {n + 1} of {len(part.before) + 1}",
            lines=build.lines,
            ripening=build.ripening,
            temperature_c=build.temperature_c,
            work_min=build.work_min,
            seed_percent=part.seed_percent if n == 0 else 0.0,
            steps=(),
            before=(),
        )
        for n, build in enumerate(part.before)
    ]
    seed = 0.0 if part.before else part.seed_percent
    last = replace(part, lines=_left_lines(part), seed_percent=seed, before=())
    return (*builds, last)


def _left_lines(part: Preferment) -> tuple[Line, ...]:
    """Return what the last build takes fresh."""
    if not part.before:
        return part.lines
    left = dict(part.last_percents)
    found = []
    for line in part.lines:
        percent = min(line.percent, left[line.label])
        left[line.label] -= percent
        if percent > 1e-9:
            found.append(replace(line, percent=percent))
    return tuple(found)


def build_offsets_min(part: Preferment) -> tuple[float, ...]:
    """Return from the start of the first build to the start of each [min]."""
    offsets = [0.0]
    for build in part.before:
        offsets.append(offsets[-1] + build.stands_min)
    return tuple(offsets)


def seed_kg(part: Preferment, mass_kg: float) -> float:
    """Return the seed that goes into a preferment of a mass, and is kept back of it [kg]."""
    return build_seed_kg(single_builds(part)[0], total_flour_kg(part, mass_kg))


def total_flour_kg(part: Part, mass_kg: float) -> float:
    """Return the total dough flour for which a part weighs ``mass_kg`` [kg]."""
    return mass_kg * 100 / sum(line.percent for line in part.lines)


def made_min(part: Part) -> float:
    """Return minutes from the start of the work until it stands [min]."""
    steps = part.steps if isinstance(part, Preferment) else ()
    return sum(step.minutes for step in steps) if steps else float(part.work_min)


def courses(
    night: Night,
    part: Preferment,
    mass_kg: float,
    start_min: ArrayLike,
    mixer_id: str | None = None,
    *,
    chilled_left_kg: float | None = None,
    span_min: float | None = None,
    step_min: float | None = None,
) -> tuple[BuildCourse, ...]:
    """Follow the builds of a preferment, each into the next.

    Parameters
    ----------
    night
        Temperatures of the night.
    part, mass_kg
        The preferment, and how much of it will be used [kg].
    start_min
        Start of its first build, number or array [min].
    mixer_id
        Mixer of the last build; None by hand.
    chilled_left_kg
        What is in the chiller when a build is set [kg]; None for a full tank.
    span_min, step_min
        How far to follow the last build at least, and in what steps [min].

    Returns
    -------
    tuple of BuildCourse
        The last is what goes into the doughs.
    """
    tank_kg = chilled_stock(night).room_kg
    cap_kg = tank_kg if chilled_left_kg is None else min(tank_kg, chilled_left_kg)
    return tuple(_followed(night, part, mass_kg, start_min, mixer_id, cap_kg, span_min, step_min))


def _followed(
    night: Night,
    part: Preferment,
    mass_kg: float,
    start_min: ArrayLike,
    mixer_id: str | None,
    chilled_cap_kg: float,
    span_min: float | None,
    step_min: float | None,
) -> Iterator[BuildCourse]:
    flour_kg = total_flour_kg(part, mass_kg)
    builds, offsets = single_builds(part), build_offsets_min(part)
    fed: FedFrom | None = None
    for n, (build, offset) in enumerate(zip(builds, offsets, strict=True)):
        is_last = n == len(builds) - 1
        start = np.asarray(start_min, dtype=np.float64) + offset
        mixer = night.day.bakery.mixer(mixer_id) if is_last and mixer_id is not None else None
        drawn = _water(night, build, flour_kg, start, mixer, fed, chilled_cap_kg)
        fresh_kg = flour_kg * sum(line.percent for line in build.lines) / 100
        fed_kg = build_seed_kg(build, flour_kg) if fed is None else fed.mass_kg
        rise = dough_rise(night, build.ripening, fresh_kg + fed_kg, build.temperature_c)
        start_c = np.broadcast_to(np.asarray(drawn.expected_c, dtype=np.float64), start.shape)
        waits = None if is_last else part.before[n].stands_min - made_min(build)
        span = max(rise.longest_min, span_min or 0.0) if waits is None else waits + 5.0
        path = rise.path(start + made_min(build), start_c, span_min=span, step_min=step_min)
        ripeness = None if waits is None else progress_after(path, max(0.0, waits))
        yield BuildCourse(
            build, offset, start, fresh_kg, fed_kg, drawn, rise, path, waits, ripeness
        )
        if waits is not None:
            fed = FedFrom(fresh_kg + fed_kg, temperature_after(path, max(0.0, waits)))


def _water(
    night: Night,
    build: Preferment,
    flour_kg: float,
    start_min: Numbers,
    mixer: Mixer | None,
    fed: FedFrom | None,
    chilled_cap_kg: float,
) -> Draw:
    """Return the water of a build; ice is kept for the doughs."""
    balance = build_balance(night, build, flour_kg, mixer, start_min, fed)
    ways = steering(night, balance, hydration=1.0, flour_kg=flour_kg)
    return draw(
        balance,
        build.temperature_c,
        ways.supplies,
        None,
        use_chilled=True,
        ice_cap_kg=0.0,
        chilled_cap_kg=chilled_cap_kg,
    )


def build_water(
    night: Night,
    part: Preferment,
    mass_kg: float,
    start_min: ArrayLike,
    mixer_id: str | None,
    chilled_left_kg: float | None = None,
) -> Draw:
    """Return the water of the last build of a preferment.

    Parameters
    ----------
    night, part, mass_kg
        The night, the preferment and what of it will be used [kg].
    start_min, mixer_id
        When its first build is set [min], and the mixer of its last; None for by hand.
    chilled_left_kg
        What is in the chiller then [kg]; None for a full tank.
    """
    followed = courses(
        night, part, mass_kg, start_min, mixer_id, chilled_left_kg=chilled_left_kg, span_min=1.0
    )
    return followed[-1].drawn


def build_rise(night: Night, part: Preferment, mass_kg: float) -> Rise:
    """Return the rise of the last build of a preferment of a mass that will be used."""
    return dough_rise(night, part.ripening, mass_kg + seed_kg(part, mass_kg), part.temperature_c)
