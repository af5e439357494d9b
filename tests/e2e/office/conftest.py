"""A service that listens, a browser of a bakery in Vienna, and a hand that counts what it does."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime

import pytest

from api.main import create_app
from api.settings import Settings
from tests.api.live import listening

NOW = datetime(2026, 7, 15, 11, 30, tzinfo=UTC)
"""Half past one in the afternoon in Vienna: what is planned is the production day of the 16th."""

SIZES = {"phone": (390, 844), "narrow": (320, 700), "tablet": (1024, 768), "desktop": (1440, 900)}
ENTRY_S, CHOICE_S, PRESS_S, PAGE_S = 6.0, 4.0, 2.0, 10.0
"""A baker who does not type much: seconds to find a box and type a number or short name, to
choose from a list, to press, and to look a new page over (our guess)."""


@pytest.fixture(scope="session")
def service(tmp_path_factory):
    """Opens an empty service; gives its address."""

    @contextmanager
    def opened():
        folder = tmp_path_factory.mktemp("office")
        settings = Settings(
            data_dir=folder,
            demo=True,
            timers=False,
            solve_s=2,
            deterministic_s=0.5,
            log_level="error",
        )
        with listening(create_app(settings, clock=lambda: NOW)) as (address, _):
            yield address

    return opened


@dataclass
class Hand:
    """Somebody at the pages, who counts entries, choices, presses and pages."""

    page: object
    entries: int = 0
    choices: int = 0
    presses: int = 0
    pages: int = 0
    visited: list[str] = field(default_factory=list)

    def go(self, address):
        self.page.goto(address)
        self.pages += 1

    def type(self, name, text):
        self.page.fill(f'[name="{name}"]', text)
        self.entries += 1

    def choose(self, name, value):
        self.page.select_option(f'[name="{name}"]', value)
        self.choices += 1

    def press(self, name, *, new_page=True):
        """Press a button or link by its words."""
        found = (
            self.page.locator("main").get_by_text(name, exact=True).locator("visible=true").first
        )
        if new_page:
            with self.page.expect_navigation():
                found.click()
            self.pages += 1
        else:
            found.click()
        self.presses += 1

    def open(self, part):
        """Go to a part of the office."""
        with self.page.expect_navigation():
            self.page.get_by_role("navigation").get_by_role("link", name=part, exact=True).click()
        self.presses += 1
        self.pages += 1

    def paste(self, name, text):
        """Paste cells, as a table of another program puts them into the clipboard."""
        self.page.eval_on_selector(
            f'[name="{name}"]',
            """(box, text) => {
              const data = new DataTransfer(); data.setData("text/plain", text);
              box.focus();
              box.dispatchEvent(new ClipboardEvent("paste",
                { clipboardData: data, bubbles: true, cancelable: true }));
            }""",
            text,
        )
        self.entries += 1

    def wait_for_plan(self):
        """Wait until the page of a plan shows it, or a page says why there is none."""
        self.page.wait_for_selector("h2:has-text('The day, drawn'), .alert", timeout=120_000)
        drawn = self.page.locator("h2:has-text('The day, drawn')").count()
        assert drawn == 1, self.page.inner_text("main")[:600]

    @property
    def steps(self):
        return self.entries + self.choices + self.presses

    @property
    def seconds(self):
        """What all this takes, by the model above."""
        typed = ENTRY_S * self.entries + CHOICE_S * self.choices
        return typed + PRESS_S * self.presses + PAGE_S * self.pages


@pytest.fixture
def hand_at(browser):
    """Gives a hand at a page of some size, with the service's hour."""
    opened = []

    def made(size="tablet", scheme="light", **options):
        width, height = SIZES[size]
        context = browser.new_context(
            viewport={"width": width, "height": height},
            color_scheme=scheme,
            timezone_id="Europe/Vienna",
            locale="en-GB",
            **options,
        )
        opened.append(context)
        page = context.new_page()
        page.clock.set_fixed_time(NOW)
        page.problems = []
        page.on("pageerror", lambda error: page.problems.append(str(error)))
        page.on("console", lambda m: m.type == "error" and page.problems.append(m.text))
        return Hand(page)

    yield made
    for context in opened:
        context.close()
