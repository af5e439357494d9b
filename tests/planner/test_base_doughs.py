"""Orders by piece become dough by its base, and dough becomes mixes; weights by hand."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from api.pages.weighing import Scales, printed_masses
from api.pages.wording import Units
from planner import InputError, Limits, make_plan, verify
from planner.batches import batches_of
from planner.bowl_remarks import mixer_remarks
from planner.day import Order
from planner.estimate import Estimate
from planner.mixers import MixerKind, mixer
from planner.product import SoldWeight, piece_by_extra_kg, piece_by_share_kg
from planner.ripening import ByTheClock, Curve, Ripening
from planner.wanted import order_dough_kg
from tests.planner.builders import at, bakery, day, lean_dough, loaf, night_of

LISTED = Limits(list_only=True)

# S03: 9 large and 4 small multigrain, 12 large and 5 small white sour, 24 buns, of two doughs.

NO_LOSS = Estimate(0.0)
HOUR = (Ripening(ByTheClock(60, 24.0), Curve.YEAST, "room"),)
QUICK = (Ripening(ByTheClock(40, 24.0), Curve.YEAST, "room"),)
PRODUCTS = (
    loaf(id="large", name="large", piece_kg=0.9, handling_loss_fraction=NO_LOSS),
    loaf(id="small", name="small", piece_kg=0.45, bake_min=30, handling_loss_fraction=NO_LOSS),
    loaf(id="bun", name="bun", piece_kg=0.1, bake_min=18, routes=QUICK, pieces_per_place=60,
         handling_loss_fraction=NO_LOSS),
    loaf(id="grain", name="grain", formula_id="grain", piece_kg=1.0,
         handling_loss_fraction=NO_LOSS),
)  # fmt: skip
LINES = (
    Order("large", "large", 12, at(14)),
    Order("grain", "grain", 9, at(14)),
    Order("small", "small", 5, at(14.5)),
    Order("buns", "bun", 24, at(15)),
)


def shop(within_min: int | None = 120, most_kg: float = 60.0, **changes):
    machine = mixer("spiral", "spiral", MixerKind.SPIRAL, "room", most_kg, min_dough_kg=2.0)
    values = {
        "bakery": bakery(mixers=(machine,), merge_within_min=within_min),
        "formulas": (lean_dough(), lean_dough(id="grain", name="grain dough")),
        "products": PRODUCTS,
        "lines": LINES,
    }
    return day(**(values | changes))


def test_s03_orders_of_one_base_become_one_dough_and_others_stay_apart():
    """12 x 0.9 + 5 x 0.45 + 24 x 0.1 = 15.45 kg of white; 9 kg of grain."""
    white, grain = batches_of(shop())
    assert (white.id, white.dough_kg) == ("large", pytest.approx(15.45))
    assert [(p.line_id, p.pieces) for p in white.lots] == [
        ("large", 12), ("small", 5), ("buns", 24),
    ]  # fmt: skip
    assert (grain.id, grain.dough_kg) == ("grain", pytest.approx(9.0))


def test_s03_a_dough_too_large_for_the_mixer_is_cut_into_equal_mixes_in_order_of_leaving():
    """15.45 kg in a mixer of 8.5: 9 large are 8.1 kg, the rest 7.35; no piece is lost."""
    first, second, _ = batches_of(shop(most_kg=8.5))[:3]
    assert [b.id for b in (first, second)] == ["large-1", "large-2"]
    assert [b.dough_kg for b in (first, second)] == pytest.approx([8.1, 7.35])
    pieces = dict.fromkeys(("large", "small", "buns"), 0)
    for batch in (first, second):
        for lot in batch.lots:
            pieces[lot.line_id] += lot.pieces
    assert pieces == {"large": 12, "small": 5, "buns": 24}
    leaves = [p.leave_by for b in (first, second) for p in b.lots]
    assert all(a <= b for a, b in pairwise(leaves))


def test_s03_orders_that_leave_too_far_apart_have_their_own_mixes():
    """Within 45 min: large and small together, the buns an hour after the first on their own."""
    ids = [b.id for b in batches_of(shop(45)) if b.formula.id == "white"]
    assert ids == ["large", "buns"]
    assert len(batches_of(shop(None))) == 4


def test_s03_every_product_of_a_mix_proofs_bakes_and_leaves_by_its_own():
    plan = make_plan(shop(), night_of(24.0))
    (white,) = [m for m in plan.mixes if m.formula_id == "white"]
    assert [(load.product_id, load.pieces) for load in white.loads] == [
        ("large", 12), ("small", 5), ("bun", 24),
    ]  # fmt: skip
    by_product = {load.product_id: load for load in white.loads}
    due = {"large": at(14), "small": at(14.5), "bun": at(15)}
    for product_id, load in by_product.items():
        assert load.leave_by_utc == due[product_id]
        assert load.ready_utc <= due[product_id]
    minutes = {
        one: (load.out_utc - load.load_utc).total_seconds() / 60 for one, load in by_product.items()
    }
    assert minutes == {"large": 40, "small": 30, "bun": 18}
    proofs = {
        one: (load.load_by_utc - load.proof_start_utc).total_seconds() / 60
        for one, load in by_product.items()
    }
    # Forty minutes of proof instead of sixty: the buns are over well before the loaves.
    assert proofs["bun"] < proofs["large"] - 10
    assert set(white.line_ids) == {"large", "small", "buns"}
    assert verify(plan) == ()


def test_s03_a_changed_order_changes_the_dough_at_once():
    lines = (replace(LINES[0], pieces=20), *LINES[1:])
    white, _ = batches_of(shop(lines=lines))
    assert white.dough_kg == pytest.approx(15.45 + 8 * 0.9)


@pytest.mark.parametrize("step", [0.005, 0.01, 0.05])
def test_s03_weights_go_to_the_scales_step_and_the_total_stays(step):
    """However coarse the scale, the printed lines add up, within 0.5 % of the dough."""
    plan = make_plan(shop(), night_of(24.0), limits=LISTED)
    for mix in plan.mixes:
        masses = [mix.ticket.formula_water_kg, *(line.mass_kg for line in mix.scaling)]
        printed = printed_masses(masses, Units.METRIC, Scales(step, step, 1.0))
        lines = [float(line) for line in printed.lines]
        assert sum(lines) == pytest.approx(float(printed.total), abs=1e-6)
        assert all(round(line / step) * step == pytest.approx(line) for line in lines)
        assert sum(lines) == pytest.approx(mix.dough_kg, rel=0.005)


# S06: 100 loaves sold at 500 g baked; 10 to 13 % of the dough lost, or 50 to 65 g extra a piece.


@pytest.mark.parametrize(("lost", "dough_kg"), [(0.10, 55.56), (0.12, 56.82), (0.13, 57.47)])
def test_s06_a_share_of_the_dough_is_lost_in_baking(lost, dough_kg):
    """50 kg / 0.9, 0.88 and 0.87."""
    assert 100 * piece_by_share_kg(0.5, lost) == pytest.approx(dough_kg, abs=0.01)


@pytest.mark.parametrize(("extra_kg", "dough_kg"), [(0.050, 55.0), (0.065, 56.5)])
def test_s06_so_many_grams_are_added_to_each(extra_kg, dough_kg):
    assert 100 * piece_by_extra_kg(0.5, extra_kg) == pytest.approx(dough_kg)


def test_s06_a_tenth_of_the_dough_is_not_a_tenth_of_the_bread():
    """10 % of dough is 55.6 g on 500 g baked, not 50."""
    assert piece_by_share_kg(0.5, 0.10) - 0.5 == pytest.approx(0.0556, abs=5e-5)


@pytest.mark.parametrize(("handling", "dough_kg"), [(0.0, 55.0), (0.01, 55.55), (0.03, 56.65)])
def test_s06_handling_loss_comes_on_top(handling, dough_kg):
    sold = SoldWeight(0.5, extra_kg=0.05)
    product = loaf(
        piece_kg=sold.piece_kg(0.12), sold=sold, handling_loss_fraction=Estimate(handling)
    )
    assert order_dough_kg(product, 100) == pytest.approx(dough_kg)


@pytest.mark.parametrize(("extra_kg", "code"), [(None, "sold_by_share"), (0.06, "sold_by_extra")])
def test_s06_the_ticket_says_which_rule_was_used(extra_kg, code):
    sold = SoldWeight(0.5, extra_kg)
    product = loaf(piece_kg=sold.piece_kg(0.12), sold=sold)
    (batch,) = batches_of(day(products=(product,)))
    assert code in {r.code for r in mixer_remarks(batch, batch.mixers[0])}


def test_s06_a_piece_that_is_given_needs_no_rule():
    (batch,) = batches_of(day())
    said = {r.code for r in mixer_remarks(batch, batch.mixers[0])}
    assert not said & {"sold_by_share", "sold_by_extra"}


def test_s06_more_extra_than_bread_is_refused():
    with pytest.raises(InputError, match="extra_kg"):
        SoldWeight(0.05, extra_kg=0.5)
