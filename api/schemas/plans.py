"""Plans: what is asked for, how far it is, and the finished night."""

from __future__ import annotations

from datetime import date, datetime
from enum import StrEnum
from typing import Annotated

from pydantic import Field

from api.pages.wording import Units
from api.schemas.base import Entry
from api.schemas.mixes import LoadRead, MixRead, PreparationRead, TaskRead
from api.schemas.problems import Problem
from api.schemas.reader import Read, Reader, attributes, shown
from api.schemas.remarks import RemarkRead
from api.schemas.this_age import InThisAge
from planner.bakery import Care
from planner.planned import Plan, PlanStatus


class PlanState(StrEnum):
    """How far a plan is."""

    PLANNING = "planning"
    READY = "ready"
    FAILED = "failed"


class PlanCreate(Entry):
    """Which day to plan."""

    bakery_id: Annotated[
        str, Field(description="Id of the bakery.", min_length=1, examples=["weir"])
    ]
    production_date: Annotated[
        date,
        InThisAge,
        shown("The production day's own date; work may start the evening before.", "2026-07-16"),
    ]


class ProgressRead(Read):
    """Where planning stands."""

    state: Annotated[PlanState, shown("How far the plan is.", "planning")]
    stage: Annotated[str, shown("What is being done.", "searching")]
    best: Annotated[
        float | None,
        shown("Penalty points of the best plan so far; null before there is one.", 120.0),
    ]
    bound: Annotated[
        float | None,
        shown("Points below which no plan can come; null when unknown.", 80.0),
    ]
    search_s: Annotated[float, shown("Seconds of search so far.", 2.4)]
    stop_requested: Annotated[
        bool, shown("Whether it was asked to end with the best so far.", example=False)
    ]
    beat_at: Annotated[datetime, shown("Last sign of life [UTC].", "2026-07-15T12:00:02Z")]


class BudgetRead(Read):
    """Ice and chilled water of one hour."""

    hour_utc: Annotated[datetime, shown("Start of the hour.", "2026-07-15T21:00:00Z")]
    ice_used_kg: Annotated[float, shown("Ice used [kg].", 8.4)]
    ice_left_kg: Annotated[float, shown("Ice left at its end [kg].", 36.6)]
    chilled_used_kg: Annotated[float, shown("Chilled water used [kg].", 13.2)]
    chilled_left_kg: Annotated[float, shown("Chilled water left at its end [kg].", 66.8)]


class AssumptionRead(Read):
    """A default that nobody entered, and what it may cost."""

    name: Annotated[str, shown("What was assumed.", "mixing work of spiral 120, second speed")]
    value: Annotated[float, shown("The default, in its unit.", 1.6)]
    unit: Annotated[str, shown("Unit of the default.", "kJ/kg min")]
    basis: Annotated[str, shown("Where the default comes from.", "usual for a spiral mixer")]
    effect_k: Annotated[float, shown("One standard deviation in degrees of dough [K].", 1.9)]
    effect_min: Annotated[float, shown("One standard deviation in minutes [min].", 17.0)]
    remedy: Annotated[
        str,
        shown("The reading that removes it.", "read the dough temperature at the end of one mix"),
    ]


class PointsRead(Read):
    """Penalty points of a plan, by what they are for."""

    late: Annotated[float, shown("Orders that leave late.", 0.0)]
    windows: Annotated[float, shown("Doughs off their ripe time or outside their window.", 0.0)]
    ice: Annotated[float, shown("Ice and chilled water used.", 0.0)]
    early: Annotated[float, shown("Mixes that start early.", 0.0)]
    unplaced: Annotated[float, shown("Mixes without a place.", 0.0)]
    freshness: Annotated[float, shown("Baked goods that wait.", 35.0)]
    builds: Annotated[float, shown("Separate builds of levains and scalds.", 25.0)]
    moved: Annotated[
        float, shown("What lies off the plan before; in no other sum, and 0 in a first plan.", 0.0)
    ]


class RobustnessRead(Read):
    """Doughs outside their windows on nights that turn out otherwise, if all go by the clock."""

    nights: Annotated[int, shown("Nights drawn.", 200)]
    judged: Annotated[int, shown("Divides and loadings judged on all of them together.", 6400)]
    outside_share: Annotated[float, shown("Share of them outside their window, 0 to 1.", 0.1)]
    bulks: Annotated[int, shown("Divides judged.", 3200)]
    bulks_outside: Annotated[int, shown("Divides outside their window.", 121)]
    proofs: Annotated[int, shown("Loadings judged.", 3200)]
    proofs_outside: Annotated[int, shown("Loadings outside their window.", 520)]


class NightRead(Read):
    """The finished plan of a production day."""

    status: Annotated[PlanStatus, shown("How far the search came.", "found")]
    mixes: list[MixRead]
    preparations: list[PreparationRead]
    inherited_loads: list[LoadRead]
    tasks: list[TaskRead]
    unplaced: Annotated[list[str], shown("Ids of mixes that found no place.", ["rye-2"])]
    budgets: list[BudgetRead]
    assumptions: list[AssumptionRead]
    remarks: list[RemarkRead]
    points: PointsRead
    bound: Annotated[
        float | None,
        shown("Points below which no plan can come; null when unknown.", 80.0),
    ]
    cares_for: Annotated[Care, shown("What was weighed most.", "the usual order")]
    robustness: Annotated[
        RobustnessRead | None,
        shown("How it fares on other nights; null for a plan that was not judged so.", None),
    ]

    @classmethod
    def of(cls, plan: Plan, units: Units) -> NightRead:
        """Return a plan of the core as it is sent.

        Parameters
        ----------
        units
            Units in which the sentences are written; figures are SI with °C.
        """
        sent = {name: value for name, value in attributes(plan).items() if name in cls.model_fields}
        sent["cares_for"] = plan.day.bakery.cares_for
        return cls.model_validate(sent, context=Reader.of(plan, units))


class PlanHead(Read):
    """A plan in a list."""

    id: Annotated[str, shown("Id of the plan.", "weir.2026-07-16.1")]
    bakery_id: Annotated[str, shown("Id of the bakery.", "weir")]
    production_date: Annotated[date, shown("The production day's own date.", "2026-07-16")]
    version: Annotated[int, shown("Version among the plans of its day, from 1.", 1)]
    state: Annotated[PlanState, shown("How far the plan is.", "ready")]
    in_force: Annotated[
        bool, shown("Whether it is the one plan of its day that counts.", example=True)
    ]
    created_at: Annotated[datetime, shown("When it was asked for [UTC].", "2026-07-15T12:00:00Z")]


class PlanRead(PlanHead):
    """A plan: how far it is and, once ready, the whole night.

    All moments are UTC; `zone` is the bakery's own.
    """

    zone: Annotated[str, shown("IANA time zone of the bakery.", "Europe/Vienna")]
    units: Annotated[
        Units, shown("Units of the sentences; figures are SI with °C throughout.", "metric")
    ]
    progress: ProgressRead
    problem: Annotated[Problem | None, shown("Why it could not be made; null otherwise.", None)]
    night: Annotated[NightRead | None, shown("The plan itself; null until it is ready.", None)]
