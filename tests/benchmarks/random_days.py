"""Random production days, of which everything follows from size, load, weather and seed.

The one home of what the measurements of the day planner are made on. Everything is invented; what a
dough, a piece, a levain and a scald do is the product's own physics. Sizes, loads, weathers and
seeds are fixed here. Changed since the first draft of such days: an evening hand sets levains (with
the true clock of a levain nobody else is there early enough).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from math import ceil, cos, pi

import numpy as np

from planner.bakery import (
    Bakery,
    Chamber,
    ChamberKind,
    FlourStore,
    FlourStoreKind,
    Oven,
    OvenKind,
    Person,
    Room,
    Vessel,
    VesselShape,
)
from planner.conditions import Conditions, HourlyForecast, Inherited, Standing
from planner.day import Day, MixRequest, ReadyWindow, Shift
from planner.estimate import Estimate
from planner.formula import Formula, MixStep, Part, Preferment, Scald
from planner.lines import Line
from planner.materials import Material
from planner.mixers import MixerKind, Speed, mixer
from planner.product import Product
from planner.ripening import Curve, HoursAt, Ripening
from planner.water_sources import IceKind, IceSupply, SupplyKind, WaterSupply

SIZES = (20, 40, 80, 160)
LOADS = (0.62, 0.80)
WARMER_K = {"normal": 0.0, "hot": 6.0}
SEEDS = tuple(range(1, 11))

CELLAR_C = {"normal": 14.0, "hot": 16.0}
TAP_C = {"normal": 15.0, "hot": 18.0}
ICE_KG_PER_H_PER_MIX = 0.25
MIXERS_KG = (60.0, 60.0, 80.0, 60.0, 80.0, 60.0, 60.0, 80.0, 60.0)
MIXERS = {4: 1, 10: 2, 20: 2, 40: 3, 80: 5, 160: 9}
FILLED_AT_LEAST = 0.2
CLEAN_DOWN_MIN = 10
PROOFER_C, RETARDER_C = 28.0, 5.0

SPAN_H = 26
START = datetime(2026, 7, 13, 12, 0, tzinfo=UTC)
"""The span begins at noon of the day before and ends at 14:00; the house lives by UTC."""

EVENING, NIGHT, MORNING = (17.0, 19.0), (22.0, 30.0), (29.0, 37.0)
"""Shifts, in hours from the midnight at which the day before began."""

EARLY_BEFORE_MIN = 750
"""00:30: a mix that starts before is early [min]."""

OVEN_HOURS, PROOF_HOURS = 8.0, 8.5
"""Over how long ovens and proofer can be used, for the load [h]: 02:30 to 10:30, 02:00 to 10:30."""

HANDS_MIN = {"scale": 10, "load": 5, "tomorrow": 5}
"""Hands-on work beside dividing, as the planner counts it [min]."""

CLASSES = (
    (),
    ((Material.BUTTER, 6.0), (Material.MILK, 10.0)),
    ((Material.BUTTER, 8.0), (Material.EGG, 8.0)),
    ((Material.WHOLEMEAL_FLOUR, 30.0),),
    ((Material.RYE_FLOUR, 30.0),),
)
"""What sets five classes of dough apart; the last two are dark."""


@dataclass(frozen=True, slots=True)
class Kind:
    """A random day: mixes, load, weather, seed."""

    mixes: int
    load: float
    weather: str
    seed: int

    @property
    def name(self) -> str:
        """Name to print."""
        return f"{self.mixes:3d} mixes {self.load:.0%} {self.weather:6s} seed {self.seed}"


@dataclass(frozen=True)
class RandomDay:
    """A day with its conditions.

    Attributes
    ----------
    load
        The load that came of whole places, racks and people: ovens, proofer, hands.
    """

    kind: Kind
    day: Day
    conditions: Conditions
    load: tuple[float, float, float]


def at(hour: float) -> datetime:
    """Return a moment by hours from the midnight at which the day before began."""
    return START + timedelta(hours=hour - 12.0)


def room_c(weather: str) -> tuple[float, ...]:
    """Return a room between 19 °C at 02:00 and 29 °C at 15:00, warmer on a hot day [°C]."""
    found = []
    for hour in range(12, 12 + SPAN_H + 13):
        clock = hour % 24
        # 13 hours up from 02:00 to 15:00, 11 hours down again, each half a cosine.
        up = 2 <= clock < 15
        share = (clock - 2) / 13 if up else ((clock - 15) % 24) / 11
        found.append(24.0 + 5.0 * (-cos(pi * share) if up else cos(pi * share)))
    return tuple(t + WARMER_K[weather] for t in found)


def random_day(kind: Kind, *, band_k: float = 3.0, scald_ways: bool = False) -> RandomDay:
    """Return a random day.

    Parameters
    ----------
    kind
        What it is made from; the same kind is the same day.
    band_k
        Half width of the band of every dough temperature [K].
    scald_ways
        Whether scalds may be cooled otherwise than as they stand.
    """
    rng = np.random.default_rng([kind.seed, kind.mixes, round(100 * kind.load)])
    formulas = _formulas(rng, kind, band_k, scald_ways=scald_ways)
    sizes = MIXERS_KG[: MIXERS[kind.mixes]]
    two_ovens = kind.mixes >= 40
    products = tuple(_product(rng, f, two_ovens=two_ovens) for f in formulas)
    retards = tuple(_retarded(rng, i, formulas[0], two_ovens=two_ovens) for i in range(3))
    tomorrow = round(0.2 * kind.mixes)
    baking = tuple(
        _mix(rng, i, products[int(rng.integers(len(products)))], sizes)
        for i in range(kind.mixes - tomorrow)
    )
    lines = (*baking, *(_tomorrow(rng, i, formulas, sizes) for i in range(tomorrow)))
    standing = tuple(
        _standing(rng, i, retards[int(rng.integers(3))]) for i in range(round(0.2 * kind.mixes))
    )
    by_id = {p.id: p for p in (*products, *retards)}
    ovens, oven_load = _ovens(kind, baking, standing, by_id)
    racks, proof_load = _proofer(kind, baking, by_id)
    shifts, work_load = _shifts(kind, baking, tomorrow, standing, formulas)
    made = ICE_KG_PER_H_PER_MIX * kind.mixes
    bakery = Bakery(
        id="random",
        name="Random House",
        zone="UTC",
        rooms=(Room("room", "bakehouse"), Room("cellar", "cellar")),
        mixers=tuple(
            mixer(
                f"m{i}",
                f"spiral {i}",
                MixerKind.SPIRAL,
                "room",
                kg,
                min_dough_kg=FILLED_AT_LEAST * kg,
                clean_down_min=CLEAN_DOWN_MIN,
            )
            for i, kg in enumerate(sizes)
        ),
        supplies=(
            WaterSupply("tap", "tap", SupplyKind.TAP, Estimate(TAP_C[kind.weather])),
            WaterSupply("hot", "hot tap", SupplyKind.HOT, Estimate(55.0)),
        ),
        flour_stores=(FlourStore("sacks", "sacks", FlourStoreKind.STACK, "room", Estimate(0.14)),),
        people=tuple(Person(p, p) for p in dict.fromkeys(s.person_id for s in shifts)),
        ovens=ovens,
        chambers=(
            Chamber("proofer", "proofer", ChamberKind.PROOFER, Estimate(PROOFER_C), racks),
            Chamber("retarder", "retarder", ChamberKind.RETARDER, Estimate(RETARDER_C), kind.mixes),
        ),
        vessels=(Vessel("pan", "pan", VesselShape.BOX, 0.6, 0.4, 8.0, wall_kg=2.0, count=1000),),
        ice=IceSupply(IceKind.FLAKE, Estimate(-0.5), Estimate(0.9), made, made),
    )
    return RandomDay(
        kind,
        Day(
            id="random",
            production_date=date(2026, 7, 14),
            bakery=bakery,
            formulas=formulas,
            products=(*products, *retards),
            lines=lines,
            shifts=shifts,
            start_utc=START,
            end_utc=START + timedelta(hours=SPAN_H),
        ),
        Conditions(
            {
                "room": _forecast(room_c(kind.weather)),
                "cellar": _forecast((CELLAR_C[kind.weather],) * len(room_c(kind.weather))),
            },
            ice_stored_kg=made,
            inherited=standing,
        ),
        (oven_load, proof_load, work_load),
    )


def _forecast(degrees: tuple[float, ...]) -> HourlyForecast:
    return HourlyForecast(START, degrees, (1.5,) * len(degrees), (0.5,) * len(degrees))


def _formulas(
    rng: np.random.Generator, kind: Kind, band_k: float, *, scald_ways: bool
) -> tuple[Formula, ...]:
    count = max(3, round(0.3 * kind.mixes))
    return tuple(_formula(rng, i, count, band_k, scald_ways=scald_ways) for i in range(count))


def _formula(
    rng: np.random.Generator, number: int, count: int, band_k: float, *, scald_ways: bool
) -> Formula:
    """Return a formula; a fifth have a scald, 35 % a levain that others share."""
    kind = number % len(CLASSES)
    parts: list[Part] = []
    share = (number + 0.5) / count
    if share > 0.65:
        parts.append(_levain(number % max(2, count // 6)))
    if 0.50 < share < 0.70:
        parts.append(_scald(number, scald_ways=scald_ways))
    extra = [Line(material, percent) for material, percent in CLASSES[kind]]
    flour = sum(e.percent for e in extra if "flour" in e.material)
    flour += sum(ln.percent for p in parts for ln in p.lines if "flour" in ln.material)
    water = float(rng.integers(58, 68))
    water -= sum(ln.percent for p in parts for ln in p.lines if ln.material is Material.WATER) / 2
    second = int(rng.integers(2, 7))
    first = int(rng.integers(2, 5)) * 5 - second + int(rng.integers(0, 2)) * 5
    return Formula(
        id=f"f{number}",
        name=f"dough {number}",
        lines=(
            Line(Material.WHEAT_FLOUR, 100 - flour),
            Line(Material.WATER, water),
            Line(Material.SALT, 2.0),
            Line(Material.FRESH_YEAST, 1.5),
            *extra,
        ),
        parts=tuple(parts),
        steps=(MixStep(Speed.FIRST, float(first)), MixStep(Speed.SECOND, float(second))),
        dough_c=25.0,
        band_k=band_k,
        bulk=Ripening(HoursAt(float(rng.uniform(0.75, 2.0)), 25.0), Curve.YEAST, "room"),
        colour_class="dark" if kind >= 3 else "light",
    )


def _levain(number: int) -> Preferment:
    return Preferment(
        id=f"levain{number}",
        name=f"levain {number}",
        lines=(Line(Material.WHEAT_FLOUR, 12.0), Line(Material.WATER, 10.0)),
        ripening=Ripening(
            HoursAt(6.0 + number / 4, 26.0),
            Curve.LEVAIN,
            "room",
            from_progress=0.7,
            by_progress=2.0,
        ),
        temperature_c=26.0,
        seed_percent=15.0,
    )


def _scald(number: int, *, scald_ways: bool) -> Scald:
    return Scald(
        id=f"scald{number}",
        name=f"scald {number}",
        lines=(Line(Material.RYE_FLOUR, 5.0), Line(Material.WATER, 8.0)),
        place_id="cellar",
        vessel_id="pan",
        use_at_most_c=Estimate(40.0),
        keep_at_most_h=12.0,
        other_ways=scald_ways,
    )


def _product(rng: np.random.Generator, formula: Formula, *, two_ovens: bool) -> Product:
    number = int(formula.id[1:])
    warm = rng.random() < 0.4
    return Product(
        id=f"p{number}",
        name=f"bread {number}",
        formula_id=formula.id,
        piece_kg=float(rng.choice([0.4, 0.6, 0.9])),
        routes=(
            Ripening(
                HoursAt(float(rng.uniform(0.6, 1.2)), 27.0),
                Curve.YEAST,
                "proofer" if warm else "room",
            ),
        ),
        bake_min=int(rng.integers(3, 10)) * 5,
        pieces_per_place=int(rng.integers(40, 61)),
        oven_ids=(f"oven{number % 2 if two_ovens else 0}",),
        shape_min_per_piece=Estimate(float(rng.uniform(0.10, 0.22))),
        cool_min=int(rng.integers(6, 13)) * 5,
    )


def _retarded(
    rng: np.random.Generator, number: int, formula: Formula, *, two_ovens: bool
) -> Product:
    """Return what stands in the retarder since the day before: ripe after about 17.5 h at 5 °C."""
    return Product(
        id=f"r{number}",
        name=f"retarded bread {number}",
        formula_id=formula.id,
        piece_kg=0.6,
        routes=(Ripening(HoursAt(1.5, 25.0), Curve.YEAST, "retarder"),),
        bake_min=int(rng.integers(5, 9)) * 5,
        pieces_per_place=40,
        oven_ids=(f"oven{number % 2 if two_ovens else 0}",),
        cool_min=45,
    )


def _kg(rng: np.random.Generator, sizes: tuple[float, ...]) -> float:
    most = float(rng.choice(sizes))
    return round(float(rng.uniform(0.35, 0.95)) * most, 1)


def _mix(
    rng: np.random.Generator, number: int, product: Product, sizes: tuple[float, ...]
) -> MixRequest:
    """Return a mix that leaves at some half hour from 06:00 to 12:00."""
    return MixRequest(
        id=f"x{number}",
        formula_id=product.formula_id,
        dough_kg=_kg(rng, sizes),
        product_id=product.id,
        leave_by=at(30.0 + 0.5 * int(rng.integers(0, 13))),
    )


def _tomorrow(
    rng: np.random.Generator, number: int, formulas: tuple[Formula, ...], sizes: tuple[float, ...]
) -> MixRequest:
    """Return a mix of the morning that is divided for the retarder in an hour and a half."""
    plain = [f for f in formulas if not f.parts]
    first = 31.0 + 0.5 * int(rng.integers(0, 9))
    return MixRequest(
        id=f"t{number}",
        formula_id=plain[int(rng.integers(len(plain)))].id,
        dough_kg=_kg(rng, sizes),
        window=ReadyWindow(at(first), at(first + 1.5)),
    )


def _standing(rng: np.random.Generator, number: int, product: Product) -> Inherited:
    since = float(rng.uniform(8.0, 12.0))
    ripe = since + 17.5
    leaves = max(30.0, round(2 * (ripe + (product.bake_min + 45) / 60 + rng.uniform(1, 3))) / 2)
    return Inherited(
        id=f"s{number}",
        product_id=product.id,
        pieces=40,
        stage=Standing.PROOF,
        place_id="retarder",
        since_utc=at(since),
        dough_c=24.0,
        leave_by=at(leaves),
    )


def _places(product: Product, line: MixRequest) -> int:
    return ceil(int(line.dough_kg / product.piece_kg / 1.01) / product.pieces_per_place)


def _ovens(
    kind: Kind,
    lines: tuple[MixRequest, ...],
    standing: tuple[Inherited, ...],
    products: dict[str, Product],
) -> tuple[tuple[Oven, ...], float]:
    """Return ovens with so many places that they are as full as wanted, and how full they are."""
    recovery = 5
    loads = [
        (products[str(ln.product_id)], _places(products[str(ln.product_id)], ln)) for ln in lines
    ]
    loads += [(products[s.product_id], 1) for s in standing]
    ovens, work_min, room_min = [], 0.0, 0.0
    for oven_id in sorted({o for p, _ in loads for o in p.oven_ids}):
        mine = [(p, n) for p, n in loads if oven_id in p.oven_ids]
        work = sum(n * (p.bake_min + recovery) for p, n in mine)
        places = max(ceil(work / (kind.load * OVEN_HOURS * 60)), *(n for _, n in mine), 1)
        ovens.append(Oven(oven_id, oven_id, OvenKind.DECK, places, recovery))
        work_min, room_min = work_min + work, room_min + places * OVEN_HOURS * 60
    return tuple(ovens), work_min / room_min


def _proofer(
    kind: Kind, lines: tuple[MixRequest, ...], products: dict[str, Product]
) -> tuple[int, float]:
    loads = [
        (products[str(ln.product_id)], _places(products[str(ln.product_id)], ln)) for ln in lines
    ]
    mine = [(p, n) for p, n in loads if p.routes[0].place_id == "proofer"]
    hours = sum(n * p.routes[0].reference.hours for p, n in mine)  # type: ignore[union-attr]
    racks = max(ceil(hours / (kind.load * PROOF_HOURS)), *(n for _, n in mine), 1)
    return racks, hours / (racks * PROOF_HOURS)


def _shifts(
    kind: Kind,
    lines: tuple[MixRequest, ...],
    tomorrow: int,
    standing: tuple[Inherited, ...],
    formulas: tuple[Formula, ...],
) -> tuple[tuple[Shift, ...], float]:
    """Return night and morning shifts with as many hours as wanted, and an evening hand."""
    each = HANDS_MIN["scale"] + HANDS_MIN["load"] + 17
    work = len(lines) * each + tomorrow * (HANDS_MIN["scale"] + HANDS_MIN["tomorrow"])
    work += len(standing) * HANDS_MIN["load"] + 10 * (2 + len([f for f in formulas if f.parts]))
    hands = max(2, ceil(work / kind.load / 480))
    shifts = [Shift("evening", at(EVENING[0]), at(EVENING[1]))]
    for number in range(hands):
        name, hours = ("night", NIGHT) if number % 2 == 0 else ("morning", MORNING)
        shifts.append(Shift(f"{name}{number // 2}", at(hours[0]), at(hours[1])))
    there = sum((s.end_utc - s.start_utc).total_seconds() for s in shifts[1:]) / 60
    return tuple(shifts), work / there


def all_kinds(
    sizes: tuple[int, ...] = SIZES,
    loads: tuple[float, ...] = LOADS,
    weathers: tuple[str, ...] = tuple(WARMER_K),
    seeds: tuple[int, ...] = SEEDS,
) -> list[Kind]:
    """Return all days, or some of them."""
    return [Kind(n, ld, w, s) for n in sizes for ld in loads for w in weathers for s in seeds]


def without_ice(one: RandomDay) -> RandomDay:
    """Return the same day without an ice machine, for what must be named."""
    day = replace(one.day, bakery=replace(one.day.bakery, ice=None))
    return replace(one, day=day, conditions=replace(one.conditions, ice_stored_kg=0.0))
