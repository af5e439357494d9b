"""All products of a bakery in one table, so that a sheet of them can be pasted."""

from __future__ import annotations

from collections.abc import Sequence

from api.office.cells import Ask, Asking, keys_of, left_over, say
from api.office.edits import Clash
from api.office.forms import Document, Typed
from api.office.shell import Shell, page
from api.schemas.base import found_id

ASKS = (
    Ask("id", "", "hidden"),
    Ask("name", say("product")),
    Ask("formula", say("dough"), "choice"),
    Ask("piece_kg", say("piece"), "number"),
    Ask("pieces_per_place", say("pieces on a deck or rack"), "number"),
    Ask("proof.minutes", say("proof"), "number"),
    Ask("bake_min", say("bake"), "number"),
    Ask("proof.room_c", say("proof in air of"), "number"),
    Ask("proof.place", say("proofs in")),
    Ask("shape_min_per_piece", say("hands on a piece"), "number"),
    Ask("bench_rest_min", say("bench rest"), "number"),
    Ask("cool_min", say("from oven to door"), "number"),
    Ask("ovens", say("ovens")),
)
PRODUCTS_SHOWN = keys_of(ASKS)


def products_to_form(stored: Sequence[Document], doughs: Sequence[str]) -> Document:
    """Return stored products as the table shows them: the usual proof, ovens with commas.

    Examples
    --------
    >>> products_to_form([{"name": "tin", "proof": [{"minutes": 55}], "ovens": ["a", "b"]}], [])
    {'products': [{'name': 'tin', 'proof': {'minutes': 55}, 'ovens': 'a, b', 'ways': []}]}
    """
    return {"products": [_to_form(one, doughs) for one in stored]}


def _to_form(stored: Document, doughs: Sequence[str]) -> Document:
    shown = dict(stored)
    proof = stored.get("proof")
    first, others = (proof[0], proof[1:]) if isinstance(proof, list) and proof else (proof, [])
    shown["proof"] = first or {}
    if stored.get("ovens"):
        shown["ovens"] = ", ".join(stored["ovens"])
    if stored.get("formula"):
        shown["formula"] = found_id(stored["formula"], doughs)
    shown["ways"] = others
    return shown


def products_of_form(typed: object) -> list[Document]:
    """Return the products of a table as they are entered.

    Examples
    --------
    >>> products_of_form({"products": [{"name": "tin", "ovens": "a, b", "ways": []}]})
    [{'name': 'tin', 'ovens': ['a', 'b'], 'proof': [{}]}]
    """
    rows = typed.get("products", ()) if isinstance(typed, dict) else ()
    return [_of_form(row) for row in rows]


def _of_form(row: Document) -> Document:
    entered = {key: one for key, one in row.items() if key != "ways"}
    if isinstance(entered.get("ovens"), str):
        entered["ovens"] = [one.strip() for one in entered["ovens"].split(",") if one.strip()]
    entered["proof"] = [row.get("proof", {}), *row.get("ways", ())]
    return entered


def products_html(
    typed: Typed,
    shell: Shell,
    doughs: tuple[tuple[str, str], ...],
    clash: Clash | None = None,
    *,
    saved: bool = False,
) -> str:
    """Return the page of all products.

    Parameters
    ----------
    doughs
        Ids and names of the doughs.
    """
    asks = [
        ask if ask.key != "formula" else Ask(ask.key, ask.label, ask.kind, (("", "–"), *doughs))
        for ask in ASKS
    ]
    grid = Asking(typed, shell.say, shell.units).grid("products", "", asks, say("another product"))
    rest = left_over(typed, (), [grid])
    return page("products.html", shell, grid=grid, typed=typed, rest=rest, clash=clash, saved=saved)
