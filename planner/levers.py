"""When water and ice cannot do it: what else would, each priced in its own unit.

Every lever is solved on the same course as the ticket, alone, for the nearest edge of the baker's
band. They stand in the order in which a baker would try them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace

import numpy as np

from planner.batches import Batch
from planner.constants import ICE_GONE_BEFORE_END_MIN
from planner.estimate import Estimate
from planner.formula import MixStep
from planner.lever_times import other_slot, working_time
from planner.materials import RAW_EGG
from planner.missing import MISSED_BY_K, NEAR_K, Miss, dough_of, lever, mean_c
from planner.mixers import Mixer, Speed
from planner.options import Allowance, aimed, draw_with, steering_of
from planner.physics.heat_balance import Ingredient
from planner.physics.ice import melt_minutes
from planner.physics.mix_course import dough_temperature_c
from planner.physics.water_solution import (
    Given,
    equivalent_water_c,
    ingredient_temperatures_c,
)
from planner.remarks import (
    Remark,
    RemarkKind,
    mass,
    minutes,
    temperature,
    word,
)
from planner.tickets import Mixed, MixTemperatures
from planner.water_sources import IceKind, IceSupply

BOUGHT_ICE = IceSupply(IceKind.FLAKE, Estimate(-2.0), Estimate(0.9, 0.07), 0.0, 0.0)
"""Flake ice as it comes from a shop or a neighbour: cold and a little wet (our guess)."""

LEAST_ICE_KG = 0.01
"""Less ice than this is not worth fetching [kg]."""

LEAST_HEAT_SHARE = 0.05
"""An ingredient with less of the dough's heat capacity is no lever."""

FLOUR_C, PART_C, LIQUID_C, BOWL_C = (-5.0, 45.0), (2.0, 40.0), (0.5, 45.0), (1.0, 60.0)
"""Temperatures to which each can be brought in a bakery [°C] (ours)."""

SMALLER_SHARE = 0.7


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
    formula, expected_c = batch.formula, mixed.ticket.expected_c
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


def cooled_mixer(miss: Miss) -> Iterator[Remark]:
    """Switch the mixer's own cooling on, or take another that fits."""
    if not miss.too_warm:
        return
    if miss.mixer.is_cooled and not miss.mixer.cooling_on:
        dough_c = _on_mixer(miss, replace(miss.mixer, cooling_on=True))
        if miss.is_nearer(dough_c):
            yield lever(
                "cooling_on",
                "With the cooling of {mixer} on it comes off at {dough}.",
                word("mixer", miss.mixer.name),
                temperature("dough", dough_c),
            )
    for other in miss.batch.mixers:
        if other.id != miss.mixer.id:
            dough_c = _on_mixer(miss, other)
            if miss.is_reached(dough_c):
                yield lever(
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
    return dough_of(case, miss.target_c)


def _elsewhere(miss: Miss, mixer: Mixer) -> MixTemperatures:
    """Return what was read, as far as it holds for another mixer: not its bowl or its room."""
    read = replace(miss.case.measured, bowl_c=None)
    return read if mixer.room_id == miss.mixer.room_id else replace(read, room_c=None)


def more_ice(miss: Miss) -> Iterator[Remark]:
    """Say how much ice it would take, if the mix takes that much."""
    case, balance, ticket = miss.case, miss.mixed.balance, miss.mixed.ticket
    if not miss.too_warm or balance.water_kg <= 0:
        return
    ways = steering_of(case.night, case.batch, balance, miss.night.day.bakery.ice or BOUGHT_ICE)
    if ways.ice_cap_kg <= ticket.ice_kg + LEAST_ICE_KG:
        yield from rest_for_ice(miss)
        return
    store = Allowance(None, case.allowed.chilled_kg)
    use_chilled = case.choice.use_chilled
    drawn = draw_with(ways, balance, miss.target_c, store, use_chilled=use_chilled)
    more_kg = float(drawn.ice_kg) - ticket.ice_kg
    if more_kg > LEAST_ICE_KG and miss.is_reached(float(drawn.expected_c)):
        text = "{ice} more ice would bring it back."
        yield lever("more_ice", text, mass("ice", more_kg))
    else:
        yield from rest_for_ice(miss)


def rest_for_ice(miss: Miss) -> Iterator[Remark]:
    """Say whether a rest, in which large pieces melt in the bowl, would do it."""
    case, made = miss.case, miss.night.day.bakery.ice
    if made is None or not miss.mixed.ways.melt_first:
        return
    first = miss.mixed.balance.portions[0]
    left_min = sum(step.minutes for step in case.batch.formula.steps[first.step :])
    rest_min = max(5.0, melt_minutes(made.kind)[1] + ICE_GONE_BEFORE_END_MIN.value - left_min)
    rested = replace(case, batch=with_rest(case.batch, first.step, rest_min))
    drawn = rested.drawn(rested.balance(), miss.target_c)
    ways = steering_of(case.night, rested.batch, rested.balance())
    if ways.melt_first or drawn.ice_kg <= LEAST_ICE_KG:
        return
    if miss.is_reached(float(drawn.expected_c)):
        yield lever(
            "rest_for_ice",
            "{ice} of {kind} ice in the bowl would do it, with {rest} of rest in the mix for it "
            "to melt.",
            mass("ice", float(drawn.ice_kg)),
            word("kind", made.kind),
            minutes("rest", rest_min),
        )


def with_rest(batch: Batch, after: int, rest_min: float) -> Batch:
    """Return a batch that rests once a step is done; what goes in later goes in one step later."""
    formula = batch.formula
    steps = formula.steps
    rested = replace(
        formula,
        steps=(*steps[: after + 1], MixStep(Speed.REST, rest_min), *steps[after + 1 :]),
        lines=tuple(replace(one, step=_after(one.step, after)) for one in formula.lines),
        parts=tuple(replace(one, step=_after(one.step, after)) for one in formula.parts),
    )
    return replace(batch, formula=rested)


def _after(step: int, rest_after: int) -> int:
    return step + 1 if step > rest_after else step


def hotter_water(miss: Miss) -> Iterator[Remark]:
    """Say how warm all the water would have to be, when it still can be poured."""
    balance = miss.mixed.balance
    if miss.too_warm or balance.water_kg <= 0:
        return
    water_c = float(equivalent_water_c(balance, miss.target_c))
    if water_c <= miss.night.boiling_c:
        yield lever(
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
            yield lever(
                "ingredient_temperature",
                "{ingredient} at {target} instead of {now} would bring it back.",
                word("ingredient", " and ".join(dict.fromkeys(i.name for i in group))),
                temperature("target", float(wanted_c)),
                temperature("now", mean_c(group)),
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
        yield lever("bowl", text, temperature("target", wanted_c), temperature("now", now_c))


def _with_bowl(miss: Miss, bowl_c: float) -> float:
    """Return the dough of this ticket from a bowl of another temperature [°C]."""
    balance, ticket = miss.mixed.balance, miss.mixed.ticket
    other = replace(balance, bowl=replace(balance.bowl, temperature_c=bowl_c))
    ice = miss.mixed.ways.ice
    return float(dough_temperature_c(other, ticket.water_c or 0.0, ticket.ice_kg, ice))


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
    dough_c = dough_of(replace(miss.case, batch=smaller, allowed=allowed), miss.target_c)
    if miss.is_reached(dough_c):
        yield lever(
            "smaller_batch",
            "A batch of {dough_kg} comes off at {dough}: the cooled wall does more for it.",
            mass("dough_kg", smaller.dough_kg),
            temperature("dough", dough_c),
        )
