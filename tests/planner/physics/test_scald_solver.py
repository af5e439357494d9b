"""The solver of cool-downs against series, an independent fine model, and what must always hold."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.linalg import solve_banded
from scipy.optimize import brentq

from planner.bakery import Cover
from planner.physics.cooling import (
    CoolingLeg,
    CoolingPlace,
    cooling_course,
    cooling_paths,
    heat_given_kj,
    minutes_between,
    minutes_to_cool,
)
from tests.planner.physics.fine_scald import DRY, OPEN_DRY, Fine, magnus_kpa
from tests.planner.physics.fine_scald import hours_to as fine_hours
from tests.planner.physics.scald_bodies import body, hours_to, path, table

OPEN, FILM = Cover.OPEN, Cover.FILM
PLACES = {"bench": CoolingPlace.BENCH, "cooler": CoolingPlace.COOLER, "blast": CoolingPlace.BLAST}


def slab_series(bi, fo):
    """Mean and centre of a slab cooled at both faces (Carslaw and Jaeger 1959, 3.11), 60 terms."""
    mean = centre = 0.0
    for n in range(60):
        mu = brentq(lambda x: x * np.sin(x) - bi * np.cos(x), n * np.pi + 1e-12, (n + 0.5) * np.pi)
        share = 2 * np.sin(mu) / (mu + np.sin(mu) * np.cos(mu))
        left = share * np.exp(-(mu**2) * fo)
        mean, centre = mean + left * np.sin(mu) / mu, centre + left
    return mean, centre


@pytest.mark.parametrize("bi", [0.1, 0.3, 1.0, 3.0, 10.0])
def test_a_wide_layer_is_the_slab_of_the_books(bi):
    """A rack takes 9 W/m²K from both faces; the sides of a field do not count: 0.3 K."""
    half_m = bi * 0.5 / 9.0
    layer = body(2 * half_m * 1080 * 250_000, 500.0, 500.0, place=CoolingPlace.RACK)
    alpha = 0.5 / (1080 * 3420)
    times_h = np.array([0.1, 0.2, 0.5, 1.0, 2.0]) * half_m**2 / alpha / 3600 * (1 + 0.3 / bi)
    cooling = path(layer, 75.0, 20.0, span_h=float(times_h[-1]) * 1.01, step_min=times_h[-1] / 10)
    for hours in times_h:
        mean, centre = slab_series(bi, alpha * hours * 3600 / half_m**2)
        assert float(cooling.mean_at(hours * 60)) == pytest.approx(20 + 55 * mean, abs=0.3)
        assert float(cooling.warmest_at(hours * 60)) == pytest.approx(20 + 55 * centre, abs=0.3)


# 2 kg in a bowl, 20 kg in a tub, 6.7 and 13 kg on a tray, 80 kg in a mixer bowl, 98 kg in a deep
# tub.
VESSELS = [
    (2, 0.22, None), (20, 0.53, 0.38), (20 / 3, 0.60, 0.40), (13, 0.60, 0.40), (80, 0.70, None),
    (98, 0.50, None),
]  # fmt: skip


@pytest.mark.parametrize("cover", [OPEN, FILM])
@pytest.mark.parametrize(("mass_kg", "length_m", "width_m"), VESSELS)
def test_the_fine_model_cools_alike(mass_kg, length_m, width_m, cover):
    """Rings or cubes against one column: mean within 0.3 K, warmest within 0.7 K, for 12 h."""
    ours = body(mass_kg, length_m, width_m, cover)
    fine = Fine(length_m, ours.depth_m, width_m, is_open=cover is OPEN)
    minutes, mean, warmest, _ = fine.run(75.0, 22.0, 12.0, cells=(10, 20))
    cooling = path(ours, 75.0, 22.0, span_h=12)
    at = np.arange(20.0, 720.0, 20.0)
    gap_k = [float(cooling.mean_at(m)) - np.interp(m, minutes, mean) for m in at]
    assert np.abs(gap_k).max() < 0.3
    gap_k = [float(cooling.warmest_at(m)) - np.interp(m, minutes, warmest) for m in at]
    assert np.abs(gap_k).max() < 0.7


def test_the_fine_model_agrees_through_a_changing_night():
    """Air that falls from 28 to 20 °C over the night: within 0.5 K."""
    ours = body(20, 0.53, 0.38, OPEN)
    fine = Fine(0.53, ours.depth_m, 0.38, is_open=True)
    minutes, mean, _, _ = fine.run(75.0, lambda m: 28 - m / 90, 12.0, cells=(10, 20))
    cooling = path(ours, 75.0, lambda m: 28 - np.asarray(m) / 90, span_h=12)
    assert cooling.mean_c == pytest.approx(np.interp(cooling.minutes, minutes, mean), abs=0.5)


@pytest.mark.parametrize("place", [CoolingPlace.COOLER, CoolingPlace.BLAST])
def test_the_fine_model_cools_alike_in_the_cold(place):
    h = 8.0 if place is CoolingPlace.COOLER else 27.0
    ours = body(80, 0.70, place=place)
    fine = Fine(0.70, ours.depth_m, side=h, bottom=h, top=h)
    run = fine.run(75.0, 3.0, 20.0, cells=(14, 24))
    assert hours_to(ours, 75, 3, 30) == pytest.approx(fine_hours(run, 30), rel=0.02)
    assert hours_to(ours, 75, 3, 40, warmest=True) == pytest.approx(
        fine_hours(run, 40, which=2), rel=0.02
    )


@pytest.mark.parametrize("every_min", [15, 20, 30])
@pytest.mark.parametrize(("mass_kg", "length_m", "width_m"), [VESSELS[0], VESSELS[1], VESSELS[5]])
def test_stirring_now_and_then(mass_kg, length_m, width_m, every_min):
    """Stirred through in the fine model, one cell in ours: 16 % late at most, 4 % soon."""
    ours = body(mass_kg, length_m, width_m, OPEN, stir_every_min=every_min)
    fine = Fine(length_m, ours.depth_m, width_m, is_open=True)
    cells = (10, 30) if width_m else (24, 40)
    run = fine.run(75.0, 22.0, 16.0, cells=cells, stir_min=every_min)
    ratio = hours_to(ours, 75, 22, 35) / fine_hours(run, 35)
    assert 0.96 <= ratio <= 1.16


def stated_hours(row):
    """The table's own model: one column, its side term from the first minute; fully implicit."""
    length, width = float(row["length_m"]), float(row["width_m"] or 0)
    area = length * width if width else np.pi / 4 * length**2
    around = 2 * (length + width) if width else np.pi * length
    h_wall = {"bench": 9.0, "cooler": 8.0, "blast": 27.0}[row["place"]]
    depth, k, rho_c = float(row["mass_kg"]) / 1080 / area, 0.5, 1080 * 3420.0
    n = 1 if row["stirred"] == "yes" else 40
    way = 0.0 if n == 1 else (min(length, width) / 2 / 3 if width else length / 2 / 4) / k
    side = 1 / (1 / h_wall + way) * around / area
    dz, dt = depth / n, 60.0
    half = 0.0 if n == 1 else dz / 2 / k
    bottom = 1 / (1 / (6.0 if row["place"] == "bench" else h_wall) + half)
    air, target = float(row["air_c"]), float(row["target_c"])
    cells, surface = np.full(n, 75.0), 75.0
    for step in range(1, 60 * 60):
        h = h_wall if row["place"] != "bench" else DRY
        if row["cover"] == "open":
            drive = magnus_kpa(surface) - 0.5 * magnus_kpa(air)
            h = OPEN_DRY + 0.6 * 77.0 * max(drive, 0.0) / max(surface - air, 0.5)
        top = 1 / (1 / h + half)
        diagonal = np.full(n, rho_c * dz / dt + side * dz)
        link = k / dz if n > 1 else 0.0
        diagonal[:-1] += link
        diagonal[1:] += link
        diagonal[0] += bottom
        diagonal[-1] += top
        known = rho_c * dz / dt * cells + side * dz * air
        known[0] += bottom * air
        known[-1] += top * air
        banded = np.zeros((3, n))
        banded[1] = diagonal
        banded[0, 1:] = banded[2, :-1] = -link
        cells = solve_banded((1, 1), banded, known)
        surface = cells[-1] - top * half * (cells[-1] - air)
        if cells.mean() <= target:
            return step / 60
    return np.inf


