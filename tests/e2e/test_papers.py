"""The papers of every demo day as a browser lays them out: nothing outside, cut off, too small."""

import json
from dataclasses import replace
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from api.pages.choice import EVERYTHING, WHOLE_SHIFT, Choice, Paper
from api.pages.reader import reader_of
from api.pages.sheet import PaperSize, sheet_html
from api.pages.wording import Units
from api.pages.words import LANGUAGES, Words
from planner.planned import Plan
from tests.api.pages.sample import sample_plan, white_mix
from tests.api.pages.sample_house import ZONE
from tests.api.pages.sample_nights import clocks_go_back, copies, night_of, plain_mixes
from tests.scenarios.conftest import NAMES, planned

pytestmark = pytest.mark.e2e
MEASURE = Path(__file__).with_name("rendered.js").read_text(encoding="utf-8")

LEAST_MM, FIVE_MM = 3.3, 13.0
"""Capitals of all letters, and of the five numbers on a ticket (ISO 9241-3, 16' at 0.7 m and 22'
at 2 m)."""

WIDTH_PX = {PaperSize.A4: round(190 / 25.4 * 96), PaperSize.LETTER: round(195.9 / 25.4 * 96)}
"""What lies between the margins."""

FORMS = [(language, units, size) for language in LANGUAGES for units in Units for size in PaperSize]


def papers_of(plan: Plan, language="en", units=Units.METRIC, size=PaperSize.A4, choice=None) -> str:
    reader = reader_of(plan, ZoneInfo(plan.day.bakery.zone), units, Words(language))
    link = "http://kitchen.local:8000/api/v1/plans/ford.2026-07-15.1"
    return sheet_html(plan, reader, choice or Choice(EVERYTHING), size=size, link=link)


@pytest.fixture
def laid_out(browser):
    """Lays a page out as on paper of a size and returns what the browser measured."""
    made = []

    def lay_out(html: str, size: PaperSize = PaperSize.A4):
        page = browser.new_page(viewport={"width": WIDTH_PX[size], "height": 1000})
        made.append(page)
        page.emulate_media(media="print")
        page.set_content(html)
        return page.evaluate(f"({MEASURE})()")

    yield lay_out
    for page in made:
        page.close()


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(("language", "units", "size"), FORMS)
def test_nothing_is_cut_off_or_leaves_its_cell(laid_out, name, language, units, size):
    """Every paper of every demo day, in both languages, unit systems and sizes of sheet."""
    measured = laid_out(papers_of(planned(name), language, units, size), size)
    assert len(measured["letters"]) > 100
    assert measured["outside"] == []
    assert measured["clipped"] == []


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("papers", [EVERYTHING, WHOLE_SHIFT], ids=["all", "pack"])
def test_capitals_are_high_enough_to_be_read(laid_out, name, papers):
    measured = laid_out(papers_of(planned(name), choice=Choice(papers)))
    small = [(round(mm, 2), text) for mm, text, _ in measured["letters"] if mm < LEAST_MM - 0.005]
    assert small == []


@pytest.mark.parametrize("name", ["july_night", "winter_rye"])
def test_the_five_numbers_can_be_read_from_two_metres(laid_out, name):
    measured = laid_out(papers_of(planned(name), choice=Choice((Paper.TICKETS,))))
    numbers = [mm for mm, _, kind in measured["letters"] if kind == "value"]
    assert len(numbers) == 5 * len(planned(name).mixes)
    assert min(numbers) >= FIVE_MM - 0.005


def test_a_planted_overflow_is_seen(laid_out):
    """So that a measure that sees nothing cannot pass."""
    page = papers_of(planned("july_night"), choice=Choice((Paper.DIVIDE,)))
    wide = page.replace("<h2>Divide list", '<h2 style="white-space:nowrap">' + "wide " * 60)
    narrow = page.replace("</style>", ".list td { max-width: 4mm; white-space: nowrap; }</style>")
    small = page.replace("</style>", "h2 { font-size: 9pt !important; }</style>")
    assert laid_out(wide)["outside"]
    assert laid_out(narrow)["clipped"]
    assert min(mm for mm, _, _ in laid_out(small)["letters"]) < LEAST_MM


HEADINGS = {"Mixes", "Preparations", "Pieces", "Hand-over", "Read first", "Read at the start"}


