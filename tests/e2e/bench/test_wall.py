"""The wall from four metres: large, counting down, and honest about its age."""

import re

import pytest

from tests.e2e.bench.house import BAKERY

pytestmark = pytest.mark.e2e
SCREENS = [(1920, 1080), (1280, 720), (3840, 2160)]
CAPITAL_MM = """() => [...document.querySelectorAll('.next:not([hidden]) .value')].map((one) => {
  const style = getComputedStyle(one);
  const context = document.createElement('canvas').getContext('2d');
  context.font = `${style.fontWeight} 200px ${style.fontFamily}`;
  const share = context.measureText('0').actualBoundingBoxAscent / 200;
  return parseFloat(style.fontSize) * share * 25.4 / 96;
})"""


@pytest.fixture
def wall(house, tab):
    def open_wall(size=(1920, 1080), **options):
        page = tab(size, **options)
        page.goto(f"{house.address}/wall/{BAKERY}")
        page.wait_for_selector(".next:not([hidden])")
        return page

    return open_wall


@pytest.mark.parametrize("size", SCREENS)
def test_figures_are_read_at_four_metres_and_nothing_is_below_the_edge(wall, size):
    """26 mm capitals on a screen of 24 inches, 531 mm wide, whatever its pixels."""
    page = wall(size)
    mm = [one * 531 / (size[0] * 25.4 / 96) for one in page.evaluate(CAPITAL_MM)]
    assert len(mm) == 5
    assert min(mm) >= 26
    page.wait_for_timeout(1200)
    held = page.evaluate("() => [document.documentElement.scrollHeight, innerHeight]")
    assert held[0] <= held[1]
    assert page.evaluate("() => document.documentElement.scrollWidth") <= size[0]


def test_it_counts_down_by_the_services_clock(house, wall):
    """The clock of the house stands a quarter of an hour before the first mix; that of the
    browser stands months away."""
    page = wall()
    assert "in 15 min" in page.locator(".next:not([hidden]) .count").inner_text()
    assert page.locator("#clock").inner_text()[-2:] == f"{house.now.minute:02d}"


def test_a_reading_reaches_the_wall_by_itself(house, wall):
    page = wall()
    mix = house.mixes[0]
    started = {"id": "s", "kind": "mixer started", "mix_id": mix["id"], "at_utc": mix["start_utc"]}
    assert house.post(f"/api/v1/plans/{house.plan}/readings", started).is_success
    page.wait_for_function(
        "() => document.querySelector('.next:not([hidden]) h1').textContent.includes('Mix 2')"
    )


def test_without_network_it_goes_on_by_the_clock_and_says_how_old_it_is(wall):
    page = wall()
    page.clock.install()
    with page.expect_response(re.compile("/wall/")):
        page.reload()
    page.wait_for_function("() => document.querySelector('#clock').textContent !== ''")
    page.context.set_offline(True)
    page.clock.fast_forward("40:00")
    page.wait_for_selector("#age.stale")
    assert "40 min" in page.locator("#age").inner_text()
    assert "Mix 2" in page.locator(".next:not([hidden]) h1").inner_text()
