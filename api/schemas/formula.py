"""Formulas as they are entered: percents of the total flour, parts, mixing steps, bulk."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from api.schemas.base import (
    Entry,
    Faults,
    Named,
    Number,
    ReadAsWord,
    Whole,
    every,
    found_id,
)
from api.schemas.hand_sum import HandSumInput
from api.schemas.house import House, all_of
from api.schemas.lines import LineInput, StepInput, lines_to_core, rye_share
from api.schemas.ripening import RipeningInput
from planner import formula as core
from planner import ripening as ripe
from planner.bakery import Cover
from planner.errors import InputError
from planner.estimate import Estimate
from planner.materials import Material

USUAL_PREFERMENT_C = 25.0
"""Temperature at which a preferment is set when none is given [°C] (our guess)."""

RYE_FROM_PERCENT = 50.0
"""From this share of rye a dough with a sour follows the acid curve (our rule) [%]."""

CULTURE_CURVES = (ripe.Curve.LEVAIN, ripe.Curve.ACID)


Lines = Annotated[
    list[LineInput],
    Field(
        description="What goes in, in percent of the dough's total flour.",
        examples=[[{"material": "wheat flour", "percent": 100}]],
    ),
]
Steps = Annotated[
    list[StepInput],
    Field(
        description="Mixing steps in order.",
        examples=[[{"speed": "first speed", "minutes": 5}]],
    ),
]
PlaceOf = Annotated[
    str | None,
    Field(description="Room or chamber; the only room when left out.", examples=["bakehouse"]),
]
AtStep = Annotated[
    Whole,
    Field(description="Mixing step of the dough at whose start it goes in; 0 first.", examples=[0]),
]
WorkMin = Annotated[Whole, Field(description="Hands-on minutes to set it [min].", examples=[10])]


class EarlierBuildInput(Entry):
    """A build that the next one takes whole."""

    lines: Lines
    ripening: Annotated[
        RipeningInput,
        Field(description="When it is ripe to be fed.", examples=[{"hours": 12, "dough_c": 25}]),
    ]
    stands_min: Annotated[
        Number,
        Field(
            description="Minutes from its start to the start of the next build [min].",
            examples=[720],
        ),
    ]
    temperature_c: Annotated[
        Number | None,
        Field(description="Its own wanted temperature when it is set [°C].", examples=[25.0]),
    ] = None
    work_min: WorkMin = 10

    def to_core(self, house: House, curve: ripe.Curve) -> core.EarlierBuild:
        """Return the core's build."""
        faults = Faults()
        lines = faults.build(lines_to_core, self.lines, house)
        ripening = faults.at("ripening").build(self.ripening.to_core, house, curve)
        if lines is None or ripening is None:
            raise InputError(faults.found)
        start_c = self.temperature_c or self.ripening.start_c or self.ripening.dough_c
        return core.EarlierBuild(
            lines, ripening, start_c or USUAL_PREFERMENT_C, self.stands_min, self.work_min
        )


class PrefermentInput(Named):
    """Levain, sour, poolish, biga, sponge: a part fermented ahead."""

    kind: Annotated[
        Literal["preferment"],
        Field(description="What part it is.", examples=["preferment"]),
    ]
    lines: Lines
    ripening: Annotated[
        RipeningInput,
        Field(description="When it is ripe.", examples=[{"hours": 10, "dough_c": 26}]),
    ]
    temperature_c: Annotated[
        Number | None,
        Field(description="Its own wanted temperature when it is set [°C].", examples=[26.0]),
    ] = None
    seed_percent: Annotated[
        Number,
        Field(
            description="Ripe culture put in, and kept back again, in percent of the flour of"
            " this part [%].",
            examples=[20.0],
        ),
    ] = 0.0
    steps: Annotated[
        list[StepInput],
        Field(
            description="Mixing steps on a mixer; stirred by hand when left out.",
            examples=[[{"speed": "first speed", "minutes": 4}]],
        ),
    ] = Field(default_factory=list)
    work_min: WorkMin = 10
    step: AtStep = 0
    before: Annotated[
        list[EarlierBuildInput],
        Field(
            description="Builds before the last, each fed to the next; their lines are part of the"
            " lines above.",
            examples=[[]],
        ),
    ] = Field(default_factory=list)

    @property
    def curve(self) -> ripe.Curve:
        """What ripens it: yeast put in, or else a culture, of rye or of wheat."""
        if self.ripening.curve is not None:
            return self.ripening.curve
        yeasts = (Material.FRESH_YEAST, Material.DRY_YEAST)
        if any(line.material in yeasts for line in self.lines) or self.seed_percent == 0:
            return ripe.Curve.YEAST
        return ripe.Curve.ACID if rye_share(self.lines) > 0.5 else ripe.Curve.LEVAIN

    def to_core(self, house: House) -> core.Preferment:
        """Return the core's preferment."""
        faults = Faults()
        lines = faults.build(lines_to_core, self.lines, house)
        steps = faults.build(every, "steps", self.steps, StepInput.to_core)
        ripening = faults.at("ripening").build(self.ripening.to_core, house, self.curve)
        before = faults.build(every, "before", self.before, lambda b: b.to_core(house, self.curve))
        if lines is None or steps is None or ripening is None or before is None:
            raise InputError(faults.found)
        start_c = self.temperature_c or self.ripening.start_c or self.ripening.dough_c
        return core.Preferment(
            self.key,
            self.name,
            lines,
            ripening,
            start_c or USUAL_PREFERMENT_C,
            self.seed_percent,
            steps,
            self.work_min,
            self.step,
            before,
        )


