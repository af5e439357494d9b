"""A line of a formula: what goes in, in baker's percent of all flour."""

from __future__ import annotations

from dataclasses import dataclass

from planner.errors import check_within, refuse
from planner.materials import Material, properties


@dataclass(frozen=True, slots=True)
class Composition:
    """What an unusual ingredient is made of, by mass; what is not named is taken as carbohydrate.

    Attributes
    ----------
    water, fat, protein, fibre, ash
        Shares of its mass.
    """

    water: float = 0.0
    fat: float = 0.0
    protein: float = 0.0
    fibre: float = 0.0
    ash: float = 0.0

    def __post_init__(self) -> None:
        for name in ("water", "fat", "protein", "fibre", "ash"):
            check_within(name, getattr(self, name), 0, 1, "(share)")
        if self.carbohydrate < -1e-9:
            raise refuse(
                "composition",
                1 - self.carbohydrate,
                "its shares add up to more than one",
                "enter shares of its mass, such as water 0.75",
            )

    @property
    def carbohydrate(self) -> float:
        """Share of what is left."""
        return 1 - (self.water + self.fat + self.protein + self.fibre + self.ash)


@dataclass(frozen=True, slots=True)
class Line:
    """One ingredient.

    Attributes
    ----------
    percent
        Baker's percent of the total flour.
    name
        What it is called on the sheet; the material's name when empty.
    temperature_c
        Its temperature when it goes in [°C]; None when it follows from where it stands.
    store_id
        The flour store or place it stands in; None for the usual place of its material.
    step
        Index of the mixing step at whose start it goes in; 0 with the first.
    composition
        What it is made of, when its material is not a usual one; decides its specific heat and
        its water.
    allergens
        Allergens beside those of its material, by their European label words.
    """

    material: Material
    percent: float
    name: str = ""
    temperature_c: float | None = None
    store_id: str | None = None
    step: int = 0
    composition: Composition | None = None
    allergens: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        check_within("percent", self.percent, 0, 1000, "%")
        if self.temperature_c is not None:
            check_within("temperature_c", self.temperature_c, -25, 100, "°C")
        check_within("step", self.step, 0, 50, "(index of a mixing step)")

    @property
    def label(self) -> str:
        """Name to print."""
        return self.name or str(self.material)

    @property
    def water_fraction(self) -> float:
        """Share of its mass that is water."""
        if self.composition is not None:
            return self.composition.water
        return properties(self.material).water_fraction


def flour_percent(lines: tuple[Line, ...], *, with_malt: bool) -> float:
    """Return the baker's percent of flour in some lines."""
    return sum(
        line.percent
        for line in lines
        if properties(line.material).is_flour and (with_malt or line.material is not Material.MALT)
    )


def water_percent(lines: tuple[Line, ...]) -> float:
    """Return the baker's percent of water in some lines, that in egg, milk and butter included."""
    return sum(line.percent * line.water_fraction for line in lines)
