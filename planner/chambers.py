"""Chambers under load: how much heat a cooled one can take from each kilo that stands in it."""

from __future__ import annotations

from planner.bakery import ChamberKind
from planner.constants import STEEL_KJ_PER_KG_K
from planner.day import Day, MixRequest, Order
from planner.formula import Formula, Preferment
from planner.night import Night
from planner.physics.ferment_constants import DOUGH_KJ_PER_KG_K
from planner.product import Product

STEEL_PER_DOUGH = 0.35
"""Racks and trays that are cooled with each kilo of dough [kg/kg]: 80 with 220 in a bakery's own
account (trade forum); a kitchen's shelf has hardly any."""


def most_w_per_kg(night: Night, place_id: str) -> float | None:
    """Return the heat a place can take from each kilo of dough in it [W/kg].

    Parameters
    ----------
    place_id
        Room or chamber.

    Returns
    -------
    float or None
        None where nothing limits it: a room, a warm chamber, one of unknown power or without load.

    Notes
    -----
    ``P m c / (m c + m_steel c_steel) / m``, as if all dough that the day sends there stood in it
    warm at once: the cautious side, since the first hours decide and loads follow each other.
    """
    chamber = night.day.bakery.chamber(place_id)
    if chamber is None or chamber.cooling_kw is None or chamber.kind is ChamberKind.PROOFER:
        return None
    load_kg = chamber_load_kg(night, place_id)
    if load_kg <= 0:
        return None
    steel = 0.0 if chamber.kind is ChamberKind.FRIDGE else STEEL_PER_DOUGH
    own = DOUGH_KJ_PER_KG_K.value
    share = own / (own + steel * STEEL_KJ_PER_KG_K.value)
    return 1000 * chamber.cooling_kw.value * share / load_kg


def chamber_load_kg(night: Night, place_id: str) -> float:
    """Return the dough that the day may send into a chamber, with what stands there [kg]."""
    day = night.day
    standing = sum(
        one.pieces * day.product(one.product_id).piece_kg
        for one in night.conditions.inherited
        if one.place_id == place_id
    )
    return standing + sum(_line_kg(day, line, place_id) for line in day.lines)


def _line_kg(day: Day, line: Order | MixRequest, place_id: str) -> float:
    product = None if line.product_id is None else day.product(line.product_id)
    if isinstance(line, Order):
        made = day.product(line.product_id)
        formula, dough_kg = day.formula(made.formula_id), line.pieces * made.piece_kg
    else:
        formula, dough_kg = day.formula(line.formula_id), line.dough_kg
    if _comes_by(formula, product, place_id):
        return dough_kg
    return dough_kg / formula.total_percent * _parts_percent(formula, place_id)


def _comes_by(formula: Formula, product: Product | None, place_id: str) -> bool:
    ways = (formula.bulk, *(product.routes if product else ()))
    return any(place_id == one for way in ways for _, one in way.places)


def _parts_percent(formula: Formula, place_id: str) -> float:
    return sum(
        line.percent
        for part in formula.parts
        if isinstance(part, Preferment) and any(place_id == one for _, one in part.ripening.places)
        for line in part.lines
    )
