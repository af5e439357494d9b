"""The set-up of a bakery: one part at a time, in the order in which it sharpens plans."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from api.office.cells import Ask, Asking, Cell, Grid, keys_of, left_over, say
from api.office.choices import (
    CHAMBER_CHOICES,
    COVER_CHOICES,
    FLOUR_CHOICES,
    ICE_CHOICES,
    MIXER_CHOICES,
    NONE,
    OVEN_CHOICES,
    VESSEL_CHOICES,
    WATER_CHOICES,
)
from api.office.edits import Clash
from api.office.forms import Document, Typed, version_of, with_hidden
from api.office.home import SETUP_STEPS
from api.office.shell import Shell, page
from api.pages.words import LANGUAGES
from api.schemas.base import slug


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the set-up: tables of entries, and fields that stand alone.

    Attributes
    ----------
    keys
        Fields of the bakery that the part owns.
    """

    keys: tuple[str, ...]
    lists: tuple[tuple[str, str, tuple[Ask, ...]], ...] = ()
    alone: tuple[Ask, ...] = ()


ID = Ask("id", "", "hidden")
NAME = Ask("name", say("name"))
PARTS: Mapping[str, Part] = {
    "mixers": Part(
        ("mixers",),
        (
            (
                "mixers",
                say("another mixer"),
                (
                    ID,
                    NAME,
                    Ask("kind", say("kind"), "choice", (NONE, *MIXER_CHOICES)),
                    Ask("max_dough_kg", say("most dough"), "number"),
                    Ask("min_dough_kg", say("least dough"), "number"),
                    Ask("bowl_kg", say("bowl and tool"), "number"),
                    Ask("cooling_k", say("cools a full batch by"), "number"),
                    Ask("clean_down_min", say("cleaning"), "number"),
                    Ask("room", say("room")),
                ),
            ),
        ),
    ),
    "water": Part(
        ("water", "ice", "kettle"),
        (
            (
                "water",
                say("another water"),
                (
                    ID,
                    Ask("kind", say("from"), "choice", (NONE, *WATER_CHOICES)),
                    Ask("temperature_c", say("at the bowl"), "number"),
                    Ask("coldest_c", say("coldest of the year"), "number"),
                    Ask("warmest_c", say("warmest of the year"), "number"),
                    Ask("tank_kg", say("tank"), "number"),
                    Ask("recovery_kg_per_h", say("cools an hour"), "number"),
                ),
            ),
        ),
        (
            Ask("ice.kind", say("Ice"), "choice", ICE_CHOICES),
            Ask("ice.bin_kg", say("the store holds"), "number"),
            Ask("ice.make_kg_per_h", say("ice made in an hour"), "number"),
            Ask("ice.temperature_c", say("temperature of the ice"), "number"),
            Ask("kettle.kg_per_h", say("boiling water in an hour"), "number"),
            Ask("kettle.holds_kg", say("boiling water at once"), "number"),
        ),
    ),
    "flour_stores": Part(
        ("flour_stores",),
        (
            (
                "flour_stores",
                say("another store"),
                (
                    ID,
                    NAME,
                    Ask("kind", say("stands in"), "choice", (NONE, *FLOUR_CHOICES)),
                    Ask("place", say("room")),
                    Ask("conveying_offset_k", say("warmed on its way by"), "number"),
                    Ask("moisture_fraction", say("water in the flour, as a share"), "number"),
                ),
            ),
        ),
        (Ask("cold_store_c", say("where yeast, butter and eggs stand"), "number"),),
    ),
    "rooms": Part(
        ("rooms",),
        (("rooms", say("another room"), (ID, NAME, Ask("usual_c", say("usual air"), "number"))),),
    ),
    "people": Part(
        ("people",),
        (
            (
                "people",
                say("another person"),
                (ID, NAME, Ask("from", say("works from"), "time"), Ask("to", say("to"), "time")),
            ),
        ),
    ),
    "ovens": Part(
        ("ovens",),
        (
            (
                "ovens",
                say("another oven"),
                (
                    ID,
                    NAME,
                    Ask("kind", say("kind"), "choice", (NONE, *OVEN_CHOICES)),
                    Ask("places", say("decks or racks"), "number"),
                    Ask("recovery_min", say("heats up again in"), "number"),
                ),
            ),
        ),
    ),
    "chambers": Part(
        ("chambers",),
        (
            (
                "chambers",
                say("another chamber"),
                (
                    ID,
                    NAME,
                    Ask("kind", say("kind"), "choice", (NONE, *CHAMBER_CHOICES)),
                    Ask("racks", say("oven loads it holds"), "number"),
                    Ask("temperature_c", say("air"), "number"),
                    Ask("cooling_kw", say("takes heat, kW"), "number"),
                ),
            ),
        ),
    ),
    "vessels": Part(
        ("vessels",),
        (
            (
                "vessels",
                say("another vessel"),
                (
                    ID,
                    NAME,
                    Ask("shape", say("shape"), "choice", (NONE, *VESSEL_CHOICES)),
                    Ask("length_m", say("length or diameter"), "number"),
                    Ask("width_m", say("width"), "number"),
                    Ask("capacity_kg", say("takes"), "number"),
                    Ask("count", say("how many"), "number"),
                    Ask("cover", say("cover"), "choice", COVER_CHOICES),
                ),
            ),
        ),
    ),
    "house": Part(
        ("name", "zone", "units", "altitude_m", "food_lines", "papers"),
        (),
        (
            Ask("name", say("Name of the bakery")),
            Ask("zone", say("Time zone"), hint=say("Such as Europe/Vienna.")),
            Ask("units", say("Units"), "choice", (("metric", "kg, °C"), ("us", "lb, °F"))),
            Ask("papers.language", say("Language"), "choice", tuple(LANGUAGES.items())),
            Ask("altitude_m", say("Height above the sea"), "number"),
        ),
    ),
}


