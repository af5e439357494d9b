"""Fermentations as entered: moves, tubs, covers, and a proof that goes on with the bulk's clock."""

import pytest
from pydantic import ValidationError

from api.schemas.house import House
from api.schemas.ripening import RipeningInput
from planner.bakery import Cover
from planner.errors import InputError
from planner.ripening import Curve, Move

HOUSE = House(
    rooms=("bakehouse",),
    chambers=("retarder", "proofer"),
    vessels=("dough_tub",),
    usual_c={"bakehouse": 23.0, "retarder": 4.0, "proofer": 30.0},
)


def core_of(**entered):
    return RipeningInput.model_validate(entered).to_core(HOUSE, Curve.YEAST)


def test_room_then_retarder_then_proofer():
    made = core_of(
        minutes=600,
        moves=[{"after_min": 60, "place": "Retarder"}, {"after_min": 540, "place": "proofer"}],
    )
    assert made.place_id == "bakehouse"
    assert made.moves == (Move(60, "retarder"), Move(540, "proofer"))
    assert made.places == ((0, "bakehouse"), (60, "retarder"), (540, "proofer"))


def test_a_tub_and_its_cover_are_found_by_name():
    made = core_of(minutes=90, tub="Dough tub", cover="Lid")
    assert (made.vessel_id, made.cover) == ("dough_tub", Cover.LID)


def test_a_proof_that_goes_on_needs_no_time_of_its_own():
    made = core_of(goes_on=True, place="retarder", from_progress=0.9, by_progress=1.1)
    assert made.goes_on
    with pytest.raises(ValidationError, match="clock of the bulk goes on"):
        core_of(goes_on=True, minutes=60)


@pytest.mark.parametrize(
    ("entered", "what"),
    [
        ({"minutes": 90, "moves": [{"after_min": 90, "place": "a"}, {"after_min": 60}]}, "place"),
        (
            {
                "minutes": 90,
                "moves": [
                    {"after_min": 90, "place": "retarder"},
                    {"after_min": 60, "place": "proofer"},
                ],
            },
            "order of time",
        ),
        ({"minutes": 90, "at_progress": 0.1}, "at_progress"),
    ],
)
def test_what_cannot_be_is_refused(entered, what):
    with pytest.raises((ValidationError, InputError), match=what):
        core_of(**entered)
