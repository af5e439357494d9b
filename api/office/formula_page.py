"""A dough as bakers write it: percents with parts, totals that follow, checks in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from api.office.cells import Ask, Asking, Cell, Grid, at, keys_of, left_over, say
from api.office.choices import (
    COVER_CHOICES,
    MATERIAL_CHOICES,
    SPEED_CHOICES,
)
from api.office.edits import Clash
from api.office.forms import Document, Typed, typed_rows
from api.office.shell import Shell, page
from api.pages.wording import Units, mass_text, number
from api.pages.words import Words
from api.schemas.base import Faults
from api.schemas.formula import FormulaInput
from api.schemas.heads import DocumentHead
from api.schemas.house import House
from api.schemas.lines import lines_to_core
from planner.errors import InputError
from planner.hand_sum import SumKind
from planner.lines import Line, flour_percent, water_percent
from planner.materials import Material

HEAD = (
    Ask("name", say("name")),
    Ask("dough_c", say("dough temperature as used today"), "number"),
    Ask("band_k", say("may be off by"), "number"),
    Ask("colour_class", say("colour, where it stains"), hint=say("Doughs of one colour follow.")),
)
LINES = (
    Ask("material", say("material"), "choice", MATERIAL_CHOICES),
    Ask("percent", say("percent of all flour"), "number"),
    Ask("name", say("called")),
    Ask("temperature_c", say("goes in at"), "number"),
    Ask("store", say("stands in")),
    Ask("step", say("from step"), "number"),
)
STEPS = (
    Ask("speed", say("speed"), "choice", SPEED_CHOICES),
    Ask("minutes", say("for"), "number"),
)
BULK = (
    Ask("bulk.minutes", say("bulk by the clock, as done today"), "number"),
    Ask("bulk.room_c", say("in a room of"), "number"),
    Ask("bulk.place", say("where it stands")),
    Ask("bulk.hours", say("or: hours held at one temperature"), "number"),
    Ask("bulk.dough_c", say("that temperature"), "number"),
)
SUM = (
    Ask(
        "hand_sum.kind",
        say("your own sum for the water"),
        "choice",
        (("", say("none")), *((str(kind), str(kind)) for kind in SumKind)),
    ),
    Ask("hand_sum.value_c", say("its number, degrees"), "number"),
)
PART_KINDS = (
    ("preferment", say("levain, sour, poolish, biga")),
    ("scald", say("scald")),
    ("soaker", say("soaker")),
)
RIPENING = (
    Ask("ripening.minutes", say("ripe after, by the clock"), "number"),
    Ask("ripening.room_c", say("in a room of"), "number"),
    Ask("ripening.hours", say("or: hours held at one temperature"), "number"),
    Ask("ripening.dough_c", say("that temperature"), "number"),
    Ask("ripening.place", say("where it stands")),
)
PART_FIELDS = {
    "preferment": (
        Ask("kind", "", "hidden"),
        Ask("name", say("name")),
        Ask("temperature_c", say("set at"), "number"),
        Ask("seed_percent", say("seed, of its flour"), "number"),
        *RIPENING,
    ),
    "scald": (
        Ask("kind", "", "hidden"),
        Ask("name", say("name")),
        Ask("pour_water_c", say("water poured at"), "number"),
        Ask("hold_min", say("stands hot first"), "number"),
        Ask("vessel", say("cools in")),
        Ask("cover", say("cover"), "choice", COVER_CHOICES),
        Ask("place", say("where it stands")),
        Ask("use_at_most_c", say("at most when used"), "number"),
    ),
    "soaker": (
        Ask("kind", "", "hidden"),
        Ask("name", say("name")),
        Ask("soak_h", say("soaks at least"), "number"),
        Ask("place", say("where it stands")),
    ),
}
SHOWN = keys_of(
    (*HEAD, *LINES, *STEPS, *BULK, *SUM, *(ask for asks in PART_FIELDS.values() for ask in asks))
) | {"lines", "steps", "parts"}


@dataclass(frozen=True, slots=True)
class PartForm:
    """One preferment, scald or soaker."""

    title: str
    fields: tuple[Cell, ...]
    hidden: tuple[Cell, ...]
    lines: Grid


@dataclass(frozen=True, slots=True)
class FormulaForm:
    """The form of a dough."""

    head: tuple[Cell, ...]
    lines: Grid
    steps: Grid
    bulk: tuple[Cell, ...]
    own_sum: tuple[Cell, ...]
    parts: tuple[PartForm, ...]
    kinds: tuple[tuple[str, str], ...]
    rest: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Totals:
    """What the lines come to.

    Attributes
    ----------
    figures
        What and how much.
    checks
        What is not right, in words.
    scaled
        Weights of the lines for so much dough.
    """

    figures: tuple[tuple[str, str], ...]
    checks: tuple[str, ...]
    scaled: tuple[tuple[str, str], ...]
    scaled_to: str


def formula_form(typed: Typed, shell: Shell) -> FormulaForm:
    """Return the form of a dough."""
    asking = Asking(typed, shell.say, shell.units)
    lines = asking.grid("lines", say("In the bowl"), LINES, say("another line"))
    steps = asking.grid("steps", say("At the mixer"), STEPS, say("another step"))
    head, bulk, own_sum = (asking.cells(asks) for asks in (HEAD, BULK, SUM))
    parts = tuple(_part(i, asking) for i in range(len(typed_rows(typed.document, "parts"))))
    cells = [*head, *bulk, *own_sum, *(cell for part in parts for cell in part.fields)]
    rest = left_over(typed, cells, [lines, steps, *(part.lines for part in parts)])
    kinds = tuple((kind, shell.say(label)) for kind, label in PART_KINDS)
    return FormulaForm(head, lines, steps, bulk, own_sum, parts, kinds, rest)


def _part(i: int, asking: Asking) -> PartForm:
    kind = str(at(asking.typed.document, f"parts[{i}].kind"))
    cells = asking.cells(PART_FIELDS.get(kind, PART_FIELDS["soaker"]), f"parts[{i}]")
    return PartForm(
        asking.say(dict(PART_KINDS).get(kind, kind)),
        tuple(cell for cell in cells if cell.kind != "hidden"),
        tuple(cell for cell in cells if cell.kind == "hidden"),
        asking.grid(f"parts[{i}].lines", "", LINES[:3], say("another line")),
    )


def formula_html(
    typed: Typed,
    shell: Shell,
    totals: Totals,
    *,
    formula_id: str,
    clash: Clash | None = None,
    saved: bool = False,
) -> str:
    """Return the page of a dough; without an id, of a new one."""
    form = formula_form(typed, shell)
    return page(
        "formula.html",
        shell,
        form=form,
        typed=typed,
        totals=totals,
        formula_id=formula_id,
        clash=clash,
        saved=saved,
    )


def totals_html(totals: Totals, shell: Shell) -> str:
    """Return the part of a dough's page that follows what is typed."""
    return page("totals.html", shell, totals=totals)


