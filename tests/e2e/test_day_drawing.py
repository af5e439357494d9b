"""The drawn day of every demo day in a browser: no letter over a letter, on paper or a phone."""

from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from api.pages.choice import Choice, Paper
from api.pages.day_drawing import drawing_file
from api.pages.reader import reader_of
from api.pages.sheet import sheet_html
from api.pages.wording import Units
from api.pages.words import LANGUAGES, Words
from tests.scenarios.conftest import NAMES, planned

pytestmark = pytest.mark.e2e
MEASURE = Path(__file__).with_name("letters_of_day.js").read_text(encoding="utf-8")

PAPER_PX, PHONE_PX = 718, 390
"""What lies between the margins of A4, and a usual phone."""

FORMS = [(language, units) for language in LANGUAGES for units in Units]


@pytest.fixture
def measured(browser):
    """Lays a page out at a width and returns what the browser measured of its drawings."""
    made = []

    def measure(html: str, width: int = PAPER_PX):
        page = browser.new_page(viewport={"width": width, "height": 1000})
        made.append(page)
        page.set_content(html)
        return page.evaluate(f"({MEASURE})()")

    yield measure
    for page in made:
        page.close()


def drawn(name: str, language: str = "en", units: Units = Units.METRIC) -> str:
    plan = planned(name)
    reader = reader_of(plan, ZoneInfo(plan.day.bakery.zone), units, Words(language))
    svg = drawing_file(plan, reader).split("\n", 1)[1]
    return f'<!DOCTYPE html><body style="margin:0">{svg}</body>'


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(("language", "units"), FORMS)
def test_no_letter_lies_over_a_letter(measured, name, language, units):
    """As a file of its own, in the letters that a machine has."""
    found = measured(drawn(name, language, units), 764)
    assert found["count"] > 20
    assert found["over"] == []
    assert found["outside"] == []


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("width", [PAPER_PX, PHONE_PX])
def test_nor_on_the_sheet_and_a_phone_shows_the_page_in_its_width(measured, name, width):
    """In the letters that are shipped; what is wider than a phone is moved within its frame."""
    plan = planned(name)
    reader = reader_of(plan, ZoneInfo(plan.day.bakery.zone))
    found = measured(sheet_html(plan, reader, Choice((Paper.OVERVIEW,))), width)
    assert found["count"] > 20
    assert found["over"] == []
    assert found["page"] <= width


def test_letters_over_letters_are_seen(measured):
    """So that a measure that sees nothing cannot pass."""
    html = drawn("winter_rye")
    first = html.index("<text")
    twice = html[first : html.index("</text>", first) + len("</text>")]
    assert measured(html.replace(twice, twice + twice, 1), 764)["over"]
