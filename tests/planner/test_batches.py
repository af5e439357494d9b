from dataclasses import replace

import pytest

from planner import InputError
from planner.bakery import Oven, OvenKind
from planner.batches import batches_of
from planner.bowl_remarks import mixer_remarks
from planner.day import MixRequest, Order
from planner.estimate import Estimate
from planner.formula import MixStep
from planner.mixer_loads import choose_mixers
from planner.mixers import MixerKind, Speed, mixer
from planner.remarks import RemarkKind
from planner.wanted import order_dough_kg
from tests.planner.builders import at, bakery, day, lean_dough, loaf


def test_pieces_become_dough_by_scaling_weight_and_handling_loss():
    """40 loaves of 0.8 kg and 2 % left behind: 32.64 kg."""
    product = loaf(handling_loss_fraction=Estimate(0.02))
    assert order_dough_kg(product, 40) == pytest.approx(32.64)


def test_bake_loss_by_the_two_rules_of_the_trade():
    """100 loaves of 500 g baked: 10 % of dough asks for 55.6 kg, 13 % for 57.5 kg."""
    low, high = 50 / (1 - 0.10), 50 / (1 - 0.13)
    assert (round(low, 1), round(high, 1)) == (55.6, 57.5)
    product = loaf(piece_kg=0.5 / (1 - 0.12), handling_loss_fraction=Estimate(0.0))
    assert low < order_dough_kg(product, 100) < high


def test_an_order_larger_than_the_mixer_is_split_into_equal_mixes():
    """160 kg in a 60 kg mixer need three mixes; the oven takes 60 loaves, so four."""
    batches = batches_of(day(lines=(Order("o1", "loaf", 200, at(14)),)))
    assert [b.pieces for b in batches] == [50, 50, 50, 50]
    assert all(b.dough_kg <= 60 for b in batches)
    assert sum(b.pieces for b in batches) == 200


def batch_of(dough_kg: float):
    (batch,) = batches_of(day())
    return replace(batch, dough_kg=dough_kg)


def test_flour_follows_from_the_percents():
    """168.5 parts of dough per 100 of flour."""
    (batch,) = batches_of(day())
    assert batch.dough_kg == pytest.approx(32 * 1.01)
    assert batch.flour_kg == pytest.approx(32 * 1.01 / 1.685)


def test_a_load_below_every_minimum_is_never_placed_silently():
    """4 kg on a mixer with a 12 kg minimum: the smallest mixer and a caution."""
    big = mixer("big", "big spiral", MixerKind.SPIRAL, "room", 80, min_dough_kg=12)
    assert choose_mixers((big,), 4.0) == (big,)
    assert [r.code for r in mixer_remarks(batch_of(4.0), big)] == ["too_little_dough"]


def test_too_much_for_a_mixer_is_not_called_too_little():
    small = mixer("small", "small spiral", MixerKind.SPIRAL, "room", 15, min_dough_kg=2)
    (remark,) = mixer_remarks(batch_of(24.0), small)
    assert (remark.code, remark.kind) == ("too_much_dough", RemarkKind.UNMET)


def test_between_two_mixers_the_one_that_can_hold_it_is_taken():
    """12 kg: too much for the small one, too little for the big one."""
    big = mixer("big", "big spiral", MixerKind.SPIRAL, "room", 80, min_dough_kg=20)
    small = mixer("small", "small spiral", MixerKind.SPIRAL, "room", 10, min_dough_kg=2)
    assert choose_mixers((small, big), 12.0) == (big,)


def test_machine_speeds_in_a_hand_bowl_are_named():
    bowl = mixer("bowl", "hand and bowl", MixerKind.HAND, "room", 40)
    codes = [r.code for r in mixer_remarks(batch_of(10.0), bowl)]
    assert codes == ["hand_mix", "no_such_speed"]


def test_hands_can_finish_a_dough_beside_any_machine():
    formula = lean_dough(steps=(MixStep(Speed.FIRST, 6), MixStep(Speed.FOLD, 2)))
    (batch,) = batches_of(day(formulas=(formula,)))
    assert [m.id for m in batch.mixers] == ["spiral"]
    assert mixer_remarks(batch, batch.mixers[0]) == ()


def test_less_dough_than_one_piece_is_refused_with_the_remedy():
    request = MixRequest("m1", "white", 0.5, product_id="loaf", leave_by=at(12))
    with pytest.raises(InputError, match=r"enter at least 0\.808 kg"):
        batches_of(day(lines=(request,)))


def test_a_small_load_goes_to_the_mixer_it_fills():
    big = mixer("big", "big spiral", MixerKind.SPIRAL, "room", 80, min_dough_kg=12)
    small = mixer("small", "small spiral", MixerKind.SPIRAL, "room", 15, min_dough_kg=2)
    assert choose_mixers((big, small), 4.0) == (small,)


def test_a_ready_mix_keeps_its_weight_and_counts_its_pieces():
    """30 kg at 0.808 kg a piece with handling loss: 37 pieces."""
    request = MixRequest("m1", "white", 30.0, product_id="loaf", leave_by=at(12))
    (batch,) = batches_of(day(lines=(request,)))
    assert batch.dough_kg == pytest.approx(30.0)
    assert batch.pieces == 37


def test_a_mix_without_product_has_no_loads():
    (batch,) = batches_of(day(lines=(MixRequest("m1", "white", 30.0),)))
    assert batch.loads_pieces == ()


def test_by_hand_the_oven_takes_several_loads_of_one_bowl():
    """Four loaves from one bowl, two at a time."""
    kitchen = bakery(
        mixers=(mixer("bowl", "bowl", MixerKind.HAND, "room", 5.0),),
        ovens=(Oven("oven", "oven", OvenKind.HOME),),
    )
    one = day(
        bakery=kitchen,
        formulas=(lean_dough(steps=(MixStep(Speed.HAND, 10),)),),
        products=(loaf(oven_ids=("oven",), pieces_per_place=2),),
        lines=(Order("o1", "loaf", 4, at(14)),),
    )
    (batch,) = batches_of(one)
    assert batch.loads_pieces == (2, 2)