COOL_DOWNS = table("scald_cool_downs.csv")


def named(row):
    parts = ("vessel", "cover", "place", "air_c", "target_c", "stirred")
    return "-".join(row[p] for p in parts)


@pytest.mark.parametrize("row", COOL_DOWNS, ids=named)
def test_the_table_follows_from_its_stated_treatment(row):
    """Its figures, by a model with its side term, within 10 % and half a printed digit."""
    printed = float(row["hours"])
    assert stated_hours(row) == pytest.approx(printed, abs=0.05 + 0.10 * printed)


@pytest.mark.parametrize("row", COOL_DOWNS, ids=named)
def test_ours_is_sooner_than_the_table_where_the_sides_are_young(row):
    """The table's parabola across stands from the first minute; really it takes hours to form.

    So ours, like the fine model, is sooner: by up to 12 %, in a blast chiller 19 %; never later
    by more than 3 %.
    """
    place, printed = PLACES[row["place"]], float(row["hours"])
    ours = hours_to(
        body(
            float(row["mass_kg"]),
            float(row["length_m"]),
            float(row["width_m"]) if row["width_m"] else None,
            Cover(row["cover"]),
            place,
            stirred=row["stirred"] == "yes",
        ),
        75,
        float(row["air_c"]),
        float(row["target_c"]),
    )
    sooner = 0.19 if place is CoolingPlace.BLAST else 0.12
    assert printed * (1 - sooner) - 0.05 <= ours <= printed * 1.03 + 0.05


