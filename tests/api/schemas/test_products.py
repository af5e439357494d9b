"""Products: one proof or several, ovens and dough left out where there is no choice."""

from __future__ import annotations

import pytest

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
