"""Names of things in a plan, as a reader calls them."""

from __future__ import annotations

from collections.abc import Iterable

from api.pages.words import Words
from planner.planned import Plan, PlannedMix


class Names:
    """Looks up the names behind the ids of one plan; an unknown id stands for itself.

    Parameters
    ----------
    plan
        The plan.
    """

    def __init__(self, plan: Plan) -> None:
        bakery = plan.day.bakery
        self._mixers = {m.id: m.name for m in bakery.mixers}
        self._places = {
            **{room.id: room.name for room in bakery.rooms},
            **{chamber.id: chamber.name for chamber in bakery.chambers},
            **{oven.id: oven.name for oven in bakery.ovens},
            **self._mixers,
        }
        self._supplies = {supply.id: supply.name for supply in bakery.supplies}
        self._tubs = {tub.id: tub.name for tub in bakery.tubs}
        self._people = {person.id: person.name for person in bakery.people}
        self._formulas = {formula.id: formula.name for formula in plan.day.formulas}
        self._products = {product.id: product.name for product in plan.day.products}
        self._order = {
            mix.id: count
            for count, mix in enumerate(sorted(plan.mixes, key=lambda m: m.start_utc), start=1)
        }

    def place(self, place_id: str | None) -> str:
        """Return the name of a room, chamber, oven or mixer."""
        return "" if place_id is None else self._places.get(place_id, place_id)

    def supply(self, supply_id: str) -> str:
        """Return the name of a water supply."""
        return self._supplies.get(supply_id, supply_id)

    def person(self, person_id: str | None) -> str:
        """Return the name of a person; empty when nobody is named."""
        return "" if person_id is None else self._people.get(person_id, person_id)

    def tubs(self, mix: PlannedMix) -> str:
        """Return the tubs into which a mix goes; empty where they are not counted."""
        taken = (f"{one.count} × {self._tubs.get(one.tub_id, one.tub_id)}" for one in mix.tubs)
        return ", ".join(taken)

    def dough(self, mix: PlannedMix) -> str:
        """Return the name of a mix's dough."""
        return self._formulas.get(mix.formula_id, mix.formula_id)

    def formula(self, formula_id: str) -> str:
        """Return the name of a formula."""
        return self._formulas.get(formula_id, formula_id)

    def product(self, product_id: str | None) -> str:
        """Return the name of a product."""
        return "" if product_id is None else self._products.get(product_id, product_id)

    def mix_number(self, mix_id: str) -> int:
        """Return the place of a mix in the order of starting, from 1."""
        return self._order[mix_id]

    def mix(self, mix_id: str, say: Words | None = None) -> str:
        """Return how a mix is called on the sheet: its number."""
        say = say or Words()
        if mix_id not in self._order:
            return mix_id
        return say("mix {number}", number=self._order[mix_id])

    def mixes(self, mix_ids: Iterable[str], say: Words | None = None) -> str:
        """Return several mixes by their numbers, in the order of starting."""
        say = say or Words()
        numbers = sorted(self._order[mix_id] for mix_id in mix_ids if mix_id in self._order)
        if len(numbers) == 1:
            return say("mix {number}", number=numbers[0])
        return say("mixes {numbers}", numbers=", ".join(map(str, numbers)))


def batch_text(mix: PlannedMix, say: Words | None = None) -> str:
    """Return which batch of how many a mix is; empty when it is the only one."""
    say = say or Words()
    if mix.batches == 1:
        return ""
    return say("{batch} of {batches}", batch=mix.batch, batches=mix.batches)
