"""The drawing of the day: places, widths, windows, nothing over anything, what is read aloud."""

import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import timedelta
from itertools import combinations, pairwise
from zoneinfo import ZoneInfo

import pytest

from api.pages.day_blocks import Block, BlockForm, Column, columns_of
from api.pages.day_drawing import _label, day_drawings, drawing_file
from api.pages.day_layout import (
    BOTTOM,
    COLUMN_GAP,
    FIRST_COLUMN_X,
    HEIGHT,
    TOP,
    WIDTH,
    Box,
    Frame,
    Sheet,
    Spot,
    packed,
    sheets_of,
)
from api.pages.letters import width_of
from api.pages.reader import reader_of
from api.pages.wording import Units
from api.pages.words import LANGUAGES, Words
from planner.bakery import Tub
from planner.planned import Plan, TubsTaken
from tests.api.pages.papers import reader_for
from tests.api.pages.sample import sample_plan
from tests.api.pages.sample_house import at
from tests.scenarios.conftest import NAMES, planned

SVG = "{http://www.w3.org/2000/svg}"
HOURS = Frame(at("0:00"), at("8:00"))


def block(start: str, end: str, kg: float, mark: str = "1", **changes) -> Block:
    made = Block("room", BlockForm.WAIT, at(start), at(end), kg, mark, "rye")
    return replace(made, **changes)


def parsed(drawing: str) -> ET.Element:
    return ET.fromstring(drawing.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1))  # noqa: S314  (our own text)


@pytest.fixture(scope="module")
def drawing() -> ET.Element:
    drawings = day_drawings(sample_plan(), reader_for(sample_plan()))
    assert len(drawings) == 1
    return parsed(drawings[0])


def sheets(plan: Plan) -> tuple[Sheet, ...]:
    return sheets_of(columns_of(plan), (plan.day.start_utc, plan.day.end_utc))


def test_title_and_description_come_first_and_are_named(drawing):
    assert [child.tag for child in drawing][:2] == [f"{SVG}title", f"{SVG}desc"]
    assert drawing.get("aria-labelledby") == "day-title day-desc"
    assert "White tin dough, from 23:40" in (drawing.find(f"{SVG}desc").text or "")


def test_places_stand_in_the_order_of_the_flow():
    names = [column.name for column in columns_of(sample_plan())]
    assert names == ["spiral 120", "twin arm 60", "bakehouse", "bench", "deck oven", "rack oven"]


def counted() -> Plan:
    """The sample's first dough in 2 of 3 tubs of 40 kg and 1 of 20; bench and heat counted too."""
    plan = sample_plan()
    first = replace(plan.mixes[0], tubs=(TubsTaken("large", 2), TubsTaken("small", 1)), moves=())
    tubs = (Tub("large", "large tub", 40.0, 3), Tub("small", "small tub", 20.0, 2))
    products = tuple(replace(one, bake_c=230.0) for one in plan.day.products)
    bakery = replace(plan.day.bakery, tubs=tubs, bench_places=2)
    day = replace(plan.day, bakery=bakery, products=products)
    return replace(plan, day=day, mixes=(first, *plan.mixes[1:]))


def test_a_bulk_stands_in_its_tubs_where_they_are_counted():
    """Two tubs of 40 kg and one of 20 share the dough as 4 to 1."""
    columns = {column.name: column for column in columns_of(counted())}
    (large,), (small,) = columns["large tub"].blocks, columns["small tub"].blocks
    kg = counted().mixes[0].dough_kg
    assert (large.mass_kg, small.mass_kg) == pytest.approx((0.8 * kg, 0.2 * kg))
    assert (large.note, small.note) == ("×2", "")
    room = columns["bakehouse"].blocks
    assert not [b for b in room if b.mark == large.mark and b.start_utc == large.start_utc]


def test_a_counted_place_says_what_it_holds():
    holds = {column.name: column.holds for column in columns_of(counted(), Words("es"))}
    assert (holds["large tub"], holds["mesa"]) == ("× 3", "2 puestos")
    plain = {column.name: column.holds for column in columns_of(sample_plan())}
    assert (plain["bench"], plain["bakehouse"], plain["deck oven"]) == ("", "", "4 decks")


@pytest.mark.parametrize(("units", "heat"), [(Units.METRIC, "230°"), (Units.US, "446°")])
def test_an_oven_says_its_heat_where_a_product_asks_for_one(units, heat):
    """446 = 230 · 9/5 + 32."""
    baked = [
        block.note
        for column in columns_of(counted(), units=units)
        for block in column.blocks
        if block.form is BlockForm.BAKE
    ]
    assert set(baked) == {heat}


