"""From the schedule to the published plan: exact figures, tasks, budgets, remarks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import timedelta

from planner.assumptions import PlannedWith, dearest_assumptions
from planner.batches import mix_name
from planner.bowls import Bowls
from planner.breaks import BREAK
from planner.clean_downs import cleaning_remarks
from planner.evaluation import planned_mix, times_of
from planner.explaining import mix_remarks, night_note, pin_remarks, unmet_remarks
from planner.formula import Scald
from planner.making import builds_by_mix, part_c_for, planned_preparation
from planner.night import Night
from planner.options import Allowance, Offer
from planner.pins import Limits, Pin
from planner.places import tubs_notes, tubs_taken
from planner.plan_figures import HourBudget, Points
from planner.planned import (
    Plan,
    PlannedLoad,
    PlannedMix,
    PlannedTask,
    PlanStatus,
)
from planner.planned_preparation import PlannedPreparation
from planner.posing import inherited_ripeness
from planner.preparations import Offered
from planner.remarks import Remark
from planner.scald_course import scald_notes
from planner.scald_levers import lever_remarks
from planner.scheduling.problem import NOBODY, Problem
from planner.scheduling.schedule import Schedule, ScheduledJob, SearchStatus
from planner.stores import Use, allowances, chilled_kg, chilled_stock, chilled_uses, left_kg

STATUS = {
    SearchStatus.LISTED: PlanStatus.LISTED,
    SearchStatus.FEASIBLE: PlanStatus.FEASIBLE,
    SearchStatus.OPTIMAL: PlanStatus.OPTIMAL,
}


@dataclass(frozen=True)
class Worked:
    """Everything that was worked out for a day before it is published.

    Attributes
    ----------
    known_c
        Part temperatures of mixes that have begun, by mix and part id [°C].
    begun
        Mixes that have begun: they left their bowls as they did.
    """

    night: Night
    offers: tuple[Offer, ...]
    preparations: tuple[Offered, ...]
    problem: Problem
    schedule: Schedule
    known_c: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    begun: tuple[PlannedMix, ...] = ()

    def part_c(self, mix_id: str, planned: Sequence[PlannedPreparation]) -> dict[str, float]:
        """Return the temperature of each part when it meets a mix [°C]."""
        return {**self.known_c.get(mix_id, {}), **part_c_for(planned, mix_id)}


def publish(worked: Worked, pins: tuple[Pin, ...], limits: Limits, version: int = 1) -> Plan:
    """Return the plan of a schedule.

    Parameters
    ----------
    worked
        Night, offers, preparations, problem and schedule.
    pins, limits
        As given to `make_plan`, kept with the plan.
    version
        Number of this version.
    """
    night, schedule = worked.night, worked.schedule
    offers = {o.batch.id: o for o in worked.offers}
    preparations = planned_preparations(worked, offers)
    mixes = planned_mixes(worked, offers, preparations)
    with_offers = [
        PlannedWith(
            mix,
            offers[mix.id],
            night.day.minute(mix.start_utc),
            worked.part_c(mix.id, preparations),
        )
        for mix in mixes
    ]
    return Plan(
        version=version,
        status=STATUS[schedule.status],
        day=night.day,
        conditions=night.conditions,
        corrections=night.corrections,
        pins=pins,
        limits=limits,
        mixes=mixes,
        preparations=preparations,
        inherited_loads=inherited_loads(night, schedule),
        tasks=tasks_of(night, schedule, preparations),
        unplaced=schedule.unplaced,
        budgets=budgets_of(night, worked.problem, mixes, preparations),
        assumptions=dearest_assumptions(night, with_offers),
        remarks=_remarks(worked, mixes, pins),
        points=_points(schedule),
        bound=schedule.bound,
    )


def planned_preparations(
    worked: Worked, offers: Mapping[str, Offer]
) -> tuple[PlannedPreparation, ...]:
    """Return every build in the order of its start.

    Each takes at most what mixes and builds before it leave in the chiller.
    """
    night, schedule = worked.night, worked.schedule
    starts = {job.job_id: job.start for job in schedule.jobs}
    offered = {p.id: p for p in worked.preparations}
    chilled = list(_set_aside(worked, offers, ())[1].values())
    planned = []
    for build in sorted(schedule.builds, key=lambda b: (b.start, b.preparation_id)):
        if not build.job_ids:
            continue
        kg = left_kg(chilled_stock(night), chilled, build.start)
        one = planned_preparation(night, offered[build.preparation_id], build, starts, kg)
        chilled += chilled_uses(night, one)
        planned.append(one)
    return tuple(planned)


def planned_mixes(
    worked: Worked, offers: Mapping[str, Offer], preparations: Sequence[PlannedPreparation]
) -> tuple[PlannedMix, ...]:
    """Return every mix at its exact time, in the order of their start, bowl after bowl.

    Each may take what the search set aside for it and what is spare at its turn, so that a warm
    bowl or another mixer than was thought of does not leave it short.
    """
    night, bowls = worked.night, Bowls(worked.night)
    minute = night.day.minute
    for old in sorted(worked.begun, key=lambda m: m.mix_end_utc):
        bowls.leave(old.mixer_id, minute(old.mix_end_utc), old.steered.bowl_end_c)
    begun = {old.id for old in worked.begun}
    ice, chilled = _set_aside(worked, offers, preparations)
    mixes = []
    for job in sorted(worked.schedule.jobs, key=lambda j: (j.start, j.job_id)):
        mixer = night.day.bakery.mixer(job.mixer_id)
        may_take = allowances(night, ice.values(), chilled.values())[job.job_id]
        bowl_c = bowls.at(mixer, job.start)
        mix = _mix(worked, offers[job.job_id], job, preparations, bowl_c, may_take)
        mixes.append(mix)
        if mix.id in begun:
            continue  # what it left and took is known
        bowls.leave(mixer.id, minute(mix.mix_end_utc), mix.steered.bowl_end_c)
        ice[mix.id] = replace(ice[mix.id], kg=mix.ticket.ice_kg)
        chilled[mix.id] = replace(chilled[mix.id], kg=chilled_kg(mix.ticket.water))
    return tuple(mixes)


def _set_aside(
    worked: Worked, offers: Mapping[str, Offer], preparations: Sequence[PlannedPreparation]
) -> tuple[dict[str, Use], dict[str, Use]]:
    """Return the ice and the chilled water that the search set aside, by what takes it."""
    minute = worked.night.day.minute
    ice: dict[str, Use] = {}
    chilled: dict[str, Use] = {}
    for p in preparations:
        chilled |= {use.subject: use for use in chilled_uses(worked.night, p)}
        ice[p.id] = Use(p.id, minute(p.start_utc), p.ice_kg)
    for job in worked.schedule.jobs:
        option = offers[job.job_id].options[job.option]
        ice[job.job_id] = Use(job.job_id, job.start, option.ice_g / 1000)
        chilled[job.job_id] = Use(job.job_id, job.start, option.chilled_g / 1000)
    return ice, chilled


def _mix(
    worked: Worked,
    offered: Offer,
    job: ScheduledJob,
    preparations: Sequence[PlannedPreparation],
    bowl_c: float,
    may_take: Allowance,
) -> PlannedMix:
    night = worked.night
    option = offered.options[job.option]
    if job.mixer_id in worked.problem.job(job.job_id).warm_only and not option.cold:
        # Cold, it would be more than the mixer takes, however much ice is spare.
        may_take = Allowance(0.0, option.chilled_g / 1000)
    settled = offered.settled
    mix = planned_mix(
        night,
        offered,
        times_of(job, settled),
        job.mixer_id,
        offered.choices[option.choice],
        job.loads,
        worked.part_c(offered.batch.id, preparations),
        [p.id for p in builds_by_mix(preparations, offered.batch.id)],
        allowed=may_take,
        bowl_c=bowl_c,
        dough_end_c=None if settled is None else settled.dough_c,
    )
    notes = scald_notes(preparations, mix.id)
    way = worked.problem.job(job.job_id).tubs[job.tubs]
    mix = replace(mix, tubs=tubs_taken(way))
    tubs = (replace(note, subject=mix.id) for note in tubs_notes(night.day, mix.tubs))
    return replace(mix, remarks=(*mix_remarks(night, offered, mix), *notes, *tubs))


def inherited_loads(night: Night, schedule: Schedule) -> tuple[PlannedLoad, ...]:
    """Return the oven times of what already stood when the plan began."""
    day = night.day
    inherited = {i.id: i for i in night.conditions.inherited}
    windows = {
        load.load_id: inherited_ripeness(night, inherited[load.load_id], load.load_start)
        for load in schedule.standing
        if load.load_id in inherited
    }
    planned = []
    for load in schedule.standing:
        if load.load_id not in inherited:
            continue  # of a mix of this night that is divided
        thing = inherited[load.load_id]
        product = day.product(thing.product_id)
        planned.append(
            PlannedLoad(
                id=load.load_id,
                product_id=product.id,
                pieces=thing.pieces,
                proof_place_id=thing.place_id,
                proof_start_utc=thing.since_utc,
                load_from_utc=day.moment(windows[load.load_id][0]),
                load_by_utc=day.moment(windows[load.load_id][1]),
                load_utc=day.moment(load.load_start),
                out_utc=day.moment(load.out),
                ready_utc=day.moment(load.out + product.cool_min),
                oven_id=load.oven_id,
                oven_places=load.places,
                ripeness=windows[load.load_id][2],
            )
        )
    return tuple(planned)


def tasks_of(
    night: Night, schedule: Schedule, preparations: Sequence[PlannedPreparation]
) -> tuple[PlannedTask, ...]:
    """Return the hands-on work, and breaks, in order of time."""
    places = {job.job_id: job.mixer_id for job in schedule.jobs}
    places |= {
        load.load_id: load.oven_id
        for loads in [*(j.loads for j in schedule.jobs), schedule.standing]
        for load in loads
    }
    places |= {p.id: p.place_id for p in preparations}
    places |= {p.part_id: p.place_id for p in preparations}
    moment = night.day.moment
    tasks = [
        PlannedTask(
            task.kind,
            task.subject,
            moment(task.start),
            moment(task.end),
            None if (task.person_id or NOBODY).startswith(NOBODY) else task.person_id,
            places.get(task.subject, ""),
        )
        for task in schedule.hands_on
    ]
    for rest in schedule.rests:
        subject = rest.person_id if rest.rest == 0 else f"{rest.person_id}.{rest.rest + 1}"
        span = moment(rest.start), moment(rest.end)
        tasks.append(PlannedTask(BREAK, subject, *span, rest.person_id, ""))
    return tuple(sorted(tasks, key=lambda t: (t.start_utc, t.kind, t.subject)))


def budgets_of(
    night: Night,
    problem: Problem,
    mixes: Sequence[PlannedMix],
    preparations: Sequence[PlannedPreparation],
) -> tuple[HourBudget, ...]:
    """Return ice and chilled water by hour, of mixes and of preferments, to the last mix."""
    if not mixes or (problem.ice.room_g == 0 and problem.chiller.room_g == 0):
        return ()
    ice, chilled = problem.ice.start_g / 1000, problem.chiller.start_g / 1000
    budgets = []
    last = max(mix.start_utc for mix in mixes)
    hour = night.day.start_utc
    while hour <= last:
        now = [m for m in mixes if hour <= m.start_utc < hour + timedelta(hours=1)]
        hour_ends = hour + timedelta(hours=1)
        ice_kg = sum(m.ticket.ice_kg for m in now)
        ice_kg += sum(p.ice_kg for p in preparations if hour <= p.start_utc < hour_ends)
        taken_kg = sum(chilled_kg(m.ticket.water) for m in now)
        taken_kg += sum(
            chilled_kg(water)
            for p in preparations
            for at, water in p.draws
            if hour <= at < hour_ends
        )
        ice = min(problem.ice.room_g / 1000, ice + problem.ice.rate_g_per_h / 1000 - ice_kg)
        chilled = min(
            problem.chiller.room_g / 1000,
            chilled + problem.chiller.rate_g_per_h / 1000 - taken_kg,
        )
        budgets.append(HourBudget(hour, ice_kg, ice, taken_kg, chilled))
        hour += timedelta(hours=1)
    used = [i for i, b in enumerate(budgets) if b.ice_used_kg or b.chilled_used_kg]
    return tuple(budgets[used[0] : used[-1] + 1]) if used else ()


def _remarks(
    worked: Worked, mixes: Sequence[PlannedMix], pins: Sequence[Pin]
) -> tuple[Remark, ...]:
    names = {
        one.id: mix_name(one.formula.name, one.batch, one.batches)
        for one in (o.batch for o in worked.offers)
    }
    names |= {load.load_id: names[job.job_id] for job in worked.schedule.jobs for load in job.loads}
    names |= {person.id: person.name for person in worked.night.day.bakery.people}
    return (
        *unmet_remarks(worked.schedule.unmet, names),
        *_levers_of_unready_scalds(worked),
        *pin_remarks(pins, mixes, worked.offers),
        *night_note(worked.night),
        *cleaning_remarks(worked.night.day, mixes),
    )


USUAL_WAIT_MIN = 360.0
"""Time in which levers of a scald that found no place must work: an evening [min]."""


def _levers_of_unready_scalds(worked: Worked) -> list[Remark]:
    """Return what would bring down the scalds for which mixes found no place."""
    missed = {u.subject for u in worked.schedule.unmet if u.code == "no_preparation"}
    found: list[Remark] = []
    for one in worked.preparations:
        users = [b for b in one.users if b.id in missed]
        if not users or not isinstance(one.part, Scald):
            continue
        levers = lever_remarks(
            worked.night,
            one.part,
            users,
            one.total_kg,
            pour_min=worked.night.day.span_min / 2,
            within_min=USUAL_WAIT_MIN,
        )
        found += [replace(r, subject=users[0].id) for r in levers]
    return found


def _points(schedule: Schedule) -> Points:
    p = schedule.points
    return Points(p.late, p.windows, p.ice, p.early, p.unplaced, p.freshness, p.builds, p.moved)
