"""Where water and ice come from: taps through the year, chiller, kettle, ice in the house."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from math import cos, pi

from planner.errors import check_name, check_within, refuse
from planner.estimate import Estimate, Origin


class SupplyKind(StrEnum):
    """Where dough water comes from."""

    TAP = "tap"
    CHILLER = "chiller"
    HOT = "hot tap"


DAYS_OF_A_YEAR = 365.25

SEASON_SD_K = 1.5
"""How far a tap may be from its season in a hot or cold week [K] (our guess)."""


@dataclass(frozen=True, slots=True)
class Season:
    """How a tap goes through the year.

    Attributes
    ----------
    coldest_c, warmest_c
        Of the year [°C].
    warmest_month
        Month in whose middle it is warmest, 1 to 12; half a year off on the southern half.
    """

    coldest_c: float
    warmest_c: float
    warmest_month: int = 8

    def __post_init__(self) -> None:
        check_within("coldest_c", self.coldest_c, 0, 45, "°C")
        check_within("warmest_c", self.warmest_c, 0, 45, "°C")
        check_within("warmest_month", self.warmest_month, 1, 12, "(month)")
        if self.warmest_c < self.coldest_c:
            raise refuse(
                "warmest_c",
                self.warmest_c,
                f"the warmest is below the coldest, {self.coldest_c:g} °C",
                "exchange the two",
            )

    def tap_c(self, on: date) -> float:
        """Return the tap on a day of the year [°C].

        Parameters
        ----------
        on
            The day.

        Returns
        -------
        float
            Between the coldest and the warmest [°C].

        Notes
        -----
        ``T = mean + swing cos(2 pi (day - warmest day) / 365.25)``: mains water follows the ground
        at the depth of its pipes, which goes through the year as a sine, later and smaller than
        the air [1]_. A hot week, and water that stood in the house, are not in it: read the tap.

        References
        ----------
        .. [1] Kusuda and Achenbach 1965, Earth temperature and thermal diffusivity at selected
           stations in the United States, ASHRAE Trans. 71:61.

        Examples
        --------
        >>> [round(Season(6.0, 18.0).tap_c(date(2026, month, 15))) for month in (2, 5, 8, 11)]
        [6, 12, 18, 12]
        """
        warmest_day = (self.warmest_month - 0.5) * DAYS_OF_A_YEAR / 12
        phase = 2 * pi * (on.timetuple().tm_yday - 0.5 - warmest_day) / DAYS_OF_A_YEAR
        mean_c, swing_k = (self.coldest_c + self.warmest_c) / 2, self.warmest_c - self.coldest_c
        return mean_c + swing_k / 2 * cos(phase)


@dataclass(frozen=True, slots=True)
class WaterSupply:
    """A source of dough water.

    Attributes
    ----------
    temperature_c
        Temperature at the bowl [°C]; with a season, of the middle of the year.
    tank_kg
        Water in a full chiller tank [kg]; infinite for a tap.
    recovery_kg_per_h
        Water the chiller brings down to its temperature in an hour [kg/h].
    season
        How a tap goes through the year, used until it is read; None for one that stays.
    """

    id: str
    name: str
    kind: SupplyKind
    temperature_c: Estimate
    tank_kg: float | None = None
    recovery_kg_per_h: float | None = None
    season: Season | None = None

    def __post_init__(self) -> None:
        check_name("id", self.id)
        check_within("temperature_c", self.temperature_c.value, 0, 100, "°C")
        if self.season is not None and self.kind is not SupplyKind.TAP:
            raise refuse("season", self.kind, "only a tap has a season", "enter temperature_c")
        if self.kind is SupplyKind.CHILLER:
            if self.tank_kg is None or self.recovery_kg_per_h is None:
                raise refuse(
                    "tank_kg",
                    self.tank_kg,
                    "a chiller has a tank and a recovery",
                    "enter tank_kg and recovery_kg_per_h",
                )
            check_within("tank_kg", self.tank_kg, 0, 1e5, "kg")
            check_within("recovery_kg_per_h", self.recovery_kg_per_h, 0, 1e5, "kg/h")

    def usual_c(self, on: date) -> Estimate:
        """Return its temperature on a day when it was not read [°C].

        Parameters
        ----------
        on
            The production day.
        """
        if self.season is None:
            return self.temperature_c
        return Estimate(
            self.season.tap_c(on), SEASON_SD_K, Origin.ASSUMED, "the season of this tap"
        )


class IceKind(StrEnum):
    """Ice by shape; decides its melting time."""

    FLAKE = "flake"
    CRUSHED = "crushed"
    NUGGET = "nugget"
    CUBE = "cube"


@dataclass(frozen=True, slots=True)
class IceSupply:
    """Ice in the house.

    Attributes
    ----------
    temperature_c
        Temperature of the ice [°C], at most 0.
    true_ice_fraction
        Share of its weight that is really ice; the rest is free water.
    make_kg_per_h
        Ice made in an hour [kg/h].
    bin_kg
        The most the store holds [kg].
    """

    kind: IceKind
    temperature_c: Estimate
    true_ice_fraction: Estimate
    make_kg_per_h: float
    bin_kg: float

    def __post_init__(self) -> None:
        check_within("temperature_c", self.temperature_c.value, -40, 0, "°C")
        check_within("true_ice_fraction", self.true_ice_fraction.value, 0.5, 1, "(share)")
        check_within("make_kg_per_h", self.make_kg_per_h, 0, 1e5, "kg/h")
        check_within("bin_kg", self.bin_kg, 0, 1e6, "kg")


@dataclass(frozen=True, slots=True)
class Kettle:
    """What boils water for scalds.

    Attributes
    ----------
    kg_per_h
        Boiling water it makes in an hour [kg/h].
    holds_kg
        The most it gives at once [kg].
    """

    kg_per_h: float
    holds_kg: float

    def __post_init__(self) -> None:
        check_within("kg_per_h", self.kg_per_h, 0.1, 10_000, "kg/h")
        check_within("holds_kg", self.holds_kg, 0.1, 10_000, "kg")