def test_a_note_has_its_own_line_or_runs_down_a_narrow_block():
    """Of blocks of 80 and 24 by 100, and of one of 80 by 25, too low for a second line of 20."""
    drawn = [
        _label(spot)
        for spot in packed(
            [
                block("1:00", "2:00", 40, form=BlockForm.BAKE, note="230°", name="x"),
                block("3:00", "4:00", 12, form=BlockForm.BAKE, note="230°", name="longer"),
                block("5:00", "5:15", 40, form=BlockForm.BAKE, note="230°", name="x"),
            ],
            0.0,
            HOURS,
            2.0,
        )
    ]
    assert [sum("230°" in line for line in lines) for lines in drawn] == [1, 1, 0]
    assert ["rotate" in "".join(lines) for lines in drawn] == [False, True, False]


def test_what_stands_together_stands_side_by_side():
    """10 and 20 kg overlap from 1:00; the third, after the first, finds the left edge free."""
    blocks = [
        block("0:00", "2:00", 10), block("1:00", "4:00", 20), block("2:30", "3:00", 8),
    ]  # fmt: skip
    first, second, third = packed(blocks, 100.0, HOURS, 4.0)
    assert first.box.x == third.box.x == 100.0
    assert second.box.x >= first.box.x + first.box.width
    assert (first.box.width, second.box.width, third.box.width) == (40, 80, 32)


def test_a_number_that_has_no_room_stands_beside_its_block_and_over_no_other():
    """Five minutes of 8 h are 8 of 800: no letter of 17 fits."""
    low = [block(f"1:{m:02d}", f"1:{m + 5:02d}", 30, str(m), form=BlockForm.WORK) for m in (0, 5)]
    spots = packed(low, 0.0, HOURS, 4.0)
    assert [spot.is_inside for spot in spots] == [False, False]
    assert nothing_meets(spots)


def test_a_window_is_marked_at_the_edge_of_its_block():
    """From 2:00 to 2:45 of a block that ends at 2:30; 100 of the drawing are an hour."""
    one = block("1:00", "2:30", 30, window=(at("2:00"), at("2:45")))
    (spot,) = packed([one], 0.0, HOURS, 4.0)
    assert spot.bracket is not None
    assert (spot.bracket.y, spot.bracket.height) == pytest.approx((TOP + 200, 75))
    assert spot.bracket.x + spot.bracket.width == spot.box.x + spot.box.width
    assert not spot.is_open


def test_a_window_that_stays_open_has_no_lower_end():
    one = block("1:00", "2:30", 30, window=(at("2:00"), at("5:00")))
    (spot,) = packed([one], 0.0, HOURS, 4.0)
    assert spot.is_open


def nothing_meets(spots: tuple[Spot, ...]) -> bool:
    """Whether no block, number or bracket of a place lies over another block's."""
    return not any(
        a.meets(b)
        for one, other in combinations(spots, 2)
        for a in one.footprint
        for b in other.footprint
    )


def test_two_that_meet_are_seen():
    """So that a measure that sees nothing cannot pass."""
    (spot,) = packed([block("1:00", "2:00", 30)], 0.0, HOURS, 4.0)
    assert not nothing_meets((spot, spot))


@pytest.mark.parametrize("name", NAMES)
def test_no_block_or_letter_of_a_place_covers_another(name):
    for sheet in sheets(planned(name)):
        for strip in sheet.strips:
            assert nothing_meets(strip.spots), strip.column.name


@pytest.mark.parametrize("name", NAMES)
def test_everything_lies_inside_its_column_and_on_the_sheet(name):
    for sheet in sheets(planned(name)):
        assert sheet.width == WIDTH
        ends = [strip.x - COLUMN_GAP for strip in sheet.strips[1:]] + [WIDTH]
        for strip, end in zip(sheet.strips, ends, strict=True):
            for area in (area for spot in strip.spots for area in spot.footprint):
                assert strip.x - 1e-6 <= area.x
                assert area.x + area.width <= end + 1e-6
                assert area.y >= TOP - 6
                assert area.y + area.height <= BOTTOM + 6


@pytest.mark.parametrize("name", NAMES)
def test_every_stay_of_the_plan_is_drawn(name):
    """Each mix in its mixer, bulk, bench, proof and oven, on one sheet or more."""
    plan = planned(name)
    drawn = {
        (spot.block.mark, spot.block.column, spot.block.form)
        for sheet in sheets(plan)
        for strip in sheet.strips
        for spot in strip.spots
    }
    wanted = {(b.mark, b.column, b.form) for c in columns_of(plan) for b in c.blocks}
    assert drawn == wanted


@pytest.mark.parametrize("name", NAMES)
def test_widths_are_kilograms_on_all_sheets_alike(name):
    """But for what would be too narrow to be seen, or to carry its name."""
    per_kg = [
        spot.box.width / spot.block.mass_kg
        for sheet in sheets(planned(name))
        for strip in sheet.strips
        for spot in strip.spots
        if spot.box.width > 4.0 and spot.block.form is not BlockForm.PREPARE
    ]
    assert per_kg
    assert max(per_kg) == pytest.approx(min(per_kg), rel=0.01)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("language", LANGUAGES)
