"""What is wrong with a day file is told in one clear sentence each, and all at once."""

from __future__ import annotations

import re

import pytest

from api.files.toml_day import load, read_day
from planner.day import MixRequest, Order
from planner.errors import Fault, InputError

DAY = """
production_date = 2026-05-12
mix_list = [
  { product = "loaf", pieces = 48, leave_by = "06:30" },
  { formula = "wheat", dough_kg = 20, bulk_from_min = 60, bulk_by_min = 90 },
]
shifts = [{ person = "Mira", from = "22:00", to = "06:00" }]
conditions = { coolest_c = 20, hottest_c = 24 }

[bakery]
name = "Bakehouse"
zone = "Europe/Vienna"
mixers = [{ name = "spiral", kind = "spiral", max_dough_kg = 60 }]
water = [{ kind = "tap", temperature_c = 14 }]
flour_stores = [{ name = "sacks", kind = "sack" }]
ovens = [{ name = "deck", places = 2 }]

[[formulas]]
name = "wheat"
dough_c = 25
bulk = { minutes = 75 }
steps = [{ speed = "first speed", minutes = 4 }]
lines = [
  { material = "wheat flour", percent = 100 },
  { material = "water", percent = 62 },
  { material = "salt", percent = 2 },
]

[[formulas]]
name = "rye"
dough_c = 28
bulk = { minutes = 40, room_c = 24 }
steps = [{ speed = "first speed", minutes = 8 }]
lines = [
  { material = "rye flour", percent = 80 },
  { material = "water", percent = 50 },
]
  [[formulas.parts]]
  kind = "scald"
  name = "hot soak"
  lines = [
    { material = "rye flour", percent = 20 },
    { material = "water", percent = 40 },
  ]

[[products]]
name = "loaf"
formula = "wheat"
piece_kg = 0.6
proof = { minutes = 55 }
bake_min = 32
pieces_per_place = 24
"""

