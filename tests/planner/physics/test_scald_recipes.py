"""Published scalds, mashes and pastes: what the balance and the curve must say about each."""

import pytest

from planner.bakery import Cover
from planner.errors import OutOfRangeError
from planner.physics.cooling import CoolingPlace, minutes_between, minutes_to_cool
from planner.physics.quench import quench_ice_kg, quenched_c
from planner.physics.scald import (
    adiabatic_pour_c,
    cold_hot_split_kg,
    gelatinised_share,
    gelatinises,
    pour_temperature_c,
    scald_kj_per_kg_k,
)
from planner.physics.scald_loss import loss_fraction_read, same_work_min, steam_loss_k
from tests.planner.physics.scald_bodies import body, hours_to, path, table

OPEN = Cover.OPEN


def poured(water_kg, water_c=100.0, flour_kg=1.0, room_c=20.0, **more):
    return pour_temperature_c(
        water_kg=water_kg, water_c=water_c, flour_kg=flour_kg, flour_c=room_c, room_c=room_c, **more
    )


# Mill's baking school: rye, two parts of water at 75 °C, rest 4 to 6 h: "a part of the starch
# gelatinises".
def test_a_mild_scald_gelatinises_in_part():
    assert (
        0 < gelatinised_share(adiabatic_pour_c(water_kg=2, water_c=75, flour_kg=1, flour_c=20)) < 1
    )
    assert 0 <= gelatinised_share(poured(2, 75.0)) < 1
    assert gelatinises(2, 1)


# German encyclopaedia: oats with 2.5 parts of water at 95 °C about 70 °C; at 70 °C about 55, not
# gelatinised.
def test_oats_with_water_of_70_stay_thin():
    assert gelatinised_share(poured(2.5, 70.0)) == 0
    assert gelatinised_share(poured(2.5, 95.0)) == 1


# Shokupan recipe: equal parts, three quarters boiling, one quarter hot tap, aims at 50 °C. A
# target, not a reading; not reached: with a tap of 40 °C and the largest loss we have 53 °C, with
# 60 °C and none 67.
def test_a_yudane_with_hot_tap_water_aims_lower_than_it_lands():
    landed = [
        poured(0.75, cold_water_kg=0.25, cold_water_c=tap_c, loss_fraction=loss)
        for tap_c, loss in ((40.0, 0.23), (60.0, 0.0))
    ]
    assert 50 < landed[0] < landed[1] < 70
    assert not gelatinises(1.0, 1.0), "with equal parts only some of the starch gelatinises"


# Swiss supplier: 40 % of the flour with 60 % of the water at 98 to 100 °C in the bowl, 60 °C is
# reached while it cools, then film, 2 to 5 °C, a week at most. Qualitative: it starts above 60 and
# passes it within hours.
def test_a_scald_in_the_bowl_passes_sixty_degrees():
    start_c = poured(1.5 * 70 / 70, 99.0, vessel_heat_capacity_kj_per_k=0.5)
    assert start_c > 60
    assert hours_to(body(20, 0.5, cover=OPEN), start_c, 22.0, 60.0) < 2.5


# Auerman's Borodinsky: 25 kg rye, 5 kg red malt, 7 to 8 L cold first, 55 to 60 L boiling, about 95
# kg: rest 2 to 2.5 h, stir, cool to 35 °C. Not by itself: 98 kg in one tub, 75 to 35 °C, 22 °C:
# still 24 to 36 h, stirred every 15 to 20 min 9 to 14 h, on trays 5 cm deep 3 to 5 h (open at RH
# 0.7, to covered; humidity is not given, at 0.5 it is 2.9).
@pytest.mark.parametrize("cover", [OPEN, Cover.FILM])
def test_the_big_scald_left_alone(cover):
    assert 24 <= hours_to(body(98, 0.50, cover=cover), 75, 22, 35) <= 36


@pytest.mark.parametrize("every_min", [15, 20])
def test_the_big_scald_stirred(every_min):
    tub = body(98, 0.50, cover=OPEN, stir_every_min=every_min)
    assert 9 <= hours_to(tub, 75, 22, 35) <= 14