def test_no_letter_leaves_the_sheet(name, language):
    """By the widths of the face that is shipped; turned names run down."""
    plan = planned(name)
    reader = reader_of(plan, ZoneInfo(plan.day.bakery.zone), Units.METRIC, Words(language))
    for text in day_drawings(plan, reader):
        for one in parsed(text).iter(f"{SVG}text"):
            x, y, long = float(one.get("x")), float(one.get("y")), width_of(one.text or "")
            if one.get("transform"):
                assert y + long <= BOTTOM + 6, one.text
            else:
                assert x + long <= WIDTH + 4, one.text
            assert x >= 0
            assert 14 <= y <= HEIGHT


def test_a_crowded_night_goes_on_overleaf_and_says_so():
    """Sixteen mixes with their levains and scalds do not fit on one sheet in letters of 3.3 mm."""
    plan = planned("july_night")
    reader = reader_of(plan, ZoneInfo(plan.day.bakery.zone))
    first, *rest = day_drawings(plan, reader)
    assert rest
    assert "goes on overleaf" in first
    assert "goes on overleaf" not in rest[-1]
    frames = [sheet.frame for sheet in sheets(plan)]
    assert all(a.end_utc == b.start_utc for a, b in pairwise(frames))
    assert 'aria-labelledby="day-title-2 day-desc-2"' in rest[0]


def test_a_plant_that_fits_on_no_sheet_is_drawn_wider_and_not_over_itself():
    """A hundred tubs at once in one room."""
    column = Column("r", "hall", tuple(block("1:00", "3:00", 60, str(n)) for n in range(100)))
    made = sheets_of([column], (at("0:00"), at("8:00")))
    assert max(sheet.width for sheet in made) > WIDTH
    for sheet in made:
        assert all(nothing_meets(strip.spots) for strip in sheet.strips)


def test_later_is_further_down():
    frame = sheets(sample_plan())[0].frame
    assert frame.y(at("23:00")) < frame.y(at("0:30")) < frame.y(at("5:00"))


def test_nothing_depends_on_colour(drawing):
    """Black, white and one grey of dots and hatching; forms differ by frame and filling."""
    tones = {
        value
        for one in drawing.iter()
        for name, value in one.attrib.items()
        if name in ("fill", "stroke")
    }
    assert tones <= {"#000", "#fff", "#555", "none", "url(#dots)", "url(#hatch)"}


def test_the_first_column_stands_right_of_the_room():
    assert all(strip.x >= FIRST_COLUMN_X for s in sheets(sample_plan()) for strip in s.strips)


def test_areas_that_share_an_edge_do_not_meet():
    assert not Box(0, 0, 10, 10).meets(Box(10, 0, 10, 10))
    assert Box(0, 0, 10, 10).meets(Box(9.9, 9.9, 10, 10))


def test_names_are_escaped():
    plan = sample_plan()
    formulas = tuple(replace(f, name="<b>&rye") for f in plan.day.formulas)
    changed = replace(plan, day=replace(plan.day, formulas=formulas))
    text = "".join(day_drawings(changed, reader_for(plan)))
    assert "<b>" not in text
    assert "&lt;b&gt;&amp;rye" in text


def test_an_empty_plan_draws_an_empty_day():
    plan = replace(sample_plan(), mixes=(), preparations=(), tasks=())
    (drawing,) = day_drawings(plan, reader_for(plan))
    assert drawing.endswith("</svg>")


def test_the_file_is_one_document_with_its_sheets_one_below_the_other():
    plan = planned("july_night")
    reader = reader_of(plan, ZoneInfo(plan.day.bakery.zone))
    count = len(day_drawings(plan, reader))
    root = ET.fromstring(drawing_file(plan, reader).split("\n", 1)[1])  # noqa: S314  (our own text)
    assert root.tag == f"{SVG}svg"
    assert float(root.get("height")) == HEIGHT * count
    assert [float(s.get("y")) for s in root.findall(f"{SVG}svg")] == [
        HEIGHT * n for n in range(count)
    ]


def test_a_block_that_goes_on_overleaf_is_drawn_on_both_sheets():
    long = block("0:00", "7:00", 30)
    many = tuple(
        block(f"{h}:{m:02d}", f"{h}:{m + 25}", 40, f"{h}{m:02d}", form=BlockForm.BAKE)
        for h in range(7)
        for m in (0, 30)
    )
    morning = Frame(at("0:00"), at("4:00"))
    evening = Frame(at("4:00"), at("8:00"))
    assert morning.shows(long)
    assert evening.shows(long)
    assert [morning.shows(one) for one in many].count(True) == 8
    assert morning.y(at("4:00") + timedelta(hours=2)) == BOTTOM
