"""Reasons, cautions and unmet wishes of a plan, in a baker's words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from planner.formula import (
    Formula,
    Part,
    Scald,
)
from planner.materials import RAW_EGG
from planner.night import Night
from planner.options import Offer
from planner.pins import Pin
from planner.planned import PlannedMix
from planner.planned_preparation import PlannedPreparation, PreparationKind
from planner.remarks import (
    Figure,
    Remark,
    RemarkKind,
    difference,
    mass,
    minutes,
    moment,
    temperature,
    word,
)
from planner.ripening import ByTheClock, Curve
from planner.scheduling.schedule import Unmet
from planner.stores import chilled_kg
from planner.water_sources import IceKind, SupplyKind

HOT_WATER_C = 45.0
"""Water above this needs a loading order: water, flour as a barrier, then what is alive [°C]."""

BURN_C = 49.0
"""Paste above this burns skin within minutes (burn-prevention texts) [°C]."""

RIPE_STEP_MIN = 2.5
"""Step of the paths on which two ripe times are compared [min]."""

SOME_ICE_KG = 0.005
"""Less ice than this is not spoken of [kg]."""

SAID_FROM_MIN, PLANNING_STEP_MIN = 1.0, 5.0
"""A divide outside its window by more than the first and up to the second is the grid's doing."""

NEAR_NUMBER_K = 0.25
"""A dough nearer than this to the baker's number needs no reason [K]."""


def mix_remarks(night: Night, offered: Offer, mix: PlannedMix) -> tuple[Remark, ...]:
    """Return the reasons and cautions of one mix, most urgent first."""
    remarks = [
        *mix.remarks,
        *ice_cautions(mix),
        *second_water(offered, mix),
        *short_window(mix),
        *hot_water_caution(mix),
        *raw_egg_caution(offered),
        *allergen_caution(offered),
        *dough_off_number(night, offered, mix),
        *unusual_dough(offered),
        *water_reason(night, mix),
        *chiller_reason(night, mix),
        *room_reason(night, offered, mix),
        *weak_clock(night, offered, mix),
    ]
    return tuple(replace(r, subject=mix.id) for r in remarks)


def short_window(mix: PlannedMix) -> list[Remark]:
    """Name a window that the planning step of a few minutes jumps over."""
    early = (mix.divide_from_utc - mix.divide_utc).total_seconds() / 60
    late = (mix.divide_utc - mix.divide_by_utc).total_seconds() / 60
    outside_min = max(early, late)
    if not SAID_FROM_MIN < outside_min <= PLANNING_STEP_MIN:
        return []
    text = "Its window is shorter than the planning step: divided {outside} outside it."
    figures = (minutes("outside", outside_min),)
    return [Remark(RemarkKind.UNMET, "bulk_window", text, figures)]


def second_water(offered: Offer, mix: PlannedMix) -> list[Remark]:
    """Say how much of the water, and of the ice, is kept for a later step."""
    steps = offered.batch.formula.steps
    remarks = []
    for held in mix.ticket.held_back:
        figures: tuple[Figure, ...] = (
            mass("kept", held.water_kg),
            word("step", str(held.step + 1)),
            word("speed", steps[held.step].speed),
        )
        text = "Keep back {kept} of the water for the step {step} ({speed})."
        if held.ice_kg >= SOME_ICE_KG:
            text = "Keep back {kept} of the water and {ice} of ice for the step {step} ({speed})."
            figures = (*figures, mass("ice", held.ice_kg))
        remarks.append(Remark(RemarkKind.NOTE, "second_water", text, figures))
    return remarks


