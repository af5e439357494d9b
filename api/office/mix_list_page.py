"""The mix list of a production day: orders, ready mixes, who works when."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from api.office.cells import Ask, Asking, Grid, keys_of, left_over, say
from api.office.edits import Clash
from api.office.forms import Document, Typed
from api.office.shell import Shell, page

Choices = tuple[tuple[str, str], ...]

ORDERS = (
    Ask("product", say("product"), "choice"),
    Ask("pieces", say("pieces"), "number"),
    Ask("leave_by", say("leaves by"), "time"),
    Ask("priority", say("counts (2: double)"), "number"),
)
MIXES = (
    Ask("formula", say("dough"), "choice"),
    Ask("dough_kg", say("how much"), "number"),
    Ask("bulk_from_min", say("bulk from"), "number"),
    Ask("bulk_by_min", say("bulk to"), "number"),
    Ask("ready_from", say("or: ripe from"), "time"),
    Ask("ready_by", say("ripe until"), "time"),
    Ask("product", say("becomes"), "choice"),
    Ask("leave_by", say("leaves by"), "time"),
)
SHIFTS = (
    Ask("person", say("person")),
    Ask("from", say("works from"), "time"),
    Ask("to", say("to"), "time"),
)
SPAN = (
    Ask("span_from", say("nothing before"), "time"),
    Ask("span_to", say("nothing after"), "time"),
)
SHOWN = keys_of((*ORDERS, *MIXES, *SHIFTS, *SPAN)) | {"orders", "mixes", "shifts"}


@dataclass(frozen=True, slots=True)
class MixListForm:
    """The form of a mix list."""

    orders: Grid
    mixes: Grid
    shifts: Grid
    span: tuple[object, ...]
    rest: tuple[str, ...]


def to_form(stored: Document) -> Document:
    """Return a mix list as its page shows it: orders and ready mixes apart.

    Examples
    --------
    >>> to_form({"mix_list": [{"dough_kg": 40}, {"product": "loaf", "pieces": 3}]})
    {'orders': [{'product': 'loaf', 'pieces': 3}], 'mixes': [{'dough_kg': 40}]}
    """
    lines = stored.get("mix_list", ())
    rest = {key: one for key, one in stored.items() if key != "mix_list"}
    orders = [line for line in lines if "pieces" in line]
    return {"orders": orders, "mixes": [line for line in lines if "pieces" not in line], **rest}


def from_form(typed: Document) -> Document:
    """Return what a mix list's page shows as it is entered.

    Examples
    --------
    >>> from_form({"orders": [{"product": "loaf"}], "mixes": [{"dough_kg": "40"}]})
    {'mix_list': [{'product': 'loaf'}, {'dough_kg': '40'}]}
    """
    rest = {key: one for key, one in typed.items() if key not in {"orders", "mixes"}}
    return {"mix_list": [*typed.get("orders", ()), *typed.get("mixes", ())], **rest}


def at_its_table(name: str, orders: int) -> str:
    """Return the name of an input from its place in the whole list.

    Examples
    --------
    >>> at_its_table("mix_list[3].pieces", 2)
    'mixes[1].pieces'
    """
    if not name.startswith("mix_list["):
        return name
    place, _, rest = name.removeprefix("mix_list[").partition("]")
    i = int(place) if place.isdigit() else 0
    return f"orders[{i}]{rest}" if i < orders else f"mixes[{i - orders}]{rest}"


def mix_list_html(
    typed: Typed,
    shell: Shell,
    products: Choices,
    doughs: Choices,
    days: Sequence[tuple[str, str]],
    clash: Clash | None = None,
    *,
    told: str = "",
    pasted: str = "",
) -> str:
    """Return the page of a mix list.

    Parameters
    ----------
    products, doughs
        Ids and names to choose from.
    days
        Other days whose list may be copied, as dates and as text.
    told
        What has just been done.
    pasted
        A list that could not be read, to be mended.
    """
    form = mix_list_form(typed, shell, products, doughs)
    return page(
        "mix_list.html",
        shell,
        form=form,
        typed=typed,
        days=days,
        clash=clash,
        told=told,
        pasted=pasted,
    )


def mix_list_form(typed: Typed, shell: Shell, products: Choices, doughs: Choices) -> MixListForm:
    """Return the form of a mix list."""
    asking = Asking(typed, shell.say, shell.units)
    choices = {"product": (("", "–"), *products), "formula": (("", "–"), *doughs)}

    def with_choices(asks: Sequence[Ask]) -> list[Ask]:
        return [replace(ask, choices=choices.get(ask.key, ask.choices)) for ask in asks]

    orders = asking.grid("orders", say("Orders"), with_choices(ORDERS), say("another order"))
    mixes = asking.grid("mixes", say("Ready mixes"), with_choices(MIXES), say("another mix"))
    shifts = asking.grid("shifts", say("Who works when"), SHIFTS, say("another person"))
    span = asking.cells(SPAN)
    rest = left_over(typed, span, [orders, mixes, shifts])
    return MixListForm(orders, mixes, shifts, span, rest)


def saved_text(shell: Shell) -> str:
    """Return what is told after saving."""
    say = shell.say
    return f"{say('Saved.')} {say('Plans made from now on use it.')}"


def brought_text(shell: Shell, count: int) -> str:
    """Return what is told of lines that were brought in."""
    say = shell.say
    lines = say.many("{n} line", "{n} lines", count)
    return say("{lines} brought in, not saved yet.", lines=lines)
