"""A preferment that the night hurries or slows: what would have it ripe when it is used.

Less or more seed, colder or warmer water, another start, another place: each is solved on the
build's own path, alone, with its number. Seed is changed only within the range in which the dose
is known to act.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from planner.builds import build_rise, build_water, made_min
from planner.formula import Preferment
from planner.night import Night
from planner.physics.ferment_constants import MOST_DOSE_FACTOR, SEED_EXPONENT, YEAST_DOSE_EXPONENT
from planner.remarks import Figure, Remark, RemarkKind, minutes, moment, percent, temperature, word
from planner.ripening import ByTheClock, Curve
from planner.rises import Rise

Numbers = NDArray[np.float64]

NEAR_MIN = 10.0
"""A build that is ripe this near to its use is rescued [min]."""

WORTH_SAYING = 0.2
"""A night that changes a ripening by less than this share of it needs no word."""

COLDEST_BUILD_C, WARMEST_BUILD_C = 6.0, 34.0
"""Between these a build may be set [°C] (ours)."""

STEPS = 49


def night_note(
    night: Night, part: Preferment, mass_kg: float, start_min: float, use_min: float
) -> tuple[Remark, ...]:
    """Say that a build ripens otherwise tonight than usual, and how to keep its usual start.

    Parameters
    ----------
    night, part, mass_kg
        The build.
    start_min, use_min
        When it is set in this plan, and when it is first used [min].

    Returns
    -------
    tuple of Remark
        Nothing when the night is as usual, or for one that is fed in steps, whose times are told.
    """
    if part.before:
        return ()
    usual_min = _usual_min(part)
    now_min = _ripe_min(night, part, mass_kg, start_min)
    if not np.isfinite(now_min) or abs(now_min - usual_min) < WORTH_SAYING * usual_min:
        return ()
    usual_start = use_min - usual_min
    note = Remark(
        RemarkKind.NOTE,
        "preferment_night",
        "Ripe after {now} tonight, against {usual}: set at {start}.",
        (
            minutes("now", now_min),
            minutes("usual", usual_min),
            moment("start", night.day.moment(start_min)),
        ),
    )
    if usual_start < 0:
        return (note,)
    return (note, *rescues(night, part, mass_kg, usual_start, use_min))


def rescues(
    night: Night, part: Preferment, mass_kg: float, start_min: float, use_min: float
) -> tuple[Remark, ...]:
    """Return what would have a build, set at a minute, ripe at its use; nothing if it is.

    Parameters
    ----------
    night, part, mass_kg
        The build.
    start_min, use_min
        When it would be set, and when it is used [min].
    """
    rise = build_rise(night, part, mass_kg)
    start_c = _start_c(night, part, mass_kg, start_min)
    stands = start_min + made_min(part)
    path = rise.path(stands, start_c)
    low, _, high = (float(np.asarray(m).reshape(-1)[0]) + stands for m in rise.window(path))
    if low <= use_min <= high:
        return ()
    wait = use_min - stands
    return (
        *_seed(part, rise, stands, start_c, wait),
        *_water(night, part, mass_kg, rise, stands, start_min, wait),
        *_start(night, part, mass_kg, start_min, use_min),
        *_places(night, part, mass_kg, stands, start_c, wait),
    )


def _lever(code: str, text: str, *figures: Figure) -> Remark:
    return Remark(RemarkKind.LEVER, code, text, figures)


def _seed(part: Preferment, rise: Rise, stands: float, start_c: float, wait: float) -> list[Remark]:
    """Less or more seed or yeast, within a third and three times the usual."""
    most = MOST_DOSE_FACTOR.value
    doses = np.geomspace(1 / most, most, STEPS)
    power = YEAST_DOSE_EXPONENT if part.ripening.curve is Curve.YEAST else SEED_EXPONENT
    ripe = _ripe(rise, np.full(STEPS, stands), np.full(STEPS, start_c), doses**power.value)
    dose = _where(doses, ripe, wait)
    if dose is None:
        return []
    if part.seed_percent > 0:
        share = percent("seed", part.seed_percent * dose)
        now = percent("now", part.seed_percent)
        text = "With {seed} of seed instead of {now} it would be ripe then."
        return [_lever("other_seed", text, share, now)]
    share = percent("share", 100 * dose)
    return [_lever("other_yeast", "With {share} of its yeast it would be ripe then.", share)]


def _water(
    night: Night,
    part: Preferment,
    mass_kg: float,
    rise: Rise,
    stands: float,
    start_min: float,
    wait: float,
) -> list[Remark]:
    """Colder or warmer water, as far as the house has it."""
    wishes = np.linspace(COLDEST_BUILD_C, WARMEST_BUILD_C, STEPS)
    reached = np.array(
        [
            float(
                build_water(
                    night, replace(part, temperature_c=float(c)), mass_kg, start_min, None
                ).expected_c
            )
            for c in (wishes[0], wishes[-1])
        ]
    )
    starts_c = np.linspace(reached[0], reached[1], STEPS)
    ripe = _ripe(rise, np.full(STEPS, stands), starts_c, np.ones(STEPS))
    start_c = _where(starts_c, ripe, wait)
    if start_c is None:
        return []
    text = "Set at {start} instead of {now} it would be ripe then."
    figures = (temperature("start", start_c), temperature("now", part.temperature_c))
    return [_lever("other_build_temperature", text, *figures)]


def _start(
    night: Night, part: Preferment, mass_kg: float, start_min: float, use_min: float
) -> list[Remark]:
    """Another start."""
    starts = np.linspace(max(0.0, use_min - 1440.0), use_min - made_min(part), STEPS)
    rise = build_rise(night, part, mass_kg)
    start_c = np.broadcast_to(
        build_water(night, part, mass_kg, starts, None).expected_c, starts.shape
    )
    ripe = _ripe(rise, starts + made_min(part), np.asarray(start_c), np.ones(STEPS))
    start = _crossing(starts, ripe + made_min(part) - (use_min - starts))
    if start is None or abs(start - start_min) < NEAR_MIN:
        return []
    figure = moment("start", night.day.moment(start))
    return [_lever("other_start", "Set at {start} it would be ripe then.", figure)]


def _places(
    night: Night, part: Preferment, mass_kg: float, stands: float, start_c: float, wait: float
) -> list[Remark]:
    """Other rooms and chambers in which its window holds the use."""
    found = []
    bakery = night.day.bakery
    places = [(room.id, room.name) for room in bakery.rooms]
    places += [(chamber.id, chamber.name) for chamber in bakery.chambers]
    for place_id, name in places:
        if place_id == part.ripening.place_id:
            continue
        moved = replace(part, ripening=part.ripening.in_place(place_id))
        rise = build_rise(night, moved, mass_kg)
        path = rise.path(stands, start_c)
        low, _, high = (float(np.asarray(m).reshape(-1)[0]) for m in rise.window(path))
        if low <= wait <= high:
            text = "In {place} it would be ripe then."
            found.append(_lever("other_place", text, word("place", name)))
    return found


def _usual_min(part: Preferment) -> float:
    reference = part.ripening.reference
    return reference.minutes if isinstance(reference, ByTheClock) else 60 * reference.hours


def _start_c(night: Night, part: Preferment, mass_kg: float, start_min: float) -> float:
    return float(build_water(night, part, mass_kg, start_min, None).expected_c)


def _ripe_min(night: Night, part: Preferment, mass_kg: float, start_min: float) -> float:
    """Return minutes from the start of its work until a build is ripe [min]."""
    rise = build_rise(night, part, mass_kg)
    path = rise.path(start_min + made_min(part), _start_c(night, part, mass_kg, start_min))
    return float(np.asarray(rise.window(path)[1]).reshape(-1)[0]) + made_min(part)


def _ripe(rise: Rise, stands: Numbers, start_c: Numbers, rate: Numbers) -> Numbers:
    path = rise.path(stands, start_c, rate=rate, span_min=2880.0)
    return rise.window(path)[1]


def _where(values: Numbers, ripe_min: Numbers, wait_min: float) -> float | None:
    """Return the value at which something is ripe after a wait; None when none is."""
    return _crossing(values, ripe_min - wait_min)


def _crossing(values: Numbers, off: Numbers) -> float | None:
    """Return where a monotone difference passes nothing, straight between its points."""
    known = np.isfinite(off)
    values, off = values[known], off[known]
    for n in range(len(off) - 1):
        if off[n] == 0:
            return float(values[n])
        if off[n] * off[n + 1] < 0:
            share = off[n] / (off[n] - off[n + 1])
            return float(values[n] + share * (values[n + 1] - values[n]))
    return None