def ice_cautions(mix: PlannedMix) -> list[Remark]:
    """Say how ice is used, and what not to do."""
    if mix.ticket.ice_kg < SOME_ICE_KG or mix.ticket.ice_kind is None:
        return []
    if mix.ticket.pour_c is not None:
        return [
            Remark(
                RemarkKind.CAUTION,
                "melt_first",
                "Stir {ice} of {kind} ice into the water until it is gone and check that it reads "
                "{pour}: pieces would not melt in this mix.",
                (
                    mass("ice", mix.ticket.ice_kg),
                    word("kind", mix.ticket.ice_kind),
                    temperature("pour", mix.ticket.pour_c),
                ),
            )
        ]
    piece = "" if mix.ticket.ice_kind is IceKind.FLAKE else " Break up large pieces."
    when, figures = _when_water_goes_in(mix)
    text = f"Ice goes in with the water {when}; no scoop or hand in a moving bowl.{piece}"
    return [Remark(RemarkKind.CAUTION, "ice_in_bowl", text, figures)]


def _when_water_goes_in(mix: PlannedMix) -> tuple[str, tuple[Figure, ...]]:
    """Return the words and figures for the moment at which water and ice go into the bowl."""
    if mix.ticket.water_step == 0:
        return "before the mixer starts", ()
    step = word("step", str(mix.ticket.water_step + 1))
    return "at step {step}, with the mixer stopped", (step,)


def hot_water_caution(mix: PlannedMix) -> list[Remark]:
    """Give the loading order when the water is hot."""
    if mix.ticket.water_c is None or mix.ticket.water_c <= HOT_WATER_C:
        return []
    text = (
        "Water at {water} burns and kills yeast: water first, then flour, then yeast or levain "
        "on top."
    )
    figures: tuple[Figure, ...] = (temperature("water", mix.ticket.water_c),)
    if mix.ticket.water_step > 0:
        when, step = _when_water_goes_in(mix)
        text = (
            f"Water at {{water}} burns and kills yeast: pour it slowly {when}, and not onto yeast "
            "or levain."
        )
        figures = (*figures, *step)
    return [Remark(RemarkKind.CAUTION, "hot_water", text, figures)]


def raw_egg_caution(offered: Offer) -> list[Remark]:
    """Keep raw egg cold until the mix."""
    if not any(line.material in RAW_EGG for line in offered.batch.formula.lines):
        return []
    return [
        Remark(
            RemarkKind.CAUTION,
            "raw_egg",
            "Raw egg: keep it cold until it goes in, then wash hands and tools; follow your local "
            "food code.",
        )
    ]


def allergen_caution(offered: Offer) -> list[Remark]:
    """Name allergens beyond the cereal that every dough has."""
    others = sorted(offered.batch.formula.allergens - {"gluten"})
    if not others:
        return []
    return [
        Remark(
            RemarkKind.CAUTION,
            "allergens",
            "Contains {allergens}: clean down bowl, hook and bench before a dough without.",
            (word("allergens", ", ".join(others)),),
        )
    ]


def dough_off_number(night: Night, offered: Offer, mix: PlannedMix) -> list[Remark]:
    """Say why a dough is planned warmer or cooler than the baker's number, or comes off so.

    Where water and ice cannot reach the dough that was chosen, nobody chose what comes of it.
    """
    usual_c, dough_c = offered.batch.formula.dough_c, mix.ticket.expected_c
    off_k = dough_c - usual_c
    if abs(off_k) < NEAR_NUMBER_K:
        return []
    figures = (
        difference("off", abs(off_k)),
        temperature("usual", usual_c),
        moment("divide", mix.divide_utc),
        minutes("worth", abs(ripe_sooner_min(night, offered, mix, dough_c))),
    )
    side = "cooler" if off_k < 0 else "warmer"
    code = f"dough_{side}"
    if abs(dough_c - mix.steered.dough_c) >= NEAR_NUMBER_K:
        code, text = f"comes_off_{side}", COMES_OFF[side]
    elif off_k > 0 and mix.ticket.ice_kg > 0:
        text = WARMER_AND_LESS_COLD
    else:
        text = PLANNED[side]
    return [Remark(RemarkKind.REASON, code, text, figures)]


