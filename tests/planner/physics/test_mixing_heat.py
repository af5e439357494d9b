import pytest

from planner.errors import OutOfRangeError
from planner.mixers import MIXING_WORK_PRIOR, MixerKind, Speed
from planner.physics.mixing_heat import mixing_work_kj, stiffness, wetting_heat_kj_per_kg

DOUGH_KJ_PER_KG_K = 2.73


def rise_k(kind: MixerKind, steps: dict[Speed, float]) -> float:
    """Mechanical rise of an ordinary dough at 25 °C [K]."""
    work = {speed: value for speed, (value, _) in MIXING_WORK_PRIOR[kind].items()}
    return mixing_work_kj(1.0, list(steps.items()), work, 0.65, 1.0) / DOUGH_KJ_PER_KG_K


def test_wetting_of_flour_of_eleven_to_twelve_percent():
    """Trade dictionary: 6.5 BTU/lb, 15.1 kJ/kg."""
    assert wetting_heat_kj_per_kg(0.12) <= 15.1 <= wetting_heat_kj_per_kg(0.11)


def test_wetting_of_dry_flour():
    """About 25 cal/g, 105 kJ/kg."""
    assert wetting_heat_kj_per_kg(0.0) == pytest.approx(105)


def test_wetting_is_worth_three_to_four_degrees_in_dry_flour():
    """15.1 kJ/kg of flour is 3.1 to 3.7 K in doughs of 75 to 55 % water."""
    for water, rise in ((0.75, 3.1), (0.55, 3.7)):
        capacity = 1.83 + 4.18 * water
        assert 15.1 / capacity == pytest.approx(rise, abs=0.2)


# French school texts: 0.3 to 0.5 °C a minute of mechanical mixing, 0.33 to 0.6 at second speed.
def test_a_spirals_first_speed_lies_in_the_trades_range():
    assert 0.2 <= rise_k(MixerKind.SPIRAL, {Speed.FIRST: 1}) <= 0.5


def test_four_minutes_more_of_second_speed():
    """Between 1.2 and 2.4 °C warmer by the trade's figures."""
    more = rise_k(MixerKind.SPIRAL, {Speed.SECOND: 8}) - rise_k(MixerKind.SPIRAL, {Speed.SECOND: 4})
    assert 1.2 <= more <= 2.4


def test_a_planetarys_degrees_a_minute():
    """Japanese text: 1 and 1.5 °C a minute, wetting included; ours lies within one deviation."""
    low, low_sd = MIXING_WORK_PRIOR[MixerKind.PLANETARY][Speed.FIRST]
    high, high_sd = MIXING_WORK_PRIOR[MixerKind.PLANETARY][Speed.SECOND]
    assert abs(low - 1.0 * DOUGH_KJ_PER_KG_K) < 2 * low_sd
    assert abs(high - 1.5 * DOUGH_KJ_PER_KG_K) < 2 * high_sd


def test_a_55_kg_dough_off_a_large_mixer():
    """A baker's dough rose by about 6 °C mechanically; 4 to 8 is plausible for 5 + 7 minutes."""
    assert 4 <= rise_k(MixerKind.SPIRAL, {Speed.FIRST: 5, Speed.SECOND: 7}) <= 8


def test_a_stiff_dough_heats_more():
    assert stiffness(0.55) > stiffness(0.65) > stiffness(0.75)


def test_rests_give_no_heat():
    work = {Speed.FIRST: 1.0}
    assert mixing_work_kj(5, [(Speed.REST, 30.0)], work, 0.65, 1) == 0


def test_impossible_loads_are_refused():
    with pytest.raises(OutOfRangeError):
        mixing_work_kj(0, [], {}, 0.65, 1)
    with pytest.raises(OutOfRangeError):
        wetting_heat_kj_per_kg(-0.1)
