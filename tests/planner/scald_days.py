"""A rye house with a big scald: tub, trays, a walk-in, ice, and a hot or a mild night."""

from planner.bakery import (
    Chamber,
    ChamberKind,
    Vessel,
    VesselShape,
)
from planner.batches import batches_of
from planner.conditions import Conditions
from planner.corrections import Corrections
from planner.day import MixRequest
from planner.estimate import Estimate
from planner.formula import Scald
from planner.lines import Line
from planner.materials import Material
from planner.mixers import MixerKind, mixer
from planner.night import Night
from planner.water_sources import (
    IceKind,
    IceSupply,
    SupplyKind,
    WaterSupply,
)
from tests.planner.builders import bakery, day, lean_dough, steady_room

TUB = Vessel("tub", "tub", VesselShape.ROUND, 0.55, 0.55, 110.0, wall_kg=4.0)
TRAYS = Vessel("tray", "tray", VesselShape.BOX, 0.6, 0.4, 10.0, count=20, wall_kg=1.2)
WALK_IN = Chamber("walkin", "walk-in", ChamberKind.COOLER, Estimate(4.0), 6)
FLAKES = IceSupply(IceKind.FLAKE, Estimate(-5.0), Estimate(0.9), 10, 100)
TAP = WaterSupply("tap", "tap", SupplyKind.TAP, Estimate(15.0))


def scald(**changes):
    """One part rye, two of boiling water, a third of them; in the tub, under film."""
    lines = (Line(Material.RYE_FLOUR, 12), Line(Material.WATER, 24))
    given = {"lines": lines, "place_id": "room", "vessel_id": "tub", "name": "rye scald"}
    return Scald("scald", **(given | changes))


def rye_dough(part=None, **changes):
    """A dough with a twelfth of its flour scalded."""
    given = {
        "lines": (Line(Material.RYE_FLOUR, 88), Line(Material.WATER, 46), Line(Material.SALT, 2)),
        "parts": (scald() if part is None else part,),
        "dough_c": 28.0,
    }
    return lean_dough(**(given | changes))


def rye_house(**changes):
    """Tub and trays, tap water of 15 °C; walk-in and ice when asked for."""
    given = {
        "vessels": (TUB, TRAYS),
        "supplies": (TAP,),
        "mixers": (mixer("spiral", "spiral", MixerKind.SPIRAL, "room", 400.0),),
    }
    return bakery(**(given | changes))


def rye_day(part=None, *, dough_kg=300.0, house=None, dough=None, **changes):
    """One mix whose scald weighs about a fifth of the dough."""
    given = {
        "bakery": rye_house() if house is None else house,
        "formulas": (rye_dough(part) if dough is None else dough,),
        "products": (),
        "lines": (MixRequest("rye", "white", dough_kg),),
    }
    return day(**(given | changes))


def rye_night(part=None, room_c=24.0, *, ice_kg=0.0, **changes):
    """Night and mixes of it."""
    whole = rye_day(part, **changes)
    conditions = Conditions({"room": steady_room(room_c)}, ice_stored_kg=ice_kg)
    return Night(whole, conditions, Corrections()), batches_of(whole)
