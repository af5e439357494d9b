"""A preparation card as data: a levain, preferment, scald or soaker for whoever sets it."""

from __future__ import annotations

from dataclasses import dataclass

from api.pages.mix_ticket import ReadingBox, ScalingRow
from api.pages.names import Names
from api.pages.wording import (
    Clock,
    Units,
    dough_degrees,
    mass_text,
    number,
    printed_masses,
    render_remark,
    water_degrees,
)
from planner.planned import (
    Plan,
    PlannedPreparation,
    PreparationKind,
)
from planner.remarks import RemarkKind
from planner.water_ticket import (
    ScalingLine,
)

KIND_WORDS = {
    PreparationKind.PREFERMENT: ("set", "ripe"),
    PreparationKind.SCALD: ("pour", "cool enough"),
    PreparationKind.SOAKER: ("soak", "ready"),
}


@dataclass(frozen=True, slots=True)
class PreparationCard:
    """One preparation; ``uses`` names each mix with its clock time."""

    name: str
    kind: str
    date: str
    start: str
    offset: str
    verb: str
    ready_word: str
    ready_from: str
    ready_by: str
    made: str
    kept_back: str
    place: str
    vessel: str
    scaling: tuple[ScalingRow, ...]
    total: str
    mass_unit: str
    readings: tuple[ReadingBox, ...]
    uses: tuple[str, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]


def preparation_card(
    plan: Plan, one: PlannedPreparation, clock: Clock, units: Units
) -> PreparationCard:
    """Return the card of one preparation.

    Parameters
    ----------
    plan, one
        The plan and one of its preparations.
    clock, units
        How the house reads time and quantities.
    """
    names = Names(plan)
    verb, ready_word = KIND_WORDS[one.kind]
    scaling, total = _scaling(one, names, units)
    cautions = (RemarkKind.CAUTION, RemarkKind.UNMET)
    return PreparationCard(
        name=one.name,
        kind=str(one.kind),
        date=clock.day(one.start_utc),
        start=clock.hand(one.start_utc),
        offset=clock.offset(one.start_utc),
        verb=verb,
        ready_word=ready_word,
        ready_from=clock.after(one.ready_from_utc, one.start_utc),
        ready_by=clock.after(one.ready_by_utc, one.start_utc),
        made=mass_text(one.made_kg, units),
        kept_back=mass_text(one.kept_back_kg, units) if one.kept_back_kg > 0 else "",
        place=names.place(one.mixer_id or one.place_id),
        vessel=one.vessel,
        scaling=scaling,
        total=total,
        mass_unit=units.mass,
        readings=_readings(one, units),
        uses=_uses(plan, one, names, clock, units),
        cautions=tuple(
            render_remark(r, clock.zone, units, clock=clock)
            for r in one.remarks
            if r.kind in cautions
        ),
        notes=tuple(
            render_remark(r, clock.zone, units, clock=clock)
            for r in one.remarks
            if r.kind not in cautions
        ),
    )


def _scaling(
    one: PlannedPreparation, names: Names, units: Units
) -> tuple[tuple[ScalingRow, ...], str]:
    lines = [
        (
            f"water, {names.supply(w.supply_id)}",
            "",
            w.water_kg,
            water_degrees(w.temperature_c, units),
        )
        for w in one.water
    ]
    if one.ice_kg > 0:
        lines.append(("ice", "", one.ice_kg, ""))
    lines += [
        (
            line.name,
            number(line.percent, 1),
            line.mass_kg,
            "" if line.temperature_c is None else dough_degrees(line.temperature_c, units),
        )
        for line in one.scaling
    ]
    printed = printed_masses([mass_kg for _, _, mass_kg, _ in lines], units)
    rows = tuple(
        ScalingRow("", name, percent, mass, degrees)
        for (name, percent, _, degrees), mass in zip(lines, printed.lines, strict=True)
    )
    return rows, printed.total


def _readings(one: PlannedPreparation, units: Units) -> tuple[ReadingBox, ...]:
    word = "poured" if one.kind is PreparationKind.SCALD else "set"
    return (
        ReadingBox(f"when {word}", units.degree, dough_degrees(one.start_c, units)),
        ReadingBox(f"{word} at", "h:min", ""),
        ReadingBox("at its use", units.degree, dough_degrees(max(one.use_c, default=None), units)),
        ReadingBox("used at", "h:min", ""),
    )


def _uses(
    plan: Plan, one: PlannedPreparation, names: Names, clock: Clock, units: Units
) -> tuple[str, ...]:
    mixes = {mix.id: mix for mix in plan.mixes}
    return tuple(
        f"{names.mix(mix_id)}, {names.dough(mixes[mix_id])},"
        f" {clock.after(mixes[mix_id].start_utc, one.start_utc)}:"
        f" {_share(mixes[mix_id].scaling, one.name, units)}"
        f" expected at {dough_degrees(use_c, units)} {units.degree}"
        for mix_id, use_c in zip(one.mix_ids, one.use_c, strict=False)
        if mix_id in mixes
    )


def _share(scaling: tuple[ScalingLine, ...], name: str, units: Units) -> str:
    share = next((line.mass_kg for line in scaling if line.name == name), None)
    return "" if share is None else f"{mass_text(share, units)},"