BAD = [
    # what is changed, into what, the field, what is wrong, what to do
    (
        "max_dough_kg = 60",
        "max_dough_stone = 60",
        "bakery.mixers.spiral.max_dough_stone",
        "a unit that is not known",
        "write max_dough_kg or",
    ),
    (
        "max_dough_kg = 60",
        "max_dough = 60",
        "bakery.mixers.spiral.max_dough",
        "has no unit",
        "write max_dough_kg or",
    ),
    (
        "max_dough_kg = 60",
        "max_dough_kg = -60",
        "bakery.mixers.spiral.max_dough_kg",
        "above zero",
        "positive number of kg",
    ),
    (
        "max_dough_kg = 60",
        "max_dough_kg = 60, max_dough_lb = 132",
        "bakery.mixers.spiral.max_dough_lb",
        "says the same as max_dough_kg",
        "only one",
    ),
    (
        'kind = "spiral"',
        'kind = "blender"',
        "bakery.mixers.spiral.kind",
        "not one of the words",
        "use one of: hand and bowl, fork",
    ),
    (
        "max_dough_kg = 60",
        'max_dough_kg = 60, room = "attic"',
        "bakery.mixers.spiral.room",
        "no such room",
        "use one of: bakehouse",
    ),
    ('"Europe/Vienna"', '"Europe/Wien"', "bakery.zone", "not a time zone", "IANA name"),
    (
        "temperature_c = 14",
        "temperature_c = 140",
        "bakery.water.tap.temperature_c",
        "out of range",
        "such as 14 if that was meant",
    ),
    (
        "temperature_c = 14",
        "temperature_c = 14, temperature_f = 57",
        "bakery.water.tap.temperature_f",
        "says the same as temperature_c",
        "only one",
    ),
    (
        "places = 2",
        "places = 2.5",
        "bakery.ovens.deck.places",
        "not a whole number",
        "enter decks or racks",
    ),
    (
        "dough_c = 25",
        "dough_c = 245",
        "formulas.wheat.dough_c",
        "out of range",
        "such as 24.5 if that was meant",
    ),
    ("dough_c = 25", "dough_c = nan", "formulas.wheat.dough_c", "not a finite number", "enter"),
    (
        "dough_c = 25",
        'dough_c = "1.234,5"',
        "formulas.wheat.dough_c",
        "two different numbers",
        "without a sign for thousands",
    ),
    ("dough_c = 25", 'dough_c = "warm"', "formulas.wheat.dough_c", "not a number", "enter"),
    ("dough_c = 25", "dough_c = true", "formulas.wheat.dough_c", "not a number", "enter"),
    (
        "dough_c = 25\n",
        "",
        "formulas.wheat.dough_c",
        "is missing",
        "enter the dough temperature used today",
    ),
    (
        "dough_c = 25",
        "dough_c = 25\ncrust = 3",
        "formulas.wheat.crust",
        "not a field",
        "leave it out",
    ),
    (
        "dough_c = 25",
        "dough_c = 25\nband_c = 1",
        "formulas.wheat.band_c",
        "a unit that is not known",
        "write band_k",
    ),
    (
        "percent = 80",
        "percent = 85",
        "formulas.rye.lines",
        "does not add up to 100 %",
        "sum to 100",
    ),
    (
        "percent = 62",
        "percent = -62",
        "formulas.wheat.lines[1].percent",
        "out of range",
        "enter 0 to 1000 %",
    ),
    (
        '"wheat flour", percent = 100',
        '"salt", percent = 1',
        "formulas.wheat.lines",
        "there is no flour",
        "flour lines that sum to 100",
    ),
    (
        '"wheat flour", percent = 100',
        '"plaster", percent = 100',
        "formulas.wheat.lines[0].material",
        "not one of the words",
        "wheat flour",
    ),
    (
        '{ speed = "first speed", minutes = 4 }',
        "",
        "formulas.wheat.steps",
        "no mixing step",
        "a speed and its minutes",
    ),
    (
        "minutes = 75",
        "minutes = 75, hours = 2, dough_c = 25",
        "formulas.wheat.bulk.hours",
        "says the same as minutes",
        "only one",
    ),
    (
        "{ minutes = 75 }",
        "{ hours = 2 }",
        "formulas.wheat.bulk.dough_c",
        "is missing",
        "dough temperature the hours hold for",
    ),
    (
        "minutes = 75",
        'minutes = 75, place = "loft"',
        "formulas.wheat.bulk.place",
        "no such room or chamber",
        "use one of: bakehouse",
    ),
    (
        "minutes = 75",
        "minutes = 75, from_progress = 1.3",
        "formulas.wheat.bulk.by_progress",
        "ends before it starts",
        "larger share",
    ),
    (
        'kind = "scald"',
        'kind = "scold"',
        "formulas.rye.parts.hot_soak.kind",
        "not one of the words",
        "preferment, scald, soaker",
    ),
    (
        'kind = "scald"',
        'kind = "scald"\n  vessel = "bath tub"',
        "formulas.rye.parts.hot_soak.vessel",
        "no such vessel",
        "use one of: none",
    ),
    ('name = "rye"', 'name = "wheat"', "formulas[1].id", "id of two entries", "its own id"),
    (
        'formula = "wheat"\n',
        'formula = "what"\n',
        "products.loaf.formula",
        "no such formula",
        "use one of: rye, wheat",
    ),
    ('formula = "wheat"\n', "", "products.loaf.formula", "not just one", "use one of: wheat, rye"),
    ("piece_kg = 0.6", "piece_kg = 0", "products.loaf.piece_kg", "out of range", "0.005 to 50 kg"),
    (
        "bake_min = 32",
        'bake_min = 32\novens = ["range"]',
        "products.loaf.ovens",
        "no such oven",
        "use one of: deck",
    ),
    (
        'product = "loaf"',
        'product = "bun"',
        "mix_list.bun.product",
        "no such product",
        "use one of: loaf",
    ),
    ("pieces = 48", "pieces = 0", "mix_list.loaf.pieces", "out of range", "1 to 1000000"),
    (
        'leave_by = "06:30"',
        'leave_by = "2026-05-11 06:30"',
        "mix_list.loaf.leave_by",
        "outside the time that can be planned",
        "between 2026-05-11 12:00 and 2026-05-13 00:00",
    ),
    (
        'leave_by = "06:30"',
        'leave_by = "26:30"',
        "mix_list[0].leave_by",
        "not a time",
        "write it as 22:00",
    ),
    (
        "bulk_by_min = 90",
        "bulk_by_min = 50",
        "mix_list.wheat.bulk_by_min",
        "ends before it starts at 60",
        "later end",
    ),
    (", bulk_by_min = 90", "", "mix_list[1].bulk_by_min", "one end", "both ends"),
    (
        "bulk_from_min = 60, bulk_by_min = 90",
        'ready_from = "03:00", ready_by = "02:00"',
        "mix_list.wheat.ready_by",
        "ends before it starts at 2026-05-12 03:00",
        "later end",
    ),
    (
        'to = "06:00"',
        'to = "2026-05-11 06:00"',
        "shifts[0].to",
        "ends before it starts",
        "later end",
    ),
    (
        'shifts = [{ person = "Mira", from = "22:00", to = "06:00" }]',
        "",
        "shifts",
        "nobody works",
        "who works from when to when",
    ),
    (
        "coolest_c = 20",
        "coolest_c = 30",
        "conditions.rooms.bakehouse.hottest_c",
        "below the coolest",
        "swap",
    ),
    ("coolest_c = 20, ", "", "conditions.coolest_c", "is missing", "coolest and the hottest"),
    (
        "coolest_c = 20, hottest_c = 24",
        "",
        "conditions.rooms.bakehouse",
        "no forecast",
        "coolest_c and hottest_c",
    ),
    (
        "hottest_c = 24",
        "hottest_c = 24, water_c = { well = 9 }",
        "conditions.water_c.well",
        "not known in this bakery",
        "use one of: tap",
    ),
    (
        "hottest_c = 24",
        "hottest_c = 24, ice_stored_kg = -1",
        "conditions.ice_stored_kg",
        "out of range",
        "0 to",
    ),
    ("2026-05-12", '"soon"', "production_date", "not a date", "year-month-day"),
    (
        'name = "rye"',
        'name = "rye"\nid = "R/1"',
        "formulas.R/1.id",
        "holds a blank, dot, slash",
        "letters, digits",
    ),
]