COMES_OFF = {
    "cooler": "Comes off {off} cooler than your {usual}: it ripens {worth} later.",
    "warmer": "Comes off {off} warmer than your {usual}: it ripens {worth} sooner.",
}
PLANNED = {
    "cooler": "{off} cooler than your {usual}: it ripens {worth} later, at its divide at {divide}.",
    "warmer": (
        "{off} warmer than your {usual}: it ripens {worth} sooner, at its divide at {divide}."
    ),
}
WARMER_AND_LESS_COLD = (
    "{off} warmer than your {usual}: it ripens {worth} sooner, at its divide at {divide}, and asks"
    " for less cold water."
)


def ripe_sooner_min(night: Night, offered: Offer, mix: PlannedMix, dough_c: float) -> float:
    """Return how much sooner a dough is ripe than at the baker's own number [min].

    Both are followed to the end: a slope at one of them does not hold over many degrees. Where one
    never ripens, the slope has to do.
    """
    usual_c = offered.batch.formula.dough_c
    start = night.day.minute(mix.mix_end_utc)
    path = offered.bulk.path(start, np.array([usual_c, dough_c]), step_min=RIPE_STEP_MIN)
    _, ripe, _ = offered.bulk.window(path)
    if not np.all(np.isfinite(ripe)):
        return (dough_c - usual_c) * mix.minutes_per_degree
    return float(ripe[0] - ripe[1])


USUAL_DOUGH_C: dict[str, tuple[float, float]] = {
    "wheat": (22.0, 28.0),
    "mixed": (25.0, 28.5),
    "rye": (27.0, 32.0),
    "pretzel": (20.0, 24.5),
    "sweet": (22.0, 28.0),
    "laminated": (16.0, 24.0),
    "pizza": (20.0, 27.0),
}
"""Dough temperatures usual in trade texts, by class of dough [°C]."""


def unusual_dough(offered: Offer) -> list[Remark]:
    """Ask back, softly, about a wish outside what is usual for its class of dough."""
    formula = offered.batch.formula
    usual = USUAL_DOUGH_C.get(formula.dough_class.lower())
    if usual is None or usual[0] <= formula.dough_c <= usual[1]:
        return []
    return [
        Remark(
            RemarkKind.NOTE,
            "unusual_dough",
            "{dough} is unusual for {kind} dough ({low} to {high}): as you wish.",
            (
                temperature("dough", formula.dough_c),
                word("kind", formula.dough_class),
                temperature("low", usual[0]),
                temperature("high", usual[1]),
            ),
        )
    ]


def water_reason(night: Night, mix: PlannedMix) -> list[Remark]:
    """Say what tap water alone would give, when it was not enough."""
    ticket = mix.ticket
    tap = night.supply(SupplyKind.TAP)
    if tap is None or ticket.equivalent_c is None or not ticket.dough_per_water_k:
        return []
    tap_c = night.supply_c(tap).value
    if abs(ticket.equivalent_c - tap_c) < 1.0:
        return []
    with_tap = ticket.expected_c + ticket.dough_per_water_k * (tap_c - ticket.equivalent_c)
    return [
        Remark(
            RemarkKind.REASON,
            "tap_alone",
            "Tap water at {tap} alone would give a dough of about {dough}.",
            (temperature("tap", tap_c), temperature("dough", with_tap)),
        )
    ]


