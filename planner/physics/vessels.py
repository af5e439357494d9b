"""Vessels of paste: their geometry, what passes through their walls, a closed-form time constant.

References
----------
.. [1] Heating handbooks, heat loss from open tanks of hot water in still air of 60 °F, columns of
   dry surface and bare wall.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import pi, sqrt

from planner.bakery import Cover, VesselShape
from planner.errors import OutOfRangeError
from planner.physics.ferment_constants import (
    BENCH_BOTTOM_W_PER_M2_K,
    BLAST_W_PER_M2_K,
    COVERED_TOP_W_PER_M2_K,
    ICE_BATH_W_PER_M2_K,
    INSULATED_W_PER_M2_K,
    PASTE_KG_PER_M3,
    PASTE_W_PER_M_K,
    SHELF_W_PER_M2_K,
    SKIN_FACTOR,
)

# Largest mass [kg], shape, length and width [m]: a kitchen bowl, a trade tub, a mixer bowl.
_USUAL = (
    (3.0, VesselShape.ROUND, 0.22, 0.22),
    (30.0, VesselShape.BOX, 0.53, 0.38),
    (float("inf"), VesselShape.ROUND, 0.70, 0.70),
)


class CoolingPlace(StrEnum):
    """Where a vessel stands while it cools."""

    BENCH = "bench"
    RACK = "rack"
    COOLER = "cooler"
    BLAST = "blast chiller"
    ICE_BATH = "ice bath"
    INSULATED = "insulated box"


SIDE_W_PER_M2_K = {
    CoolingPlace.BENCH: COVERED_TOP_W_PER_M2_K.value,
    CoolingPlace.RACK: COVERED_TOP_W_PER_M2_K.value,
    CoolingPlace.COOLER: SHELF_W_PER_M2_K.value,
    CoolingPlace.BLAST: BLAST_W_PER_M2_K.value,
    CoolingPlace.ICE_BATH: ICE_BATH_W_PER_M2_K.value,
    CoolingPlace.INSULATED: INSULATED_W_PER_M2_K.value,
}
TOP_W_PER_M2_K = SIDE_W_PER_M2_K | {CoolingPlace.ICE_BATH: COVERED_TOP_W_PER_M2_K.value}
BOTTOM_W_PER_M2_K = SIDE_W_PER_M2_K | {CoolingPlace.BENCH: BENCH_BOTTOM_W_PER_M2_K.value}


@dataclass(frozen=True)
class CoolingBody:
    """Paste in a vessel.

    Attributes
    ----------
    mass_kg
        Mass of paste [kg].
    shape, length_m, width_m
        Horizontal section; a round vessel has its diameter in both [m].
    cover
        What lies on it.
    place
        Where it stands; sets the surface coefficients.
    specific_heat_kj_per_kg_k
        Specific heat of the paste [kJ/kg K].
    stirred
        Stirred so often that it is everywhere the same.
    stir_every_min
        Stirred through at this interval [min]; None when it is left alone or ``stirred``.
    conductivity_w_per_m_k, density_kg_per_m3
        Of the paste [W/m K, kg/m³].
    skin_factor
        Share of free-water evaporation that an open top keeps; 1 for water.
    surface_factor
        Learned factor on all surface coefficients of this vessel, cover and place.

    Raises
    ------
    OutOfRangeError
        If a number is not above zero.
    """

    mass_kg: float
    shape: VesselShape
    length_m: float
    width_m: float
    cover: Cover
    place: CoolingPlace
    specific_heat_kj_per_kg_k: float
    stirred: bool = False
    stir_every_min: float | None = None
    conductivity_w_per_m_k: float = PASTE_W_PER_M_K.value
    density_kg_per_m3: float = PASTE_KG_PER_M3.value
    skin_factor: float = SKIN_FACTOR.value
    surface_factor: float = 1.0

    def __post_init__(self) -> None:
        for name in (
            "mass_kg",
            "length_m",
            "width_m",
            "specific_heat_kj_per_kg_k",
            "conductivity_w_per_m_k",
            "density_kg_per_m3",
            "surface_factor",
        ):
            if not getattr(self, name) > 0:
                raise OutOfRangeError(f"CoolingBody: {name} must be above zero")
        if self.stir_every_min is not None and not 1 <= self.stir_every_min <= 120:
            raise OutOfRangeError(
                f"CoolingBody: stir_every_min must be 1 to 120, got {self.stir_every_min}"
            )

    @property
    def is_mixed(self) -> bool:
        """Whether stirring makes one temperature of it."""
        return self.stirred or self.stir_every_min is not None

    @property
    def mixed_resistance_m2_k_per_w(self) -> float:
        """Resistance of the paste itself at its walls between two stirrings [m²K/W].

        ``sqrt(pi a P) / (2 k)``: the mean over the interval P of what a cold wall draws from a
        deep paste (Carslaw and Jaeger 1959, section 2.4). Nothing when stirred all the time.
        """
        if self.stirred or self.stir_every_min is None:
            return 0.0
        deep_m = sqrt(pi * self.diffusivity_m2_per_s * self.stir_every_min * 60)
        return deep_m / (2 * self.conductivity_w_per_m_k)

    @property
    def area_m2(self) -> float:
        """Horizontal section [m²]."""
        if self.shape is VesselShape.ROUND:
            return pi / 4 * self.length_m**2
        return self.length_m * self.width_m

    @property
    def perimeter_m(self) -> float:
        """Length of the side wall around the section [m]."""
        if self.shape is VesselShape.ROUND:
            return pi * self.length_m
        return 2 * (self.length_m + self.width_m)

    @property
    def depth_m(self) -> float:
        """Depth of the paste [m]."""
        return self.mass_kg / self.density_kg_per_m3 / self.area_m2

    @property
    def heat_capacity_kj_per_k(self) -> float:
        """Heat the whole paste takes per degree [kJ/K]."""
        return self.mass_kg * self.specific_heat_kj_per_kg_k

    @property
    def bottom_w_per_m2_k(self) -> float:
        """Coefficient at the bottom [W/m²K]."""
        return self.surface_factor * BOTTOM_W_PER_M2_K[self.place]

    @property
    def covered_top_w_per_m2_k(self) -> float:
        """Coefficient at a covered top [W/m²K]."""
        return self.surface_factor * TOP_W_PER_M2_K[self.place]

    @property
    def side_w_per_m2_k(self) -> float:
        """Coefficient through the sides, with the paste's own resistance unless stirred [W/m²K].

        ``1 / (1/h + R / 4k)`` for a cylinder of radius R, ``1 / (1/h + a / 3k)`` for a box of
        shorter half width a: parabolic profiles between middle and wall, once they have formed.
        """
        outer = 1 / (self.surface_factor * SIDE_W_PER_M2_K[self.place])
        return 1 / (outer + self.side_resistance_m2_k_per_w)

    @property
    def side_resistance_m2_k_per_w(self) -> float:
        """Resistance of the paste itself on the way to the sides [m²K/W]."""
        if self.is_mixed:
            return self.mixed_resistance_m2_k_per_w
        half_m = min(self.length_m, self.width_m) / 2
        divisor = 4 if self.shape is VesselShape.ROUND else 3
        return half_m / (divisor * self.conductivity_w_per_m_k)

    @property
    def diffusivity_m2_per_s(self) -> float:
        """Thermal diffusivity of the paste [m²/s]."""
        rho_c = self.density_kg_per_m3 * self.specific_heat_kj_per_kg_k * 1000
        return self.conductivity_w_per_m_k / rho_c


def quick_time_constant_min(body: CoolingBody) -> float:
    """Return the closed-form time constant of a covered paste, as a cross-check [min].

    Parameters
    ----------
    body
        Paste and vessel; a cover is assumed.

    Returns
    -------
    float
        Time in which the mean comes 63 % nearer to the air [min].

    Notes
    -----
    ``1/tau`` is the sum over the vertical slab and the sides. Slab: ``rho c L (1/h + 0.405 L/k)``
    with the half depth L and the mean of top and bottom; within 5 % for Biot numbers of 0.1 to 10
    (ours, against the series solution). The paste's own resistance falls away when stirred.

    Examples
    --------
    >>> paste = CoolingBody(2.0, VesselShape.ROUND, 0.22, 0.22, Cover.FILM, CoolingPlace.BENCH, 3.4)
    >>> round(quick_time_constant_min(paste) / 60, 1)
    2.7
    """
    rho_c = body.density_kg_per_m3 * body.specific_heat_kj_per_kg_k * 1000
    half_m = body.depth_m / 2
    inside = 0.405 * half_m / body.conductivity_w_per_m_k
    inside = body.mixed_resistance_m2_k_per_w if body.is_mixed else inside
    h = (body.covered_top_w_per_m2_k + body.bottom_w_per_m2_k) / 2
    slab_s = rho_c * half_m * (1 / h + inside)
    side_s = rho_c * body.area_m2 / (body.perimeter_m * body.side_w_per_m2_k)
    return 1 / (1 / slab_s + 1 / side_s) / 60


def usual_vessel(mass_kg: float) -> tuple[VesselShape, float, float]:
    """Return shape and sides of the usual vessel for a mass of paste [m].

    Parameters
    ----------
    mass_kg
        Paste in one vessel [kg].

    Returns
    -------
    tuple
        Shape, length, width [m]; a round one has its diameter in both. Depth follows from the
        mass.

    Raises
    ------
    OutOfRangeError
        If the mass is not above zero.

    Notes
    -----
    Up to 3 kg a bowl of 22 cm, up to 30 kg a tub of 53 by 38 cm, above a bowl of 70 cm (ours).

    Examples
    --------
    >>> usual_vessel(20.0)[1:]
    (0.53, 0.38)
    """
    if not mass_kg > 0:
        raise OutOfRangeError(f"usual_vessel: mass_kg must be above zero, got {mass_kg}")
    return next((shape, length, width) for most, shape, length, width in _USUAL if mass_kg <= most)
