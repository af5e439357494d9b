"""What would bring a scald down in the time there is: every lever with its price, or what would.

The ways of `planner.scald_ways` need nothing of the dough. Two levers here do: water of the dough
itself, cold or as ice, stirred into the tub; and ice in the mixer, which lets the scald be warmer.
What the dough takes in all stays what its formula says.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planner.balances import dough_balance, part_specific_heat, steered_water_percent
from planner.batches import Batch
from planner.constants import WATER_KJ_PER_KG_K
from planner.errors import OutOfRangeError
from planner.formula import Preferment, Scald
from planner.lines import water_percent
from planner.night import Night
from planner.options import steering_of
from planner.physics.heat_balance import ice_cold_kj_per_kg
from planner.physics.quench import quench_ice_kg, quench_water_kg
from planner.physics.water_solution import part_limit_c
from planner.remarks import Remark, RemarkKind, mass, minutes, percent, word
from planner.scald_follow import Followed, follow_ways
from planner.scald_ways import ICE_MIN, scald_ways
from planner.scalds import LIVING_PARTS_C, coldest_water_c, scald_wish_c


@dataclass(frozen=True, slots=True)
class ScaldLever:
    """One thing that can be done about a scald.

    Attributes
    ----------
    code
        ``way``, ``dough_water`` or ``mixer_ice``.
    words
        What is done.
    ready_min
        Minutes from the pour until the scald may be used; infinite when never [min].
    own_water_kg, dough_water_kg
        Water kept back of the scald's own, and taken out of the dough's, ice included [kg].
    ice_kg
        Ice, out of the one store of the house [kg].
    water_share
        The two together as a share of all water of the doughs it feeds.
    labour_min
        Hands-on minutes beyond the pour [min].
    vessels, racks
        Vessels it stands in, and racks of a chamber.
    heat_kj
        What a chamber has to take up [kJ]; 0 in a room.
    """

    code: str
    words: str
    ready_min: float
    own_water_kg: float = 0.0
    dough_water_kg: float = 0.0
    ice_kg: float = 0.0
    water_share: float = 0.0
    labour_min: float = 0.0
    vessels: int = 1
    racks: int = 0
    heat_kj: float = 0.0


def scald_levers(
    night: Night,
    part: Scald,
    users: Sequence[Batch],
    mass_kg: float,
    *,
    pour_min: float,
    target_c: float | None = None,
) -> tuple[ScaldLever, ...]:
    """Return what can be done about a scald poured at a minute, soonest first.

    Parameters
    ----------
    night, part, users, mass_kg
        The scald, the mixes it goes into, and all it weighs [kg].
    pour_min
        Minute of the pour [min].
    target_c
        The warmest it may be; None for what its doughs can take [°C].

    Returns
    -------
    tuple of ScaldLever
        Those that never get there come last.
    """
    wanted_c = scald_wish_c(night, part, users) if target_c is None else target_c
    ways = scald_ways(night, part, mass_kg, wanted_c, every=True)
    pours = np.array([pour_min])
    followed = follow_ways(night, part, mass_kg, ways, pours)
    water_kg = sum(b.kg(water_percent(b.formula.all_lines)) for b in users)
    found = [_of_way(night, part, mass_kg, one, wanted_c, water_kg) for one in followed]
    found += _dough_water(night, part, users, mass_kg, followed[0], wanted_c, water_kg)
    found += _mixer_ice(night, part, users, followed[0], wanted_c)
    return tuple(sorted(found, key=lambda lever: (lever.ready_min, lever.labour_min)))


def _of_way(
    night: Night, part: Scald, mass_kg: float, one: Followed, wanted_c: float, water_kg: float
) -> ScaldLever:
    way = one.way
    in_chamber = night.day.bakery.chamber(way.stand.place_id) is not None
    start_c = float(one.path.mean_c[0, 0])
    heat_kj = mass_kg * part_specific_heat(part) * max(0.0, start_c - wanted_c)
    return ScaldLever(
        "way",
        way.words,
        float(one.ready_min(wanted_c, one.starts)[0]),
        own_water_kg=way.held_back_kg,
        ice_kg=way.ice_kg,
        water_share=way.held_back_kg / water_kg if water_kg > 0 else 0.0,
        labour_min=way.labour_min,
        vessels=way.stand.vessels,
        racks=way.stand.racks,
        heat_kj=heat_kj if in_chamber else 0.0,
    )


def _dough_water(
    night: Night,
    part: Scald,
    users: Sequence[Batch],
    mass_kg: float,
    own: Followed,
    wanted_c: float,
    water_kg: float,
) -> list[ScaldLever]:
    """Return water of the dough stirred into the tub: cold, or with as little ice as will do."""
    spare_kg = sum(b.kg(steered_water_percent(b.formula)) for b in users)
    at_min = max(float(part.hold_min), 15.0)
    hot_c, heat = float(own.path.mean_at(at_min)[0]), part_specific_heat(part)
    cold_c, made = coldest_water_c(night), night.day.bakery.ice
    vessels = own.way.stand.vessels
    if spare_kg <= 0 or hot_c <= wanted_c:
        return []
    if cold_c < wanted_c:
        kg = quench_water_kg(mass_kg, hot_c, wanted_c, cold_c, scald_kj_per_kg_k=heat)
        if kg <= spare_kg:
            words = "cold water of the dough stirred in"
            return [
                ScaldLever(
                    "dough_water", words, at_min, 0.0, kg, 0.0, kg / water_kg, ICE_MIN, vessels
                )
            ]
    if made is None:
        return []
    try:
        ice_kg = quench_ice_kg(
            mass_kg,
            hot_c,
            wanted_c,
            held_back_kg=spare_kg,
            cold_c=cold_c,
            ice_c=made.temperature_c.value,
            scald_kj_per_kg_k=heat,
        )
    except OutOfRangeError:
        return []
    words = "water of the dough stirred in, some of it as ice"
    weighed_kg = min(ice_kg / made.true_ice_fraction.value, spare_kg)
    return [
        ScaldLever(
            "dough_water",
            words,
            at_min,
            0.0,
            spare_kg,
            weighed_kg,
            spare_kg / water_kg,
            ICE_MIN,
            vessels,
        )
    ]


def _mixer_ice(
    night: Night, part: Scald, users: Sequence[Batch], own: Followed, wanted_c: float
) -> list[ScaldLever]:
    """Return ice in the mixer: with all it may take, the scald may be warmer."""
    limits = [_limit_with_ice(night, part, batch) for batch in users]
    limit_c = min([LIVING_PARTS_C, part.use_at_most_c.value, *(c for c, _ in limits)])
    ice_kg = sum(kg for _, kg in limits)
    if ice_kg <= 0 or limit_c <= wanted_c + 0.5:
        return []
    ready = float(own.ready_min(limit_c, own.starts)[0])
    words = "used warmer, with ice in the mixer"
    return [
        ScaldLever(
            "mixer_ice", words, ready, ice_kg=ice_kg, vessels=own.way.stand.vessels, labour_min=2.0
        )
    ]


def _limit_with_ice(night: Night, part: Scald, batch: Batch) -> tuple[float, float]:
    """Return the warmest a scald may be with all the ice a mix may take, and that ice [°C, kg]."""
    if steered_water_percent(batch.formula) <= 0:
        return float("inf"), 0.0
    middle = night.day.span_min / 2
    parts = {
        p.id: p.temperature_c if isinstance(p, Preferment) else part.use_at_most_c.value
        for p in batch.formula.parts
    }
    balance = dough_balance(night, batch, batch.mixers[0], middle, parts)
    name = next(p.name for p in batch.formula.parts if p.id == part.id)
    ways = steering_of(night, batch, balance)
    cold_c = coldest_water_c(night)
    if ways.ice is None:
        return float(part_limit_c(balance, name, _top_c(batch), cold_c)), 0.0
    share = ways.ice_cap_kg / balance.portions[0].water_kg
    worth_k = ice_cold_kj_per_kg(ways.ice) / WATER_KJ_PER_KG_K.value
    equivalent_c = cold_c - share * (cold_c + worth_k)
    return float(part_limit_c(balance, name, _top_c(batch), equivalent_c)), ways.ice_cap_kg


def _top_c(batch: Batch) -> float:
    return batch.formula.dough_c + batch.formula.band_k


LEVERS_NAMED = 3
"""So many levers are named where a scald is not cool in time; more is no help at night."""


def lever_remarks(
    night: Night,
    part: Scald,
    users: Sequence[Batch],
    mass_kg: float,
    *,
    pour_min: float,
    within_min: float,
) -> tuple[Remark, ...]:
    """Return what would bring a scald down in the time there is, the least work first.

    Parameters
    ----------
    night, part, users, mass_kg
        The scald, the mixes it goes into, and all it weighs [kg].
    pour_min
        Minute of the pour [min].
    within_min
        Time there is after it [min].
    """
    levers = scald_levers(night, part, users, mass_kg, pour_min=pour_min)
    soon = [v for v in levers if v.ready_min <= within_min and v.words != "as you do it"]
    best = sorted(soon, key=lambda v: (v.labour_min, v.ice_kg, v.ready_min))[:LEVERS_NAMED]
    later = _later_remark(part, levers, within_min)
    if best:
        return (*(_lever_remark(part, lever) for lever in best), *later)
    text = (
        "{name}: nothing this house has brings it down in {within}; pour it {earlier} earlier, on "
        "trays or into a cooler, or move the dough."
    )
    ready = [v.ready_min for v in levers if v.ready_min < float("inf")]
    if not ready:
        text = "{name}: nothing this house has brings it down; trays, a cooler or ice would."
        return (Remark(RemarkKind.LEVER, "scald_lever_none", text, (word("name", part.name),)),)
    figures = (
        word("name", part.name),
        minutes("within", within_min),
        minutes("earlier", min(ready) - within_min),
    )
    return (Remark(RemarkKind.LEVER, "scald_lever_earlier", text, figures),)


def _later_remark(
    part: Scald, levers: Sequence[ScaldLever], within_min: float
) -> tuple[Remark, ...]:
    """Return by how much the dough would have to wait for the scald as it is."""
    own = next(v for v in levers if v.words == "as you do it")
    if not within_min < own.ready_min < float("inf"):
        return ()
    figures = (word("name", part.name), minutes("later", own.ready_min - within_min))
    text = "{name}: left as it is, the dough would have to start {later} later."
    return (Remark(RemarkKind.LEVER, "scald_lever_later", text, figures),)


LEVER_SENTENCES = {
    (False, False): "{name}: {how}: cool enough {ready} after the pour, {labour} of work.",
    (
        True,
        False,
    ): "{name}: {how}: cool enough {ready} after the pour, {labour} of work, {ice} of ice.",
    (False, True): (
        "{name}: {how}: cool enough {ready} after the pour, {labour} of work, {share} of all the"
        " dough's water."
    ),
    (True, True): (
        "{name}: {how}: cool enough {ready} after the pour, {labour} of work, {ice} of ice, {share}"
        " of all the dough's water."
    ),
}
"""By whether it takes ice, and water of the dough."""


def _lever_remark(part: Scald, lever: ScaldLever) -> Remark:
    figures = [
        word("name", part.name),
        word("how", lever.words),
        minutes("ready", lever.ready_min),
        minutes("labour", lever.labour_min),
    ]
    has_ice, has_water = lever.ice_kg > 0.05, lever.water_share > 0.001
    if has_ice:
        figures.append(mass("ice", lever.ice_kg))
    if has_water:
        figures.append(percent("share", 100 * lever.water_share))
    text = LEVER_SENTENCES[has_ice, has_water]
    return Remark(RemarkKind.LEVER, "scald_lever", text, tuple(figures))
