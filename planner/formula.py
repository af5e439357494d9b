"""Formulas: what a dough is made of and how it is mixed, fermented, divided and baked.

All percents are baker's percents of the *total* flour of the dough, that in preferments,
scalds and soakers included, so that a line can be read across parts. A preferment's seed is not
counted: the same weight is kept back from the ripe build, so it neither adds flour nor water.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from planner.bakery import Cover
from planner.errors import Fault, InputError, check_name, check_within, refuse
from planner.estimate import Estimate
from planner.hand_sum import HandSum
from planner.lines import Line, flour_percent, water_percent
from planner.materials import Material, properties
from planner.mixers import Speed
from planner.ripening import Ripening


@dataclass(frozen=True, slots=True)
class MixStep:
    """One step of mixing: a speed, or a rest, for so many minutes."""

    speed: Speed
    minutes: float

    def __post_init__(self) -> None:
        check_within("minutes", self.minutes, 0, 720, "min")


@dataclass(frozen=True, slots=True)
class EarlierBuild:
    """A build that the next one takes whole: a levain or sour that is fed in steps.

    Attributes
    ----------
    lines
        What goes into it fresh, in percent of the *dough's* total flour; a part of the preferment's
        own lines.
    ripening
        When it is ripe to be fed.
    temperature_c
        Its own wanted temperature when it is set [°C].
    stands_min
        Minutes from its start to the start of the next build [min].
    """

    lines: tuple[Line, ...]
    ripening: Ripening
    temperature_c: float
    stands_min: float
    work_min: int = 10

    def __post_init__(self) -> None:
        check_within("temperature_c", self.temperature_c, 2, 36, "°C")
        check_within("stands_min", self.stands_min, 30, 2880, "min")
        if not any(properties(line.material).is_flour for line in self.lines):
            raise refuse("lines", (), "a build without flour", "enter its flour")


@dataclass(frozen=True, slots=True)
class Preferment:
    """Levain, sour, poolish, biga, sponge: a part fermented ahead.

    Attributes
    ----------
    lines
        Flour, water, yeast and salt of all its builds, in percent of the dough's total flour.
    ripening
        When it is ripe, and how long it stays so.
    seed_percent
        Ripe culture put in, in percent of the flour of the *first* build; the same weight is kept
        back.
    temperature_c
        Its own wanted temperature when it is set [°C].
    steps
        Mixing steps when it is made on a mixer; empty when stirred by hand in its tub.
    step
        Index of the dough's mixing step at whose start it goes in.
    before
        Builds before the last, each fed to the next; none for a single build.
    """

    id: str
    name: str
    lines: tuple[Line, ...]
    ripening: Ripening
    temperature_c: float
    seed_percent: float = 0.0
    steps: tuple[MixStep, ...] = ()
    work_min: int = 10
    step: int = 0
    before: tuple[EarlierBuild, ...] = ()

    def __post_init__(self) -> None:
        check_name("id", self.id)
        check_within("temperature_c", self.temperature_c, 2, 36, "°C")
        check_within("seed_percent", self.seed_percent, 0, 300, "% of the build's flour")
        if not any(properties(line.material).is_flour for line in self.lines):
            raise refuse("lines", (), "a preferment without flour", "enter its flour")
        for label, left in self.last_percents.items():
            if left < -1e-6:
                raise refuse(
                    "before",
                    f"{-left:g} % of {label}",
                    "the earlier builds take more than the preferment has",
                    "enter in its own lines what all its builds take together",
                )

    @property
    def last_percents(self) -> dict[str, float]:
        """What the last build takes fresh, by label, in percent of the dough's total flour."""
        left = {line.label: 0.0 for line in self.lines}
        for line in self.lines:
            left[line.label] += line.percent
        for build in self.before:
            for line in build.lines:
                left[line.label] = left.get(line.label, 0.0) - line.percent
        return left


class HoldPlace(StrEnum):
    """Where a scald stands while its enzymes work."""

    AS_IT_STANDS = "as it stands"
    INSULATED = "insulated"
    HEATED = "heated"


