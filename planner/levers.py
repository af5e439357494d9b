"""When water and ice cannot do it: what else would, each priced in its own unit.

Every lever is solved on the same course as the ticket, alone, for the nearest edge of the baker's
band. They stand in the order in which a baker would try them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from planner.bakery import IceKind
from planner.batches import Batch
from planner.constants import ICE_GONE_BEFORE_END_MIN
from planner.materials import RAW_EGG
from planner.mixers import Mixer, Speed
from planner.night import Night
from planner.options import BUCKET_MIN, Allowance, aimed
from planner.physics.heat_balance import Ice, Ingredient, MixBalance, Numbers
from planner.physics.ice import ice_share_cap, melt_minutes
from planner.physics.mix_course import dough_temperature_c
from planner.physics.water_solution import (
    Given,
    equivalent_water_c,
    ice_for_equivalent_kg,
    ingredient_temperatures_c,
)
from planner.posing import in_time_min, start_buckets
from planner.remarks import (
    Figure,
    Remark,
    RemarkKind,
    mass,
    minutes,
    moment,
    temperature,
    word,
)
from planner.tickets import MixCase, Mixed, MixTemperatures

MISSED_BY_K = 0.1
"""A dough no further outside its band than this is inside it [K]."""

TOLD_K = 0.05
"""A dough is told in tenths: nearer than this to an edge is on it [K]."""

BOUGHT_ICE = Ice(-2.0, 0.9)
"""Flake ice as it comes from a shop or a neighbour: cold and a little wet (our guess)."""

LEAST_HEAT_SHARE = 0.05
"""An ingredient with less of the dough's heat capacity is no lever."""

FLOUR_C, PART_C, LIQUID_C, BOWL_C = (-5.0, 45.0), (2.0, 40.0), (0.5, 45.0), (1.0, 60.0)
"""Temperatures to which each can be brought in a bakery [°C] (ours)."""

NEAR_K = 0.02
"""A lever is told in tenths of a degree; the dough it gives lies this near [K]."""

SHORTEST_SHARE, LONGEST_SHARE = 0.5, 1.5
"""A working step may be shortened or lengthened to this share of itself (ours)."""

WORKED_ROUNDS = 4
"""Secant rounds for the length of a step; the course is almost straight in it."""

SMALLER_SHARE = 0.7

NEAREST_SLOT_MIN = 60.0
"""Another hour of the night lies at least so far from the planned one [min]."""


@dataclass(frozen=True)
class Miss:
    """A mix that does not come into its band.

    Attributes
    ----------
    mixed
        The mix as it is planned or read, and what its ticket was made from.
    batch
        The bowl of dough, with the number it is aimed at.
    target_c
        The nearest edge of the band [°C].
    buckets
        Half hours in which it might start instead; None for those of its order and its shift.
    """

    mixed: Mixed
    batch: Batch
    target_c: float
    buckets: Collection[int] | None = None

    @property
    def case(self) -> MixCase:
        """What the ticket was made from."""
        return self.mixed.case

    @property
    def night(self) -> Night:
        """The night it is mixed in."""
        return self.mixed.case.night

    @property
    def mixer(self) -> Mixer:
        """The mixer it is planned on."""
        return self.mixed.case.mixer

    @property
    def start_min(self) -> float:
        """Its start [min]."""
        return float(np.asarray(self.mixed.case.start_min))

    @property
    def off_k(self) -> float:
        """Degrees above the target; negative below [K]."""
        return self.mixed.ticket.expected_c - self.target_c

    @property
    def too_warm(self) -> bool:
        """Whether it comes off too warm."""
        return self.off_k > 0

    def outside_k(self, dough_c: float) -> float:
        """Return by how much a dough lies outside the band [K]."""
        formula = self.batch.formula
        return max(0.0, abs(dough_c - formula.dough_c) - formula.band_k)

    def is_reached(self, dough_c: float) -> bool:
        """Return whether a dough lies in the band, as near as it is told."""
        return self.outside_k(dough_c) <= TOLD_K

    def is_nearer(self, dough_c: float) -> bool:
        """Return whether a dough lies so much nearer to the band that it is worth a word."""
        return self.outside_k(dough_c) <= self.outside_k(self.mixed.ticket.expected_c) - MISSED_BY_K