@pytest.mark.parametrize("cover", [OPEN, FILM])
@pytest.mark.parametrize(("mass_kg", "length_m", "width_m"), [VESSELS[0], VESSELS[2], VESSELS[4]])
def test_halving_the_step_changes_little(mass_kg, length_m, width_m, cover):
    """Usual steps of ten minutes against one: half a per cent of the time, or a minute."""
    usual, close = (
        hours_to(body(mass_kg, length_m, width_m, cover), 75, 22, 35, step_min=step)
        for step in (10.0, 1.0)
    )
    assert usual == pytest.approx(close, rel=0.005, abs=1 / 60)


@pytest.mark.parametrize("cells", [12, 48])
def test_more_cells_change_little(monkeypatch, cells):
    usual = hours_to(body(20, 0.53, 0.38, OPEN), 75, 22, 35)
    monkeypatch.setattr("planner.physics.cooling_column.CELLS", cells)
    assert hours_to(body(20, 0.53, 0.38, OPEN), 75, 22, 35) == pytest.approx(usual, rel=0.005)


def test_a_perfect_vessel_keeps_its_heat():
    """Walls that let nothing through: every joule stays, in every cell."""
    still = path(body(20, 0.53, 0.38, surface_factor=1e-9), 75.0, 20.0, span_h=12)
    assert still.mean_c == pytest.approx(75.0, abs=1e-5)
    assert still.warmest_c == pytest.approx(75.0, abs=1e-5)


@given(mass_kg=st.floats(1, 90), across_m=st.floats(0.2, 0.8), air_c=st.floats(0, 30))
@settings(max_examples=25, deadline=None)
def test_the_heat_given_is_what_went_through_the_walls(mass_kg, across_m, air_c):
    """Stirred and covered: h A of top, bottom and side times the gap, integrated: 1 %."""
    paste = body(mass_kg, across_m, stirred=True)
    cooling = path(paste, 75.0, air_c, span_h=4, step_min=2.0)
    area, depth = np.pi / 4 * across_m**2, mass_kg / 1080 / (np.pi / 4 * across_m**2)
    watts_per_k = area * (9 + 6) + np.pi * across_m * depth * 9
    gap = cooling.mean_c - air_c
    lost_kj = watts_per_k * 60 / 1000 * np.trapezoid(gap, cooling.minutes)
    assert float(heat_given_kj(paste, cooling)[-1]) == pytest.approx(lost_kj, rel=0.01)


ANY = {
    "mass_kg": st.floats(1, 90),
    "across_m": st.floats(0.2, 0.8),
    "air_c": st.floats(2, 30),
    "humidity": st.floats(0.2, 0.9),
}


def sooner(one, other, target_c=40.0):
    """Whether the first is never later, to half a minute."""
    return one <= other + 0.5 / 60 if np.isfinite(other) else target_c > 0


@given(**ANY, colder_k=st.floats(0, 10))
@settings(max_examples=40, deadline=None)
def test_a_colder_room_is_never_later(mass_kg, across_m, air_c, humidity, colder_k):
    paste = body(mass_kg, across_m, cover=OPEN)
    cold, warm = (
        hours_to(paste, 75, air, 40, humidity=humidity) for air in (air_c - colder_k, air_c)
    )
    assert sooner(cold, warm)


@given(**ANY, thinner=st.floats(0.3, 1.0))
@settings(max_examples=40, deadline=None)
def test_a_thinner_layer_is_never_later(mass_kg, across_m, air_c, humidity, thinner):
    paste = body(mass_kg, across_m, cover=OPEN)
    less = replace(paste, mass_kg=thinner * mass_kg)
    thin, thick = (hours_to(one, 75, air_c, 40, humidity=humidity) for one in (less, paste))
    assert sooner(thin, thick)