class ScaldInput(Named):
    """Flour or meal on which boiling or very hot water is poured."""

    kind: Annotated[Literal["scald"], Field(description="What part it is.", examples=["scald"])]
    lines: Lines
    place: PlaceOf = None
    pour_water_c: Annotated[
        Number | None,
        Field(description="Water when poured [°C]; boiling when left out.", examples=[95.0]),
    ] = None
    vessel: Annotated[
        str | None, Field(description="Vessel it cools in.", examples=["steel tray"])
    ] = None
    cover: Annotated[
        Cover, ReadAsWord, Field(description="What lies on it while it cools.", examples=["film"])
    ] = Cover.FILM
    stirred: Annotated[
        bool, Field(description="Stirred every quarter of an hour or so.", examples=[True])
    ] = False
    use_at_most_c: Annotated[
        Number | None,
        Field(description="The warmest it may be when used [°C].", examples=[35.0]),
    ] = None
    hold_min: Annotated[
        Whole, Field(description="Minutes it must stand hot first [min].", examples=[90])
    ] = 0
    keep_at_most_h: Annotated[
        Number, Field(description="The longest it may stand before use [h].", examples=[16.0])
    ] = 16.0
    work_min: WorkMin = 10
    step: AtStep = 0
    hold_from_c: Annotated[
        Number | None,
        Field(description="Its enzymes work from this temperature [°C].", examples=[62.0]),
    ] = None
    hold_to_c: Annotated[
        Number | None,
        Field(
            description="Up to this [°C]; cold water goes first, so that it is not poured hotter.",
            examples=[65.0],
        ),
    ] = None
    hold_place: Annotated[
        core.HoldPlace,
        ReadAsWord,
        Field(description="Where it stands while they work.", examples=["insulated"]),
    ] = core.HoldPlace.AS_IT_STANDS
    other_ways: Annotated[
        bool,
        Field(
            description="Whether it may be cooled otherwise than stated here, if the day needs it.",
            examples=[True],
        ),
    ] = True

    def to_core(self, house: House) -> core.Scald:
        """Return the core's scald."""
        return core.Scald(
            self.key,
            self.name,
            lines_to_core(self.lines, house),
            house.place(self.place),
            self.pour_water_c,
            None if self.vessel is None else found_id(self.vessel, house.vessels),
            self.cover,
            self.stirred,
            Estimate.entered_or(self.use_at_most_c, 35.0, 3.0, "usual in rye baking"),
            self.hold_min,
            self.keep_at_most_h,
            self.work_min,
            self.step,
            self.hold_from_c,
            self.hold_to_c,
            self.hold_place,
            self.other_ways,
        )