def missed_remarks(
    mixed: Mixed, buckets: Collection[int] | None = None, aim: Batch | None = None
) -> tuple[Remark, ...]:
    """Return the unmet wish and its levers when a dough misses its band; else nothing.

    Parameters
    ----------
    mixed
        The mix with its ticket, and what it was made from.
    buckets
        Half hours in which it might start instead; None for those of its order and its shift.
    aim
        The bowl of dough with the number it is aimed at; None for what was chosen for it.
    """
    batch = aimed(mixed.case.batch, mixed.case.choice) if aim is None else aim
    formula = batch.formula
    expected_c = mixed.ticket.expected_c
    off_k = expected_c - formula.dough_c
    if abs(off_k) <= formula.band_k + MISSED_BY_K:
        return ()
    miss = Miss(mixed, batch, float(formula.dough_c + np.sign(off_k) * formula.band_k), buckets)
    text = "Comes off at {expected}, outside {low} to {high}: water and ice cannot do more."
    if mixed.balance.water_kg <= 0:
        text = "Comes off at {expected}, outside {low} to {high}: there is no water to steer with."
    unmet = Remark(
        RemarkKind.UNMET,
        "dough_missed",
        text,
        (
            temperature("expected", expected_c),
            temperature("low", formula.dough_c - formula.band_k),
            temperature("high", formula.dough_c + formula.band_k),
        ),
    )
    return (unmet, *levers(miss))


def levers(miss: Miss) -> tuple[Remark, ...]:
    """Return every lever that would bring a dough back, in the order to try them."""
    return (
        *cooled_mixer(miss),
        *more_ice(miss),
        *hotter_water(miss),
        *ingredients(miss),
        *bowl_lever(miss),
        *working_time(miss),
        *smaller_batch(miss),
        *other_slot(miss),
    )


def _lever(code: str, text: str, *figures: Figure) -> Remark:
    return Remark(RemarkKind.LEVER, code, text, figures)


def cooled_mixer(miss: Miss) -> Iterator[Remark]:
    """Switch the mixer's own cooling on, or take another that fits."""
    if not miss.too_warm:
        return
    if miss.mixer.is_cooled and not miss.mixer.cooling_on:
        dough_c = _on_mixer(miss, replace(miss.mixer, cooling_on=True))
        if miss.is_nearer(dough_c):
            yield _lever(
                "cooling_on",
                "With the cooling of {mixer} on it comes off at {dough}.",
                word("mixer", miss.mixer.name),
                temperature("dough", dough_c),
            )
    for other in miss.batch.mixers:
        if other.id != miss.mixer.id:
            dough_c = _on_mixer(miss, other)
            if miss.is_reached(dough_c):
                yield _lever(
                    "other_mixer",
                    "On {mixer} it comes off at {dough}.",
                    word("mixer", other.name),
                    temperature("dough", dough_c),
                )


def _on_mixer(miss: Miss, mixer: Mixer) -> float:
    """Return what comes off another mixer, with the readings and the stores of this ticket [°C]."""
    case = replace(miss.case, mixer=mixer)
    if mixer.id != miss.mixer.id:
        case = replace(case, bowl_c=None, measured=_elsewhere(miss, mixer))
    return _dough_c(case, miss.target_c)


def _elsewhere(miss: Miss, mixer: Mixer) -> MixTemperatures:
    """Return what was read, as far as it holds for another mixer: not its bowl or its room."""
    read = replace(miss.case.measured, bowl_c=None)
    return read if mixer.room_id == miss.mixer.room_id else replace(read, room_c=None)


def _dough_c(case: MixCase, wanted_c: float) -> float:
    """Return the dough that a ticket made from something would give [°C]."""
    return float(case.drawn(case.balance(), wanted_c).expected_c)


