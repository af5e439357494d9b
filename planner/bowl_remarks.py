"""What to say of a mix on its mixer: too much, too little, too stiff, signed for, or split."""

from __future__ import annotations

from planner.batches import Batch, holds
from planner.formula import Formula
from planner.materials import properties
from planner.mixer_loads import most_dough_kg
from planner.mixers import HAND_SPEEDS, Mixer, MixerKind, Speed
from planner.planned import PlannedMix
from planner.remarks import Remark, RemarkKind, mass, minutes, percent, word
from planner.stiffness import broken_limits


def mixer_remarks(batch: Batch, mixer: Mixer, *, cold: bool = False) -> tuple[Remark, ...]:
    """Return what to say of a batch on a mixer.

    Parameters
    ----------
    batch, mixer
        The two.
    cold
        Whether flour or water is cold, or ice goes in.
    """
    load = [] if holds(batch, mixer, cold=cold) else [load_remark(batch, mixer, cold=cold)]
    return (
        *load,
        *hand_mix_remark(batch, mixer),
        *no_speed_remark(batch.formula, mixer),
        *stiff_remarks(batch.formula, mixer),
        *split_remark(batch, mixer),
        *sold_remarks(batch),
        *gluten_remark(batch, mixer),
    )


def is_cold_mix(mix: PlannedMix, formula: Formula, mixer: Mixer) -> bool:
    """Return whether a mix as planned is a cold one for a mixer: flour, water, ice.

    Parameters
    ----------
    mix
        With its ticket and what is weighed.
    formula, mixer
        Its dough, and the mixer whose limits count.
    """
    flours = {line.label for line in formula.lines if properties(line.material).is_flour}
    flour_c = [
        line.temperature_c
        for line in mix.scaling
        if line.name in flours and line.temperature_c is not None
    ]
    coldest_c = min(flour_c, default=mixer.cold_flour_c)
    return mixer.is_cold(coldest_c, mix.ticket.water_c, mix.ticket.ice_kg)


def signed_for(batch: Batch, mixer: Mixer) -> str:
    """Return who answers for a batch that is more than a mixer takes; empty when it is not."""
    too_much = batch.dough_kg > most_dough_kg(mixer, batch.formula, cold=False) * 1.001
    return batch.overload_signed_by if too_much else ""


def load_remark(batch: Batch, mixer: Mixer, *, cold: bool = False) -> Remark:
    """Return what to say of a load that a mixer does not hold."""
    most_kg = most_dough_kg(mixer, batch.formula, cold=cold)
    figures = (
        mass("dough", batch.dough_kg),
        word("mixer", mixer.name),
        mass("most", most_kg),
    )
    if batch.dough_kg > most_kg and batch.overload_signed_by:
        return Remark(
            RemarkKind.CAUTION,
            "overload_signed",
            "{dough} is more than {mixer} takes ({most}); {name} answers for it. It may miss its "
            "temperature and harm the machine, and its reading teaches nothing of the mixer.",
            (*figures, word("name", batch.overload_signed_by)),
        )
    if batch.dough_kg > most_kg:
        return Remark(
            RemarkKind.UNMET,
            "too_much_dough",
            "{dough} is more than {mixer} takes ({most}): it will not come to its temperature and "
            "may harm the machine; split it or use a larger one.",
            figures,
        )
    return Remark(
        RemarkKind.CAUTION,
        "too_little_dough",
        "{dough} is less than {mixer} can work ({least}): mix it by hand, "
        "or together with another batch of the same dough.",
        (
            mass("dough", batch.dough_kg),
            word("mixer", mixer.name),
            mass("least", mixer.min_dough_kg.value),
        ),
    )


def hand_mix_remark(batch: Batch, mixer: Mixer) -> list[Remark]:
    """Return what to say of a dough of machine speeds that is mixed by hand."""
    machine = {step.speed for step in batch.formula.steps} - HAND_SPEEDS - {Speed.REST}
    if mixer.kind is not MixerKind.HAND or not machine:
        return []
    return [
        Remark(
            RemarkKind.CAUTION,
            "hand_mix",
            "{dough} is mixed by hand in {mixer}, not on a machine.",
            (mass("dough", batch.dough_kg), word("mixer", mixer.name)),
        )
    ]


