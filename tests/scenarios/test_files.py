"""The demo days load without a fault, and each holds what its first comment promises."""

from __future__ import annotations

from itertools import groupby
from pathlib import Path

import pytest

from api.files.toml_day import load, loaded, parsed, read_day
from planner.bakery import OvenKind
from planner.batches import batches_of
from planner.bowl_remarks import mixer_remarks
from planner.day import BulkWindow, Order, ReadyWindow
from planner.errors import InputError
from planner.formula import (
    Preferment,
    Scald,
)
from planner.materials import Material
from planner.mixers import MixerKind
from planner.ripening import (
    Curve,
)
from planner.water_sources import SupplyKind

FOLDER = Path(__file__).parents[2] / "scenarios"
FILES = sorted(FOLDER.glob("*.toml"))


def text(name: str) -> str:
    return (FOLDER / f"{name}.toml").read_text(encoding="utf-8")


@pytest.fixture(params=FILES, ids=lambda path: path.stem)
def day(request):
    return load(request.param.read_text(encoding="utf-8"))


def test_the_seven_demo_days_are_there():
    assert [path.stem for path in FILES] == [
        "hot_rye",
        "july_night",
        "least_entry",
        "ready_mixes",
        "shared_doughs",
        "small_kitchen",
        "winter_rye",
    ]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_every_day_begins_with_what_it_shows(path):
    first = path.read_text(encoding="utf-8").split("\n\n")[0].splitlines()
    assert all(line.startswith("# ") for line in first)
    assert len(" ".join(first)) > 80


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_every_day_survives_the_way_through_json(path):
    day = read_day(path.read_text(encoding="utf-8"))
    again = type(day).model_validate_json(day.model_dump_json())
    assert again.to_core() == day.to_core()


def test_every_mix_fits_a_mixer_and_its_oven_at_once(day):
    """One load for each product of a mix."""
    for batch in batches_of(day.day):
        said = {r.code for mixer in batch.mixers for r in mixer_remarks(batch, mixer)}
        assert not said & {"too_much_dough", "too_little_dough", "no_such_speed", "hand_mix"}
        assert len(batch.loads) == len(batch.products)
        assert batch.batches == 1 or batch.alternative > 0