def more_ice(miss: Miss) -> Iterator[Remark]:
    """Say how much ice it would take, if that much melts."""
    balance, ways, ticket = miss.mixed.balance, miss.mixed.ways, miss.mixed.ticket
    if not miss.too_warm or balance.water_kg <= 0 or ticket.water_c is None:
        return
    made = miss.night.day.bakery.ice
    ice = ways.ice or BOUGHT_ICE
    first = balance.portions[0]
    later_c = ticket.water_c if len(balance.portions) > 1 else None
    needed_c = equivalent_water_c(balance, miss.target_c, later_water_c=later_c)
    ice_kg = float(ice_for_equivalent_kg(first.water_kg, needed_c, ticket.water_c, ice))
    formula = miss.batch.formula
    kind = made.kind if made else IceKind.FLAKE
    # With a rest in which they melt, large pieces are bound by the wetting of the flour alone.
    bound = IceKind.FLAKE if ways.melt_first else kind
    melts_kg = ice_share_cap(formula.hydration, bound) * formula.hydration * miss.batch.flour_kg
    more_kg = ice_kg - ticket.ice_kg
    if more_kg <= 0.01 or ice_kg > min(melts_kg, first.water_kg):
        return
    if ways.melt_first:
        left_min = sum(step.minutes for step in balance.steps[first.step :])
        rest_min = melt_minutes(kind)[1] + ICE_GONE_BEFORE_END_MIN.value - left_min
        yield _lever(
            "rest_for_ice",
            "{ice} of {kind} ice in the bowl would do it, with {rest} of rest in the mix for it "
            "to melt.",
            mass("ice", ice_kg),
            word("kind", kind),
            minutes("rest", max(5.0, rest_min)),
        )
        return
    yield _lever(
        "more_ice",
        "{ice} more ice would bring it back.",
        mass("ice", more_kg),
    )


def hotter_water(miss: Miss) -> Iterator[Remark]:
    """Say how warm all the water would have to be, when it still can be poured."""
    balance = miss.mixed.balance
    if miss.too_warm or balance.water_kg <= 0:
        return
    water_c = float(equivalent_water_c(balance, miss.target_c))
    if water_c <= miss.night.boiling_c:
        yield _lever(
            "hotter_water",
            "Water at {water} would bring it back.",
            temperature("water", water_c),
        )


def ingredients(miss: Miss) -> Iterator[Remark]:
    """Say how cold or warm flour, parts and cold ingredients would have to be, one at a time."""
    balance, ticket = miss.mixed.balance, miss.mixed.ticket
    groups = _groups(miss)
    if not groups:
        return
    given = Given(ticket.water_c or 0.0, ticket.ice_kg, miss.mixed.ways.ice)
    members = [[i.name for i in group] for group, _ in groups]
    wanted = ingredient_temperatures_c(balance, members, miss.target_c, given, NEAR_K)
    for (group, (low_c, high_c)), wanted_c in zip(groups, wanted, strict=True):
        if low_c <= wanted_c <= high_c:
            yield _lever(
                "ingredient_temperature",
                "{ingredient} at {target} instead of {now} would bring it back.",
                word("ingredient", " and ".join(dict.fromkeys(i.name for i in group))),
                temperature("target", float(wanted_c)),
                temperature("now", _mean_c(group)),
            )


def _groups(miss: Miss) -> list[tuple[list[Ingredient], tuple[float, float]]]:
    """Return what changes its temperature together, and the range it can be brought to [°C].

    All flour is one, and whatever goes in under one name in several steps. Raw egg is never
    warmed.
    """
    balance = miss.mixed.balance
    least_kj_per_k = LEAST_HEAT_SHARE * float(balance.heat_capacity_kj_per_k)
    by_name: dict[str, list[Ingredient]] = {}
    for one in balance.ingredients:
        by_name.setdefault("" if one.is_fresh_flour else one.name, []).append(one)
    egg = {line.label for line in miss.batch.formula.lines if line.material in RAW_EGG}
    found = []
    for name, group in sorted(by_name.items(), key=lambda named: named[0] != ""):
        if name in egg and not miss.too_warm:
            continue
        if name == "":
            found.append((group, FLOUR_C))
        elif sum(float(i.heat_capacity_kj_per_k) for i in group) >= least_kj_per_k:
            found.append((group, PART_C if group[0].key else LIQUID_C))
    return found