@given(**ANY, every_min=st.floats(10, 60))
@settings(max_examples=40, deadline=None)
def test_more_stirring_is_never_later(mass_kg, across_m, air_c, humidity, every_min):
    paste = body(mass_kg, across_m, cover=OPEN)
    often, seldom = (
        hours_to(replace(paste, stir_every_min=n), 75, air_c, 40, humidity=humidity)
        for n in (every_min / 2, every_min)
    )
    assert sooner(often, seldom)


@given(**ANY, stirred=st.booleans())
@settings(max_examples=40, deadline=None)
def test_open_is_never_later_than_covered(mass_kg, across_m, air_c, humidity, stirred):
    paste = body(mass_kg, across_m, stirred=stirred)
    free, lidded = (
        hours_to(replace(paste, cover=cover), 75, air_c, 40, humidity=humidity)
        for cover in (OPEN, FILM)
    )
    assert sooner(free, lidded)


@given(**ANY, drier=st.floats(0, 0.9))
@settings(max_examples=40, deadline=None)
def test_drier_air_is_never_later(mass_kg, across_m, air_c, humidity, drier):
    paste = body(mass_kg, across_m, cover=OPEN)
    dry, damp = (hours_to(paste, 75, air_c, 40, humidity=h) for h in (drier * humidity, humidity))
    assert sooner(dry, damp)


def leg(one, minutes, air_c=22.0, **more):
    return CoolingLeg(
        one, minutes, lambda m: np.full_like(m, air_c), lambda m: np.full_like(m, 0.5), **more
    )


def test_a_course_of_two_legs_in_one_place_is_one_leg():
    """Moved as it is into the same vessel, nothing changes."""
    paste = body(20, 0.53, 0.38, OPEN)
    halves = cooling_course([leg(paste, 120), leg(paste, 480)], start_c=75.0, start_minute=0.0)
    whole = path(paste, 75.0, 22.0, span_h=10)
    assert float(halves.mean_at(600)) == pytest.approx(float(whole.mean_at(600)), abs=0.05)


def test_tipped_onto_trays_it_is_even_and_then_quick():
    tub, tray = body(20, 0.53, 0.38), body(20 / 3, 0.6, 0.4, OPEN)
    course = cooling_course(
        [leg(tub, 60), leg(tray, 300, stirred_first=True)], start_c=75.0, start_minute=0.0
    )
    assert float(course.mean_at(60)) == pytest.approx(
        float(path(tub, 75.0, 22.0, span_h=1).mean_at(60)), abs=0.05
    )
    assert float(minutes_to_cool(course, 35.0)) < 60 + 100


def test_water_stirred_in_drops_it_at_once():
    tub = body(20, 0.53, 0.38)
    course = cooling_course(
        [leg(tub, 30), leg(tub, 30, mixed_to_c=lambda mean: mean - 20)],
        start_c=75.0,
        start_minute=0.0,
    )
    before, after = float(course.mean_at(30)), float(course.mean_at(32.5))
    assert before - after == pytest.approx(20, abs=0.6)


def test_many_pastes_in_one_sweep_are_the_single_ones():
    pastes = [body(2, 0.22, cover=OPEN), body(80, 0.70), body(20, 0.53, 0.38, stirred=True)]
    legs = [leg(paste, 600, air_c=20.0 + 2 * i) for i, paste in enumerate(pastes)]
    starts = np.array([0.0, 300.0])
    for i, cooling in enumerate(cooling_paths(legs, start_c=[75.0, 70.0, 80.0], starts=starts)):
        alone = path(pastes[i], (75.0, 70.0, 80.0)[i], 20.0 + 2 * i, span_h=10)
        assert cooling.mean_c[:, 1] == pytest.approx(alone.mean_c, abs=1e-6)


def test_time_in_a_window_of_temperatures():
    """A paste that falls evenly from 75 to 15 °C spends a sixth of its time between 65 and 55."""
    paste = body(20, 0.53, 0.38, stirred=True)
    cooling = path(paste, 75.0, 0.0, span_h=60)
    parts = [float(minutes_between(cooling, low, low + 10)) for low in (5, 15, 25, 35, 45, 55, 65)]
    reached = float(minutes_to_cool(cooling, 5.0))
    assert sum(parts) == pytest.approx(reached, rel=1e-6)
    assert np.all(np.diff(parts) < 0), "the cooler it is, the slower"
