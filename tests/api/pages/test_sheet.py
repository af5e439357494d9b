"""The bench sheet: what is printed where."""

import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from api.pages.choice import EVERYTHING, Choice
from api.pages.sheet import page_of
from api.pages.wording import Units
from planner.planned import Plan
from planner.remarks import Remark, RemarkKind
from tests.api.pages.papers import content_of, html_of
from tests.api.pages.sample import sample_plan

ALL = Choice(EVERYTHING)

VOID = {"meta", "link", "br", "img", "input", "hr", "col"}


class Tags(HTMLParser):
    """Collects attributes, and fails on tags that do not close in order."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.attributes += attrs
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.attributes += [*attrs, ("closed", tag)]

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


@pytest.fixture(scope="module")
def plan() -> Plan:
    return sample_plan()


@pytest.fixture(scope="module")
def content(plan):
    return content_of(plan, choice=ALL)


@pytest.fixture(scope="module")
def page(plan) -> str:
    return html_of(plan, choice=ALL)


def words_of(page: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<style>.*?</style>|<[^>]+>", " ", page, flags=re.DOTALL))


def ticket_part(page: str, mix_number: int) -> str:
    return page.partition(f'id="mix-{mix_number}"')[2].partition("</article>")[0]


# -- content -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ticket", "numbers"),
    [
        (0, ["25.0 °C", "7.5 °C", "11 min", "17.22 kg", "8.35 kg"]),
        (1, ["24.5 °C", "18 °C", "11 min", "15.99 kg", "0 kg"]),
        (2, ["29.0 °C", "9 °C", "8.5 min", "7.75 kg", "0 kg"]),
    ],
)
def test_the_five_numbers_of_each_mix(content, page, ticket, numbers):
    shown = [f"{one.value} {one.unit}" for one in content.tickets[ticket].numbers]
    assert shown == numbers
    printed = words_of(ticket_part(page, ticket + 1))
    assert all(number in printed for number in numbers)


def test_two_supplies_stand_under_the_water_and_add_up_to_it(content):
    under = content.tickets[0].numbers[3].under
    assert under == ("tap 18 °C: 4.00 kg", "chiller 4 °C: 13.22 kg")


def test_windows_stand_beside_the_planned_time(content):
    rows = {row.what: (row.first, row.planned, row.last) for row in content.tickets[0].clock_rows}
    assert rows["divide"] == ("01:05", "Thu 16 01:15", "01:35")
    assert rows["load"] == ("02:25", "Thu 16 02:30", "02:50")
    assert rows["cool, to leave"] == ("", "Thu 16 03:50", "06:30")


def test_a_late_ingredient_stands_at_its_step(content):
    ticket = content.tickets[0]
    assert ticket.scaling[-1].group == "add at step 2, second speed"
    assert ticket.steps[2].what == "2. second speed, with whole egg"


def test_cautions_stand_on_the_step_they_belong_to(plan):
    codes = {"ice_in_bowl": "Ice first.", "raw_egg": "Raw egg.", "allergens": "Clean down."}
    remarks = tuple(Remark(RemarkKind.CAUTION, code, text) for code, text in codes.items())
    mix = replace(plan.mixes[0], remarks=remarks)
    steps = content_of(replace(plan, mixes=(mix,)), choice=ALL).tickets[0].steps
    assert [step.cautions for step in steps] == [
        ("Ice first.",),
        (),
        ("Raw egg.",),
        ("Clean down.",),
    ]


def test_the_strip_has_finished_figures_around_the_forecast(content):
    strip = content.tickets[0].strips[0]
    assert strip.heads == ("22.0", "26.0", "30.0")
    assert strip.forecast == 1
    assert strip.key == "tap 18 °C + chiller 4 °C + ice, kg"
    assert [row.reads for row in strip.rows] == [
        "24.5", "25.5", "26.5", "27.5", "28.5", "29.5", "30.5"
    ]  # fmt: skip
    # Three degrees warmer flour: 1.5 kg more ice, as much less chilled water.
    assert strip.rows[6].cells[1] == "4.00 + 11.72 + 9.85"


def test_four_readings_at_most(content):
    assert [[box.label for box in ticket.readings] for ticket in content.tickets] == [
        ["flour", "dough at end", "off the mixer at"],
        ["flour", "levain", "dough at end", "off the mixer at"],
        ["flour", "rye scald", "dough at end", "off the mixer at"],
    ]


def test_rows_stand_in_true_time_order(content):
    """From the levain at 16:30 to the rye out of the oven at 06:25 the next day."""
    assert (content.rows[0].time, content.rows[0].what) == ("16:30", "make levain")
    hands = [row for row in content.rows if row.hands_on]
    assert (hands[-1].time, hands[-1].what) == ("06:25", "out")
    dates = [row.date for row in content.rows if row.date]
    assert dates == ["Wed 15 Jul", "Thu 16 Jul"]


def test_every_task_lends_its_person_to_a_row(content):
    by_time = {(row.time, row.what): row.person for row in content.rows if row.hands_on}
    assert by_time["01:15", "divide"] == "Ana"
    assert by_time["02:30", "load"] == "Tom"
    assert by_time["23:30", "scale"] == "Ana"


def test_waiting_stands_beside_the_work_it_follows_and_has_no_box(page):
    hands = re.findall(r'<tr class="hands">.*?</tr>', page, flags=re.DOTALL)
    assert len(hands) > 15
    assert all('class="tick"' in row and 'class="actual"' in row for row in hands)
    divide = next(row for row in hands if "<b>divide</b> 1 White" in row)
    assert '<td class="then">proof <b>→</b> 02:30</td>' in divide
    assert 'class="tick"' not in divide.partition('class="then"')[2]


def test_ordered_and_planned_pieces(content):
    totals = [(total.name, total.ordered, total.planned) for total in content.totals]
    assert ("rye tin loaf", "40", "40") in totals


def test_the_scald_card_names_its_times_and_uses(content):
    card = content.cards[1]
    assert (card.verb, card.start, card.ready_from, card.ready_by) == (
        "pour",
        "19:15",
        "Thu 16 01:45",
        "Thu 16 08:00",
    )
    assert card.uses == ("mix 3, Rye with scald, Thu 16 02:00: 15.50 kg, expected at 38.0 °C",)
    assert card.notes == ("Stir every 15 min until it is below 45.0 °C.",)


# -- page --------------------------------------------------------------------------------------


def test_alerts_are_printed_before_the_mixes(page):
    assert page.index("40 min after it should leave") < page.index("<h2>Mix 1:")


def test_tags_close_in_order(page):
    assert Tags(page).open == []


def test_nothing_is_fetched_from_anywhere(page):
    names = {"href", "src", "action", "srcset", "data"}
    assert not [value for name, value in Tags(page).attributes if name in names]
    assert "://" not in page
    assert "@import" not in page
    assert not re.search(r"url\((?!#)", page)


def test_nothing_is_coloured(page):
    """Black, white and the greys of thin lines: nothing depends on a hue."""
    hues = {c for c in re.findall(r"#[0-9a-fA-F]{3,6}\b", page) if len(set(c[1:])) > 1}
    assert not hues


def test_names_are_escaped():
    page = html_of(sample_plan("Bread <script>alert(1)</script> & Co"))
    assert "<script" not in page
    assert "Bread &lt;script&gt;alert(1)&lt;/script&gt; &amp; Co" in page


@pytest.mark.parametrize("units", Units)
def test_no_nan_and_no_none(plan, units):
    printed = words_of(html_of(plan, units, ALL))
    assert not re.search(r"\b(nan|inf|None)\b", printed)


def test_a_house_in_fahrenheit_and_pounds_reads_nothing_else(plan):
    printed = words_of(html_of(plan, Units.US, ALL))
    assert not re.search(r"\d ?(°C|kg\b|g\b)", printed)


def test_version_and_date_on_every_page(page):
    assert 'content: "2026-07-16, plan version 3"' in page
    assert 'content: "page " counter(page) " / " counter(pages)' in page


def test_a_mix_without_water_has_a_dash_for_its_degrees(plan):
    dry = replace(plan.mixes[0].ticket, water=(), water_c=None, ice_kg=0.0, strip=None)
    mix = replace(plan.mixes[0], ticket=dry)
    numbers = content_of(replace(plan, mixes=(mix,)), choice=ALL).tickets[0].numbers
    assert [one.value for one in numbers] == ["25.0", "—", "11", "0", "0"]


def test_an_empty_plan_still_makes_a_page(plan):
    bare = replace(
        plan, mixes=(), preparations=(), tasks=(), remarks=(), budgets=(), assumptions=()
    )
    assert "plan version 3" in page_of(content_of(bare, choice=ALL))