def bowl_lever(miss: Miss) -> Iterator[Remark]:
    """Say how cold or warm bowl and tool would have to be."""
    now_c = float(np.asarray(miss.mixed.balance.bowl.temperature_c))
    per_k = _with_bowl(miss, now_c + 1.0) - miss.mixed.ticket.expected_c
    if per_k <= 1e-6:
        return
    guess_c = now_c - miss.off_k / per_k
    # Melting fat bends the line: once more, between the guess and now.
    guess_off_k = _with_bowl(miss, guess_c) - miss.target_c
    wanted_c = guess_c - guess_off_k * (guess_c - now_c) / (guess_off_k - miss.off_k)
    if BOWL_C[0] <= wanted_c <= BOWL_C[1] and miss.is_reached(_with_bowl(miss, wanted_c)):
        text = "Bowl and tool chilled to {target} instead of {now} would bring it back."
        if not miss.too_warm:
            text = "Bowl and tool warmed to {target} instead of {now} would bring it back."
        yield _lever("bowl", text, temperature("target", wanted_c), temperature("now", now_c))


def _with_bowl(miss: Miss, bowl_c: float) -> float:
    """Return the dough of this ticket from a bowl of another temperature [°C]."""
    balance, ticket = miss.mixed.balance, miss.mixed.ticket
    other = replace(balance, bowl=replace(balance.bowl, temperature_c=bowl_c))
    ice = miss.mixed.ways.ice
    return float(dough_temperature_c(other, ticket.water_c or 0.0, ticket.ice_kg, ice))


def working_time(miss: Miss) -> Iterator[Remark]:
    """Say by how much the fastest working step would have to be shorter or longer."""
    steps, effects = miss.batch.formula.steps, miss.mixed.effects.by_step
    worked = [
        (k, step) for k, step in enumerate(steps) if step.speed is not Speed.REST and effects[k] > 0
    ]
    if not worked:
        return
    k, step = max(worked, key=lambda pair: effects[pair[0]] / max(pair[1].minutes, 1e-9))
    share = _share_worked(miss, k, 1 - miss.off_k / effects[k])
    if share is None or (share < 1) is not miss.too_warm:
        return
    # A shorter mix may not melt its ice: what counts is the ticket that it would get.
    if miss.is_reached(_dough_c(_worked_for(miss, k, share), miss.target_c)):
        text = "{less} less at {speed} would bring it back, if the dough allows it."
        if not miss.too_warm:
            text = "{less} more at {speed} would bring it back, if the dough allows it."
        less_min = abs(1 - share) * step.minutes
        yield _lever("working_time", text, minutes("less", less_min), word("speed", step.speed))


def _share_worked(miss: Miss, k: int, guess: float) -> float | None:
    """Return the share of its minutes at which a step gives the target; None when none does."""
    ticket, ice = miss.mixed.ticket, miss.mixed.ways.ice
    before, before_off_k = 1.0, miss.off_k
    share = min(max(guess, SHORTEST_SHARE), LONGEST_SHARE)
    for _ in range(WORKED_ROUNDS):
        balance = _worked_for(miss, k, share).balance()
        dough_c = dough_temperature_c(balance, ticket.water_c or 0.0, ticket.ice_kg, ice)
        off_k = float(dough_c) - miss.target_c
        if abs(off_k) < NEAR_K:
            return share
        if off_k == before_off_k:
            return None
        moved = share - off_k * (share - before) / (off_k - before_off_k)
        before, before_off_k = share, off_k
        share = min(max(moved, SHORTEST_SHARE), LONGEST_SHARE)
        if share == before:
            return None
    return None


def _worked_for(miss: Miss, k: int, share: float) -> MixCase:
    """Return the mix with one step of another length."""
    formula = miss.batch.formula
    step = replace(formula.steps[k], minutes=formula.steps[k].minutes * share)
    steps = (*formula.steps[:k], step, *formula.steps[k + 1 :])
    return replace(miss.case, batch=replace(miss.batch, formula=replace(formula, steps=steps)))


