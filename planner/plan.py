"""A night, told in order: mix list, mixes, preparations, options, schedule, plan.

`make_plan` is the story; each line of it is a module of its own, in the order of the flow.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import ceil

from planner.batches import Batch, batches_of, settled_alternatives
from planner.conditions import Conditions
from planner.contradicting import with_contradictions
from planner.corrections import Corrections
from planner.day import Day
from planner.earlier import earlier_starts
from planner.errors import Fault, InputError, no_such
from planner.mixer_loads import most_dough_kg
from planner.mixers import Mixer
from planner.night import Night
from planner.offers import offer
from planner.options import Offer
from planner.outcomes import doubted, recalled
from planner.pin_prices import (
    PinPrice,
    Posed,
    are_worth_pricing,
    pin_prices,
    price_remarks,
)
from planner.pins import Limits, OnProgress, Pin, Progress, merged_pins
from planner.planned import Plan
from planner.posing import pose
from planner.preparations import Offered, preparations_of
from planner.publishing import Worked, publish
from planner.reasons import with_reasons
from planner.remarks import Remark, RemarkKind, word
from planner.retiming import retimed
from planner.robustness import with_robustness
from planner.scheduling import list_pass
from planner.scheduling.check import check
from planner.scheduling.contradictions import contradictions
from planner.scheduling.findings import Finding as ScheduleFinding
from planner.scheduling.impossible import Contradiction
from planner.scheduling.problem import Problem
from planner.scheduling.schedule import Schedule
from planner.start_times import start_buckets
from planner.verify import Finding, verify

NO_LIMITS = Limits()
NOTHING_LEARNED = Corrections()


def make_plan(
    day: Day,
    conditions: Conditions,
    corrections: Corrections = NOTHING_LEARNED,
    *,
    pins: Sequence[Pin] = (),
    limits: Limits = NO_LIMITS,
    on_progress: OnProgress | None = None,
    earlier: Plan | None = None,
) -> Plan:
    """Plan one production day.

    Parameters
    ----------
    day
        Bakery, formulas, products, mix list and shifts.
    conditions
        Room forecasts, measured temperatures, ice, what already stands.
    corrections
        What was learned; none by default.
    pins
        What the baker fixes.
    limits
        How long and how the planner may think.
    on_progress
        Told of every better plan; returning False ends the search with the best so far.
    earlier
        An earlier plan, such as yesterday's, whose starts are kept where that costs little.

    Returns
    -------
    Plan
        Always a plan: what cannot be met is named in its remarks.

    Raises
    ------
    InputError
        If the input does not fit together.
    """
    check_pins(day, pins)
    on_progress = Told(on_progress)
    _tell(on_progress, "working out what each dough can do")
    night = Night(day, conditions, recalled(day, conditions, corrections))
    batches = settled_alternatives(batches_of(day), {pin.mix_id for pin in pins})
    preparations = preparations_of(night, batches, limits.grid_min)
    were = earlier_starts(day, batches, earlier)
    offers = offers_of(night, batches, preparations, pins, limits.grid_min, were)
    problem = pose(
        night,
        offers,
        [(p.problem, frozenset(b.id for b in p.users)) for p in preparations],
        pins,
        limits.grid_min,
    )
    cannot = cannot_be(problem, on_progress)
    schedule = search(problem, limits, on_progress)
    on_progress(Progress("timing it to the minute", float(schedule.points.first_stage)))
    found = retimed(Worked(night, offers, preparations, problem, schedule), pins, limits)
    plan = publish(found.worked, tuple(pins), limits)
    plan = replace(plan, remarks=(*plan.remarks, *doubted(day, conditions, corrections)))
    plan = judged(with_contradictions(plan, cannot), check(found.problem, found.schedule))
    if not limits.list_only:
        by_id = {o.batch.id: o for o in offers}
        plan = replace(plan, mixes=with_reasons(plan.mixes, by_id, problem, schedule))
    if not are_worth_pricing(plan):
        return plan
    posed = Posed(night, batches, preparations, offers, limits.grid_min)
    prices = pin_prices(posed, pins, lambda one: list_pass.build(one, seed=limits.seed))
    told = price_remarks(day, [price for price in prices if not price.is_free])
    return replace(plan, remarks=(*plan.remarks, *told))


def price_pins(
    day: Day,
    conditions: Conditions,
    corrections: Corrections = NOTHING_LEARNED,
    *,
    pins: Sequence[Pin],
    limits: Limits = NO_LIMITS,
) -> tuple[PinPrice, ...]:
    """Return what each thing that the baker fixes costs: the night with it against one without.

    Parameters
    ----------
    day, conditions, corrections, pins
        As in `make_plan`.
    limits
        Of each search, of which there is one more than there are things fixed.

    Raises
    ------
    InputError
        If a pin names what is not there.
    """
    check_pins(day, pins)
    night = Night(day, conditions, recalled(day, conditions, corrections))
    batches = settled_alternatives(batches_of(day), {pin.mix_id for pin in pins})
    preparations = preparations_of(night, batches, limits.grid_min)
    offers = offers_of(night, batches, preparations, pins, limits.grid_min)
    posed = Posed(night, batches, preparations, offers, limits.grid_min)
    return pin_prices(posed, pins, lambda one: search(one, limits, Told(None)))


def offers_of(
    night: Night,
    batches: Sequence[Batch],
    preparations: Sequence[Offered],
    pins: Sequence[Pin],
    grid_min: int,
    were: Mapping[str, float] | None = None,
) -> tuple[Offer, ...]:
    """Return every mix with all its options; ``were`` are starts of an earlier plan [min]."""
    by_mix = {pin.mix_id: pin for pin in merged_pins(pins)}
    return tuple(
        offer(
            night,
            batch,
            by_mix.get(batch.id),
            grid_min,
            start_buckets(night, batch, by_mix.get(batch.id)),
            {p.part.id: p.curve for p in preparations if p.feeds(batch.id)},
            (were or {}).get(batch.id),
        )
        for batch in batches
    )


def cannot_be(problem: Problem, on_progress: OnProgress | None) -> tuple[Contradiction, ...]:
    """Return what was asked and cannot be, found by sums before anything is searched."""
    found = contradictions(problem)
    if found:
        _tell(on_progress, "not all that is asked can be; looking for the nearest plan")
    return found


def search(problem: Problem, limits: Limits, on_progress: OnProgress | None) -> Schedule:
    """Return the best schedule found: a list pass at once, then the search."""
    _tell(on_progress, "listing a first plan")
    listed = list_pass.build(problem, seed=limits.seed)
    go_on = _tell(on_progress, "first plan", float(listed.points.first_stage))
    if limits.list_only or not go_on:
        return listed
    from planner.scheduling.cpsat.solve import solve  # noqa: PLC0415  loads the solver, 1.3 s

    return solve(
        problem,
        listed,
        solve_s=limits.solve_s,
        deterministic_s=limits.deterministic_s,
        workers=limits.workers,
        seed=limits.seed,
        on_progress=(
            None
            if on_progress is None
            else lambda stage, best, bound, search_s: on_progress(
                Progress(stage, best, bound, search_s)
            )
        ),
    )


def judged(plan: Plan, findings: Sequence[ScheduleFinding]) -> Plan:
    """Return the plan with what both judges found named in it, and how it fares on other nights.

    Judges normally find nothing.

    Parameters
    ----------
    plan
        The plan, which is judged here on its true curves.
    findings
        What the schedule's own check found.
    """
    found: tuple[ScheduleFinding | Finding, ...] = (*findings, *verify(plan))
    named = tuple(
        Remark(
            RemarkKind.UNMET,
            f"judge_{finding.rule}",
            "{subject} does not hold: {detail}.",
            (word("subject", finding.subject), word("detail", finding.detail)),
            finding.subject,
        )
        for finding in found
    )
    return with_robustness(replace(plan, remarks=(*named, *plan.remarks)))


def check_pins(day: Day, pins: Sequence[Pin]) -> None:
    """Refuse a pin of what does not exist, of more than a mixer takes, or of an oven too small.

    Raises
    ------
    InputError
        With every such pin.
    """
    mixes = {batch.id: batch for batch in batches_of(day)}
    mixers = [mixer.id for mixer in day.bakery.mixers]
    faults = []
    for i, pin in enumerate(pins):
        if pin.mix_id not in mixes:
            faults.append(no_such(f"pins[{i}].mix", pin.mix_id, "mix", mixes))
        if pin.mixer_id is not None and pin.mixer_id not in mixers:
            faults.append(no_such(f"pins[{i}].mixer", pin.mixer_id, "mixer", mixers))
        elif pin.mixer_id is not None and pin.mix_id in mixes:
            mixer = day.bakery.mixer(pin.mixer_id)
            faults += check_pinned_load(i, mixes[pin.mix_id], mixer)
        faults += [
            no_such(f"pins[{i}].before", one, "mix", mixes)
            for one in pin.before_ids
            if one not in mixes
        ]
        if pin.oven_id is not None and pin.mix_id in mixes:
            faults += _oven_faults(day, f"pins[{i}].oven", pin.oven_id, mixes[pin.mix_id])
    if faults:
        raise InputError(faults)


class Told:
    """Passes progress on until somebody says stop; says so from then on, and nothing else.

    Parameters
    ----------
    on_progress
        Whom to tell; None for nobody.
    """

    def __init__(self, on_progress: OnProgress | None) -> None:
        self._on_progress, self.stopped = on_progress, False

    def __call__(self, progress: Progress) -> bool:
        """Tell, and return whether to go on."""
        if self._on_progress is not None and not self.stopped:
            self.stopped = self._on_progress(progress) is False
        return not self.stopped


def check_pinned_load(index: int, batch: Batch, mixer: Mixer) -> list[Fault]:
    """A mix that is pinned to a mixer is not more than it takes, or somebody signs for it."""
    most_kg = most_dough_kg(mixer, batch.formula, cold=False)
    if batch.overload_signed_by or batch.dough_kg <= most_kg * 1.001:
        return []
    return [
        Fault(
            f"pins[{index}].mixer",
            mixer.id,
            f"{batch.dough_kg:.4g} kg of {batch.formula.name} is more than {mixer.name} takes, "
            f"{most_kg:.4g} kg",
            "pin a larger mixer, enter more mixes, or give the line overload_signed_by with the "
            "name of who answers for it",
        )
    ]


def _oven_faults(day: Day, field: str, oven_id: str, batch: Batch) -> list[Fault]:
    product = batch.product
    known = () if product is None else product.oven_ids
    if product is None or oven_id not in known:
        return [no_such(field, oven_id, f"oven for {batch.id}", known)]
    places = ceil(max(batch.loads_pieces, default=0) / product.pieces_per_place)
    holds = day.bakery.oven(oven_id).places
    if places <= holds:
        return []
    problem = f"holds {holds} of the {places} decks or racks that a load of {batch.id} fills"
    return [Fault(field, repr(oven_id), problem, "name a larger oven, or leave it free")]


def _tell(on_progress: OnProgress | None, stage: str, best: float | None = None) -> bool:
    return on_progress is None or on_progress(Progress(stage, best)) is not False
