"""The water ticket: the numbers of one mix, with what stands behind them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from planner.water_sources import IceKind, SupplyKind


@dataclass(frozen=True, slots=True)
class WaterLine:
    """Water of one supply that goes into a mix [kg at °C]."""

    supply_id: str
    kind: SupplyKind
    water_kg: float
    temperature_c: float


@dataclass(frozen=True, slots=True)
class BalanceTerm:
    """One term of a heat balance and what it does to the dough.

    Attributes
    ----------
    name
        What it is, in plain words.
    mass_kg, start_c
        Mass [kg] and start temperature [°C]; None where the term has none.
    heat_kj
        Heat it gives the dough on the way to the end temperature [kJ]; negative takes.
    effect_k
        The same in degrees of dough [K].
    """

    name: str
    mass_kg: float | None
    start_c: float | None
    heat_kj: float
    effect_k: float


@dataclass(frozen=True, slots=True)
class StripCell:
    """One cell of the correction strip: finished figures, never a difference to add.

    Attributes
    ----------
    water, ice_kg
        What to weigh then.
    expected_c
        Dough temperature that gives [°C].
    """

    water: tuple[WaterLine, ...]
    ice_kg: float
    expected_c: float

    @property
    def water_c(self) -> float | None:
        """All its liquid water together [°C]; None without."""
        whole_kg = sum(line.water_kg for line in self.water)
        if whole_kg <= 0:
            return None
        return sum(line.water_kg * line.temperature_c for line in self.water) / whole_kg


@dataclass(frozen=True, slots=True)
class Strip:
    """Finished water and ice for readings that differ from the forecast.

    Attributes
    ----------
    column
        What the columns are readings of: a part of the dough, or the room.
    flour_c, column_c
        Readings of the rows and of the columns [°C].
    cells
        By row, then by column.
    """

    column: str
    flour_c: tuple[float, ...]
    column_c: tuple[float, ...]
    cells: tuple[tuple[StripCell, ...], ...]


@dataclass(frozen=True, slots=True)
class HeldBack:
    """Water, and the ice that goes with it, kept for a later step of the mix [kg]."""

    step: int
    water_kg: float
    ice_kg: float = 0.0


@dataclass(frozen=True, slots=True)
class SumBeside:
    """A sum of the trade beside our number.

    Attributes
    ----------
    convention
        Which sum it is, in plain words.
    is_own
        Whether the baker stated it; else it is tuned on a mild day.
    water_c, dough_c
        Its water [°C], and the dough that water would give [°C].
    ours_c
        What the balance asks for, ice counted as colder water [°C].
    """

    convention: str
    is_own: bool
    water_c: float
    dough_c: float
    ours_c: float


@dataclass(frozen=True, slots=True)
class WaterTicket:
    """The numbers a mixer hand needs.

    Attributes
    ----------
    wanted_c
        The desired dough temperature [°C]; the expected one where the wish cannot be reached.
    water_c
        Temperature of all liquid water together [°C]; None when the dough has no water.
    water
        Kilos and degrees per supply; with ``ice_kg`` they add up to ``formula_water_kg``.
    ice_kg, ice_kind
        Ice to weigh [kg].
    expected_c, expected_sd_k
        Dough temperature these figures give [°C] and one standard deviation [K].
    dough_per_water_k
        Degrees of dough that one degree of water is worth.
    hand_sum
        The baker's own sum, or the trade's three-term sum tuned on a mild day; None when neither
        applies.
    terms
        The heat balance, term by term.
    strip
        Finished figures for readings that differ from the forecast; None without water or flour.
    draw_not_before_utc
        Water drawn sooner warms by more than half a degree [UTC]; None when it does not matter.
    water_step
        The step at whose start the first of the water goes in, and all the ice with it.
    held_back
        Water of the same blend, and ice, that goes in after the first step.
    pour_c
        Where ice is melted in the water first: what the water reads before it is poured [°C].
    equivalent_c
        Water and ice together as one temperature, an energy number [°C]; None without water.
    """

    wanted_c: float
    water_c: float | None
    water: tuple[WaterLine, ...]
    ice_kg: float
    ice_kind: IceKind | None
    formula_water_kg: float
    expected_c: float
    expected_sd_k: float
    dough_per_water_k: float
    hand_sum: SumBeside | None
    terms: tuple[BalanceTerm, ...]
    strip: Strip | None = None
    draw_not_before_utc: datetime | None = None
    held_back: tuple[HeldBack, ...] = ()
    pour_c: float | None = None
    equivalent_c: float | None = None
    water_step: int = 0

    @property
    def water_kg(self) -> float:
        """Liquid water of all supplies [kg]."""
        return sum(line.water_kg for line in self.water)


@dataclass(frozen=True, slots=True)
class ScalingLine:
    """One line to weigh [kg], in loading order."""

    name: str
    percent: float
    mass_kg: float
    temperature_c: float | None
    step: int