def chiller_reason(night: Night, mix: PlannedMix) -> list[Remark]:
    """Say when the chiller has less left than the mix would take, or is kept for others."""
    chiller = night.supply(SupplyKind.CHILLER)
    taken_kg = chilled_kg(mix.ticket.water)
    ticket = mix.ticket
    wants_more = ticket.water_c is not None and ticket.water_kg > taken_kg + 0.005
    if chiller is None or not wants_more:
        return []
    if mix.steered.use_chilled and taken_kg >= mix.steered.chilled_kg - 0.005:
        left = mass("left", mix.steered.chilled_kg)
        text = "The chiller has only {left} left for this mix: its water is warmer."
        if ticket.ice_kg > 0:
            text = "The chiller has only {left} left for this mix: ice makes up for it."
        return [Remark(RemarkKind.NOTE, "chiller_short", text, (left,))]
    if mix.steered.use_chilled:
        return []
    if ticket.ice_kg > 0:
        text = "Chilled water is kept for other mixes: ice makes up for it."
        return [Remark(RemarkKind.NOTE, "chiller_kept", text)]
    if ticket.expected_c > mix.steered.dough_c + NEAR_NUMBER_K:
        text = "Chilled water is kept for other mixes: this one comes off warmer."
        return [Remark(RemarkKind.NOTE, "chiller_kept", text)]
    return []


def room_reason(night: Night, offered: Offer, mix: PlannedMix) -> list[Remark]:
    """Compare tonight's bulk with the baker's statement by the clock."""
    reference = offered.batch.formula.bulk.reference
    bulk_min = (mix.divide_utc - mix.mix_end_utc).total_seconds() / 60
    place_id = offered.batch.formula.bulk.place_id
    start = night.day.minute(mix.mix_end_utc)
    air = night.air_c(place_id)(np.array([start, start + bulk_min]))
    figures = [
        temperature("from", float(air[0])),
        temperature("to", float(air[1])),
        minutes("bulk", bulk_min),
    ]
    if isinstance(reference, ByTheClock):
        text = "Room {from} to {to}: bulk {bulk}, against {usual} in your usual {room}."
        figures += [minutes("usual", reference.minutes), temperature("room", reference.room_c)]
    else:
        text = "Room {from} to {to}: bulk {bulk}."
    return [Remark(RemarkKind.REASON, "room", text, tuple(figures))]


WARM_LEVAIN_C, COLD_DOUGH_C = 30.0, 8.0
"""Above the first a levain depends on its own culture, below the second any dough is hard to tell
(growth curves of sour-dough organisms, Gänzle 1998; yeast in the cold to a factor of two) [°C]."""


def weak_clock(night: Night, offered: Offer, mix: PlannedMix) -> list[Remark]:
    """Say where the clock of fermentation is weak, instead of promising a minute."""
    bulk = offered.bulk
    start = night.day.minute(mix.mix_end_utc)
    span = max(10.0, (mix.divide_utc - mix.mix_end_utc).total_seconds() / 60)
    path = bulk.path(start, mix.ticket.expected_c, span_min=span)
    warmest, coldest = float(path.temperature_c.max()), float(path.temperature_c.min())
    if bulk.curve is not Curve.YEAST and warmest > WARM_LEVAIN_C:
        text = "Up to {dough} in bulk: above {limit} a levain goes by its own culture; look at it."
        figures = (temperature("dough", warmest), temperature("limit", WARM_LEVAIN_C))
    elif coldest < COLD_DOUGH_C:
        text = "Down to {dough} in bulk: below {limit} times are rough; look at it."
        figures = (temperature("dough", coldest), temperature("limit", COLD_DOUGH_C))
    else:
        return []
    return [Remark(RemarkKind.NOTE, "weak_clock", text, figures)]


def preparation_remarks(preparation: PlannedPreparation, part: Part) -> tuple[Remark, ...]:
    """Return the cautions of one preparation."""
    remarks: list[Remark] = []
    if preparation.kind is PreparationKind.SCALD and isinstance(part, Scald):
        remarks.append(
            Remark(
                RemarkKind.CAUTION,
                "pour",
                "Boiling water and steam: pour slowly, away from you, with dry gloves; the paste "
                "starts at about {start} and clings.",
                (temperature("start", preparation.start_c),),
            )
        )
        remarks.append(
            Remark(
                RemarkKind.CAUTION,
                "cooling_code",
                "Cooked starch that stands warm for hours: your food code may set limits for "
                "cooling; ask your food-safety authority.",
            )
        )
        if any(use > BURN_C for use in preparation.use_c):
            remarks.append(
                Remark(
                    RemarkKind.CAUTION,
                    "hot_paste",
                    "Still above {burn} at the mix: it burns; add it with the mixer stopped.",
                    (temperature("burn", BURN_C),),
                )
            )
    return tuple(replace(r, subject=preparation.id) for r in remarks)


