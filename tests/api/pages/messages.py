"""Every sentence that can stand on a paper: from pages, templates, lists of words and the core.

`python -m tests.api.pages.messages es` prints those that a catalogue lacks, ready to fill in.
"""

# ruff: noqa: T201  (what it prints is all it does)

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po

from api.pages import alerts, mix_ticket, preparation_card, table
from api.pages.bench import record
from api.pages.day_drawing import FORM_WORDS
from api.pages.outlook import CARE_WORDS
from api.pages.words import COMPOSED
from planner.bakery import ChamberKind, Cover, FlourStoreKind, OvenKind, VesselShape
from planner.conditions import Standing
from planner.hand_sum import SumKind
from planner.materials import Material, properties
from planner.mixers import MixerKind, Speed
from planner.planned_preparation import PreparationKind
from planner.water_sources import IceKind, SupplyKind

ROOT = Path(__file__).parents[3]
PAGES = ROOT / "api" / "pages"
OFFICE = ROOT / "api" / "office"
KEYWORDS = {"say": None, "many": (1, 2)}
METHODS = [("templates/**.html", "jinja2"), ("**.py", "python")]
OPTIONS = {"templates/**.html": {"trimmed": "false"}}

CORE = (
    "answer.py", "assumptions.py", "bowl_remarks.py", "changes.py", "clean_downs.py",
    "contradicting.py", "explaining.py", "food_lines.py", "lever_times.py", "levers.py",
    "making.py", "missing.py", "off_target.py", "outage_outlook.py", "outcomes.py",
    "pin_prices.py", "places.py", "reasons.py", "rescue.py", "scald_course.py",
    "scald_levers.py", "scald_outlook.py", "scald_ways.py", "scalds.py", "set_builds.py",
)  # fmt: skip
"""Modules of the core that write sentences."""

ICE = "Ice goes in with the water before the mixer starts; no scoop or hand in a moving bowl."
COMPOSED_IN_THE_CORE = (
    ICE,
    f"{ICE} Break up large pieces.",
    "{subject} does not hold: {detail}.",
)
"""Sentences that the core puts together from two halves."""

HALVES = {
    " and ",
    " in ",
    " or ",
    "(power of its curve)",
    " Break up large pieces.",
}

WORK = ("scale", "attend", "fold", "move", "divide", "load", "prepare", "see to", "break")
BASES = (
    "usual cold store", "usual pair of hands", "usual in rye baking", "usual flour, 13 to 15 %",
    "follows the room forecast", "bowl of its size", "published curves", "usual cold room",
    "flour temperature", "0 to 3 % in trade texts", "10 to 13 % in trade texts",
)  # fmt: skip
PARTS_OF_THE_HOUSE = ("room", "ripe seed", "seed", "min a piece", "of its weight")


def from_pages() -> set[str]:
    """Sentences in the source of the pages and in their templates."""
    found: set[str] = set()
    for folder in (PAGES, OFFICE):
        extracted = extract_from_dir(
            folder, [(p, m) for p, m in METHODS], options_map=OPTIONS, keywords=KEYWORDS
        )
        for _, _, message, _, _ in extracted:
            found |= set(message) if isinstance(message, tuple) else {message}
    return {text for text in found if text}


def from_lists() -> set[str]:
    """Words that are said by what a value is."""
    words = {
        *table.STATUS_WORDS.values(),
        *alerts.KIND_WORDS.values(),
        *record.LABELS.values(),
        *FORM_WORDS.values(),
        *CARE_WORDS.values(),
        *(word for pair in preparation_card.KIND_WORDS.values() for word in pair),
        mix_ticket.MOVING_BOWL,
        *COMPOSED,
        *WORK,
        *BASES,
        *PARTS_OF_THE_HOUSE,
    }
    kinds = (MixerKind, ChamberKind, Speed, IceKind, Material, PreparationKind, Standing)
    asked = (FlourStoreKind, OvenKind, SupplyKind, VesselShape, Cover, SumKind)
    for words_of in (*kinds, *asked):
        words |= {str(one) for one in words_of}
    words |= {name for one in Material for name in properties(one).allergens}
    return words


def from_core() -> set[str]:
    """Sentences of the core's remarks and remedies."""
    found = {text for name in CORE for text in _sentences(ROOT / "planner" / name)}
    return (found - HALVES) | set(COMPOSED_IN_THE_CORE)


def _sentences(path: Path) -> Iterator[str]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    skipped = {id(node) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr)}
    documents = {
        id(node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }
    inside = {
        id(part)
        for node in ast.walk(tree)
        if isinstance(node, ast.JoinedStr)
        for part in ast.walk(node)
    }
    for node in ast.walk(tree):
        if not isinstance(node, ast.Constant) or not isinstance(node.value, str):
            continue
        if id(node) in documents | skipped | inside:
            continue
        if node.value.count(" ") >= 2:
            yield node.value


def all_messages() -> set[str]:
    """Every sentence."""
    return from_pages() | from_lists() | from_core()


def catalogue_entries(language: str) -> dict[str, tuple[str, ...]]:
    """What a catalogue says for each sentence; counted ones have a form per count."""
    path = PAGES / "locale" / language / "LC_MESSAGES" / "papers.po"
    entries: dict[str, tuple[str, ...]] = {}
    with path.open("rb") as file:
        for message in read_po(file, locale=language):
            ids = message.id if isinstance(message.id, tuple | list) else (message.id,)
            texts = (
                message.string if isinstance(message.string, tuple | list) else (message.string,)
            )
            entries |= {one: tuple(texts) for one in ids if one}
    return entries


if __name__ == "__main__":
    known = catalogue_entries(sys.argv[1]) if len(sys.argv) > 1 else {}
    for text in sorted(all_messages() - set(known)):
        print(f'msgid {text!a}\nmsgstr ""\n')
