"""The plan: what the core hands out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from enum import StrEnum

from planner.alternative import Alternative
from planner.conditions import Conditions
from planner.corrections import Corrections
from planner.day import Day
from planner.happened import Breakdown, Change, Override
from planner.mixers import Speed
from planner.other_nights import Robustness
from planner.pins import Limits, Pin
from planner.plan_figures import AssumptionCost, HourBudget, Points
from planner.planned_preparation import PlannedPreparation
from planner.readings import Reading
from planner.remarks import Remark
from planner.water_ticket import ScalingLine, WaterLine, WaterTicket


class PlanStatus(StrEnum):
    """How far the search came."""

    LISTED = "listed"
    FEASIBLE = "found"
    OPTIMAL = "proved best"


@dataclass(frozen=True, slots=True)
class PlannedStep:
    """One mixing step with its minutes."""

    speed: Speed
    minutes: float


@dataclass(frozen=True, slots=True)
class PlannedMove:
    """A dough or its pieces go on to another place."""

    at_utc: datetime
    place_id: str


@dataclass(frozen=True, slots=True)
class TubsTaken:
    """Tubs of one kind in which a dough rises."""

    tub_id: str
    count: int


@dataclass(frozen=True, slots=True)
class PlannedLoad:
    """Shaped pieces that go into the oven together.

    Attributes
    ----------
    proof_place_id
        Where they proof or retard.
    proof_start_utc, load_from_utc, load_by_utc, load_utc, out_utc, ready_utc
        Start of proof, window of loading, planned loading, out of the oven, cool and ready.
    oven_id, oven_places
        Where they are baked and how many decks or racks they take.
    ripeness
        Progress of the proof at the planned loading; 1 is ripe.
    route
        Which of the product's ways to proof it takes.
    moves
        Where they go on to before they are loaded.
    leave_by_utc
        When they must leave, in a mix for several orders; None for the time of their mix.
    carried
        Where somebody has carried them beside the plan, as into the cold while the ovens stood.
    """

    id: str
    product_id: str
    pieces: int
    proof_place_id: str
    proof_start_utc: datetime
    load_from_utc: datetime
    load_by_utc: datetime
    load_utc: datetime
    out_utc: datetime
    ready_utc: datetime
    oven_id: str
    oven_places: int
    ripeness: float
    route: int = 0
    moves: tuple[PlannedMove, ...] = ()
    leave_by_utc: datetime | None = None
    carried: tuple[PlannedMove, ...] = ()


@dataclass(frozen=True, slots=True)
class Steered:
    """What the plan decided about the temperature of a mix, so that readings are answered alike.

    Attributes
    ----------
    dough_c
        The dough temperature chosen [°C], also where water and ice cannot reach it.
    use_chilled
        Whether it may take chilled water.
    ice_kg, chilled_kg
        The most ice and chilled water it may take without robbing another mix [kg].
    bowl_c, bowl_end_c
        Bowl and tool at the start and at the end [°C].
    """

    dough_c: float
    use_chilled: bool
    ice_kg: float
    chilled_kg: float
    bowl_c: float
    bowl_end_c: float


@dataclass(frozen=True, slots=True)
class PlannedMix:
    """One bowl of dough, from scaling to the divide and the oven.

    Attributes
    ----------
    batch, batches
        Which of how many equal batches it is.
    start_utc, mix_end_utc
        Mixer on, dough off the mixer.
    divide_from_utc, divide_by_utc, divide_utc, divide_end_utc
        Window of dividing on the true curves, the planned divide and its end.
    ripeness
        Progress of the bulk at the planned divide; 1 is ripe.
    minutes_per_degree
        How much earlier the dough is ripe when it comes off one degree warmer [min].
    band_min
        Half width of the uncertainty of the ripe time [min].
    preparation_ids
        Levains, scalds and soakers it uses.
    steered
        What was decided about its temperature.
    moves
        Where its bulk goes on to before the divide.
    line_ids
        The lines of the mix list it is for, where several are mixed together.
    overload_signed_by
        Who answers for its being more than its mixer takes; empty when it is not.
    reasons, alternatives
        Why it starts then at that dough temperature, and what a little either way would do.
    tubs
        Tubs in which it rises, where they are counted.
    """

    id: str
    line_id: str
    formula_id: str
    product_id: str | None
    batch: int
    batches: int
    dough_kg: float
    flour_kg: float
    pieces: int
    mixer_id: str
    start_utc: datetime
    mix_end_utc: datetime
    steps: tuple[PlannedStep, ...]
    scaling: tuple[ScalingLine, ...]
    ticket: WaterTicket
    divide_from_utc: datetime
    divide_by_utc: datetime
    divide_utc: datetime
    divide_end_utc: datetime
    ripeness: float
    minutes_per_degree: float
    band_min: float
    folds_utc: tuple[datetime, ...]
    loads: tuple[PlannedLoad, ...]
    leave_by_utc: datetime | None
    preparation_ids: tuple[str, ...]
    steered: Steered
    remarks: tuple[Remark, ...] = ()
    moves: tuple[PlannedMove, ...] = ()
    line_ids: tuple[str, ...] = ()
    overload_signed_by: str = ""
    reasons: tuple[Remark, ...] = ()
    alternatives: tuple[Alternative, ...] = ()
    tubs: tuple[TubsTaken, ...] = ()

    @property
    def mix_min(self) -> float:
        """Minutes in the mixer, rests included [min]."""
        return sum(step.minutes for step in self.steps)


@dataclass(frozen=True, slots=True)
class PlannedTask:
    """Hands-on work of one person, or their break.

    Attributes
    ----------
    kind
        Plain word for the work, such as ``divide``; ``break`` when it is none.
    subject
        Id of the mix, preparation or load; of the person who has the break.
    person_id
        Who does it; None when nobody is free.
    """

    kind: str
    subject: str
    start_utc: datetime
    end_utc: datetime
    person_id: str | None
    place_id: str


@dataclass(frozen=True, slots=True)
class Foreseen:
    """What some mixes that have begun were planned with, where a later version knows better.

    Attributes
    ----------
    mix_ids
        The mixes.
    conditions, corrections
        The night as it was thought to be, and what had been learned, when they began.
    """

    mix_ids: tuple[str, ...]
    conditions: Conditions
    corrections: Corrections


@dataclass(frozen=True, slots=True)
class Plan:
    """A whole day, with the input it was made from.

    Attributes
    ----------
    unplaced
        Ids of mixes that found no place; each has an unmet wish in ``remarks``.
    assumptions
        The defaults that cost most, dearest first.
    readings
        What was measured since; each changes what its mix is answered.
    outages
        Mixers, ovens and chambers that are out of order.
    begun
        Ids of mixes that had begun when this version was made.
    as_of_utc
        The moment from which this version could still change things [UTC]; None for a first plan.
    foreseen
        What mixes that have begun were planned with; all others with ``conditions`` and
        ``corrections``.
    change
        What it changes against the version before; None for a first plan.
    overrides
        What was allowed against a rule of the house, and by whom.
    robustness
        Its doughs on nights that turn out otherwise; None for a plan that was not judged so.
    """

    version: int
    status: PlanStatus
    day: Day
    conditions: Conditions
    corrections: Corrections
    pins: tuple[Pin, ...]
    limits: Limits
    mixes: tuple[PlannedMix, ...]
    preparations: tuple[PlannedPreparation, ...]
    inherited_loads: tuple[PlannedLoad, ...]
    tasks: tuple[PlannedTask, ...]
    unplaced: tuple[str, ...]
    budgets: tuple[HourBudget, ...]
    assumptions: tuple[AssumptionCost, ...]
    remarks: tuple[Remark, ...]
    points: Points
    bound: float | None
    readings: tuple[Reading, ...] = ()
    outages: tuple[Breakdown, ...] = ()
    begun: tuple[str, ...] = ()
    as_of_utc: datetime | None = None
    foreseen: tuple[Foreseen, ...] = ()
    change: Change | None = None
    overrides: tuple[Override, ...] = ()
    robustness: Robustness | None = None

    def corrections_for(self, mix_id: str) -> Corrections:
        """Return the corrections with which a mix was planned."""
        return next((f.corrections for f in self.foreseen if mix_id in f.mix_ids), self.corrections)

    def as_begun(self, mix_id: str) -> Plan:
        """Return the plan with the conditions and corrections with which a mix was planned."""
        for one in self.foreseen:
            if mix_id in one.mix_ids:
                return replace(self, conditions=one.conditions, corrections=one.corrections)
        return self

    def mix(self, mix_id: str) -> PlannedMix:
        """Return the mix with this id.

        Raises
        ------
        KeyError
            If the plan has no such mix.
        """
        for mix in self.mixes:
            if mix.id == mix_id:
                return mix
        raise KeyError(mix_id)


@dataclass(frozen=True, slots=True)
class MidMix:
    """What can still be done while a dough is being mixed.

    Attributes
    ----------
    after_step
        The step that has just ended.
    untouched_c
        Dough at the end if the rest goes as planned [°C].
    water, ice_kg
        The second water as it should be now; empty when none is left to come.
    expected_c
        Dough at the end with it [°C].
    pour_c
        What the second water reads once its ice has melted in it [°C]; None when it need not.
    """

    after_step: int
    untouched_c: float
    water: tuple[WaterLine, ...]
    ice_kg: float
    expected_c: float
    pour_c: float | None = None


@dataclass(frozen=True, slots=True)
class Answer:
    """What a reading changes: a new ticket, new times, what to do.

    Attributes
    ----------
    mix
        The mix with its new figures.
    changed
        Whether anything that the shift acts on has changed.
    remarks
        What to do, in plain words.
    mid_mix
        What can still be done with the dough in the bowl, for a reading taken during the mix.
    """

    mix: PlannedMix
    changed: bool
    remarks: tuple[Remark, ...]
    mid_mix: MidMix | None = None
