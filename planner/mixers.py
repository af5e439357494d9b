"""Mixers: their kinds and speeds, and what they are taken to be until they are known."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from planner.errors import check_name, check_positive, check_within, refuse
from planner.estimate import Estimate


class MixerKind(StrEnum):
    """How a mixer works the dough; decides the first guess of its mixing work."""

    HAND = "hand and bowl"
    FORK = "fork"
    TWIN_ARM = "twin arm"
    SPIRAL = "spiral"
    PLANETARY = "planetary"
    HOME_PLANETARY = "home planetary"
    HORIZONTAL = "horizontal"
    FOOD_PROCESSOR = "food processor"
    BREAD_MACHINE = "bread machine"


class Speed(StrEnum):
    """What a mixing step does to the dough."""

    REST = "rest"
    FIRST = "first speed"
    SECOND = "second speed"
    HAND = "by hand"
    SCRAPER = "with a scraper"
    FOLD = "fold"


HAND_SPEEDS = frozenset({Speed.HAND, Speed.SCRAPER, Speed.FOLD})
"""Work that needs two hands and no machine."""

HAND_WORK: dict[Speed, tuple[float, float]] = {
    Speed.HAND: (0.5, 0.4),
    Speed.SCRAPER: (0.2, 0.2),
    Speed.FOLD: (0.0, 0.05),
}
"""First guess of the work of hands, as `MIXING_WORK_PRIOR`; with a scraper ours."""


# First guess of the mixing work, kJ per kg of dough and minute at 25 °C dough, with its
# standard deviation: reduced from trade figures in degrees per minute or per mix (trade
# magazines, French and Japanese baking-school texts); a bakery's own readings replace it.
MIXING_WORK_PRIOR: dict[MixerKind, dict[Speed, tuple[float, float]]] = {
    MixerKind.HAND: {s: HAND_WORK[s] for s in (Speed.HAND, Speed.SCRAPER)},
    MixerKind.FORK: {Speed.FIRST: (0.4, 0.2), Speed.SECOND: (0.4, 0.2)},
    MixerKind.TWIN_ARM: {Speed.FIRST: (0.8, 0.3), Speed.SECOND: (0.8, 0.3)},
    MixerKind.SPIRAL: {Speed.FIRST: (0.7, 0.3), Speed.SECOND: (1.6, 0.6)},
    MixerKind.PLANETARY: {Speed.FIRST: (1.5, 0.7), Speed.SECOND: (3.0, 1.2)},
    MixerKind.HOME_PLANETARY: {Speed.FIRST: (0.6, 0.4), Speed.SECOND: (1.2, 0.7)},
    MixerKind.HORIZONTAL: {Speed.FIRST: (1.5, 0.7), Speed.SECOND: (3.5, 1.0)},
    MixerKind.FOOD_PROCESSOR: {Speed.FIRST: (8.0, 4.0), Speed.SECOND: (8.0, 4.0)},
    MixerKind.BREAD_MACHINE: {Speed.FIRST: (0.2, 0.15), Speed.SECOND: (0.6, 0.3)},
}


@dataclass(frozen=True, slots=True)
class Mixer:
    """A mixer, or a bowl and two hands.

    Attributes
    ----------
    max_dough_kg, min_dough_kg
        Load limits [kg of dough].
    bowl_kg
        Mass of bowl and tool [kg], steel.
    loss_w_per_k
        Heat passed between dough and air of the room while mixing [W/K].
    work_kj_per_kg_min
        Mixing work by speed [kJ per kg of dough and minute, at 25 °C dough].
    cooling_k
        Degrees that a cooled mixer takes off a full batch by its maker's word [K]; 0 for a plain
        one.
    coolant_c
        Instead of degrees: the coolant in its jacket [°C].
    cooling_delay_min, cooling_on
        Minutes from the start until the jacket cools [min], and whether it is used.
    clean_down_min
        Minutes of cleaning when a dough with an allergen is followed by one without it.
    """

    id: str
    name: str
    kind: MixerKind
    room_id: str
    max_dough_kg: float
    min_dough_kg: Estimate
    bowl_kg: Estimate
    loss_w_per_k: Estimate
    work_kj_per_kg_min: dict[Speed, Estimate]
    cooling_k: float = 0.0
    clean_down_min: int = 10
    coolant_c: float | None = None
    cooling_delay_min: float = 0.0
    cooling_on: bool = True

    def __post_init__(self) -> None:
        check_name("id", self.id)
        check_positive("max_dough_kg", self.max_dough_kg, "kg")
        check_within("min_dough_kg", self.min_dough_kg.value, 0, self.max_dough_kg, "kg")
        check_within("cooling_k", self.cooling_k, 0, 15, "K")
        check_within("clean_down_min", self.clean_down_min, 0, 240, "min")
        check_within("cooling_delay_min", self.cooling_delay_min, 0, 240, "min")
        if self.coolant_c is not None:
            check_within("coolant_c", self.coolant_c, -20, 30, "°C")
            if self.cooling_k:
                raise refuse(
                    "coolant_c",
                    self.coolant_c,
                    "the cooling is also stated in degrees, cooling_k",
                    "enter one of the two",
                )

    @property
    def is_cooled(self) -> bool:
        """Whether it can take heat out of the dough."""
        return self.cooling_k > 0 or self.coolant_c is not None


def mixer(
    id: str,
    name: str,
    kind: MixerKind,
    room_id: str,
    max_dough_kg: float,
    *,
    min_dough_kg: float | None = None,
    bowl_kg: float | None = None,
    loss_w_per_k: float | None = None,
    work_kj_per_kg_min: dict[Speed, float] | None = None,
    cooling_k: float = 0.0,
    clean_down_min: int = 10,
    coolant_c: float | None = None,
    cooling_delay_min: float = 0.0,
    cooling_on: bool = True,
) -> Mixer:
    """Return a mixer of a kind, with defaults for what was not entered.

    Notes
    -----
    Bowl mass and loss follow a stainless cylinder of 2 to 3 mm that holds 0.6 kg of dough per
    litre with a surface coefficient of 9 W/m²K (ours): fitted as powers of the largest load,
    bowl = 1.35 M^0.72 and loss = 0.82 M^0.64, within 10 % from 6 to 180 kg. A hand bowl is
    lighter: 0.25 kg per kg of dough.
    """
    check_positive("max_dough_kg", max_dough_kg, "kg")
    by_hand = kind is MixerKind.HAND
    bowl_default = 0.25 * max_dough_kg if by_hand else 1.35 * max_dough_kg**0.72
    loss_default = 0.82 * max_dough_kg**0.64
    entered = work_kj_per_kg_min or {}
    work = {
        speed: Estimate.entered_or(entered.get(speed), value, sd, f"usual for a {kind} mixer")
        for speed, (value, sd) in MIXING_WORK_PRIOR[kind].items()
    }
    return Mixer(
        id=id,
        name=name,
        kind=kind,
        room_id=room_id,
        max_dough_kg=max_dough_kg,
        min_dough_kg=Estimate.entered_or(
            min_dough_kg,
            0.0 if by_hand else 0.15 * max_dough_kg,
            0.05 * max_dough_kg,
            "15 % of the most it takes",
        ),
        bowl_kg=Estimate.entered_or(bowl_kg, bowl_default, 0.3 * bowl_default, "bowl of its size"),
        loss_w_per_k=Estimate.entered_or(
            loss_w_per_k, loss_default, 0.3 * loss_default, "bowl of its size"
        ),
        work_kj_per_kg_min=work,
        cooling_k=cooling_k,
        clean_down_min=clean_down_min,
        coolant_c=coolant_c,
        cooling_delay_min=cooling_delay_min,
        cooling_on=cooling_on,
    )