class SoakerInput(Named):
    """Grains or seeds that stand in cold water first."""

    kind: Annotated[Literal["soaker"], Field(description="What part it is.", examples=["soaker"])]
    lines: Lines
    place: PlaceOf = None
    soak_h: Annotated[Number, Field(description="Hours it soaks [h].", examples=[8.0])] = 8.0
    keep_at_most_h: Annotated[
        Number, Field(description="The longest it may stand before use [h].", examples=[16.0])
    ] = 16.0
    work_min: WorkMin = 5
    step: AtStep = 0

    def to_core(self, house: House) -> core.Soaker:
        """Return the core's soaker."""
        return core.Soaker(
            self.key,
            self.name,
            lines_to_core(self.lines, house),
            house.place(self.place),
            self.soak_h,
            self.keep_at_most_h,
            self.work_min,
            self.step,
        )


PartInput = Annotated[PrefermentInput | ScaldInput | SoakerInput, Field(discriminator="kind")]


class FormulaInput(Named):
    """A dough."""

    lines: Lines
    steps: Steps
    dough_c: Annotated[
        Number, Field(description="The dough temperature used today [°C].", examples=[25.0])
    ]
    bulk: Annotated[
        RipeningInput,
        Field(
            description="The first fermentation as done today.",
            examples=[{"minutes": 90, "room_c": 24}],
        ),
    ]
    parts: Annotated[
        list[PartInput],
        Field(
            description="Preferments, scalds and soakers.",
            examples=[[{"kind": "scald", "name": "rye scald", "lines": []}]],
        ),
    ] = Field(default_factory=list)
    band_k: Annotated[
        Number,
        Field(description="Half width of the band of the dough temperature [K].", examples=[1.0]),
    ] = 1.0
    dough_class: Annotated[
        str | None,
        Field(
            description="Doughs of one class share what is learned of mixing; wheat or rye when"
            " left out.",
            examples=["wheat"],
        ),
    ] = None
    colour_class: Annotated[
        str,
        Field(description="Doughs of one colour follow without cleaning.", examples=["dark"]),
    ] = ""
    strong_flour: Annotated[
        bool,
        Field(
            description="Whether its flour is strong (high in gluten): some mixers take less.",
            examples=[False],
        ),
    ] = False
    gluten_free: Annotated[
        bool,
        Field(
            description="Whether no gluten may come near it: it is mixed before any wheat in its"
            " room, or not at all.",
            examples=[False],
        ),
    ] = False
    hand_sum: Annotated[
        HandSumInput | None,
        Field(
            description="The baker's own sum for the water, to stand beside ours.",
            examples=[{"kind": "friction in the sum", "value_k": 17}],
        ),
    ] = None

    @property
    def curve(self) -> ripe.Curve:
        """What ripens the dough: its culture if it has one, else yeast."""
        cultures = [p.curve for p in self.parts if isinstance(p, PrefermentInput)]
        if not any(curve in CULTURE_CURVES for curve in cultures):
            return ripe.Curve.YEAST
        return ripe.Curve.ACID if self.is_rye else ripe.Curve.LEVAIN

    @property
    def is_rye(self) -> bool:
        """Whether at least half of its flour is rye."""
        everything = [*self.lines, *(line for part in self.parts for line in part.lines)]
        return rye_share(everything) * 100 >= RYE_FROM_PERCENT

    def to_core(self, faults: Faults, house: House) -> core.Formula | None:
        """Return the core's formula, or None when it has faults.

        Parameters
        ----------
        faults
            Takes what is wrong.
        house
            What must be known of the bakery.
        """
        before = len(faults.found)
        lines = faults.build(lines_to_core, self.lines, house) or ()
        steps = faults.build(every, "steps", self.steps, StepInput.to_core) or ()
        parts: tuple[core.Part, ...] = all_of(
            faults, "parts", self.parts, lambda part: part.to_core(house)
        )
        bulk = faults.at("bulk").build(self.bulk.to_core, house, self.curve)
        hand_sum = None
        if self.hand_sum is not None:
            hand_sum = faults.at("hand_sum").build(self.hand_sum.to_core)
        if len(faults.found) > before or bulk is None:
            return None
        return faults.build(
            lambda: core.Formula(
                id=self.key,
                name=self.name,
                lines=lines,
                steps=steps,
                dough_c=self.dough_c,
                bulk=bulk,
                parts=parts,
                band_k=self.band_k,
                dough_class=self.dough_class or ("rye" if self.is_rye else "wheat"),
                colour_class=self.colour_class,
                hand_sum=hand_sum,
                strong_flour=self.strong_flour,
                gluten_free=self.gluten_free,
            )
        )