def totals_of(
    entered: FormulaInput | None, house: House, shell: Shell, wanted: tuple[float, Units] | None
) -> Totals:
    """Return what the lines of a dough come to, also of one that is not right yet.

    Parameters
    ----------
    entered
        The dough as far as it can be read; None when it cannot.
    house
        What must be known of the bakery.
    wanted
        How much dough to scale it to [kg], and in which units that is shown.
    """
    say = shell.say
    if entered is None:
        return Totals((), (say("Some cells cannot be read yet."),), (), "")
    faults = Faults()
    lines, parts = _core_lines(entered, house)
    everything = (*lines, *(line for _, part in parts for line in part))
    entered.to_core(faults, house)
    aside = [line for kind, part in parts if kind != "preferment" for line in part]
    ahead = [line for kind, part in parts if kind == "preferment" for line in part]
    total = sum(line.percent for line in everything)
    salt = sum(line.percent for line in everything if line.material is Material.SALT)
    flour = flour_percent(everything, with_malt=False)
    figures = [
        (say("flour"), _percent(flour)),
        (say("dough from 100 of flour"), number(total, 1)),
        (say("water of all flour"), _percent(water_percent(everything))),
    ]
    if aside:
        without = water_percent(everything) - water_percent(tuple(aside))
        figures.append((say("water without scalds and soakers"), _percent(without)))
    if ahead:
        figures.append(
            (say("flour fermented ahead"), _percent(flour_percent(tuple(ahead), with_malt=False)))
        )
    figures.append((say("salt"), _percent(salt)))
    checks = tuple(dict.fromkeys(f"{one.problem}; {one.remedy}." for one in faults.found))
    scaled, scaled_to = _scaled(everything, total, wanted, say)
    return Totals(tuple(figures), checks, scaled, scaled_to)


def readable(typed: Document) -> Document:
    """Return a dough that is being typed, without what is begun and not yet whole.

    Examples
    --------
    >>> readable({"lines": [{"material": "water"}], "steps": [{"speed": "rest"}]})["steps"]
    []
    """
    whole = {key: one for key, one in typed.items() if one}
    bulk = whole.get("bulk") or {}
    parts = [
        {"name": "-", **part, "lines": _whole(part.get("lines"), "material", "percent")}
        for part in typed_rows(whole, "parts")
    ]
    for part in parts:
        if part.get("kind") == "preferment" and not _is_ripe(part.get("ripening") or {}):
            part["ripening"] = {"minutes": 60}
    return {
        "name": "-",
        "dough_c": 25,
        **whole,
        "bulk": bulk if _is_ripe(bulk) else {"minutes": 60},
        "lines": _whole(whole.get("lines"), "material", "percent"),
        "steps": _whole(whole.get("steps"), "speed", "minutes"),
        "parts": parts,
    }


def _whole(rows: object, *keys: str) -> list[Document]:
    listed = rows if isinstance(rows, list) else []
    return [row for row in listed if all(key in row for key in keys)]


def _is_ripe(ripening: Document) -> bool:
    return "minutes" in ripening or {"hours", "dough_c"} <= set(ripening)


def _core_lines(
    entered: FormulaInput, house: House
) -> tuple[tuple[Line, ...], list[tuple[str, tuple[Line, ...]]]]:
    try:
        return lines_to_core(entered.lines, house), [
            (part.kind, lines_to_core(part.lines, house)) for part in entered.parts
        ]
    except InputError:
        return (), []


def _scaled(
    lines: Sequence[Line], total: float, wanted: tuple[float, Units] | None, say: Words
) -> tuple[tuple[tuple[str, str], ...], str]:
    if wanted is None or total <= 0:
        return (), ""
    dough_kg, units = wanted
    rows = [(say(line.label), mass_text(dough_kg * line.percent / total, units)) for line in lines]
    return tuple(rows), mass_text(dough_kg, units)


def _percent(share: float) -> str:
    return f"{number(share, 1)} %"


def doughs_html(known: Sequence[DocumentHead], shell: Shell) -> str:
    """Return the page that lists the doughs."""
    return page("doughs.html", shell, doughs=known)


def import_html(
    shell: Shell, text: str = "", faults: Sequence[str] = (), found: Sequence[Document] = ()
) -> str:
    """Return the page on which doughs are read from a list.

    Parameters
    ----------
    text
        The list as typed or pasted.
    faults
        What is wrong with it, line by line.
    found
        Doughs that were read and would be stored.
    """
    return page("doughs_import.html", shell, text=text, faults=faults, found=found)