def test_the_big_scald_on_trays():
    tray = 0.05 * 0.24 * 1080
    assert hours_to(body(tray, 0.6, 0.4, OPEN), 75, 22, 35, humidity=0.7) >= 3
    assert hours_to(body(tray, 0.6, 0.4), 75, 22, 35) <= 5


def test_the_big_scald_cannot_be_cool_after_its_rest_but_for_ice():
    """After 2.5 h, still or stirred, it is far above 35 °C; a share of its water as ice does it."""
    assert float(path(body(98, 0.50, cover=OPEN), 75, 22, span_h=2.5).mean_c[-1]) > 65
    stirred = body(98, 0.50, cover=OPEN, stir_every_min=15)
    left_c = float(path(stirred, 75, 22, span_h=2.5).mean_c[-1])
    assert left_c > 45
    heat = scald_kj_per_kg_k(65, 30.5)
    ice_kg = quench_ice_kg(78, left_c, 35, held_back_kg=20, cold_c=15, scald_kj_per_kg_k=heat)
    assert 0 < ice_kg < 20, "of the 65 L only 20 are kept back: 1.5 parts of water are poured"


# Russian baking blog: 140 g rye, 28 g red malt, 380 g boiling, held at 62 to 65 °C for 2 to 2.5 h,
# then 30 °C.
def test_a_small_saccharified_scald_has_to_be_held():
    """Half a kilo starts above the window, and passes it in minutes unless it is kept warm."""
    start_c = poured(0.380, flour_kg=0.168)
    assert start_c > 65
    bowl = path(body(0.548, 0.14), start_c, 22, span_h=12)
    assert float(minutes_between(bowl, 62, 65)) < 30
    box = path(body(0.548, 0.14, place=CoolingPlace.INSULATED), 65, 22, span_h=6)
    assert float(minutes_between(box, 60, 65)) < 120, "half a kilo needs a heated place"
    assert float(minutes_to_cool(bowl, 30)) < 12 * 60


def test_the_split_that_starts_in_the_window():
    cold_kg, hot_kg = cold_hot_split_kg(
        water_kg=0.380, hot_c=100, cold_c=15, flour_kg=0.168, flour_c=20, target_c=65, room_c=20
    )
    assert cold_kg + hot_kg == pytest.approx(0.380)
    assert 0.05 < cold_kg < 0.12


# Rye baking site: held at 70 °C for 3 to 18 h; amylases peak at 60 to 77 and stop above 80 °C; no
# yeast nor lactobacilli above 60. A German bakery site: at most 65 °C, 2 to 3 h, above 80 °C to
# stop it.
def test_a_pour_at_the_boil_can_stop_enzymes_that_go_in_too_soon():
    """A thin scald without loss starts above 80 °C: active malt goes in once it is below 70."""
    assert poured(3, loss_fraction=0.05) > 80
    with pytest.raises(OutOfRangeError, match="same_work_min"):
        same_work_min(60, 65, 80)


# Brewing texts: 30 min at 70 °C = 60 at 60 = 120 at 50.
def test_the_same_work_takes_twice_as_long_ten_degrees_lower():
    assert same_work_min(30, 70, 60) == pytest.approx(60)
    assert same_work_min(30, 70, 50) == pytest.approx(120)
    assert same_work_min(same_work_min(45, 63, 55), 55, 63) == pytest.approx(45)


# Chefs' association, Borodinsky: 40 g malt, 15 g rye, 160 g boiling; 5 g of active malt after the
# pour; 62 to 65 °C, 2 to 3 h. The boiling pour on so little lands near 85 °C without loss: hence
# "after".
def test_active_malt_goes_in_after_the_pour():
    assert adiabatic_pour_c(water_kg=0.160, water_c=100, flour_kg=0.055, flour_c=20) > 80
    assert 60 < poured(0.160, flour_kg=0.055) < 80


# German collection, cooked paste: 30 g flour, 150 g water, 12 g salt give 175 to 180 g: 6 to 9 %
# steam and pot.
def test_a_cooked_paste_weighs_less_than_what_went_in():
    lost = [1 - out / 192 for out in (180, 175)]
    assert lost[0] == pytest.approx(0.0625, abs=0.001)
    degrees = [steam_loss_k(0.192 * share, 0.192, scald_kj_per_kg_k(5, 1)) for share in lost]
    assert degrees[0] > 37, "so many degrees that only a stove makes up for them"


