"""Mixers: their kinds and speeds, and what they are taken to be until they are known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from planner.errors import check_name, check_positive, check_within, refuse
from planner.estimate import Estimate

NOT_LESS = Estimate(0.0)
"""No share less, and no stiffness that matters."""


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


USUAL_RATED_HYDRATION = (0.50, 0.05)
"""Water per unit of flour for which the most dough of a machine is taken to hold, when nobody
entered it. Our guess: makers' capacity tables rate from 40 % (planetary, stiff dough) to 60 %."""

USUAL_COLD_LESS: dict[MixerKind, tuple[float, float]] = {MixerKind.PLANETARY: (0.10, 0.05)}
"""Share less for a cold mix: 10 % in capacity tables of makers of planetary mixers, each for
chilled flour, water under about 20 °C or ice. Makers of other kinds state none: taken as 0."""

USUAL_STRONG_LESS: dict[MixerKind, tuple[float, float]] = {MixerKind.PLANETARY: (0.10, 0.05)}
"""Share less for strong (high-gluten) flour, from the same tables."""

COLD_WATER_C = 20.0
"""Water below this makes a mix a cold one, in the same tables [°C]."""

COLD_FLOUR_C = 12.0
"""Flour below this is chilled: cooler than any bakehouse keeps it (our reading) [°C]."""


@dataclass(frozen=True, slots=True)
class SpeedLimit:
    """How long a speed may run in stiff doughs.

    Attributes
    ----------
    speed
        A machine speed.
    below_hydration
        It holds for doughs with less water per unit of flour than this.
    most_min
        The longest it may run in one mix; 0 for not at all [min].
    assumed
        Whether nobody entered it; then it is told and not enforced.
    """

    speed: Speed
    below_hydration: float
    most_min: float = 0.0
    assumed: bool = False

    def __post_init__(self) -> None:
        check_within("below_hydration", self.below_hydration, 0, 2, "kg of water per kg of flour")
        check_within("most_min", self.most_min, 0, 120, "min")


@dataclass(frozen=True, slots=True)
class ColourClean:
    """Minutes of cleaning from doughs of one colour class to those of another [min]."""

    before: str
    after: str
    minutes: int

    def __post_init__(self) -> None:
        check_within("minutes", self.minutes, 0, 240, "min")


USUAL_SPEED_LIMITS: dict[MixerKind, tuple[SpeedLimit, ...]] = {
    MixerKind.PLANETARY: (
        SpeedLimit(Speed.SECOND, 0.50, 0.0, assumed=True),
        SpeedLimit(Speed.FIRST, 0.405, 5.0, assumed=True),
    )
}
"""What makers of planetary mixers write: no second speed below half as much water as flour, and
five minutes of first speed at two fifths."""