def unmet_remarks(unmet: Iterable[Unmet], names: dict[str, str]) -> list[Remark]:
    """Turn the schedule's unmet wishes into sentences."""
    texts = {
        "late": "{name} leaves {minutes} late.",
        "bulk_window": "{name} is divided {minutes} outside its window.",
        "load_window": "{name} is loaded {minutes} outside its window.",
        "no_option": "{name} cannot be planned: {detail}.",
        "no_place": "{name} finds no place: {detail}.",
        "no_preparation": "{name} has no preparation ready: {detail}.",
        "pin": "{name}: what you fixed cannot be kept: {detail}.",
        "nobody": "{name}: nobody is free for {minutes} of work: {detail}.",
        "rest": "{name} has no break: only {minutes} of it are free; {detail}.",
    }
    return [
        Remark(
            RemarkKind.UNMET,
            u.code,
            texts.get(u.code, "{name}: {detail}."),
            (
                word("name", names.get(u.subject, u.subject)),
                minutes("minutes", float(u.minutes)),
                word("detail", u.detail),
            ),
            u.subject,
        )
        for u in unmet
    ]


def night_note(night: Night) -> list[Remark]:
    """Say what the rooms do tonight."""
    notes = []
    for room in night.day.bakery.rooms:
        air = night.air_c(room.id)(night.hours)
        coolest, hottest = int(np.argmin(air)), int(np.argmax(air))
        notes.append(
            Remark(
                RemarkKind.NOTE,
                "room_range",
                "{room}: {low} at {low_at}, {high} at {high_at}.",
                (
                    word("room", room.name),
                    temperature("low", float(air[coolest])),
                    moment("low_at", night.day.moment(float(night.hours[coolest]))),
                    temperature("high", float(air[hottest])),
                    moment("high_at", night.day.moment(float(night.hours[hottest]))),
                ),
            )
        )
    return notes


def pin_remarks(
    pins: Sequence[Pin], mixes: Sequence[PlannedMix], offers: Sequence[Offer]
) -> list[Remark]:
    """State what a pinned dough temperature means: outside the band, or out of reach."""
    pinned = {pin.mix_id: pin.dough_c for pin in pins if pin.dough_c is not None}
    formulas = {o.batch.id: o.batch.formula for o in offers}
    return [
        remark
        for mix in mixes
        if mix.id in pinned
        for remark in _pinned_dough(mix, formulas[mix.id], pinned[mix.id])
    ]


def _pinned_dough(mix: PlannedMix, formula: Formula, pinned_c: float) -> list[Remark]:
    low, high = formula.dough_c - formula.band_k, formula.dough_c + formula.band_k
    remarks = []
    if not low - 1e-6 <= pinned_c <= high + 1e-6:
        text = "Pinned at {dough}, outside your band of {low} to {high}."
        figures = (temperature("dough", pinned_c), temperature("low", low))
        remarks.append(
            Remark(
                RemarkKind.NOTE,
                "pinned_outside_band",
                text,
                (*figures, temperature("high", high)),
                mix.id,
            )
        )
    if abs(mix.ticket.expected_c - pinned_c) > NEAR_NUMBER_K:
        text = "Pinned at {dough}, but water and ice reach {expected}."
        figures = (
            temperature("dough", pinned_c),
            temperature("expected", mix.ticket.expected_c),
        )
        remarks.append(Remark(RemarkKind.UNMET, "pin", text, figures, mix.id))
    return remarks
