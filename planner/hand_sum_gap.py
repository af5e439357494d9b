"""The baker's own number beside ours, and where the gap comes from.

The sum of the trade gives every temperature the same weight. The balance does not. From the mild
day on which such a sum is tuned to the day of the mix, each temperature is moved in turn, in the
sum and in the balance; what the two make of it differently is its part of the gap, and the parts
add up to it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from planner.batches import Batch
from planner.constants import USUAL_HYDRATION
from planner.hand_sum import LIMITS, HandSum, SumKind, friction_in_sum_k, water_by_sum_c
from planner.physics.heat_balance import Ingredient, MixBalance
from planner.physics.mix_course import dough_temperature_c
from planner.physics.mixing_heat import stiffness
from planner.physics.water_solution import equivalent_water_c
from planner.quantities import Unit
from planner.remarks import Figure, Remark, RemarkKind, difference, percent, temperature, word
from planner.water_ticket import SumBeside

MILD_DAY_C = 22.0
"""Flour, bowl and room temperature of the day on which a sum is taken to be tuned [°C]."""

WORTH_SAYING_K = 0.5
"""A part of the gap smaller than this needs no sentence [K]."""

MOST_REASONS = 3

NEARER_BY = 3.0
"""A number is thought to be of another convention, or of a dough of 65 % water, when it is so many
times nearer then (ours)."""

USUAL_DAYS_C = (0.0, 40.0)
"""Flour and room on days on which a friction may have been measured [°C] (ours)."""

LEAST_WATER_SHARE = 0.2
"""A dough whose steered water would shrink below this share is not thought of at 65 % (ours)."""

TUNING, HYDRATION, FLOUR, ROOM = "tuning", "hydration", "flour", "room"


@dataclass(frozen=True, slots=True)
class GapPart:
    """A part of the gap between a sum's water and the balance's: the sum's less ours [K].

    Attributes
    ----------
    what
        ``tuning``, ``hydration``, ``flour``, ``room``, or the name of a part.
    part_id
        Id of that part; empty for the others.
    """

    what: str
    gap_k: float
    part_id: str = ""


def sum_beside(
    batch: Batch, balance: MixBalance, dough_c: float, water_c: float
) -> SumBeside | None:
    """Return the baker's own sum for a mix, or one tuned on a mild day when none was entered.

    Parameters
    ----------
    batch, balance
        The mix, all its temperatures plain numbers.
    dough_c
        Desired dough temperature [°C].
    water_c
        What the balance asks for, an energy number [°C].

    Returns
    -------
    SumBeside or None
        None without water or fresh flour; where the baker states no sum, also for a dough with
        parts, and for a mix that no usual friction suits.
    """
    if balance.water_kg <= 0 or flour_c_of(balance) is None:
        return None
    stated = batch.formula.hand_sum
    if stated is None and batch.formula.parts:
        return None
    own = stated or tuned(balance, dough_c)
    if own is None:
        return None
    by_sum_c = _by_sum(own, balance, dough_c)
    got_c = float(dough_temperature_c(balance, by_sum_c))
    return SumBeside(str(own.kind), stated is not None, by_sum_c, got_c, water_c)


def tuned(balance: MixBalance, dough_c: float) -> HandSum | None:
    """Return the three-term sum that is right on a mild day, its friction then kept.

    Parameters
    ----------
    balance
        A mix with water and fresh flour.
    dough_c
        Desired dough temperature [°C].

    Returns
    -------
    HandSum or None
        None where that friction would be none that bakers use: for very intensive mixing, or a
        dough far colder than a mild day.
    """
    mild = on_a_mild_day(balance)
    friction_k = 3 * dough_c - 2 * MILD_DAY_C - float(equivalent_water_c(mild, dough_c))
    low, high, *_ = LIMITS[SumKind.FRICTION]
    return HandSum(SumKind.FRICTION, friction_k) if low <= friction_k <= high else None


# -- the parts of the gap ----------------------------------------------------------------------


def gap_parts(
    batch: Batch, balance: MixBalance, dough_c: float, own: HandSum
) -> tuple[GapPart, ...]:
    """Return the gap between a sum's water and the balance's, part by part; they add up to it.

    Parameters
    ----------
    batch, balance, dough_c
        The mix and its desired dough temperature [°C].
    own
        The sum.

    Notes
    -----
    With ``w`` what a degree of an input is worth in water, a move of that input by ``dT`` adds
    ``(w - 1) dT`` where the sum counts it and ``w dT`` where it does not. Steps from the mild day
    to the day of the mix: flour, then the room with bowl and dry goods, then each part. What is
    left on the mild day itself comes first: another season, convention or mix than the one the
    number is from. Where a stated number fits the same dough at 65 % water far better, it is taken
    to be one kept for all doughs, and hydration is a part of its own.
    """
    mild = on_a_mild_day(balance)
    steps: list[tuple[GapPart, MixBalance]] = []
    usual = usual_hydration(batch, mild) if own == batch.formula.hand_sum else None
    if usual is not None and _is_nearer(_gap_k(own, usual, dough_c), _gap_k(own, mild, dough_c)):
        steps.append((GapPart(TUNING, 0.0), usual))
        steps.append((GapPart(HYDRATION, 0.0), mild))
    else:
        steps.append((GapPart(TUNING, 0.0), mild))
    others = [GapPart(FLOUR, 0.0), GapPart(ROOM, 0.0)]
    others += [GapPart(part.name, 0.0, part.id) for part in batch.formula.parts]
    for part in others:
        steps.append((part, _taken_over(steps[-1][1], balance, part, batch)))
    gaps = [_gap_k(own, state, dough_c) for _, state in steps]
    return tuple(
        replace(part, gap_k=gap - before)
        for (part, _), gap, before in zip(steps, gaps, [0.0, *gaps[:-1]], strict=True)
    )


def on_a_mild_day(balance: MixBalance, mild_c: float = MILD_DAY_C) -> MixBalance:
    """Return a mix with everything at the temperature of a mild day [°C]."""
    return replace(
        balance,
        ingredients=tuple(replace(i, temperature_c=mild_c) for i in balance.ingredients),
        air=replace(balance.air, room_c=mild_c),
        bowl=replace(balance.bowl, temperature_c=mild_c),
    )


def usual_hydration(batch: Batch, balance: MixBalance) -> MixBalance | None:
    """Return a mix with so much steered water that the dough has 65 %; None if it cannot be.

    Notes
    -----
    The work per kilo goes with the stiffness of the dough.
    """
    usual, own = USUAL_HYDRATION.value, batch.formula.hydration
    water_kg = balance.water_kg + (usual - own) * batch.flour_kg
    share = water_kg / balance.water_kg
    if share < LEAST_WATER_SHARE:
        return None
    heavier = 1 + (water_kg - balance.water_kg) / balance.mass_kg
    work = heavier * stiffness(usual) / stiffness(own)
    return replace(
        balance,
        portions=tuple(replace(p, water_kg=share * p.water_kg) for p in balance.portions),
        steps=tuple(replace(step, work_kj=work * step.work_kj) for step in balance.steps),
    )


def flour_c_of(balance: MixBalance) -> float | None:
    """Return the temperature of the fresh flour of a mix [°C]; None when it has none."""
    flour = [i for i in balance.ingredients if i.is_fresh_flour]
    if not flour:
        return None
    return sum(i.mass_kg * float(i.temperature_c) for i in flour) / sum(i.mass_kg for i in flour)


def _is_nearer(off_k: float, before_k: float) -> bool:
    return NEARER_BY * abs(off_k) < abs(before_k)


def _gap_k(own: HandSum, balance: MixBalance, dough_c: float) -> float:
    return _by_sum(own, balance, dough_c) - float(equivalent_water_c(balance, dough_c))


def _by_sum(own: HandSum, balance: MixBalance, dough_c: float) -> float:
    flour_c = flour_c_of(balance)
    room_c = float(np.asarray(balance.air.room_c))
    parts = [float(i.temperature_c) for i in balance.ingredients if i.key == own.part_id != ""]
    return water_by_sum_c(
        own, dough_c, MILD_DAY_C if flour_c is None else flour_c, [room_c, *parts]
    )


def _taken_over(state: MixBalance, source: MixBalance, part: GapPart, batch: Batch) -> MixBalance:
    """Return a mix with the temperatures of one part of the gap as they are in another."""
    belongs = _belongs(part, batch)
    moved = replace(
        state,
        ingredients=tuple(
            replace(i, temperature_c=there.temperature_c) if belongs(i) else i
            for i, there in zip(state.ingredients, source.ingredients, strict=True)
        ),
    )
    return replace(moved, air=source.air, bowl=source.bowl) if part.what == ROOM else moved


def _belongs(part: GapPart, batch: Batch) -> Callable[[Ingredient], bool]:
    """Return which ingredients move with a part of the gap; dry and cold goods with the room."""
    ids = {one.id for one in batch.formula.parts}
    if part.part_id:
        return lambda i: i.key == part.part_id
    if part.what == FLOUR:
        return lambda i: i.is_fresh_flour
    return lambda i: not i.is_fresh_flour and i.key not in ids


# -- the parts as sentences --------------------------------------------------------------------


def gap_remarks(
    batch: Batch, balance: MixBalance, dough_c: float, own: HandSum
) -> tuple[Remark, ...]:
    """Return why a sum's water is not ours, the largest reason first, at most three.

    Parameters
    ----------
    batch, balance, dough_c
        The mix, all its temperatures plain numbers, and its desired dough temperature [°C].
    own
        The sum.
    """
    parts = gap_parts(batch, balance, dough_c, own)
    ranked = sorted(parts, key=lambda part: -abs(part.gap_k))[:MOST_REASONS]
    asked = _Asked(batch, balance, dough_c, own)
    return tuple(
        asked.remark(part, has_hydration=any(p.what == HYDRATION for p in parts))
        for part in ranked
        if abs(part.gap_k) >= WORTH_SAYING_K
    )


_COUNTED = (
    "{what} at {now}, {mild} at the tuning: a degree of it counts as one of water in the sum,"
    " in truth as {worth}."
)
_ROOM = (
    "Room at {now}, {mild} at the tuning: it counts {share} in the sum, with bowl and dry goods"
    " {weight} in truth."
)
_LEFT_OUT = "{what} at {now} is left out of the sum; a degree of it is worth {worth} of water."
_HYDRATION = "Your number fits a dough of {usual} water, this one has {hydration}."
_STATED = "Your number stands for a friction of {stated} in the sum"
_SEASON = _STATED + ", right with flour and room at {season}; at {mild} this dough needs {needed}."
_CONVENTION = (
    _STATED + "; at {mild} this dough needs {needed}. Read as {other_kind} it would be {other}:"
    " ask which is meant."
)
_NUMBER = _STATED + "; at {mild} this dough needs {needed}."


@dataclass(frozen=True, slots=True)
class _Asked:
    """The mix and the sum about which it is asked."""

    batch: Batch
    balance: MixBalance
    dough_c: float
    own: HandSum

    def remark(self, part: GapPart, *, has_hydration: bool) -> Remark:
        """Return the sentence of one part of the gap."""
        if part.what == TUNING and not part.part_id:
            text, figures = self._tuning(part, has_hydration=has_hydration)
        elif part.what == HYDRATION and not part.part_id:
            text, figures = (
                _HYDRATION,
                (
                    percent("usual", 100 * USUAL_HYDRATION.value),
                    percent("hydration", 100 * self.batch.formula.hydration),
                ),
            )
        else:
            text, figures = self._temperature(part)
        side = "warm" if part.gap_k > 0 else "cold"
        told = f"{text} That makes the sum's water {{gap}} too {side}."
        figures = (*figures, difference("gap", abs(part.gap_k)))
        used = tuple(f for f in figures if f"{{{f.name}}}" in told)
        return Remark(RemarkKind.NOTE, "hand_sum_gap", told, used, self.batch.id)

    def _temperature(self, part: GapPart) -> tuple[str, tuple[Figure, ...]]:
        worth = self._worth(part)
        everything = 1 + sum(
            self._worth(one)
            for one in (
                GapPart(FLOUR, 0.0),
                GapPart(ROOM, 0.0),
                *(GapPart(p.name, 0.0, p.id) for p in self.batch.formula.parts),
            )
        )
        figures = (
            word("what", part.what[:1].upper() + part.what[1:]),
            temperature("now", self._now_c(part)),
            temperature("mild", MILD_DAY_C),
            Figure("worth", round(worth, 2), Unit.FRACTION),
            percent("share", 100 / self.own.terms),
            percent("weight", 100 * worth / everything),
        )
        if not self._is_counted(part):
            return _LEFT_OUT, figures
        return _ROOM if part.what == ROOM and not part.part_id else _COUNTED, figures

    def _is_counted(self, part: GapPart) -> bool:
        if part.part_id:
            return part.part_id == self.own.part_id
        return part.what == FLOUR or self.own.kind is not SumKind.TWO_TERMS

    def _now_c(self, part: GapPart) -> float:
        if part.what == ROOM and not part.part_id:
            return float(np.asarray(self.balance.air.room_c))
        belongs = _belongs(part, self.batch)
        inside = [i for i in self.balance.ingredients if belongs(i)]
        whole_kg = sum(i.mass_kg for i in inside)
        return sum(i.mass_kg * float(i.temperature_c) for i in inside) / whole_kg

    def _worth(self, part: GapPart) -> float:
        """Return the degrees of water that a degree of something is worth."""
        warmer = _taken_over(self.balance, _warmer(self.balance), part, self.batch)
        cold, warm = (equivalent_water_c(b, self.dough_c) for b in (self.balance, warmer))
        return float(cold) - float(warm)

    def _tuning(self, part: GapPart, *, has_hydration: bool) -> tuple[str, tuple[Figure, ...]]:
        """Say of what other season, convention or mix a number is."""
        stated_k = friction_in_sum_k(self.own, self.dough_c)
        needed_k = stated_k + part.gap_k
        season_c = self._season_c(stated_k, needed_k, has_hydration=has_hydration)
        kind, other_k = self._other_reading(stated_k)
        figures = (
            difference("stated", stated_k),
            difference("needed", needed_k),
            temperature("mild", MILD_DAY_C),
            temperature("season", season_c),
            word("other_kind", kind),
            difference("other", other_k),
        )
        if kind and _is_nearer(other_k - needed_k, stated_k - needed_k):
            return _CONVENTION, figures
        low_c, high_c = USUAL_DAYS_C
        return _SEASON if low_c <= season_c <= high_c else _NUMBER, figures

    def _other_reading(self, stated_k: float) -> tuple[str, float]:
        """Return how else the number may be meant, and its friction in the sum then [K]."""
        if self.own.kind is SumKind.RISE:
            return "a friction in the sum", self.own.value
        if self.own.kind is SumKind.FRICTION:
            return "the rise of the dough", self.own.terms * stated_k
        return "", stated_k

    def _season_c(self, stated_k: float, needed_k: float, *, has_hydration: bool) -> float:
        """Return flour and room for which a friction would have been read off this dough [°C].

        Notes
        -----
        On a straight line through the mild day and a day one degree warmer.
        """
        usual = usual_hydration(self.batch, self.balance) if has_hydration else None
        base = self.balance if usual is None else usual
        warmer = on_a_mild_day(base, MILD_DAY_C + 1)
        per_k = stated_k + _gap_k(self.own, warmer, self.dough_c) - needed_k
        return MILD_DAY_C + (stated_k - needed_k) / per_k


def _warmer(balance: MixBalance) -> MixBalance:
    """Return a mix with everything but its water a degree warmer."""
    return replace(
        balance,
        ingredients=tuple(
            replace(i, temperature_c=i.temperature_c + 1.0) for i in balance.ingredients
        ),
        air=replace(balance.air, room_c=balance.air.room_c + 1.0),
        bowl=replace(balance.bowl, temperature_c=balance.bowl.temperature_c + 1.0),
    )
