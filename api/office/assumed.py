"""What a plan takes for granted, each thing beside the input that replaces it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from api.office.cells import Ask, Asking, Cell, plain, say
from api.office.forms import Document, Typed
from api.pages.reader import Reader
from api.pages.wording import Units, difference_text, number, temperature_text, value_text
from planner.estimate import Estimate
from planner.mixers import HAND_SPEEDS, Speed
from planner.planned import Plan

WORK_UNIT = "kJ/kg min"
FOLLOWS_ROOM = "follows the room forecast"
MEAN_OF_NIGHT = say("mean of the night")
AS_WANTED = say("as wanted of the dough")
FULL_STORE = say("a full store")


@dataclass(frozen=True, slots=True)
class Assumed:
    """Something that nobody entered.

    Attributes
    ----------
    what, value, basis
        What it is, what it was taken for with its band, and where that comes from.
    cell
        The input that replaces it, by its path in the day.
    """

    what: str
    value: str
    basis: str
    cell: Cell


@dataclass(frozen=True, slots=True)
class _Found:
    ask: Ask
    of: str
    value: str
    basis: str


def assumed(
    plan: Plan, made_from: Document, reader: Reader, typed: Typed | None = None
) -> tuple[Assumed, ...]:
    """Return what a plan assumes and a baker could replace, dearest kinds first.

    Parameters
    ----------
    plan, made_from
        A plan, and the day as entered that it was made from.
    reader
        Words and units.
    typed
        What was typed already.
    """
    asking = Asking(typed or Typed({}), reader.say, reader.units)
    return tuple(
        Assumed(
            f"{reader.say(one.ask.label)}, {one.of}" if one.of else reader.say(one.ask.label),
            one.value,
            reader.say.composed(one.basis),
            asking.cell(one.ask),
        )
        for one in (
            *_of_mixers(plan, reader),
            *_of_doughs(plan, made_from, reader),
            *_of_flour(plan, reader),
            *_of_ice(plan, reader),
            *_of_the_rest(plan, reader),
        )
    )


def _of_mixers(plan: Plan, reader: Reader) -> Iterator[_Found]:
    used = {mix.mixer_id for mix in plan.mixes}
    speeds = {step.speed for mix in plan.mixes for step in mix.steps}
    for i, mixer in enumerate(plan.day.bakery.mixers):
        if mixer.id not in used:
            continue
        at = f"bakery.mixers[{i}]"
        for speed, work in mixer.work_kj_per_kg_min.items():
            if work.is_assumed and speed in speeds and speed not in {*HAND_SPEEDS, Speed.REST}:
                ask = Ask(f"{at}.work_kj_per_kg_min.{speed}", _WORK_WORDS[speed], "number")
                yield _Found(ask, mixer.name, _plain(work, WORK_UNIT), work.basis)
        if mixer.bowl_kg.is_assumed:
            ask = Ask(f"{at}.bowl_kg", say("weight of bowl and tool"), "number")
            shown = value_text(mixer.bowl_kg.value, "kg", reader.units)
            yield _Found(ask, mixer.name, shown, mixer.bowl_kg.basis)


_WORK_WORDS = {
    Speed.FIRST: say("work of first speed, kJ/kg min"),
    Speed.SECOND: say("work of second speed, kJ/kg min"),
}


def _of_doughs(plan: Plan, made_from: Document, reader: Reader) -> Iterator[_Found]:
    used = {mix.formula_id for mix in plan.mixes}
    ids = [formula.id for formula in plan.day.formulas]
    for i, entered in enumerate(made_from["formulas"]):
        if i >= len(ids) or ids[i] not in used:
            continue
        bulk, name = entered.get("bulk", {}), str(entered.get("name", ""))
        if "minutes" not in bulk:
            continue
        at = f"formulas[{i}].bulk"
        if "room_c" not in bulk:
            ask = Ask(f"{at}.room_c", say("room in which the bulk takes that long"), "number")
            yield _Found(ask, name, reader.say("the room's own"), MEAN_OF_NIGHT)
        if "start_c" not in bulk:
            ask = Ask(f"{at}.start_c", say("dough at the start of such a bulk"), "number")
            shown = temperature_text(plan.day.formulas[i].dough_c, reader.units)
            yield _Found(ask, name, shown, AS_WANTED)


def _of_flour(plan: Plan, reader: Reader) -> Iterator[_Found]:
    known = plan.conditions.flour_c
    for i, store in enumerate(plan.day.bakery.flour_stores):
        if store.id not in known:
            ask = Ask(f"conditions.flour_c.{store.id}", say("flour temperature tonight"), "number")
            yield _Found(ask, store.name, reader.say("as the room"), FOLLOWS_ROOM)
        if store.moisture_fraction.is_assumed:
            ask = Ask(
                f"bakery.flour_stores[{i}].moisture_fraction",
                say("water in the flour, as a share"),
                "number",
            )
            shown = _plain(store.moisture_fraction, "")
            yield _Found(ask, store.name, shown, store.moisture_fraction.basis)


def _of_ice(plan: Plan, reader: Reader) -> Iterator[_Found]:
    ice = plan.day.bakery.ice
    if ice is None:
        return
    if ice.temperature_c.is_assumed:
        ask = Ask("bakery.ice.temperature_c", say("temperature of the ice"), "number")
        yield _Found(ask, "", _degrees(ice.temperature_c, reader.units), ice.temperature_c.basis)
    if ice.true_ice_fraction.is_assumed:
        ask = Ask("bakery.ice.true_ice_fraction", say("share of the ice that is not wet"), "number")
        yield _Found(ask, "", _plain(ice.true_ice_fraction, ""), ice.true_ice_fraction.basis)
    ask = Ask("conditions.ice_stored_kg", say("ice in store now"), "number")
    shown = value_text(plan.conditions.ice_stored_kg, "kg", reader.units)
    yield _Found(ask, "", shown, FULL_STORE)


def _of_the_rest(plan: Plan, reader: Reader) -> Iterator[_Found]:
    cold = plan.day.bakery.cold_store_c
    if cold.is_assumed:
        ask = Ask("bakery.cold_store_c", say("where yeast, butter and eggs stand"), "number")
        yield _Found(ask, "", _degrees(cold, reader.units), cold.basis)


def _plain(one: Estimate, unit: str) -> str:
    return f"{plain(round(one.value, 3))} ± {plain(round(one.sd, 3))} {unit}".rstrip()


def _degrees(one: Estimate, units: Units) -> str:
    spread = difference_text(one.sd, units).split(" ", maxsplit=1)[0]
    return f"{temperature_text(one.value, units)} ± {spread or number(one.sd, 1)}"
