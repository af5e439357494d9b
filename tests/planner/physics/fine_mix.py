"""A mix in steps of a second, written without the project's code: ice melts, fat melts, bowls warm.

Explicit Euler on dough, bowl and ice. Ice melts through its surface within minutes instead of at
once; fat follows its table at every second; work and losses follow the dough as it is.
"""

from dataclasses import dataclass, field
from math import exp

FAT_C = [-20, 5, 10, 18, 20, 25, 30, 36]
FAT_SOLID = [0.75, 0.50, 0.45, 0.25, 0.20, 0.12, 0.05, 0.0]


def solid(temperature_c: float) -> float:
    """Solid share of milk fat, straight between the points of its table."""
    if temperature_c <= FAT_C[0]:
        return FAT_SOLID[0]
    for (a, sa), (b, sb) in zip(
        zip(FAT_C, FAT_SOLID, strict=True), zip(FAT_C[1:], FAT_SOLID[1:], strict=True), strict=False
    ):
        if temperature_c <= b:
            return sa + (sb - sa) * (temperature_c - a) / (b - a)
    return 0.0


@dataclass
class Addition:
    """Something that goes in at the start of a step: kg, kJ/kg K, °C, kJ set free, kg of fat."""

    kg: float
    cp: float
    c: float
    freed_kj: float = 0.0
    fat_kg: float = 0.0


@dataclass
class FineStep:
    """Minutes, kJ of work at 25 °C in the whole step, what goes in, ice among it."""

    minutes: float
    work_kj: float
    added: list[Addition] = field(default_factory=list)
    ice_kg: float = 0.0


def fine_dough_c(
    steps: list[FineStep],
    *,
    bowl_kj_per_k: float,
    bowl_c: float,
    loss_w_per_k: float,
    room_c: float,
    ice_c: float = 0.0,
    true_share: float = 1.0,
    melt_s: float = 60.0,
) -> list[float]:
    """Dough at the end of every step [°C]."""
    capacity, dough, ice_left, fat_kg, fat_solid = 0.0, 0.0, 0.0, 0.0, 0.0
    # Heat of the ice until it is water at 0 °C, given off evenly with the mass that melts.
    ice_kj = 2.05 * (0 - ice_c) + 334 * true_share
    ends = []
    for step in steps:
        for a in step.added:
            own = a.kg * a.cp
            dough = (capacity * dough + own * a.c + a.freed_kj) / (capacity + own)
            capacity += own
            if a.fat_kg:
                fat_solid = (fat_solid * fat_kg + solid(a.c) * a.fat_kg) / (fat_kg + a.fat_kg)
                fat_kg += a.fat_kg
        ice_left += step.ice_kg
        rate = step.ice_kg / melt_s
        for _ in range(round(step.minutes * 60)):
            heat = step.work_kj / (step.minutes * 60) * exp(-0.023 * (dough - 25))
            heat -= loss_w_per_k / 1000 * (dough - room_c)
            # Seven tenths of the way in ten minutes: a rate of ln(1/0.3)/600 s.
            to_bowl = bowl_kj_per_k * 1.2039728 / 600 * (dough - bowl_c)
            bowl_c += to_bowl / bowl_kj_per_k if bowl_kj_per_k else 0.0
            heat -= to_bowl
            melting = min(rate, ice_left)
            ice_left -= melting
            heat -= melting * (ice_kj + 4.18 * dough)
            capacity += melting * 4.18
            if fat_kg and fat_solid > solid(dough):
                heat -= 80 * fat_kg * (fat_solid - solid(dough))
                fat_solid = solid(dough)
            dough += heat / capacity
        ends.append(dough)
    return ends