def printed_pages(browser, poppler, html, size):
    page = browser.new_page()
    page.set_content(html)
    made = page.pdf(format=size.value, prefer_css_page_size=True)
    page.close()
    return poppler("pdftotext", made, "-layout").split("\f")[:-1]


@pytest.mark.parametrize("size", PaperSize)
@pytest.mark.parametrize("name", NAMES)
def test_no_head_stands_alone_and_no_mix_is_split(browser, poppler, name, size):
    """The last line of a page is never a heading, and a plain mix begins and ends on one page."""
    plan = planned(name)
    pages = printed_pages(browser, poppler, papers_of(plan, size=size, choice=Choice()), size)
    for page in pages:
        lines = [line.strip() for line in page.splitlines() if line.strip()]
        assert lines[-1].startswith(plan.day.production_date.isoformat())
        assert lines[-2] not in HEADINGS
        if ", start " not in lines[0]:  # a ticket's other side has neither start nor boxes
            starts = sum(line.startswith("Mix ") and ":" in line for line in lines)
            assert page.count("off the mixer at") == starts


def test_one_persons_day_is_on_both_sides_of_one_sheet(browser, poppler):
    plan = planned("small_kitchen")
    html = papers_of(plan, choice=Choice())
    assert len(printed_pages(browser, poppler, html, PaperSize.A4)) <= 2


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("papers", [EVERYTHING, WHOLE_SHIFT], ids=["all", "pack"])
def test_a_screen_reader_finds_its_way(browser, axe, papers, language):
    """axe-core, every rule that it has, on the whole page."""
    page = browser.new_page()
    page.set_content(papers_of(planned("july_night"), language, choice=Choice(papers)))
    found = axe.run(page).response["violations"]
    page.close()
    told = [(one["id"], one["nodes"][0]["html"][:160], len(one["nodes"])) for one in found]
    assert told == [], json.dumps(told, indent=1)


TWO = Words("es", "en")


@pytest.mark.parametrize("size", PaperSize)
@pytest.mark.parametrize("name", ["july_night", "winter_rye", "small_kitchen"])
def test_two_languages_on_a_ticket_leave_nothing_outside(laid_out, name, size):
    plan = planned(name)
    reader = reader_of(plan, ZoneInfo(plan.day.bakery.zone), Units.METRIC, TWO)
    for papers in ((Paper.TICKETS, Paper.CARDS), WHOLE_SHIFT):
        measured = laid_out(sheet_html(plan, reader, Choice(papers), size=size), size)
        assert measured["outside"] == []
        assert measured["clipped"] == []


@pytest.mark.parametrize("size", PaperSize)
def test_a_night_on_which_clocks_change_leaves_nothing_outside(laid_out, size):
    """Every time carries its offset then, and is longer."""
    plan = clocks_go_back(sample_plan())
    reader = reader_of(plan, ZONE)
    html = sheet_html(plan, reader, Choice(EVERYTHING), size=size)
    assert "UTC+2" in html
    assert "UTC+1" in html
    measured = laid_out(html, size)
    assert measured["outside"] == []
    assert measured["clipped"] == []


LONG = "Whole grain spelt and rye country dough with toasted sunflower seeds"


@pytest.mark.parametrize("units", Units)
@pytest.mark.parametrize("language", LANGUAGES)
def test_runs_and_long_names_leave_nothing_outside(laid_out, language, units):
    """Nine batches alike, and a dough, people and places with names of seventy letters."""
    plan = night_of([*copies(white_mix(), 9), *plain_mixes(2)])
    plan = replace(plan, preparations=sample_plan().preparations)
    house = plan.day.bakery
    named = replace(
        house,
        people=tuple(replace(one, name=f"{one.name} Papadimitriou") for one in house.people),
        mixers=tuple(
            replace(one, name=f"{one.name} beside the cold store") for one in house.mixers
        ),
        ovens=tuple(replace(one, name=f"{one.name} in the old bakehouse") for one in house.ovens),
    )
    formulas = tuple(replace(one, name=LONG) for one in plan.day.formulas)
    products = tuple(replace(one, name=LONG) for one in plan.day.products)
    day = replace(plan.day, bakery=named, formulas=formulas, products=products)
    html = papers_of(replace(plan, day=day), language, units)
    assert LONG in html
    measured = laid_out(html)
    assert measured["outside"] == []
    assert measured["clipped"] == []
    pack = laid_out(papers_of(replace(plan, day=day), language, units, choice=Choice()))
    assert pack["outside"] == []
    assert pack["clipped"] == []