def faults_after(old: str, new: str) -> tuple[Fault, ...]:
    assert old in DAY
    with pytest.raises(InputError) as caught:
        load(DAY.replace(old, new, 1))
    return caught.value.faults


@pytest.mark.parametrize(
    ("old", "new", "field", "problem", "remedy"), BAD, ids=[f"{one[2]}: {one[3]}" for one in BAD]
)
def test_each_bad_entry_gives_one_sentence(old, new, field, problem, remedy):
    faults = faults_after(old, new)
    assert [fault.field for fault in faults] == [field]
    assert problem in faults[0].problem
    assert remedy in faults[0].remedy
    assert faults[0].value


@pytest.mark.parametrize("bad", BAD, ids=[f"{one[2]}: {one[3]}" for one in BAD])
def test_no_sentence_speaks_the_library_s_language(bad):
    sentence = str(faults_after(bad[0], bad[1])[0])
    jargon = r"pydantic|valid(ator|ation)?\b|input should|model|dict|str\b|float|tag|discriminator"
    assert not re.search(jargon, sentence, re.IGNORECASE)


def test_the_unchanged_day_is_read():
    day, conditions, pins = load(DAY)
    assert [type(line) for line in day.lines] == [Order, MixRequest]
    assert set(conditions.rooms) == {"bakehouse"}
    assert pins == ()


def test_unreadable_and_impossible_entries_are_told_in_the_same_breath():
    text = DAY.replace("piece_kg = 0.6", "weight = 1").replace("percent = 80", "percent = 85")
    text = text.replace("max_dough_kg = 60", "max_dough_kg = -60")
    with pytest.raises(InputError) as caught:
        load(text)
    assert {fault.field for fault in caught.value.faults} == {
        "products.loaf.piece_kg",
        "products.loaf.weight",
        "bakery.mixers.spiral.max_dough_kg",
        "formulas.rye.lines",
    }


def test_every_wrong_line_of_a_dough_is_told():
    text = DAY.replace("percent = 62", "percent = -1").replace("percent = 2 ", "percent = -2 ")
    with pytest.raises(InputError) as caught:
        load(text)
    fields = [fault.field for fault in caught.value.faults]
    assert fields == ["formulas.wheat.lines[1].percent", "formulas.wheat.lines[2].percent"]


def test_a_slip_in_toml_names_line_and_column():
    with pytest.raises(InputError) as caught:
        load('name = "x"\n[bakery\n')
    (fault,) = caught.value.faults
    assert fault.field == "line 2, column 8"
    assert fault.value == "'[bakery'"
    assert "missing quote, bracket" in fault.remedy


def test_decimal_comma_is_read_as_a_comma():
    assert (
        load(DAY.replace("dough_c = 25", 'dough_c = "24,5"')).day.formula("wheat").dough_c == 24.5
    )


def test_times_may_be_written_as_times_of_the_file_format():
    text = DAY.replace('"06:30"', "06:30:00").replace('"22:00"', "2026-05-11T22:00:00")
    assert load(text) == load(DAY)


def test_forecast_with_a_hole_names_the_hour_before_it():
    hours = ", ".join(f'{{ at = "{h}:00", temperature_c = 22 }}' for h in (13, 14, 16))
    text = DAY.replace(
        "conditions = { coolest_c = 20, hottest_c = 24 }",
        f"conditions.rooms.bakehouse.hourly = [{hours}]",
    )
    with pytest.raises(InputError) as caught:
        load(text)
    (fault,) = caught.value.faults
    assert fault.field == "conditions.rooms.bakehouse.hourly"
    assert "hole" in fault.problem
    assert "2026-05-11 14:00" in fault.problem


def test_fahrenheit_and_pounds_give_the_same_day():
    """77 °F is 25 °C; 132.2773573 lb is 60 kg (factor 0.45359237 kg/lb, NIST SP 811)."""
    other = DAY.replace("dough_c = 25", "dough_f = 77").replace(
        "max_dough_kg = 60", "max_dough_lb = 132.2773573"
    )
    there, here = load(other).day, load(DAY).day
    assert there.formula("wheat") == here.formula("wheat")
    assert there.bakery.mixers[0].max_dough_kg == pytest.approx(60, abs=1e-6)


def test_a_batch_larger_than_every_mixer_is_no_fault():
    assert load(DAY.replace("pieces = 48", "pieces = 4800")).day.lines[0].pieces == 4800


def test_json_of_a_day_is_read_back_to_the_same_day():
    day = read_day(DAY)
    again = type(day).model_validate_json(day.model_dump_json())
    assert again == day
    assert again.to_core() == day.to_core()
