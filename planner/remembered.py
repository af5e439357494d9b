"""Mixes that the baker remembers: readings with wide noise, until the first night has its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from planner.errors import Fault, check_name, check_within, no_such
from planner.formula import Formula
from planner.materials import Material
from planner.mixers import Mixer

USUAL_FILL = 0.8
"""How full a mixer was when nobody says, as a share of the most it takes (our guess)."""


@dataclass(frozen=True, slots=True)
class RememberedMix:
    """A mix that the baker remembers: "last time water about 12, flour about 24, came off at 26".

    Attributes
    ----------
    dough_kg
        How much it was [kg]; None for four fifths of what the mixer takes.
    water_c, ice_kg
        Water [°C] and ice [kg] that went in.
    flour_c, room_c
        Flour and room [°C]; None for the room, and for tonight's.
    part_c
        Preferments and scalds by part id [°C]; the dough's own number when left out.
    dough_end_c, about_k
        Temperature it came off with [°C], and how sure that is, one standard deviation [K].
    """

    mixer_id: str
    formula_id: str
    water_c: float
    dough_end_c: float
    dough_kg: float | None = None
    ice_kg: float = 0.0
    flour_c: float | None = None
    room_c: float | None = None
    part_c: tuple[tuple[str, float], ...] = ()
    about_k: float = 1.0

    def __post_init__(self) -> None:
        check_name("mixer_id", self.mixer_id)
        check_name("formula_id", self.formula_id)
        check_within("water_c", self.water_c, 0, 100, "°C")
        check_within("dough_end_c", self.dough_end_c, 5, 45, "°C")
        check_within("ice_kg", self.ice_kg, 0, 1000, "kg")
        check_within("about_k", self.about_k, 0.2, 5, "K")
        for name, value in (("flour_c", self.flour_c), ("room_c", self.room_c)):
            if value is not None:
                check_within(name, value, -20, 60, "°C")
        if self.dough_kg is not None:
            check_within("dough_kg", self.dough_kg, 0.1, 5000, "kg")
        for part_id, part_c in self.part_c:
            check_within(f"part_c.{part_id}", part_c, -20, 100, "°C")

    def mass_kg(self, mixer: Mixer) -> float:
        """Return how much dough it was in this mixer [kg]."""
        return USUAL_FILL * mixer.max_dough_kg if self.dough_kg is None else self.dough_kg


def check_remembered_known(
    remembered: Sequence[RememberedMix], formulas: Sequence[Formula], mixers: Sequence[Mixer]
) -> list[Fault]:
    """A remembered mix names a mixer, a formula and parts of it that there are."""
    faults = []
    by_id, machines = {f.id: f for f in formulas}, [m.id for m in mixers]
    for i, one in enumerate(remembered):
        formula = by_id.get(one.formula_id)
        if formula is None:
            where = f"remembered[{i}].formula"
            faults.append(no_such(where, one.formula_id, "formula", list(by_id)))
        if one.mixer_id not in machines:
            faults.append(no_such(f"remembered[{i}].mixer", one.mixer_id, "mixer", machines))
        parts = [] if formula is None else [part.id for part in formula.parts]
        faults += [
            no_such(f"remembered[{i}].part_c.{part_id}", part_id, "part of this formula", parts)
            for part_id, _ in one.part_c
            if formula is not None and part_id not in parts
        ]
    return faults


def check_remembered_ice(
    remembered: Sequence[RememberedMix], formulas: Sequence[Formula], mixers: Sequence[Mixer]
) -> list[Fault]:
    """No remembered mix had more ice than the water that it stood in for."""
    faults = []
    by_id, machines = {f.id: f for f in formulas}, {m.id: m for m in mixers}
    for i, one in enumerate(remembered):
        formula, mixer = by_id.get(one.formula_id), machines.get(one.mixer_id)
        if formula is None or mixer is None or one.ice_kg == 0:
            continue
        water_kg = one.mass_kg(mixer) * first_water_percent(formula) / formula.total_percent
        if one.ice_kg > water_kg:
            most = f"{water_kg:.3g} kg of it" if water_kg > 0 else "no water to replace"
            faults.append(
                Fault(
                    f"remembered[{i}].ice_kg",
                    repr(one.ice_kg),
                    f"is more ice than there is water in this dough, which has {most}",
                    "enter the ice of that one mix, and its dough_kg if it was larger",
                )
            )
    return faults


def first_water_percent(formula: Formula) -> float:
    """Return the water of a dough that goes in first and may be ice [%]."""
    steered = [
        line
        for line in formula.lines
        if line.material is Material.WATER and line.temperature_c is None and line.percent > 0
    ]
    first = min((line.step for line in steered), default=0)
    return sum(line.percent for line in steered if line.step == first)