def no_speed_remark(formula: Formula, mixer: Mixer) -> list[Remark]:
    """Return what to say of a dough whose speeds a mixer does not have."""
    machine = {step.speed for step in formula.steps} - HAND_SPEEDS - {Speed.REST}
    lacking = sorted(machine - set(mixer.work_kj_per_kg_min))
    if not lacking:
        return []
    return [
        Remark(
            RemarkKind.CAUTION,
            "no_such_speed",
            "{mixer} has no {speeds}: work the dough as it can, and read its temperature.",
            (word("mixer", mixer.name), word("speeds", " or ".join(lacking))),
        )
    ]


STIFF_TEXTS = {
    (True, True): "Mixers such as {mixer} are thought not to run {speed} in doughs below {below} "
    "of water: ask its maker.",
    (True, False): "Mixers such as {mixer} are thought to run {speed} for {most} at most in doughs "
    "below {below} of water: ask its maker.",
    (False, True): "{mixer} must not run {speed} in doughs below {below} of water.",
    (False, False): "{mixer} may run {speed} for {most} at most in doughs below {below} of water.",
}
"""By whether the limit is assumed, and whether the speed may not run at all."""


def stiff_remarks(formula: Formula, mixer: Mixer) -> list[Remark]:
    """Return what to say of a speed that is thought too hard on a mixer for a stiff dough."""
    found = []
    for _, limit in broken_limits(mixer, formula):
        figures = (
            word("mixer", mixer.name),
            word("speed", limit.speed),
            percent("below", 100 * limit.below_hydration),
            minutes("most", limit.most_min),
        )
        text = STIFF_TEXTS[limit.assumed, limit.most_min == 0]
        found.append(Remark(RemarkKind.CAUTION, "stiff_dough", text, figures))
    return found


def sold_remarks(batch: Batch) -> list[Remark]:
    """Return by which rule pieces are scaled, where they follow from the weight sold."""
    found = []
    for product in batch.products:
        sold = product.sold
        if sold is None:
            continue
        figures = (
            word("product", product.name),
            mass("piece", product.piece_kg),
            mass("sold", sold.baked_kg),
            percent("handling", 100 * product.handling_loss_fraction.value),
        )
        if sold.extra_kg is None:
            lost = percent("lost", 100 * product.bake_loss_fraction.value)
            text = (
                "{product}: {piece} of dough for {sold} baked, since {lost} of the dough is lost "
                "in baking; {handling} more stays in bowl and on the bench."
            )
            found.append(Remark(RemarkKind.NOTE, "sold_by_share", text, (*figures, lost)))
        else:
            extra = mass("extra", sold.extra_kg)
            text = (
                "{product}: {piece} of dough for {sold} baked, {extra} extra for each; {handling} "
                "more stays in bowl and on the bench."
            )
            found.append(Remark(RemarkKind.NOTE, "sold_by_extra", text, (*figures, extra)))
    return found


def gluten_remark(batch: Batch, mixer: Mixer) -> list[Remark]:
    """Return what to see to for a dough that no gluten may come near."""
    if not batch.formula.gluten_free:
        return []
    return [
        Remark(
            RemarkKind.CAUTION,
            "keep_gluten_out",
            "No gluten may come near this dough: clean {mixer}, tools and bench fully first, and "
            "handle no flour with gluten in its room until it is divided, preferments included.",
            (word("mixer", mixer.name),),
        )
    ]


def split_remark(batch: Batch, mixer: Mixer) -> list[Remark]:
    """Return why a dough is made as more mixes than a warm one would need."""
    most_kg = most_dough_kg(mixer, batch.formula, cold=True)
    if batch.alternative == 0:
        return []
    return [
        Remark(
            RemarkKind.REASON,
            "split_when_cold",
            "Made as {mixes} mixes: with ice, cold water or chilled flour {mixer} takes {most} of "
            "this dough.",
            (word("mixes", str(batch.batches)), word("mixer", mixer.name), mass("most", most_kg)),
        )
    ]