# Each per cent of mass lost as steam is worth 6.4 to 7.6 K, from 1:3 to 1:1.
@pytest.mark.parametrize("water", [1.0, 2.0, 3.0])
def test_a_per_cent_of_steam(water):
    heat = scald_kj_per_kg_k(water, 1)
    assert 6.35 <= steam_loss_k(0.01, 1.0, heat) <= 7.65


# Swedish blog: 200 g rye, 650 g boiling under a lid until the next day, then into 640 to 650 g cool
# water: half the water stays cold, and makes up for a paste that is still warm.
def test_half_the_water_kept_cold():
    start_c = poured(0.650, flour_kg=0.2, loss_fraction=0.05)
    left_c = float(path(body(0.85, 0.16, cover=Cover.LID), start_c, 20, span_h=14).mean_c[-1])
    assert left_c < 25
    mixed = quenched_c(
        0.85, 45.0, water_kg=0.645, water_c=12, scald_kj_per_kg_k=scald_kj_per_kg_k(3.25, 1)
    )
    assert mixed < 31, "even a paste of 45 °C would do"


# Home-brewing forum: 7.69 lb of malt and 2.5 US gal at 168 °F gave 158 °F. Not reached: 152 to 154
# °F at room 18 to 24 °C without any loss; its writer was not sure whether 158 was a reading or the
# target.
def test_a_mash_that_reads_higher_than_its_balance():
    mash = [
        adiabatic_pour_c(
            water_kg=2.5 * 3.785 * 0.974, water_c=75.6, flour_kg=7.6875 * 0.4536, flour_c=room_c
        )
        for room_c in (18, 24)
    ]
    assert 66.5 < mash[0] < mash[1] < 68.5
    assert mash[1] < (158 - 32) / 1.8 - 1


# A loss read back: the five published pours, 1:3 85, 1:2 70, oats 70 and 55, yudane 65 °C, give
# 0.06, 0.23, 0.21, 0.17, 0.10 of the way to a room of 20 °C.
@pytest.mark.parametrize(
    ("water_kg", "water_c", "read_c", "loss"),
    [
        (3, 100, 85, 0.06),
        (2, 100, 70, 0.23),
        (2.5, 95, 70, 0.21),
        (2.5, 70, 55, 0.17),
        (0.8, 100, 65, 0.10),
    ],
)
def test_one_reading_gives_the_loss_of_a_vessel(water_kg, water_c, read_c, loss):
    still = adiabatic_pour_c(water_kg=water_kg, water_c=water_c, flour_kg=1, flour_c=20)
    assert loss_fraction_read(read_c, still, 20) == pytest.approx(loss, abs=0.006)
    again = poured(water_kg, water_c, loss_fraction=loss_fraction_read(read_c, still, 20))
    assert again == pytest.approx(read_c, abs=1e-9)


def test_a_reading_above_the_pour_is_refused():
    with pytest.raises(OutOfRangeError, match="loss_fraction_read"):
        loss_fraction_read(95, 84.6, 20)
    assert loss_fraction_read(85.5, 84.6, 20) == 0


def test_more_steam_than_paste_is_refused():
    with pytest.raises(OutOfRangeError, match="steam_loss_k"):
        steam_loss_k(2, 1, 3.4)


@pytest.mark.parametrize(
    "row", table("scald_quenches.csv"), ids=lambda r: f"{r['scald_kg']}-{r['held_back_kg']}"
)
def test_the_table_of_quenches(row):
    """Within half of the last printed digit, scaled with the scald for the rows of 20 and 80 kg."""
    kg, held = float(row["scald_kg"]), float(row["held_back_kg"])
    for tap_c in (15, 20, 26, 4):
        printed = float(row["ice_water_4" if tap_c == 4 else f"ice_tap_{tap_c}"])
        ours = quench_ice_kg(kg, 75, 30, held_back_kg=held, cold_c=tap_c, scald_kj_per_kg_k=3.42)
        assert ours == pytest.approx(printed, abs=0.0051 * kg / 2 + 1e-9)
