"""What stands on paper of shared doughs, signed overloads and cleaning."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from api.pages.choice import Choice, Paper
from planner import Limits, make_plan
from planner.clean_downs import cleaning_remarks
from planner.day import MixRequest, Order, ReadyWindow
from planner.lines import Line
from planner.materials import Material
from planner.mixers import MixerKind, mixer
from planner.ripening import ByTheClock, Curve, Ripening
from tests.api.pages.papers import content_of, html_of
from tests.planner.builders import at, bakery, day, lean_dough, loaf, night_of

LISTED = Limits(list_only=True)
EVERY_TICKET = Choice((Paper.FRONT, Paper.TICKETS))


def words(page: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page))


def test_a_signed_overload_stands_on_the_ticket_with_the_name():
    sixty = mixer("sixty", "sixty", MixerKind.SPIRAL, "room", 30.0, min_dough_kg=3.0)
    line = MixRequest("m1", "white", 40.0, mixes=1, overload_signed_by="Ana Weir")
    plan = make_plan(
        day(bakery=bakery(mixers=(sixty,)), lines=(line,)), night_of(24.0), limits=LISTED
    )
    page = words(html_of(plan, choice=EVERY_TICKET))
    assert "is more than sixty takes (30.00 kg)" in page
    assert "Ana Weir answers for it" in page
    # 40 of 30 kg.
    assert "133 % full" in page


def test_how_full_a_mixer_is_counts_the_stiffness_of_its_dough():
    """12 kg at 30 % of water in a mixer of 40 kg rated at 60 %: 12 of 20 kg."""
    stiff = lean_dough(lines=(Line(Material.WHEAT_FLOUR, 100), Line(Material.WATER, 30)))
    forty = mixer(
        "forty", "forty", MixerKind.SPIRAL, "room", 40.0, min_dough_kg=3.0, rated_hydration=0.60
    )
    one = day(
        bakery=bakery(mixers=(forty,)), formulas=(stiff,), lines=(MixRequest("m1", "white", 12.0),)
    )
    page = words(html_of(make_plan(one, night_of(24.0), limits=LISTED), choice=EVERY_TICKET))
    assert "60 % full" in page


@pytest.fixture
def shared():
    """Loaves and buns of one dough, mixed together."""
    quick = (Ripening(ByTheClock(40, 24.0), Curve.YEAST, "room"),)
    bun = loaf(id="bun", name="bun", piece_kg=0.1, bake_min=18, routes=quick, pieces_per_place=60)
    lines = (Order("loaves", "loaf", 20, at(14)), Order("buns", "bun", 60, at(14.5)))
    house = bakery(merge_within_min=60)
    one = day(bakery=house, products=(loaf(), bun), lines=lines)
    return make_plan(one, night_of(24.0), limits=LISTED)


def test_the_bench_gets_a_row_for_each_product_of_a_mix(shared):
    rows = content_of(shared, choice=Choice((Paper.DIVIDE,))).divide
    assert [(row.mix, row.pieces) for row in rows] == [(1, "20"), (1, "60")]


def test_totals_are_told_by_product_and_not_by_mix(shared):
    """20 of 0.808 kg and 60 of 0.101 kg, handling included: 16.16 and 6.06 kg."""
    totals = {t.name: (t.ordered, t.planned, t.dough) for t in content_of(shared).totals}
    assert totals == {"loaf": ("20", "20", "16.16 kg"), "bun": ("60", "60", "6.060 kg")}


def test_what_the_order_of_doughs_costs_in_cleaning_is_printed():
    base = lean_dough().lines
    nuts = lean_dough(id="nuts", name="nuts", lines=(*base, Line(Material.NUTS, 20)))
    machine = mixer(
        "spiral", "spiral", MixerKind.SPIRAL, "room", 60.0, min_dough_kg=2.0, clean_down_min=20
    )
    lines = tuple(
        MixRequest(f.id, f.id, 15.0, window=ReadyWindow(at(h), at(h + 0.5)))
        for f, h in ((nuts, 6), (lean_dough(), 8))
    )
    one = day(
        bakery=bakery(mixers=(machine,)), formulas=(nuts, lean_dough()), products=(), lines=lines
    )
    plan = make_plan(one, night_of(24.0), limits=LISTED)
    assert len(cleaning_remarks(plan.day, plan.mixes)) == 1
    page = words(html_of(plan))
    assert "spiral is cleaned for 20 min in all" in page
    assert "The times of the doughs cost 20 min of cleaning" in page
    calm = replace(plan, remarks=())
    assert "is cleaned for" not in words(html_of(calm))