@dataclass(frozen=True, slots=True)
class Scald:
    """Flour or meal on which boiling or very hot water is poured.

    Attributes
    ----------
    lines
        Flour, malt and water, in percent of the dough's total flour.
    pour_water_c
        Water temperature when poured [°C]; None for the boiling point of the house.
    place_id
        Room or chamber in which it cools.
    vessel_id
        The vessel; None for a usual one of its mass.
    cover
        What lies on it while it cools.
    stirred
        Whether it is stirred about every quarter of an hour.
    use_at_most_c
        The warmest it may be when it meets the dough [°C]; the dough's own balance may ask
        for less.
    hold_min
        Minutes it must stand hot before it may cool (saccharification) [min].
    keep_at_most_h
        The longest it may stand before use [h].
    step
        Index of the dough's mixing step at whose start it goes in.
    hold_from_c, hold_to_c
        Window of that stand [°C]; a pour that would land above it gets cold water first. None
        when any warmth will do.
    hold_place
        Where it stands meanwhile.
    other_ways
        Whether the plan may cool it otherwise than as stated here: uncovered, stirred, on trays,
        in a cooler, with some of its own water held back cold or as ice.
    """

    id: str
    name: str
    lines: tuple[Line, ...]
    place_id: str
    pour_water_c: float | None = None
    vessel_id: str | None = None
    cover: Cover = Cover.FILM
    stirred: bool = False
    use_at_most_c: Estimate = field(
        default_factory=lambda: Estimate.entered_or(None, 35.0, 3.0, "usual in rye baking")
    )
    hold_min: int = 0
    keep_at_most_h: float = 16.0
    work_min: int = 10
    step: int = 0
    hold_from_c: float | None = None
    hold_to_c: float | None = None
    hold_place: HoldPlace = HoldPlace.AS_IT_STANDS
    other_ways: bool = True

    def __post_init__(self) -> None:
        check_name("id", self.id)
        check_within("use_at_most_c", self.use_at_most_c.value, 5, 60, "°C")
        check_within("keep_at_most_h", self.keep_at_most_h, 1, 48, "h")
        check_within("hold_min", self.hold_min, 0, 1440, "min")
        if self.pour_water_c is not None:
            check_within("pour_water_c", self.pour_water_c, 40, 100, "°C")
        self._check_hold()
        if not any(line.material is Material.WATER for line in self.lines):
            raise refuse("lines", (), "a scald without water", "enter the water poured on it")

    def _check_hold(self) -> None:
        """Refuse a window of the stand that is half given, upside down or impossible."""
        low, high = self.hold_from_c, self.hold_to_c
        if low is None and high is None:
            return
        if low is None or high is None:
            raise refuse(
                "hold_from_c" if low is None else "hold_to_c", None, "is missing", "enter both"
            )
        check_within("hold_from_c", low, 30, 90, "°C")
        check_within("hold_to_c", high, 31, 95, "°C")
        if high <= low:
            raise refuse("hold_to_c", high, "is not above hold_from_c", "enter a wider window")


@dataclass(frozen=True, slots=True)
class Soaker:
    """Grains or seeds that stand in cold water before they go into the dough."""

    id: str
    name: str
    lines: tuple[Line, ...]
    place_id: str
    soak_h: float = 8.0
    keep_at_most_h: float = 16.0
    work_min: int = 5
    step: int = 0

    def __post_init__(self) -> None:
        check_name("id", self.id)
        check_within("soak_h", self.soak_h, 0.25, 48, "h")


Part = Preferment | Scald | Soaker


@dataclass(frozen=True, slots=True)
class Formula:
    """A dough.

    Attributes
    ----------
    lines
        What goes into the bowl besides the parts, in percent of total flour.
    parts
        Preferments, scalds and soakers with their own lines.
    steps
        Mixing steps in order.
    dough_c
        The dough temperature the baker uses: the middle of the band of the desired dough
        temperature [°C].
    band_k
        Half width of that band [K]; 1 unless the baker widens it.
    bulk
        First fermentation.
    dough_class
        Doughs of one class share what is learned about mixing work.
    colour_class
        Doughs of one colour class follow each other without cleaning.
    hand_sum
        The baker's own sum for its water, to stand beside ours.
    strong_flour
        Whether its flour is strong (high in gluten): some mixers then take less.
    gluten_free
        Whether no gluten may come near it.
    """

    id: str
    name: str
    lines: tuple[Line, ...]
    steps: tuple[MixStep, ...]
    dough_c: float
    bulk: Ripening
    parts: tuple[Part, ...] = ()
    band_k: float = 1.0
    dough_class: str = "wheat"
    colour_class: str = ""
    hand_sum: HandSum | None = None
    strong_flour: bool = False
    gluten_free: bool = False

    def __post_init__(self) -> None:
        check_name("id", self.id)
        check_within("dough_c", self.dough_c, 5, 33, "°C")
        check_within("band_k", self.band_k, 0, 6, "K")
        faults = formula_faults(self)
        if faults:
            raise InputError(faults)

    @property
    def all_lines(self) -> tuple[Line, ...]:
        """Lines of the dough and of all its parts."""
        return (*self.lines, *(line for part in self.parts for line in part.lines))

    @property
    def total_percent(self) -> float:
        """Dough weight per 100 of flour."""
        return sum(line.percent for line in self.all_lines)

    @property
    def hydration(self) -> float:
        """Water of all lines and parts per unit of total flour."""
        return water_percent(self.all_lines) / 100

    @property
    def hydration_without_scald(self) -> float:
        """Hydration without the water of scalds and soakers."""
        set_aside = sum(water_percent(p.lines) for p in self.parts if not isinstance(p, Preferment))
        return self.hydration - set_aside / 100

    @property
    def allergens(self) -> frozenset[str]:
        """Allergens of all lines."""
        return frozenset().union(
            *(line.allergens | properties(line.material).allergens for line in self.all_lines)
        )

    @property
    def mix_min(self) -> float:
        """Minutes in the mixer, rests included [min]."""
        return sum(step.minutes for step in self.steps)


