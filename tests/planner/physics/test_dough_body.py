"""The inside of a dough: three-way conduction, a fine model, folds, moves, a short cooler."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.linalg import expm

from planner.errors import OutOfRangeError
from planner.physics.dough_body import Box, dough_body, lumped_body, usual_box
from planner.physics.dough_temperature import (
    SURFACES,
    Surroundings,
    box_biot,
    loss_w_per_k,
    lumped_time_constant_min,
)
from planner.physics.ripening_path import (
    Clock,
    Stay,
    progress_after,
    ripening_path,
    shell_progress,
    temperature_after,
)
from planner.ripening import Curve

ROOM, FAN = SURFACES[Surroundings.ROOM], SURFACES[Surroundings.FAN_CHAMBER]
COLD = Clock(1e6, 25.0, Curve.YEAST)  # so slow that it warms itself by nothing
W_PER_M_K, J_PER_KG_K = 0.32, 2800.0


def steady(air_c):
    return lambda minute: np.full_like(np.asarray(minute, dtype=float), air_c)


def follow(stays, *, start_c=26.0, span_min=1440.0, clock=COLD, **more):
    return ripening_path(
        start_minute=0.0, start_c=start_c, stays=stays, clock=clock, span_min=span_min, **more
    )


# ---- against conduction in three ways ----------------------------------------------------------


def slab(side_m, low_h, high_h, rho_c, seconds, cells=60):
    """Mean and middle of a slab that starts at 1, by cells and the matrix exponential."""
    dx = side_m / cells
    link = W_PER_M_K / dx
    loss = np.full(cells, 2 * link)
    loss[0] += 1 / (1 / low_h + dx / 2 / W_PER_M_K) - link
    loss[-1] += 1 / (1 / high_h + dx / 2 / W_PER_M_K) - link
    matrix = -np.diag(loss) + link * (np.eye(cells, k=1) + np.eye(cells, k=-1))
    profile = expm(matrix / (rho_c * dx) * seconds) @ np.ones(cells)
    return np.array([profile.mean(), profile.max()])


def exact(box, surface, minutes):
    """Shares of the first excess that mean and core of a box keep: the product of three slabs."""
    rho_c, seconds = box.dough_kg / box.volume_m3 * J_PER_KG_K, minutes * 60
    sides = [slab(x, surface.side, surface.side, rho_c, seconds) for x in box.sides_m[:2]]
    return sides[0] * sides[1] * slab(box.depth_m, surface.bottom, surface.top, rho_c, seconds)


def exact_mean(box, surface, minutes):
    """Share of the first excess that the mean keeps."""
    return float(exact(box, surface, minutes)[0])


IN_SHELLS = [(kg, FAN) for kg in (5.0, 10.0, 20.0, 30.0, 60.0, 120.0, 300.0)]
IN_SHELLS += [(kg, ROOM) for kg in (30.0, 60.0, 120.0, 300.0)]


@pytest.mark.parametrize(("kg", "surface"), IN_SHELLS)
def test_the_mean_of_a_big_dough_is_that_of_conduction_in_three_ways(kg, surface):
    """Within 3 % of the first difference to the air."""
    box = usual_box(kg)
    body = dough_body(box, surface)
    assert not body.is_lumped
    ours = follow([Stay(steady(0.0), body)], start_c=1.0)
    for minutes in (60, 180, 360, 720, 1200):
        exact = exact_mean(box, surface, minutes)
        assert float(temperature_after(ours, minutes)) == pytest.approx(exact, abs=0.03)


@given(
    length=st.floats(0.25, 1.0),
    width=st.floats(0.25, 1.0),
    depth=st.floats(0.1, 0.4),
    minutes=st.sampled_from([90, 400, 900]),
)
@settings(max_examples=25, deadline=None)
def test_so_it_is_for_tubs_that_nobody_measured(length, width, depth, minutes):
    box = Box(length, width, depth, 700 * length * width * depth)
    body = dough_body(box, FAN)
    if body.is_lumped:
        return
    ours = float(temperature_after(follow([Stay(steady(0.0), body)], start_c=1.0), minutes))
    assert ours == pytest.approx(exact_mean(box, FAN, minutes), abs=0.04)


def test_a_lumped_dough_would_be_further_off():
    """What the shells are for: the mean of 60 kg in a retarder after an hour and a half."""
    box = usual_box(60.0)
    exact = exact_mean(box, FAN, 90)
    shells, lumped = (
        float(temperature_after(follow([Stay(steady(0.0), body)], start_c=1.0), 90))
        for body in (dough_body(box, FAN), lumped_body(11.6 * 60 * 0.66))
    )
    assert abs(shells - exact) < 0.5 * abs(lumped - exact)


# ---- against a fine model of the same shells ---------------------------------------------------


def fine_mean(box, surface, air_c, start_c, minutes, cells=150):
    """The radial equation of dimension p by 150 cells and an adaptive solver of its own."""
    slowest = np.pi * np.sqrt(sum(1 / side**2 for side in box.sides_m))
    zeros = [(1, np.pi / 2), (2, 1.2024), (3, np.pi / 3), (4, 0.95793), (5, 0.89868), (6, 0.85594)]
    wanted = slowest * box.volume_m3 / box.area_m2
    p = np.interp(-wanted, [-z for _, z in zeros], [d for d, _ in zeros])
    spread = box.area_m2**2 / (p * box.volume_m3)
    edges = np.linspace(0, 1, cells + 1)
    centre = (edges[1:] + edges[:-1]) / 2
    heat = box.dough_kg * J_PER_KG_K * np.diff(edges**p)
    behind = (1 - centre[-1]) * box.area_m2 / spread / W_PER_M_K
    out = loss_w_per_k(box.sides_m, surface, behind_m2_k_per_w=behind)

    def slopes(_, t):
        flow = W_PER_M_K * spread * edges[1:-1] ** (p - 1) * np.diff(t) * cells
        net = np.zeros(cells)
        net[:-1] += flow
        net[1:] -= flow
        net[-1] -= out * (t[-1] - air_c)
        return net / heat

    start = np.full(cells, start_c)
    solved = solve_ivp(slopes, (0, minutes * 60), start, method="BDF", rtol=1e-7, atol=1e-8)
    return float(np.diff(edges**p) @ solved.y[:, -1])


@pytest.mark.parametrize("kg", [20.0, 60.0, 300.0])
@pytest.mark.parametrize("minutes", [60, 240, 840])
def test_ten_shells_are_enough(kg, minutes):
    """From 26 to 4 °C: within 0.1 K of fifteen times as many shells."""
    box = usual_box(kg)
    ours = follow([Stay(steady(4.0), dough_body(box, FAN))])
    fine = fine_mean(box, FAN, 4.0, 26.0, minutes)
    assert float(temperature_after(ours, minutes)) == pytest.approx(fine, abs=0.1)


# ---- heat ----------------------------------------------------------------------------------------


@given(kg=st.floats(0.3, 300), start_c=st.floats(5, 32), air_c=st.floats(-18, 35))
@settings(max_examples=50, deadline=None)
def test_what_leaves_the_skin_is_what_the_dough_loses(kg, start_c, air_c):
    """Energy in every step: the mean falls by the loss of the parts, added up by their weights."""
    body = dough_body(usual_box(kg), FAN)
    path = follow([Stay(steady(air_c), body)], start_c=start_c, span_min=600.0, step_min=1.0)
    parts = air_c + (start_c - air_c) * np.exp(-path.minutes[:, None] / body.time_constants_min)
    given_off = ((start_c - parts) * body.weights).sum(axis=1)
    assert start_c - path.temperature_c == pytest.approx(given_off, abs=1e-4)
    assert float(body.weights.sum()) == pytest.approx(1.0, abs=1e-9)
    assert np.all(body.weights >= 0)
    assert body.shells.sum(axis=1) == pytest.approx(np.ones(len(body.shells)))


def test_shells_are_used_where_they_are_nearer_to_conduction():
    """Biot number 0.75: largest errors over a night, in shares of the first difference."""
    for kg in (1.0, 5.0, 10.0, 20.0, 60.0):
        box = usual_box(kg)
        body, biot = dough_body(box, FAN), box_biot(box.sides_m, FAN)
        lumped = lumped_body(lumped_time_constant_min(kg, box.sides_m, FAN))
        assert body.is_lumped == (biot <= 0.75)
        off = [
            max(
                abs(float(temperature_after(path, minutes)) - exact_mean(box, FAN, minutes))
                for minutes in (30, 120, 480)
            )
            for path in (follow([Stay(steady(0.0), one)], start_c=1.0) for one in (body, lumped))
        ]
        assert off[0] <= off[1]


@pytest.mark.parametrize("kg", [20.0, 60.0, 120.0])
def test_core_and_skin_of_a_dough_in_a_retarder_are_far_apart(kg):
    """From 26 °C at 4 °C; the core is the slab products' within a tenth of the first difference."""
    box = usual_box(kg)
    path = follow([Stay(steady(4.0), dough_body(box, FAN))], span_min=1500.0, inside=True)
    for minutes in (120, 360, 720, 1200):
        core = 4 + 22 * float(exact(box, FAN, minutes)[1])
        assert path.core_c[minutes // 5] == pytest.approx(core, abs=2.2)
    assert path.core_c[36] - path.skin_c[36] > 8.0  # three hours


def test_the_core_of_a_retarded_bowl_is_riper_than_its_skin():
    clock = Clock(3.0, 25.0, Curve.YEAST)
    path = follow(
        [Stay(steady(4.0), dough_body(usual_box(60.0), FAN))],
        clock=clock, span_min=600.0, inside=True,
    )  # fmt: skip
    core, skin = (float(p[-1]) for p in shell_progress(path, clock))
    assert core > float(path.progress[-1]) > skin
    assert core > 2 * skin


def test_without_the_inside_nothing_is_said_of_it():
    with pytest.raises(OutOfRangeError, match="inside"):
        shell_progress(follow([Stay(steady(4.0), lumped_body(100.0))]), COLD)


# ---- folds, moves --------------------------------------------------------------------------------


@given(kg=st.floats(20, 300), at=st.sampled_from([30, 60, 90, 150]), air_c=st.floats(2, 30))
@settings(max_examples=40, deadline=None)
def test_a_fold_leaves_the_mean_and_makes_it_one_temperature(kg, at, air_c):
    body = dough_body(usual_box(kg), FAN)
    folded, left = (
        follow([Stay(steady(air_c), body)], span_min=300.0, folds_min=folds, inside=True)
        for folds in ((at,), ())
    )
    step = at // 5
    assert folded.temperature_c[: step + 1] == pytest.approx(left.temperature_c[: step + 1])
    assert folded.core_c[step] == pytest.approx(folded.skin_c[step])
    # Fresh warm skin gives its heat faster.
    gaps = [abs(float(p.temperature_c[step + 6]) - air_c) for p in (folded, left)]
    assert gaps[0] <= gaps[1] + 1e-9


def test_a_move_takes_core_and_skin_along():
    """Room, two hours of retarder, room again: nothing jumps, and the skin warms up first."""
    box = usual_box(120.0)
    room, cold = dough_body(box, ROOM), dough_body(box, FAN)
    stays = [
        Stay(steady(25.0), room),
        Stay(steady(4.0), cold, 60.0),
        Stay(steady(25.0), room, 180.0),
    ]
    path = follow(stays, start_c=25.0, span_min=300.0, step_min=1.0, inside=True)
    assert path.temperature_c[:61] == pytest.approx(np.full(61, 25.0))
    assert np.max(np.abs(np.diff(path.temperature_c))) < 0.1
    assert path.skin_c[179] < path.core_c[179] - 8
    after = np.diff(path.skin_c[180:240])
    assert np.all(after > 0)


def test_the_way_there_is_the_sum_of_its_stretches():
    """Lumped, by hand: 60 min at 25 °C, then 4 °C with 100 min: 4 + 21 exp(-t/100)."""
    body = lumped_body(100.0)
    path = follow(
        [Stay(steady(25.0), body), Stay(steady(4.0), body, 60.0)], start_c=25.0, span_min=300.0
    )
    assert float(temperature_after(path, 60)) == pytest.approx(25.0)
    assert float(temperature_after(path, 160)) == pytest.approx(4 + 21 * np.exp(-1))


def test_progress_goes_on_from_what_it_came_with():
    body = lumped_body(100.0)
    clock = Clock(4.0, 25.0, Curve.YEAST)
    ours = follow([Stay(steady(25.0), body)], start_c=25.0, clock=clock, start_progress=0.5)
    fresh = follow([Stay(steady(25.0), body)], start_c=25.0, clock=clock)
    assert ours.progress == pytest.approx(fresh.progress + 0.5)


def test_the_first_place_must_be_known():
    with pytest.raises(OutOfRangeError, match="first stay"):
        follow([Stay(steady(4.0), lumped_body(100.0), 30.0)])


# ---- a cooler that is too small --------------------------------------------------------------


def test_a_cooler_of_a_kilowatt_takes_four_hours_for_a_full_load():
    """220 kg of dough and 80 kg of steel from 26 to 4 °C are 14.4 MJ (bakery's own account).

    1 kW needs 4.0 h for that heat at the very least, for all but the last half degree of it 3.9;
    the same loaves under a strong cooler are there sooner.
    """
    loaf = dough_body(Box(0.15, 0.15, 0.06, 0.8), FAN)
    steel = 220 * 2.8 / (220 * 2.8 + 80 * 0.5)
    free, short = (
        follow([Stay(steady(4.0), loaf, most_w_per_kg=most)]) for most in (None, 1000 * steel / 220)
    )
    near_h = [
        float(path.minutes[np.argmax(path.temperature_c < 4.5)]) / 60 for path in (free, short)
    ]
    assert near_h[1] > 4.0
    assert near_h[1] > near_h[0]
    # While it is short the load falls in a straight line: 1 kW / (220·2.8 + 80·0.5) kJ/K.
    first_hour_k = 26.0 - float(temperature_after(short, 60))
    assert first_hour_k == pytest.approx(3600 / (220 * 2.8 + 80 * 0.5), rel=0.01)


def test_a_strong_cooler_changes_nothing():
    loaf = dough_body(Box(0.15, 0.15, 0.06, 0.8), FAN)
    free, strong = (
        follow([Stay(steady(4.0), loaf, most_w_per_kg=most)]).temperature_c for most in (None, 500)
    )
    assert strong == pytest.approx(free)


@given(most=st.floats(0.5, 30), start_c=st.floats(10, 32))
@settings(max_examples=40, deadline=None)
def test_less_power_never_cools_sooner(most, start_c):
    loaf = dough_body(Box(0.15, 0.15, 0.06, 0.8), FAN)
    weak, less_weak = (
        follow([Stay(steady(3.0), loaf, most_w_per_kg=watts)], start_c=start_c).temperature_c
        for watts in (most, most * 1.3)
    )
    assert np.all(weak >= less_weak - 1e-9)
    assert float(progress_after(follow([Stay(steady(3.0), loaf)]), 60)) > 0
