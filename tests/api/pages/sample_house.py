"""The house, doughs and hours of the made-up night."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from planner import bakery as b
from planner import formula as f
from planner import mixers
from planner import product as pr
from planner import ripening as r
from planner import water_sources as sources
from planner.conditions import Conditions, HourlyForecast
from planner.day import Day, Order, Shift
from planner.estimate import Estimate, Origin
from planner.materials import Material

ZONE = ZoneInfo("Europe/Vienna")
MIDNIGHT = datetime(2026, 7, 16, tzinfo=ZONE).astimezone(UTC)


def at(clock: str) -> datetime:
    """Moment of a local clock time of the night; from 15:00 on it is the evening before."""
    hour, minute = (int(part) for part in clock.split(":"))
    day = -1 if hour >= 15 else 0
    return MIDNIGHT + timedelta(days=day, hours=hour, minutes=minute)


def sample_bakery(name: str = "Bakery at the Weir") -> b.Bakery:
    """A house with two mixers, two ovens, ice and a chiller."""
    return b.Bakery(
        id="weir",
        name=name,
        zone="Europe/Vienna",
        rooms=(b.Room("bakehouse", "bakehouse"),),
        mixers=(
            mixers.mixer("spiral_1", "spiral 120", mixers.MixerKind.SPIRAL, "bakehouse", 120),
            mixers.mixer("twin", "twin arm 60", mixers.MixerKind.TWIN_ARM, "bakehouse", 60),
        ),
        supplies=(
            sources.WaterSupply("tap", "tap", sources.SupplyKind.TAP, Estimate(18.0)),
            sources.WaterSupply(
                "cold", "chiller", sources.SupplyKind.CHILLER, Estimate(4.0), 80, 20
            ),
        ),
        flour_stores=(
            b.FlourStore(
                "silo",
                "silo",
                b.FlourStoreKind.SILO,
                "bakehouse",
                Estimate(0.14, 0, Origin.ASSUMED),
            ),
        ),
        people=(b.Person("ana", "Ana"), b.Person("tom", "Tom")),
        ovens=(
            b.Oven("deck", "deck oven", b.OvenKind.DECK, 4),
            b.Oven("rack", "rack oven", b.OvenKind.RACK, 1),
        ),
        chambers=(b.Chamber("retarder", "retarder", b.ChamberKind.RETARDER, Estimate(4.0), 6),),
        ice=sources.IceSupply(sources.IceKind.FLAKE, Estimate(-2.0), Estimate(0.95), 5, 60),
    )


def sample_formulas() -> tuple[f.Formula, ...]:
    """White, levain and rye doughs."""
    bulk = r.Ripening(r.ByTheClock(90, 24), r.Curve.YEAST, "bakehouse", folds_min=(40,))
    steps = (f.MixStep(mixers.Speed.FIRST, 5), f.MixStep(mixers.Speed.SECOND, 6))
    salt = f.Line(Material.SALT, 2)
    levain = f.Preferment(
        "levain",
        "levain",
        (f.Line(Material.WHEAT_FLOUR, 20), f.Line(Material.WATER, 20)),
        r.Ripening(r.HoursAt(8, 26), r.Curve.LEVAIN, "bakehouse"),
        26.0,
        seed_percent=20,
    )
    scald = f.Scald(
        "scald",
        "rye scald",
        (f.Line(Material.RYE_FLOUR, 20), f.Line(Material.WATER, 40)),
        "bakehouse",
    )
    return (
        f.Formula(
            "white",
            "White tin dough",
            (
                f.Line(Material.WHEAT_FLOUR, 100, "strong flour"),
                f.Line(Material.WATER, 62),
                f.Line(Material.FRESH_YEAST, 2),
                salt,
                f.Line(Material.EGG, 3, "whole egg", step=1),
            ),
            steps,
            25.0,
            bulk,
        ),
        f.Formula(
            "country",
            "Country levain dough",
            (f.Line(Material.WHEAT_FLOUR, 80), f.Line(Material.WATER, 50), salt),
            steps,
            24.5,
            bulk,
            parts=(levain,),
        ),
        f.Formula(
            "rye",
            "Rye with scald",
            (f.Line(Material.RYE_FLOUR, 80), f.Line(Material.WATER, 30), salt),
            (f.MixStep(mixers.Speed.FIRST, 8.5),),
            29.0,
            bulk,
            parts=(scald,),
            dough_class="rye",
        ),
    )


def sample_products() -> tuple[pr.Product, ...]:
    """One product per dough."""
    proof = r.Ripening(r.ByTheClock(50, 26), r.Curve.YEAST, "bakehouse")
    return tuple(
        pr.Product(f"{key}_loaf", name, key, kg, (proof,), bake, 60, (oven,))
        for key, name, kg, bake, oven in (
            ("white", "white tin loaf", 0.56, 35, "rack"),
            ("country", "country loaf", 0.9, 45, "deck"),
            ("rye", "rye tin loaf", 1.1, 60, "deck"),
        )
    )


def sample_day(name: str = "Bakery at the Weir") -> Day:
    """The night of 15 to 16 July."""
    leave = at("6:30")
    return Day(
        id="july",
        production_date=date(2026, 7, 16),
        bakery=sample_bakery(name),
        formulas=sample_formulas(),
        products=sample_products(),
        lines=(
            Order("white", "white_loaf", 120, leave),
            Order("country", "country_loaf", 60, leave),
            Order("rye", "rye_loaf", 40, leave),
        ),
        shifts=(Shift("ana", at("22:00"), at("6:00")), Shift("tom", at("19:00"), at("3:00"))),
        start_utc=at("15:00"),
        end_utc=at("9:00"),
    )


def sample_conditions() -> Conditions:
    """A warm night that cools from 29 to 25 °C."""
    hours = 19
    temperatures = tuple(29.0 - 4.0 * i / (hours - 1) for i in range(hours))
    forecast = HourlyForecast(at("15:00"), temperatures, (1.5,) * hours, (0.5,) * hours)
    return Conditions({"bakehouse": forecast}, ice_stored_kg=40.0)