def smaller_batch(miss: Miss) -> Iterator[Remark]:
    """Say what a smaller load does on a cooled mixer, whose wall then counts for more."""
    if not (miss.too_warm and miss.mixer.is_cooled and miss.mixer.cooling_on):
        return
    share, batch, allowed = SMALLER_SHARE, miss.batch, miss.case.allowed
    smaller = replace(batch, dough_kg=share * batch.dough_kg, flour_kg=share * batch.flour_kg)
    if smaller.dough_kg < miss.mixer.min_dough_kg.value:
        return
    # The rest of the dough is still to be mixed, with its share of ice and chilled water.
    allowed = Allowance(
        None if allowed.ice_kg is None else share * allowed.ice_kg,
        None if allowed.chilled_kg is None else share * allowed.chilled_kg,
    )
    dough_c = _dough_c(replace(miss.case, batch=smaller, allowed=allowed), miss.target_c)
    if miss.is_reached(dough_c):
        yield _lever(
            "smaller_batch",
            "A batch of {dough_kg} comes off at {dough}: the cooled wall does more for it.",
            mass("dough_kg", smaller.dough_kg),
            temperature("dough", dough_c),
        )


def other_slot(miss: Miss) -> Iterator[Remark]:
    """Say when the night itself would allow it, in time and with the same readings and stores."""
    night, batch = miss.night, miss.batch
    buckets = miss.buckets
    if buckets is None:
        buckets = range(night.day.span_min // BUCKET_MIN)
    starts = np.array(sorted(buckets), dtype=np.float64) * BUCKET_MIN
    starts = starts[np.abs(starts - miss.start_min) >= NEAREST_SLOT_MIN]
    if not len(starts):
        return
    reached = miss.case.drawn(_at_other_starts(miss, starts), miss.target_c).expected_c
    dough_c = np.broadcast_to(reached, starts.shape)
    good = [n for n, c in enumerate(dough_c) if miss.is_reached(float(c))]
    if good and miss.buckets is None:
        workable = start_buckets(night, batch, None) * BUCKET_MIN
        good = [n for n in good if starts[n] in workable]
    if not good:
        return
    earliest, latest = in_time_min(night, batch)
    good = [n for n in good if earliest <= starts[n] <= latest]
    if not good:
        return
    nearest = min(good, key=lambda n: abs(starts[n] - miss.start_min))
    yield _lever(
        "other_slot",
        "Mixed about {start} it comes off at {dough}.",
        moment("start", night.day.moment(float(starts[nearest]))),
        temperature("dough", float(dough_c[nearest])),
    )


def _at_other_starts(miss: Miss, starts: Numbers) -> MixBalance:
    """Return the mix at other starts: flour and room as far off their forecast as they were read.

    Parts and tap are taken as they are now; the bowl is as warm as the room, unless it was read.
    """
    case = miss.case
    unread = replace(case.measured, flour_c=None, room_c=None)
    forecast = replace(case, measured=unread, bowl_c=None)
    room_k, flour_k = 0.0, 0.0
    if case.measured.room_c is not None:
        room_k = case.measured.room_c - float(np.asarray(forecast.balance().air.room_c))
    if case.measured.flour_c is not None:
        flour = [i for i in forecast.balance().ingredients if i.is_fresh_flour]
        flour_k = case.measured.flour_c - _mean_c(flour) if flour else 0.0
    balance = replace(forecast, start_min=starts).balance()
    return replace(
        balance,
        ingredients=tuple(
            replace(i, temperature_c=i.temperature_c + flour_k) if i.is_fresh_flour else i
            for i in balance.ingredients
        ),
        air=replace(balance.air, room_c=balance.air.room_c + room_k),
    )


def _mean_c(ingredients: Sequence[Ingredient]) -> float:
    """Return the temperature of several ingredients together, weighed by their heat [°C]."""
    heat = [float(i.heat_capacity_kj_per_k) for i in ingredients]
    return float(np.average([float(i.temperature_c) for i in ingredients], weights=heat))