@dataclass(frozen=True, slots=True)
class SetupPage:
    """One part of the set-up, and the way to the others."""

    part: str
    title: str
    grids: tuple[Grid, ...]
    alone: tuple[Cell, ...]
    typed: Typed
    rest: tuple[str, ...]
    steps: tuple[tuple[str, str, str, bool], ...]
    following: str


def part_of(stored: Document, part: str) -> Document:
    """Return the fields of a bakery that a part owns."""
    return {key: stored[key] for key in PARTS[part].keys if key in stored}


def with_ids(own: Document) -> Document:
    """Return fields of a bakery whose entries all have an id, so that a new name keeps it.

    Examples
    --------
    >>> with_ids({"mixers": [{"name": "Fork 40"}], "zone": "UTC"})
    {'mixers': [{'name': 'Fork 40', 'id': 'fork_40'}], 'zone': 'UTC'}
    """
    return {
        key: [
            {**one, "id": one.get("id") or slug(one.get("name") or one["kind"])} for one in entries
        ]
        if isinstance(entries, list)
        else entries
        for key, entries in own.items()
    }


def with_part(stored: Document, part: str, typed: Document) -> Document:
    """Return a bakery with one part of it as typed, what the form does not show kept.

    Rows belong together by their id: a row that is gone takes what belongs to it away.
    """
    kept = {key: one for key, one in stored.items() if key not in PARTS[part].keys}
    shown = _shown(part)
    before = with_ids(part_of(stored, part))
    own = {key: with_hidden(before.get(key), one, shown) for key, one in typed.items()}
    return {**kept, **own}


def _shown(part: str) -> frozenset[str]:
    spec = PARTS[part]
    return keys_of([*(ask for _, _, listed in spec.lists for ask in listed), *spec.alone])


def setup_page(part: str, typed: Typed, shell: Shell) -> SetupPage:
    """Return the content of one part of the set-up.

    Parameters
    ----------
    part
        A key of `PARTS`.
    typed
        The fields that it owns, as stored or as typed.
    """
    asking, spec = Asking(typed, shell.say, shell.units), PARTS[part]
    grids = tuple(asking.grid(name, "", asks, add) for name, add, asks in spec.lists)
    alone = asking.cells(spec.alone)
    keys = [key for key, _, _ in SETUP_STEPS]
    following = keys[keys.index(part) + 1] if part != keys[-1] else ""
    steps = tuple(
        (
            shell.say(label),
            shell.way(f"/bakery/{{bakery}}/setup/{key}"),
            shell.say(why),
            key == part,
        )
        for key, label, why in SETUP_STEPS
    )
    title = next(shell.say(label) for key, label, _ in SETUP_STEPS if key == part)
    return SetupPage(
        part, title, grids, alone, typed, left_over(typed, alone, grids), steps, following
    )


def setup_html(
    part: str, typed: Typed, shell: Shell, clash: Clash | None = None, *, saved: bool = False
) -> str:
    """Return the page of one part of the set-up."""
    content = setup_page(part, typed, shell)
    return page("setup.html", shell, setup=content, typed=typed, clash=clash, saved=saved)


def stored_part(stored: Document, part: str) -> Typed:
    """Return what is stored of a part, with the mark of that."""
    own = part_of(stored, part)
    return Typed(with_ids(own), seen=version_of(own))
