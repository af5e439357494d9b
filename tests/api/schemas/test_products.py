"""Products: one proof or several, ovens and dough left out where there is no choice."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from api.schemas.base import Faults
from api.schemas.house import House
from api.schemas.products import ProductInput
from planner.ripening import (
    ByTheClock,
    Curve,
)

HOUSE = House(
    rooms=("bakehouse",), chambers=("retarder",), ovens=("deck",),
    usual_c={"bakehouse": 24.0, "retarder": 4.0},
)  # fmt: skip
LEAST = {
    "name": "Loaf",
    "piece_kg": 0.8,
    "proof": {"minutes": 60},
    "bake_min": 35,
    "pieces_per_place": 12,
}


def core_of(curves=None, **more):
    faults = Faults()
    product = ProductInput.model_validate({**LEAST, **more})
    made = product.to_core(faults, HOUSE, curves or {"wheat": Curve.LEVAIN})
    faults.settle()
    return made


def test_the_least_product():
    made = core_of()
    assert (made.id, made.formula_id, made.oven_ids) == ("loaf", "wheat", ("deck",))
    assert made.routes[0].reference == ByTheClock(60, 24.0)
    assert made.routes[0].curve is Curve.LEVAIN
    assert made.bake_loss_fraction.is_assumed


def test_several_ways_to_proof_keep_their_order():
    made = core_of(proof=[{"minutes": 60}, {"minutes": 600, "place": "Retarder"}])
    assert [route.place_id for route in made.routes] == ["bakehouse", "retarder"]
    assert made.routes[1].reference.room_c == 4.0


def test_what_is_entered_is_not_assumed():
    made = core_of(bake_loss_fraction="0,11", shape_min_per_piece=0.3)
    assert made.bake_loss_fraction.value == 0.11
    assert not made.shape_min_per_piece.is_assumed


def test_pieces_may_be_weighed_in_grams():
    entered = {key: value for key, value in LEAST.items() if key != "piece_kg"}
    assert ProductInput.model_validate({**entered, "piece_g": 850}).piece_kg == pytest.approx(0.85)


def test_a_product_without_proof_is_told():
    faults = Faults()
    ProductInput.model_validate({**LEAST, "proof": []}).to_core(
        faults, HOUSE, {"wheat": Curve.YEAST}
    )
    (fault,) = faults.found
    assert fault.field == "proof"
    assert fault.remedy == "enter a proof or a retard"


def sold_as(**more):
    entered = {key: value for key, value in LEAST.items() if key != "piece_kg"}
    faults = Faults()
    product = ProductInput.model_validate({**entered, **more})
    made = product.to_core(faults, HOUSE, {"wheat": Curve.YEAST})
    faults.settle()
    return made


def test_what_is_sold_gives_the_piece_by_a_share_or_by_grams():
    """500 g baked: 12.5 % of the dough lost is 571 g; 60 g extra is 560 g."""
    by_share = sold_as(sold_kg=0.5, bake_loss_fraction=0.125)
    assert by_share.piece_kg == pytest.approx(0.5714, abs=1e-4)
    by_extra = sold_as(sold_g=500, bake_extra_g=60)
    assert by_extra.piece_kg == pytest.approx(0.56)
    assert by_extra.sold.extra_kg == pytest.approx(0.06)
    assert sold_as(sold_kg=0.5).bake_loss_fraction.is_assumed


@pytest.mark.parametrize(
    ("entered", "problem"),
    [
        ({}, "is missing"),
        ({"sold_kg": 0.5, "piece_kg": 0.6}, "is given beside sold_kg"),
        ({"piece_kg": 0.6, "bake_extra_kg": 0.05}, "counts only with sold_kg"),
        (
            {"sold_kg": 0.5, "bake_extra_kg": 0.05, "bake_loss_fraction": 0.1},
            "is a second rule beside bake_loss_fraction",
        ),
    ],
)
def test_a_piece_has_one_weight_by_one_rule(entered, problem):
    with pytest.raises(ValidationError, match=problem):
        sold_as(**entered)