def check_residues_cleaned(cleans: Sequence[ColourClean], usual_min: int) -> None:
    """Refuse cleaning times by which a colour is carried through a dough that hides it.

    Raises
    ------
    InputError
        If a first colour needs no cleaning before a second, and needs more before a third than the
        second does: what is left of the first would then reach the third.
    """
    known = {(c.before, c.after): c.minutes for c in cleans}
    colours = sorted({colour for pair in known for colour in pair})

    def clean(before: str, after: str) -> int:
        return 0 if before == after else known.get((before, after), usual_min)

    for first in colours:
        for second in (c for c in colours if clean(first, c) == 0):
            for third in colours:
                short_min, needed_min = clean(second, third), clean(first, third)
                if third != first and short_min < needed_min:
                    raise refuse(
                        "colour_cleans",
                        short_min,
                        f"{second!r} hides what is left of {first!r}, which takes {needed_min} min"
                        f" before {third!r}",
                        f"enter {needed_min} min or more from {second!r} to {third!r}",
                    )


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
    rated_hydration
        Water per unit of flour of the stiffest dough for which ``max_dough_kg`` holds; a stiffer
        one takes less, in proportion. 0 when stiffness does not matter.
    cold_less, strong_less
        Share of ``max_dough_kg`` less for a cold mix, and for strong flour.
    cold_water_c, cold_flour_c
        Water or flour below this makes a mix a cold one, as does any ice [°C].
    speed_limits
        How long its speeds may run in stiff doughs.
    colour_cleans
        Cleaning between colour classes where it is not ``clean_down_min``.
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
    rated_hydration: Estimate = NOT_LESS
    cold_less: Estimate = NOT_LESS
    strong_less: Estimate = NOT_LESS
    cold_water_c: float = COLD_WATER_C
    cold_flour_c: float = COLD_FLOUR_C
    speed_limits: tuple[SpeedLimit, ...] = ()
    colour_cleans: tuple[ColourClean, ...] = ()

    def __post_init__(self) -> None:
        check_name("id", self.id)
        check_positive("max_dough_kg", self.max_dough_kg, "kg")
        check_within("min_dough_kg", self.min_dough_kg.value, 0, self.max_dough_kg, "kg")
        check_within("cooling_k", self.cooling_k, 0, 15, "K")
        check_within("clean_down_min", self.clean_down_min, 0, 240, "min")
        check_within("cooling_delay_min", self.cooling_delay_min, 0, 240, "min")
        hydration = self.rated_hydration.value
        check_within("rated_hydration", hydration, 0, 2, "kg of water per kg of flour")
        check_within("cold_less", self.cold_less.value, 0, 0.5, "(share)")
        check_within("strong_less", self.strong_less.value, 0, 0.4, "(share)")
        check_within("cold_water_c", self.cold_water_c, 0, 40, "°C")
        check_within("cold_flour_c", self.cold_flour_c, -20, 40, "°C")
        check_residues_cleaned(self.colour_cleans, self.clean_down_min)
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

    def most_dough_kg(self, hydration: float, *, strong: bool = False, cold: bool = False) -> float:
        """Return the most dough it takes [kg].

        Parameters
        ----------
        hydration
            Water per unit of flour of the dough.
        strong
            Whether its flour is strong.
        cold
            Whether flour or water is cold, or ice goes in.

        Notes
        -----
        ``max_dough_kg * min(1, hydration / rated_hydration) * (1 - cold_less - strong_less)``: the
        two shares are each of the rated weight, so that both together cost most (makers' tables
        do not say how they combine).

        Examples
        --------
        >>> machine = mixer("m", "m", MixerKind.PLANETARY, "r", 40, rated_hydration=0.40)
        >>> machine.most_dough_kg(0.30)
        30.0
        >>> machine.most_dough_kg(0.60, cold=True)
        36.0
        """
        rated = self.rated_hydration.value
        stiff = 1.0 if rated == 0 else min(1.0, hydration / rated)
        less = self.cold_less.value * cold + self.strong_less.value * strong
        return round(self.max_dough_kg * stiff * (1 - less), 9)

    def is_cold(self, flour_c: float, water_c: float | None, ice_kg: float) -> bool:
        """Return whether a mix counts as cold: chilled flour, cold water, or ice.

        Parameters
        ----------
        flour_c, water_c
            The coldest flour, and the liquid water; None for a dough without any [°C].
        ice_kg
            Ice [kg].
        """
        cold_water = water_c is not None and water_c < self.cold_water_c - 1e-9
        return ice_kg > 0 or cold_water or flour_c < self.cold_flour_c - 1e-9


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
    rated_hydration: float | None = None,
    cold_less: float | None = None,
    strong_less: float | None = None,
    cold_water_c: float = COLD_WATER_C,
    cold_flour_c: float = COLD_FLOUR_C,
    speed_limits: tuple[SpeedLimit, ...] | None = None,
    colour_cleans: tuple[ColourClean, ...] = (),
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
    rated = (0.0, 0.0) if by_hand else USUAL_RATED_HYDRATION
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
        rated_hydration=Estimate.entered_or(rated_hydration, *rated, "most bread doughs"),
        cold_less=Estimate.entered_or(
            cold_less, *USUAL_COLD_LESS.get(kind, (0.0, 0.05)), "makers' capacity tables"
        ),
        strong_less=Estimate.entered_or(
            strong_less, *USUAL_STRONG_LESS.get(kind, (0.0, 0.05)), "makers' capacity tables"
        ),
        cold_water_c=cold_water_c,
        cold_flour_c=cold_flour_c,
        speed_limits=USUAL_SPEED_LIMITS.get(kind, ()) if speed_limits is None else speed_limits,
        colour_cleans=colour_cleans,
    )