def test_every_oven_has_time_for_all_that_it_must_bake(day):
    """Place-minutes asked for, recovery included, against those until the last loaf is out."""
    for oven in day.day.bakery.ovens:
        asked, last, first = 0, 0.0, float("inf")
        for batch in batches_of(day.day):
            if batch.product is None or oven.id not in batch.product.oven_ids:
                continue
            places = -(-batch.pieces // batch.product.pieces_per_place)
            asked += places * (batch.product.bake_min + oven.recovery_min)
            out = day.day.minute(batch.leave_by) - batch.product.cool_min
            last, first = max(last, out), min(first, out - batch.product.bake_min)
        # Two hours of the first loads may lie before the latest time of the very first.
        assert asked <= oven.places * max(0.0, last - first + 120)


def test_hands_are_there_for_all_hands_on_work(day):
    """Scaling 10, loading 5, dividing by the piece, mixing by hand; at most 3/4 of the hours."""
    hours = sum((s.end_utc - s.start_utc).total_seconds() / 60 for s in day.day.shifts)
    work = 0.0
    for batch in batches_of(day.day):
        work += 15 + sum(part.work_min for part in batch.formula.parts)
        work += batch.pieces * batch.product.shape_min_per_piece.value if batch.product else 0
        work += batch.formula.mix_min if batch.mixers[0].kind is MixerKind.HAND else 0
    assert work <= 0.75 * hours


def test_mixers_have_time_for_all_mixes(day):
    """Mixing and 10 minutes of cleaning each, in the twelve hours before the last one leaves."""
    minutes = sum(batch.formula.mix_min + 10 for batch in batches_of(day.day))
    assert minutes <= 0.75 * 12 * 60 * len(day.day.bakery.mixers)


def test_july_night_is_large_and_short_of_cold():
    day, conditions, _ = load(text("july_night"))
    bakery, batches = day.bakery, batches_of(day)
    assert len(batches) == 16
    assert len({batch.formula.id for batch in batches}) == 8
    assert [mixer.max_dough_kg for mixer in bakery.mixers] == [120, 60]
    assert [oven.kind for oven in bakery.ovens] == [OvenKind.DECK, OvenKind.RACK]
    assert len({shift.person_id for shift in day.shifts}) == 6
    leave = [order.leave_by for order in day.lines]
    zone_h = 2  # Vienna in July
    assert (min(leave).hour + zone_h, min(leave).minute) == (5, 30)
    assert (max(leave).hour + zone_h, max(leave).minute) == (11, 0)
    room = conditions.rooms["bakehouse"].temperature_c
    assert min(room) == pytest.approx(21, abs=0.5)
    assert max(room) == pytest.approx(31, abs=0.5)
    water_kg = sum(
        batch.kg(line.percent)
        for batch in batches
        for line in batch.formula.lines
        if line.material is Material.WATER
    )
    chiller = bakery.supply(SupplyKind.CHILLER)
    chilled_kg = chiller.tank_kg + 8 * chiller.recovery_kg_per_h  # a night of eight hours
    ice_kg = conditions.ice_stored_kg + 8 * bakery.ice.make_kg_per_h
    assert chilled_kg + ice_kg < 0.8 * water_kg


def test_july_night_holds_the_awkward_doughs():
    formulas = {f.id: f for f in load(text("july_night")).day.formulas}
    brioche = formulas["brioche_dough"]
    assert not any(line.material is Material.WATER for line in brioche.all_lines)
    assert formulas["country_levain_dough"].hydration == pytest.approx(0.80)
    assert formulas["stiff_dough"].hydration < 0.55
    rye = formulas["rye_dough"]
    assert {type(part) for part in rye.parts} == {Preferment, Scald}
    assert rye.bulk.curve is Curve.ACID


def test_winter_rye_is_cold_and_all_rye():
    day, conditions, _ = load(text("winter_rye"))
    room = conditions.rooms["bakehouse"].temperature_c
    assert 13.5 <= min(room) <= max(room) <= 19.5
    for formula in day.formulas:
        assert any(line.material is Material.RYE_FLOUR for line in formula.all_lines)
        assert any(isinstance(part, Preferment) for part in formula.parts)
    assert len(day.lines) == 6
    assert day.bakery.supply(SupplyKind.HOT) is not None


def test_ready_mixes_have_windows_of_both_kinds():
    lines = load(text("ready_mixes")).day.lines
    assert not any(isinstance(line, Order) for line in lines)
    windows = [type(line.window) for line in lines]
    counts = (windows.count(BulkWindow), windows.count(ReadyWindow), windows.count(type(None)))
    assert counts == (3, 2, 1)


def test_nobody_works_in_the_small_kitchen_at_night():
    day, _, _ = load(text("small_kitchen"))
    assert [mixer.kind for mixer in day.bakery.mixers] == [MixerKind.HAND]
    assert [oven.kind for oven in day.bakery.ovens] == [OvenKind.HOME]
    (formula,) = day.formulas
    assert formula.bulk.folds_min
    assert any(isinstance(part, Scald) for part in formula.parts)
    evening, morning = sorted(day.shifts, key=lambda shift: shift.start_utc)
    # 22:00 and 05:00 in Vienna in summer.
    assert (evening.end_utc.hour, morning.start_utc.hour) == (20, 3)
    assert sum(batch.dough_kg for batch in batches_of(day)) < 4


REQUIRED = [
    "production_date", "mix_list", "conditions", "bakery", "formulas",
    "bakery.name", "bakery.zone", "bakery.mixers", "bakery.water", "bakery.flour_stores",
    "bakery.mixers.0.name", "bakery.mixers.0.kind", "bakery.mixers.0.max_dough_kg",
    "bakery.water.0.kind", "bakery.water.0.temperature_c",
    "bakery.ice.kind", "bakery.ice.bin_kg",
    "bakery.flour_stores.0.name", "bakery.flour_stores.0.kind",
    "conditions.coolest_c", "conditions.hottest_c",
    "formulas.0.name", "formulas.0.dough_c", "formulas.0.bulk", "formulas.0.bulk.minutes",
    "formulas.0.steps", "formulas.0.lines",
    "products.0.name", "products.0.piece_kg", "products.0.proof", "products.0.proof.minutes",
    "products.0.bake_min", "products.0.pieces_per_place",
]  # fmt: skip


def _leaves(data, at=()):
    """Return the path of every key of a day's plain data, lines and steps taken as a whole."""
    if isinstance(data, dict):
        for key, value in data.items():
            yield ".".join((*at, key))
            if key not in {"lines", "steps", "mix_list", "shifts"}:
                yield from _leaves(value, (*at, key))
    elif isinstance(data, list):
        for i, value in enumerate(data):
            yield from _leaves(value, (*at, str(i)))


def test_least_entry_holds_nothing_that_could_be_left_out():
    optional = set(_leaves(parsed(text("least_entry")))) - set(REQUIRED)
    # Without ice, products or shifts a day is still a day, but another one.
    assert optional == {"bakery.ice", "products", "shifts"}


@pytest.mark.parametrize("key", REQUIRED)
def test_least_entry_needs_each_of_its_fields(key):
    data = parsed(text("least_entry"))
    *above, last = key.split(".")
    entry = data
    for step in above:
        entry = entry[int(step)] if isinstance(entry, list) else entry[step]
    del entry[last]
    with pytest.raises(InputError) as caught:
        loaded(data)
    (fault,) = caught.value.faults
    assert fault.field.split(".")[-1] == last
    assert "is missing" in fault.problem
    assert fault.remedy.startswith("enter ")


def test_nothing_but_the_baker_s_numbers_is_unmarked_in_least_entry():
    day, _, _ = load(text("least_entry"))
    mixer, product = day.bakery.mixers[0], day.products[0]
    marked = [
        mixer.min_dough_kg, mixer.bowl_kg, mixer.loss_w_per_k, *mixer.work_kj_per_kg_min.values(),
        day.bakery.ice.temperature_c, day.bakery.ice.true_ice_fraction, day.bakery.cold_store_c,
        day.bakery.flour_stores[0].moisture_fraction, day.formulas[0].bulk.exponent,
        product.shape_min_per_piece, product.bake_loss_fraction, product.handling_loss_fraction,
    ]  # fmt: skip
    assert all(one.is_assumed for one in marked)


def test_days_share_one_invented_house():
    names = [read_day(path.read_text(encoding="utf-8")).bakery.name for path in FILES]
    counts = {name: len(list(group)) for name, group in groupby(sorted(names))}
    assert counts == {"Bakehouse at the Ford": 6, "Tilda's kitchen": 1}
