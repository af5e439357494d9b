"""A planned night, copied for each test, and pages that look at it as a kitchen does."""

from __future__ import annotations

import shutil
from contextlib import ExitStack

import pytest

from tests.e2e.bench.house import BAKERY, document_of, open_house

SIZES = {"phone": (390, 844), "tablet": (1024, 768), "desktop": (1440, 900)}


@pytest.fixture(scope="session")
def night(tmp_path_factory):
    """A folder with a planned night: six rye mixes with two sours and a scald."""
    folder = tmp_path_factory.mktemp("night")
    with open_house(folder) as house:
        house.put_day(document_of("winter_rye"))
        return folder, house.plan


@pytest.fixture
def opened(night, tmp_path):
    """Opens the house of the night, with settings of its own."""
    with ExitStack() as stack:

        def open_it(**settings):
            shutil.copytree(night[0], tmp_path / "data")
            demo = stack.enter_context(open_house(tmp_path / "data"))
            demo.look_at(night[1])
            if not settings:
                return demo
            demo.put_account("ana", "somebody's long password")
            closed = stack.enter_context(open_house(tmp_path / "data", **settings))
            closed.plan, closed.mixes, closed.now = demo.plan, demo.mixes, demo.now
            return closed

        yield open_it


@pytest.fixture
def house(opened):
    return opened()


@pytest.fixture
def tab(browser):
    """Opens a page of its own; what goes wrong in its scripts fails the test."""
    made, errors = [], []

    def open_tab(size="tablet", **options):
        width, height = SIZES.get(size, size)
        context = browser.new_context(viewport={"width": width, "height": height}, **options)
        page = context.new_page()
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.set_default_timeout(15000)
        made.append(context)
        return page

    yield open_tab
    for context in made:
        context.close()
    assert errors == []


@pytest.fixture
def at_mix(house, tab):
    """Opens the screen of a mix; gives its page."""

    def open_mix(number=1, size="tablet", address=None, **options):
        page = tab(size, **options)
        page.goto(f"{address or house.address}/bench/{BAKERY}#mix-{number}")
        page.wait_for_selector(".mix")
        return page

    return open_mix
