"""Small values to build tests from: one room, one spiral, one dough."""

from datetime import UTC, date, datetime, timedelta

from planner.bakery import (
    Bakery,
    FlourStore,
    FlourStoreKind,
    Oven,
    OvenKind,
    Person,
    Room,
)
from planner.conditions import Conditions, HourlyForecast
from planner.day import Day, Order, Shift
from planner.estimate import Estimate
from planner.formula import Formula, MixStep
from planner.lines import Line
from planner.materials import Material
from planner.mixers import MixerKind, Speed, mixer
from planner.product import Product
from planner.ripening import (
    ByTheClock,
    Curve,
    Ripening,
)
from planner.water_sources import SupplyKind, WaterSupply

START = datetime(2026, 7, 13, 16, 0, tzinfo=UTC)


def at(hours: float) -> datetime:
    """Moment so many hours after the start of the span."""
    return START + timedelta(hours=hours)


def steady_room(temperature_c: float, hours: int = 40) -> HourlyForecast:
    """A room that keeps its temperature."""
    return HourlyForecast(START, (temperature_c,) * hours, (1.0,) * hours, (0.5,) * hours)


def bakery(**changes) -> Bakery:
    """One room, one spiral, one deck oven, tap water."""
    values = {
        "id": "mill-lane",
        "name": "Mill Lane",
        "zone": "Europe/Berlin",
        "rooms": (Room("room", "bakehouse"),),
        "mixers": (mixer("spiral", "spiral", MixerKind.SPIRAL, "room", 60.0, min_dough_kg=5.0),),
        "supplies": (WaterSupply("tap", "tap", SupplyKind.TAP, Estimate(15.0)),),
        "flour_stores": (
            FlourStore("sacks", "sacks", FlourStoreKind.SACK, "room", Estimate(0.14)),
        ),
        "people": (Person("ada", "Ada"),),
        "ovens": (Oven("deck", "deck oven", OvenKind.DECK, places=3, recovery_min=5),),
    }
    return Bakery(**(values | changes))


def lean_dough(**changes) -> Formula:
    """White dough at 65 %, two hours at 25 °C."""
    values = {
        "id": "white",
        "name": "white dough",
        "lines": (
            Line(Material.WHEAT_FLOUR, 100),
            Line(Material.WATER, 65),
            Line(Material.SALT, 2),
            Line(Material.FRESH_YEAST, 1.5),
        ),
        "steps": (MixStep(Speed.FIRST, 4), MixStep(Speed.SECOND, 6)),
        "dough_c": 25.0,
        "bulk": Ripening(ByTheClock(90, 24.0), Curve.YEAST, "room"),
    }
    return Formula(**(values | changes))


def loaf(**changes) -> Product:
    """A loaf of 800 g, an hour of proof, 20 a deck."""
    values = {
        "id": "loaf",
        "name": "loaf",
        "formula_id": "white",
        "piece_kg": 0.8,
        "routes": (Ripening(ByTheClock(60, 24.0), Curve.YEAST, "room"),),
        "bake_min": 40,
        "pieces_per_place": 20,
        "oven_ids": ("deck",),
    }
    return Product(**(values | changes))


def day(**changes) -> Day:
    """Forty loaves that leave fourteen hours after the start of the span."""
    values = {
        "id": "tuesday",
        "production_date": date(2026, 7, 14),
        "bakery": bakery(),
        "formulas": (lean_dough(),),
        "products": (loaf(),),
        "lines": (Order("o1", "loaf", 40, at(14)),),
        "shifts": (Shift("ada", at(2), at(15)),),
        "start_utc": START,
        "end_utc": at(20),
    }
    return Day(**(values | changes))


def night_of(temperature_c: float = 24.0) -> Conditions:
    """A steady room all night."""
    return Conditions({"room": steady_room(temperature_c)})