def formula_faults(formula: Formula) -> list[Fault]:
    """List what is wrong with a formula as a whole; a new rule is one more line here."""
    return [
        *check_flour_adds_up(formula),
        *check_steps_exist(formula),
        *check_lines_have_a_step(formula),
        *check_part_ids(formula),
        *check_hand_sum_part(formula),
        *check_free_of_gluten(formula),
    ]


def check_flour_adds_up(formula: Formula) -> list[Fault]:
    """Flour of the dough and its parts must be 100 %, malt counted or not."""
    without = flour_percent(formula.all_lines, with_malt=False)
    full = flour_percent(formula.all_lines, with_malt=True)
    if full == 0:
        return [Fault("lines", "0 %", "there is no flour", "enter flour lines that sum to 100 %")]
    if min(abs(without - 100), abs(full - 100)) > 0.05:
        return [
            Fault(
                "lines",
                f"{without:g} %",
                "the flour of the dough and its parts does not add up to 100 %",
                "change the flour lines so that their percents sum to 100",
            )
        ]
    return []


def check_steps_exist(formula: Formula) -> list[Fault]:
    """A dough needs at least one mixing step that is not a rest."""
    if all(step.speed is Speed.REST for step in formula.steps):
        return [Fault("steps", "()", "there is no mixing step", "enter a speed and its minutes")]
    return []


def check_lines_have_a_step(formula: Formula) -> list[Fault]:
    """A late line must name a step that exists."""
    things = [(f"lines[{i}]", line.step) for i, line in enumerate(formula.lines)]
    things += [(f"parts[{i}]", part.step) for i, part in enumerate(formula.parts)]
    return [
        Fault(
            f"{name}.step",
            str(step),
            "names a mixing step that does not exist",
            f"enter 0 to {len(formula.steps) - 1}",
        )
        for name, step in things
        if not 0 <= step < max(len(formula.steps), 1)
    ] + [
        Fault(
            "lines[0].step",
            str(things[0][1]),
            "nothing goes in at the first mixing step",
            "enter step 0 for what goes in first",
        )
        for _ in range(1)
        if things and all(step > 0 for _, step in things)
    ]


def check_hand_sum_part(formula: Formula) -> list[Fault]:
    """A sum that counts a part names one of this dough."""
    own, ids = formula.hand_sum, [part.id for part in formula.parts]
    if own is None or not own.part_id or own.part_id in ids:
        return []
    known = ", ".join(ids) or "none"
    return [Fault("hand_sum.part", repr(own.part_id), "no such part", f"use one of: {known}")]


def check_free_of_gluten(formula: Formula) -> list[Fault]:
    """A dough that no gluten may come near has none in its own lines."""
    if not formula.gluten_free:
        return []
    return [
        Fault(
            "gluten_free",
            "true",
            f"{line.label} has gluten in it",
            "take another ingredient, or leave gluten_free out",
        )
        for line in formula.all_lines
        if "gluten" in line.allergens | properties(line.material).allergens
    ]


def check_part_ids(formula: Formula) -> list[Fault]:
    """Parts of one formula need different ids."""
    ids = [part.id for part in formula.parts]
    return [
        Fault(f"parts[{i}].id", one, "is the id of two parts", "give each part its own id")
        for i, one in enumerate(ids)
        if one in ids[:i]
    ]
