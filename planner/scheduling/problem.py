"""The day as a scheduling problem: plain data, whole minutes, no physics and no solver.

Every time is a whole minute from the start of the planned span, on the grid of the problem.
Physics has already said what each choice means: an `Option` of a job promises that its bulk
length, proof lengths, ice and chilled water hold for *every* start inside its bucket.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field

from planner.scheduling.preparation import Preparation

VESSELS = "vessel "
"""Vessels stand among the racks of chambers under this word and their id."""

NOBODY = "nobody "
"""Workers under this word and more are not there: they would have to be, for what has begun."""

BENCH, TUBS, WEIGHT = "bench", "tub ", "weight in "
"""So do bench places, bulk tubs and the grams that a chamber may hold."""


@dataclass(frozen=True, slots=True)
class Option:
    """One way to run a mix, good for every mix start inside its bucket.

    Attributes
    ----------
    bucket
        Index of the start bucket: starts from ``bucket * bucket_min`` on.
    bulk_min
        Minutes from the end of mixing to the divide.
    choice
        Label of the dough temperature choice behind it; the schedule hands it back.
    cost
        Penalty points: distance from the ideal bulk, and a wish for the baker's own number.
    ice_g, chilled_g
        Ice and chilled water it takes [g].
    proofs_min
        Shortest and longest proof per route of the job's loads [min].
    cold
        Whether its flour or water is cold, or ice goes in: some mixers then take less.
    ripe_proofs_min
        Wanted proof per route [min], on the grid; empty where any inside its bounds is as good.
    """

    bucket: int
    bulk_min: int
    choice: int
    cost: int
    ice_g: int
    chilled_g: int
    proofs_min: tuple[tuple[int, int], ...] = ()
    cold: bool = False
    ripe_proofs_min: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class OvenChoice:
    """An oven a load may use: how many places it takes there.

    Attributes
    ----------
    hold_min
        Minutes for which it keeps its places from its loading on: until they have recovered, or,
        on a belt, until the last piece is on it. None for baking and the oven's recovery.
    hot_from, hot_by
        Between which minutes of the span the oven is as hot as the load wants it; None for always.
    """

    oven_id: str
    places: int
    hold_min: int | None = None
    hot_from: int | None = None
    hot_by: int | None = None


@dataclass(frozen=True, slots=True)
class Route:
    """A way to proof a load; a chamber has racks, a room has none to count.

    Attributes
    ----------
    place_id
        Where it proofs, at first when it moves on.
    racks
        Racks it takes in each chamber on its way, from the start of the proof to its loading: a
        rack it will come to is kept free for it.
    later_ids, moves_min
        Where it goes on to, and after how many minutes of proof; each move takes a person.
    holds
        What else it takes as long as its racks, by its name in ``Problem.racks``: the grams that
        weigh in a chamber.
    """

    place_id: str
    racks: int
    later_ids: tuple[str, ...] = ()
    moves_min: tuple[int, ...] = ()
    holds: tuple[tuple[str, int], ...] = ()

    @property
    def place_ids(self) -> tuple[str, ...]:
        """Every place on its way, each once."""
        return tuple(dict.fromkeys((self.place_id, *self.later_ids)))

    @property
    def takes(self) -> tuple[tuple[str, int], ...]:
        """Everything counted that it takes until it is loaded: name and how many."""
        return (*((place_id, self.racks) for place_id in self.place_ids), *self.holds)


@dataclass(frozen=True, slots=True)
class Load:
    """Pieces of one mix that are baked together.

    Attributes
    ----------
    proof_offset_min
        Minutes from the start of the divide to the start of this load's proof.
    routes
        Where it may proof; index-aligned with ``Option.proofs_min`` from ``first_route`` on.
    ovens
        Ovens it may use.
    bake_min, cool_min
        Minutes in the oven, and from the oven to the door.
    first_route
        Where its routes begin in ``Option.proofs_min``: one mix may give several products.
    leave_by, priority
        When it leaves and how much a late minute weighs; None for those of its job.
    was_start
        When it goes in by the plan in force, which is disturbed as little as can be.
    held
        Whether it is in its oven already, whatever stops since.
    bake_c
        At what the oven is set for it [°C]; None when that does not matter.
    """

    id: str
    proof_offset_min: int
    routes: tuple[Route, ...]
    ovens: tuple[OvenChoice, ...]
    bake_min: int
    cool_min: int
    first_route: int = 0
    leave_by: int | None = None
    priority: int | None = None
    was_start: int | None = None
    held: bool = False
    bake_c: int | None = None

    def oven(self, oven_id: str) -> OvenChoice:
        """Return the choice of an oven."""
        return next(choice for choice in self.ovens if choice.oven_id == oven_id)


@dataclass(frozen=True, slots=True)
class Job:
    """One mix with everything that follows from it.

    Attributes
    ----------
    mixer_ids
        Mixers that fit its weight.
    scale_min
        Hands-on minutes of scaling right before the mixer starts.
    mix_min
        Minutes on the mixer, rests included.
    attended
        Whether a person stands at it for the whole mix (by hand).
    folds_min
        Minutes after the end of mixing at which a fold or a move to another place is due, each
        ``fold_min`` long.
    moves_min
        Those of them that are moves.
    divide_min
        Hands-on minutes of dividing and shaping.
    options
        All ways to run it; empty means physics found none.
    loads
        Oven loads that come of it; empty when the plan ends at the divide.
    earliest_start, latest_start
        Bounds of the mix start.
    divide_from, divide_by
        Bounds of the divide by the clock, when the mix list gives them.
    leave_by, priority
        When the baked goods leave, and how much a late minute weighs.
    preparation_ids
        Preparations it needs.
    allergens, colour_class
        For cleaning between doughs.
    first_on_mixer
        Pinned to be the first mix of its mixer.
    load_at
        Pinned minute of loading its first load.
    bench, crew
        Bench places it takes, and people who divide it together, while it is divided.
    tubs
        Ways to keep its bulk, one of which it takes from the end of mixing to the divide: what and
        how many, by their names in ``Problem.racks``.
    warm_only
        Mixers that hold it only by an option that is not cold.
    gluten_free
        Whether no gluten may come near it.
    after_ids
        Mixes that are pinned to be off their mixer before it starts.
    was_start, was_mixer_id
        Start and mixer in the plan in force, which is disturbed as little as can be.
    held
        Whether it has begun, whatever stops since.
    dough
        Which dough it is: mixes of one dough that follow each other are a run.
    """

    id: str
    mixer_ids: tuple[str, ...]
    scale_min: int
    mix_min: int
    divide_min: int
    options: tuple[Option, ...]
    loads: tuple[Load, ...]
    earliest_start: int
    latest_start: int
    attended: bool = False
    folds_min: tuple[int, ...] = ()
    fold_min: int = 5
    moves_min: tuple[int, ...] = ()
    divide_from: int | None = None
    divide_by: int | None = None
    leave_by: int | None = None
    priority: int = 1
    preparation_ids: tuple[str, ...] = ()
    allergens: frozenset[str] = frozenset()
    colour_class: str = ""
    first_on_mixer: bool = False
    load_at: int | None = None
    bench: int = 0
    crew: int = 1
    tubs: tuple[tuple[tuple[str, int], ...], ...] = ((),)
    warm_only: frozenset[str] = frozenset()
    gluten_free: bool = False
    after_ids: tuple[str, ...] = ()
    was_start: int | None = None
    was_mixer_id: str | None = None
    held: bool = False
    dough: str = ""

    def leaves(self, load: Load) -> tuple[int | None, int]:
        """Return when one of its loads leaves, and how much a late minute of it weighs."""
        leave_by = self.leave_by if load.leave_by is None else load.leave_by
        return leave_by, self.priority if load.priority is None else load.priority


@dataclass(frozen=True, slots=True)
class StandingLoad:
    """An inherited load that only needs an oven: load window and when it must leave."""

    load: Load
    load_from: int
    load_by: int
    leave_by: int
    priority: int = 1


@dataclass(frozen=True, slots=True)
class Rest:
    """A break that somebody is to have: so many minutes, begun between two minutes of the span."""

    length_min: int
    from_min: int
    by_min: int


@dataclass(frozen=True, slots=True)
class Worker:
    """One person and the minutes in which they work: pairs of start and end.

    Attributes
    ----------
    skills
        Kinds of work they can do; None for everything.
    rests
        Breaks they are to have.
    """

    person_id: str
    hours: tuple[tuple[int, int], ...]
    skills: frozenset[str] | None = None
    rests: tuple[Rest, ...] = ()

    def can(self, skill: str) -> bool:
        """Return whether they can do a kind of work."""
        return self.skills is None or skill in self.skills


@dataclass(frozen=True, slots=True)
class OvenPlaces:
    """An oven: decks or racks, and minutes of recovery between two loads of a place.

    Attributes
    ----------
    heats_k_per_min, cools_k_per_min
        How fast its set temperature can be changed [K/min]; 0 when that takes no time.
    gap_min
        On a belt, minutes left empty where time or temperature change; None for other ovens.
    """

    oven_id: str
    places: int
    recovery_min: int
    heats_k_per_min: float = 0.0
    cools_k_per_min: float = 0.0
    gap_min: int | None = None


@dataclass(frozen=True, slots=True)
class Closed:
    """A mixer or oven that is out of order from a minute to a minute."""

    resource_id: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Store:
    """A store that is filled at a steady rate and never holds more than its room.

    Attributes
    ----------
    start_g, rate_g_per_h, room_g
        What is in it at minute 0 [g], what is added in an hour [g/h], the most it holds [g].
    """

    start_g: int
    rate_g_per_h: int
    room_g: int


@dataclass(frozen=True, slots=True)
class Weights:
    """Penalty points. Documented here because a baker's wishes are weighed by them.

    Attributes
    ----------
    late_per_slot
        A load that leaves one slot late, times its priority.
    window_per_slot
        A divide or a loading one slot past its window.
    proof_per_slot
        A loading one slot away from the wanted proof, inside its window or past it.
    unplaced
        A mix that finds no place at all, times its priority.
    pin
        A pinned loading, first place on a mixer or order that is not kept.
    moved_per_slot, other_mixer
        A mix or a loading one slot off the plan in force; a mix on another mixer than there.
    rest
        A break that somebody does not have.
    ice_per_kg
        A kilo of ice.
    chilled_per_10_kg
        Ten kilos of chilled water.
    early_per_mix
        A mix that starts before ``early_before``.
    build
        Each separate build of a preparation.
    ideal_per_slot
        A bulk one slot off its ripe time.
    off_number_per_k
        A degree that a dough is planned away from the baker's own number.
    edge_per_slot
        A slot by which a divide or a loading lies nearer to an end of its window than the
        uncertainty of its ripe time. Loadings are weighed so when a schedule is timed anew.
    gap_per_slot
        A slot that is missing to ten minutes between two tasks of the busiest mixer and oven, when
        a schedule is timed anew: so that slack is not squeezed out where it is needed most.
    change_per_half_hour
        Half an hour by which a mix starts sooner or later than in an earlier plan.
    fresh_per_hour
        An hour that bread lies before it leaves (second stage).
    hold_per_hour
        An hour that a preparation stands ready before its use (second stage).
    clean_per_hour
        An hour of cleaning between doughs (second stage).
    change_each
        A mix that follows another dough on its mixer (second stage).
    fresh_trade
        First-stage points that the second stage may give up for freshness, at the weights
        above: a few minutes off the ideal bulk, a little ice. Less than any window or lateness
        costs, so that neither is ever traded.
    """

    late_per_slot: int = 1000
    window_per_slot: int = 400
    proof_per_slot: int = 0
    unplaced: int = 60_000
    pin: int = 20_000
    rest: int = 20_000
    ice_per_kg: int = 6
    chilled_per_10_kg: int = 1
    early_per_mix: int = 3
    build: int = 5
    ideal_per_slot: int = 4
    off_number_per_k: int = 3
    edge_per_slot: int = 3
    gap_per_slot: int = 1
    change_per_half_hour: int = 1
    fresh_per_hour: int = 4
    hold_per_hour: int = 1
    fresh_trade: int = 0
    moved_per_slot: int = 0
    other_mixer: int = 0
    clean_per_hour: int = 12
    change_each: int = 1


@dataclass(frozen=True, slots=True)
class Problem:
    """Everything the search needs.

    Attributes
    ----------
    span_min
        Length of the span; every task ends by then.
    grid_min, bucket_min
        Time grid, and width of a start bucket (a multiple of the grid).
    clean_down_min
        Minutes of cleaning per mixer when allergens leave or the colour class changes.
    colour_clean_min
        Minutes of cleaning per mixer from one colour class to another, where that differs.
    mixer_room
        The room in which each mixer stands.
    alternatives
        Ways to make the same dough as other mixes. Each has groups of jobs, exactly one of which
        is made.
    racks
        Racks by room or chamber, and what else is counted: vessels of which there might be too
        few, bench places, bulk tubs, and the grams a chamber may hold. What is not named is
        always there.
    early_before
        Minute before which a mix counts as early.
    kettle
        Boiling water for scalds; None when there is always enough.
    closed
        Mixers and ovens that stop for a while; what is held in them stays.
    """

    span_min: int
    grid_min: int
    bucket_min: int
    jobs: tuple[Job, ...]
    preparations: tuple[Preparation, ...]
    standing: tuple[StandingLoad, ...]
    workers: tuple[Worker, ...]
    ovens: tuple[OvenPlaces, ...]
    racks: dict[str, int]
    clean_down_min: dict[str, int]
    ice: Store
    chiller: Store
    load_work_min: int = 5
    early_before: int = 0
    weights: Weights = field(default_factory=Weights)
    kettle: Store | None = None
    colour_clean_min: dict[str, dict[tuple[str, str], int]] = field(default_factory=dict)
    mixer_room: dict[str, str] = field(default_factory=dict)
    alternatives: tuple[tuple[tuple[str, ...], ...], ...] = ()
    closed: tuple[Closed, ...] = ()

    def job(self, job_id: str) -> Job:
        """Return the job with this id."""
        return next(job for job in self.jobs if job.id == job_id)

    def wanted(self, placed: Collection[str]) -> list[str]:
        """Return the ids of the jobs that should have a place, when some have one.

        Of each set of alternatives those of the group of which most are placed; the first when
        none is.
        """
        left_out: set[str] = set()
        for groups in self.alternatives:
            made = max(groups, key=lambda group: sum(one in placed for one in group))
            left_out |= {one for group in groups if group is not made for one in group}
        return [job.id for job in self.jobs if job.id not in left_out]
