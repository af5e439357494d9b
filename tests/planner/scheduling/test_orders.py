"""What stays in order when a schedule is timed anew; small days, worked by hand."""

from __future__ import annotations

from dataclasses import replace

from planner.scheduling.assemble import assemble
from planner.scheduling.check import check
from planner.scheduling.exact import (
    PerMinute,
    Retiming,
    Times,
    Window,
    Windows,
    at_times,
    busiest,
    exact_problem,
)
from planner.scheduling.orders import (
    Before,
    divide_of,
    fixed,
    kept_orders,
    loading_of,
    machine_uses,
    orders_of,
    start_of,
)
from planner.scheduling.preparation import Lag, Preparation
from planner.scheduling.problem import (
    BENCH,
    TUBS,
    WEIGHT,
    OvenChoice,
    Problem,
    Rest,
    Store,
    Worker,
)
from planner.scheduling.schedule import (
    Schedule,
    ScheduledBuild,
    ScheduledJob,
    ScheduledLoad,
    ScheduledRest,
)
from tests.planner.scheduling.days import options, plain_day, plain_job, plain_load

ALONE = (Worker("ann", ((0, 300),)),)


def placed(one_id: str, start: int, load_at: int | None = None, **changes) -> ScheduledJob:
    """A mix of 10 min, bulk 30, divided in 10, proof from 10 after the divide, baked for 30."""
    loads = ()
    if load_at is not None:
        proof = start + 50
        loads = (ScheduledLoad(f"{one_id}.1", 0, proof, load_at, load_at + 30, "o", 1),)
    made = ScheduledJob(one_id, "m", start, start + 10, 0, start + 40, start + 50, loads, {})
    return replace(made, **changes)


def schedule_of(day: Problem, *jobs: ScheduledJob, builds=(), standing=()) -> Schedule:
    return assemble(day, jobs, builds, standing, ())


def kept(day: Problem, schedule: Schedule) -> set[tuple[str, str, int]]:
    """Orders as words: what, what then, minutes between their own times at the least."""

    def name(moment) -> str:
        return f"{moment.of} {moment.subject}".strip()

    return {
        (name(one.first), name(one.then), one.first.plus + one.gap - one.then.plus)
        for one in kept_orders(day, schedule)
    }


def test_mixes_of_one_mixer_keep_their_order():
    # a from 0 to 10, b from 10: b starts 10 min after a at the least.
    day = plain_day(plain_job("a"), plain_job("b"))
    schedule = schedule_of(day, placed("a", 0), placed("b", 10))
    assert ("start a", "start b", 10) in kept(day, schedule)


def test_cleaning_between_two_doughs_stays():
    # Rye to white: 10 min of mixing and 20 of cleaning.
    day = plain_day(
        plain_job("a", colour_class="rye"),
        plain_job("b", colour_class="white"),
        clean_down_min={"m": 20},
    )
    schedule = schedule_of(day, placed("a", 0), placed("b", 30))
    assert ("start a", "start b", 30) in kept(day, schedule)


def test_loads_that_share_an_oven_may_go_on_doing_so():
    # Two places: a and b bake together from 90 and 95, c after both. a and b get no order.
    loads = {j: plain_load(f"{j}.1") for j in "abc"}
    jobs = [plain_job(j, loads=(loads[j],), options=options(proof=(0, 200))) for j in "abc"]
    day = plain_day(*jobs, ovens=(replace(plain_day().ovens[0], places=2),))
    schedule = schedule_of(day, placed("a", 0, 90), placed("b", 10, 95), placed("c", 20, 125))
    found = kept(day, schedule)
    assert ("load a.1", "load c.1", 30) in found
    assert ("load b.1", "load c.1", 30) in found
    assert not {("load a.1", "load b.1", 30), ("load b.1", "load a.1", 30)} & found


def test_what_follows_from_two_orders_is_not_told_again():
    # a, b, c one after the other: a before c follows.
    day = plain_day(*(plain_job(j) for j in "abc"))
    schedule = schedule_of(day, placed("a", 0), placed("b", 10), placed("c", 20))
    mixers, _ = machine_uses(day, schedule)
    pairs = [(one.first.subject, one.then.subject) for one in orders_of(mixers["m"])]
    assert sorted(pairs) == [("a", "b"), ("b", "c")]


def test_a_rack_is_free_before_the_next_load_takes_it():
    # One rack: a's load leaves it at 90, b's proof begins at 100, 50 after b's start.
    loads = {j: plain_load(f"{j}.1", racks=1) for j in "ab"}
    jobs = [plain_job(j, loads=(loads[j],), options=options(proof=(0, 200))) for j in "ab"]
    day = plain_day(*jobs)
    schedule = schedule_of(day, placed("a", 0, 90), placed("b", 50, 120))
    assert ("load a.1", "divide b", -10) in kept(day, schedule)


def test_one_person_does_their_work_in_its_order_and_inside_their_hours():
    # Ann divides a from 40 to 50 and b from 50 to 60; she goes home at 300.
    day = plain_day(plain_job("a"), plain_job("b"), workers=ALONE)
    found = kept(day, schedule_of(day, placed("a", 0), placed("b", 10)))
    assert ("divide a", "divide b", 10) in found
    assert ("divide b", "", -290) in found


def test_a_fold_that_is_done_goes_on_being_done():
    # Fold at 15, 5 min long: over 30 min after the start, before the divide.
    day = plain_day(plain_job("a", folds_min=(15,)))
    assert ("start a", "divide a", 30) in kept(day, schedule_of(day, placed("a", 0)))


def test_a_mix_uses_its_build_while_it_is_ready():
    # Set at 5 (its bucket is ready after 60, over after 120): the mix starts from 65 to 125.
    levain = Preparation("levain", (Lag(0, 60, 120),), 5)
    day = plain_day(plain_job("a", preparation_ids=("levain",)), preparations=(levain,))
    build = ScheduledBuild("levain", 0, 5, None, ("a",))
    schedule = schedule_of(day, placed("a", 70, builds={"levain": 0}), builds=(build,))
    found = kept(day, schedule)
    assert ("", "start a", 65) in found
    assert ("start a", "", -125) in found


def test_who_takes_ice_starts_no_sooner():
    day = plain_day(plain_job("a", options=options(ice_g=500)), ice=Store(1000, 0, 1000))
    assert ("", "start a", 20) in kept(day, schedule_of(day, placed("a", 20)))


def test_two_who_divide_together_keep_their_orders_both():
    # a and b are divided by Ann and Bob together, 40 to 50 and 50 to 60; c by Bob alone, since Ann
    # goes home at 60: each keeps the order of all that he does.
    day = plain_day(
        plain_job("a", crew=2),
        plain_job("b", crew=2),
        plain_job("c"),
        workers=(Worker("ann", ((0, 60),)), Worker("bob", ((0, 300),))),
    )
    found = kept(day, schedule_of(day, placed("a", 0), placed("b", 10), placed("c", 20)))
    assert {("divide a", "divide b", 10), ("divide b", "divide c", 10)} <= found
    assert ("divide b", "", -50) in found


def test_work_stays_beside_a_break():
    # Ann divides a from 40 to 50, has her break from 50 to 70, and divides b from 70 on.
    day = with_break()
    found = kept(day, schedule_with_break(day))
    assert ("divide a", "", -40) in found
    assert ("", "divide b", 70) in found


def with_break() -> Problem:
    ann = Worker("ann", ((0, 300),), rests=(Rest(20, 40, 50),))
    return plain_day(plain_job("a", latest_start=0), plain_job("b"), workers=(ann,))


def schedule_with_break(day: Problem) -> Schedule:
    rests = (ScheduledRest("ann", 0, 50, 70),)
    return assemble(day, (placed("a", 0), placed("b", 30)), (), (), (), rests)


def test_a_task_that_is_handed_over_stays_and_keeps_both_from_other_work():
    # Ann goes home at 45: she divides a from 40 on, Bob to the end; he divides b after it.
    workers = Worker("ann", ((0, 45),)), Worker("bob", ((45, 300),))
    day = plain_day(plain_job("a"), plain_job("b"), workers=workers)
    found = kept(day, schedule_of(day, placed("a", 0), placed("b", 10)))
    assert {("", "divide a", 40), ("divide a", "", -40), ("", "divide b", 50)} <= found


def with_heat(**changes) -> tuple[Problem, Schedule]:
    """240 °C for 30 min from 90 on, then 210 °C at 1 K/min from 150 on; two places."""
    loads = {j: replace(plain_load(f"{j}.1"), bake_c=c) for j, c in (("a", 240), ("b", 210))}
    jobs = [plain_job(j, loads=(loads[j],), options=options(proof=(0, 200))) for j in "ab"]
    oven = replace(plain_day().ovens[0], places=2, heats_k_per_min=5.0, cools_k_per_min=1.0)
    day = plain_day(*jobs, ovens=(replace(oven, **changes),))
    return day, schedule_of(day, placed("a", 0, 90), placed("b", 10, 150))


def test_an_oven_has_time_to_change_its_heat():
    # 30 min of baking and 30 min for 30 K, though places are free at 120.
    assert ("load a.1", "load b.1", 60) in kept(*with_heat())


def test_a_belt_stays_empty_where_its_heat_changes():
    # The belt is held for 30 min, as no load says otherwise, and left empty for 20 more.
    changes = {"gap_min": 20, "heats_k_per_min": 0.0, "cools_k_per_min": 0.0}
    assert ("load a.1", "load b.1", 50) in kept(*with_heat(**changes))


def test_a_place_is_held_as_long_as_it_recovers_from_its_load():
    # 30 min of baking, 42 until the place has recovered from so heavy a load.
    heavy = OvenChoice("o", 1, hold_min=42)
    loads = {j: replace(plain_load(f"{j}.1"), ovens=(heavy,)) for j in "ab"}
    jobs = [plain_job(j, loads=(loads[j],), options=options(proof=(0, 200))) for j in "ab"]
    day = plain_day(*jobs)
    schedule = schedule_of(day, placed("a", 0, 90), placed("b", 10, 135))
    assert ("load a.1", "load b.1", 42) in kept(day, schedule)


def test_a_load_stays_within_the_heat_of_an_oven_that_cools():
    cooling = OvenChoice("o", 1, hot_from=80, hot_by=110)
    job = plain_job("a", loads=(replace(plain_load(), ovens=(cooling,)),))
    day = plain_day(replace(job, options=options(proof=(0, 200))))
    found = kept(day, schedule_of(day, placed("a", 0, 90)))
    assert {("", "load a.1", 80), ("load a.1", "", -110)} <= found


def test_bench_tubs_and_weight_are_free_before_the_next_takes_them():
    # One bench place, one tub, 10 kg that the chamber bears: a leaves the tub and the chamber at
    # 40, and the bench at 50; b takes them at the end of its mixing and at its divide.
    way = ((f"{TUBS}t", 1), (f"{WEIGHT}c", 10_000))
    jobs = [plain_job(j, bench=1, tubs=(way,)) for j in "ab"]
    day = plain_day(*jobs, racks={BENCH: 1, f"{TUBS}t": 1, f"{WEIGHT}c": 10_000})
    found = kept(day, schedule_of(day, placed("a", 0), placed("b", 30)))
    assert ("divide a", "start b", -10) in found
    assert ("divide a", "divide b", 10) in found


def test_what_takes_ice_stays_where_a_full_store_makes_less():
    day = plain_day(plain_job("a", options=options(ice_g=500)), ice=Store(1000, 0, 1000))
    schedule = schedule_of(day, placed("a", 20))
    before = Before(start_of("a"), fixed(20))
    assert before not in kept_orders(day, schedule)
    assert before in kept_orders(day, schedule, takers_stay=True)


# -- times -------------------------------------------------------------------------------------


def retimed(day: Problem, schedule: Schedule, windows: Windows, **changes) -> Times:
    """The times that the solver finds, each rule and each cost in force."""
    from planner.scheduling.cpsat.retime import retime  # noqa: PLC0415  loads the solver

    near = Times.of(schedule)
    job = Retiming(day, schedule, kept_orders(day, schedule), (), near)
    per = PerMinute.of(day.weights, day.grid_min)
    found = retime(replace(job, **changes), windows, per, near, seed=1)
    assert found is not None
    return found


def bulk(low: int, ideal: int, high: int) -> Window:
    return Window(low, high, ideal, 0)


def test_a_divide_goes_to_where_its_dough_is_ripest():
    # Ripe 33 min after mixing, divided at 30 on the grid: 43 instead of 40.
    day = plain_day(plain_job("a"))
    times = retimed(day, schedule_of(day, placed("a", 0)), Windows({"a": bulk(27, 33, 39)}, {}, {}))
    assert (times.starts["a"], times.divides["a"]) == (0, 43)


def test_what_gains_nothing_stays_where_it_is():
    # Ripest at the 30 min it has: nothing moves, though nothing else holds it at 20.
    day = plain_day(plain_job("a", leave_by=290))
    times = retimed(
        day, schedule_of(day, placed("a", 20)), Windows({"a": bulk(27, 30, 39)}, {}, {})
    )
    assert (times.starts["a"], times.divides["a"]) == (20, 60)


def test_two_doughs_share_a_bench_to_the_minute():
    # One person: a is divided 40 to 50 and b from 50; both ripest at 30. Nothing can be gained
    # for b, whose start is free: it starts as a's divide allows.
    day = plain_day(plain_job("a"), plain_job("b"), workers=ALONE)
    schedule = schedule_of(day, placed("a", 0), placed("b", 10))
    windows = Windows({"a": bulk(27, 33, 39), "b": bulk(27, 30, 39)}, {}, {})
    times = retimed(day, schedule, windows)
    assert times.divides["a"] == 43
    assert times.divides["b"] == 53
    assert times.starts["b"] in (10, 13)
    assert times.divides["b"] - times.starts["b"] - 10 in (30, 33)


def test_a_load_keeps_away_from_the_ends_of_its_window():
    # Proofs from 50, ripe 20 to 40 min later, the ripe time known to 8 min. Loaded at 90 it is at
    # the end; fresh bread wants it as late as may be: 8 min before the end, at 82.
    job = plain_job("a", loads=(plain_load(),), options=options(proof=(20, 40)), leave_by=200)
    day = plain_day(replace(job, latest_start=0))
    schedule = schedule_of(day, placed("a", 0, 90))
    windows = Windows({"a": bulk(27, 30, 39)}, {"a.1": Window(20, 40, None, 8)}, {})
    times = retimed(day, schedule, windows)
    assert times.loads["a.1"] == 82


def test_a_pin_is_kept_to_its_minute():
    # Pinned at 12, searched at 15.
    day = plain_day(plain_job("a", earliest_start=15, latest_start=15))
    schedule = schedule_of(day, placed("a", 15))
    windows = Windows({"a": bulk(27, 30, 39)}, {}, {start_of("a"): 12})
    times = retimed(day, schedule, windows)
    assert (times.starts["a"], times.divides["a"]) == (12, 52)


def test_nothing_is_moved_before_what_can_still_be_changed():
    # Ripest at 20, but it is minute 36 already: 36, not 30.
    day = plain_day(plain_job("a"))
    windows = Windows({"a": bulk(15, 20, 39)}, {}, {start_of("a"): 0})
    times = retimed(day, schedule_of(day, placed("a", 0)), windows, from_min=36)
    assert times.divides["a"] == 36


def test_no_dough_is_divided_young_so_that_bread_is_in_time():
    # The oven is wanted 10 min sooner than it can be: the bulk stays at its shortest, 28.
    day = plain_day(
        plain_job(
            "a",
            loads=(plain_load(),),
            options=options(proof=(20, 40)),
            leave_by=90,
            earliest_start=0,
            latest_start=0,
        )
    )
    schedule = schedule_of(day, placed("a", 0, 70))
    windows = Windows({"a": bulk(28, 30, 39)}, {"a.1": Window(20, 40, None, 0)}, {})
    times = retimed(day, schedule, windows)
    assert (times.starts["a"], times.divides["a"], times.loads["a.1"]) == (0, 38, 68)


def test_time_is_left_on_the_busiest_oven():
    # a and b bake in one place, 90 to 120 and 120 to 150. Ten minutes between them cost 3 min of
    # freshness each way less than they are worth: b may go in until 140.
    loads = {j: plain_load(f"{j}.1") for j in "ab"}
    jobs = [plain_job(j, loads=(loads[j],), options=options(proof=(0, 200))) for j in "ab"]
    day = plain_day(*jobs)
    schedule = schedule_of(day, placed("a", 0, 90), placed("b", 10, 120))
    proofs = {"a.1": Window(0, 200, None, 0), "b.1": Window(0, 200, None, 0)}
    windows = Windows({j: bulk(27, 30, 39) for j in "ab"}, proofs, {})
    gap = Before(loading_of("a.1").later(30), loading_of("b.1"))
    times = retimed(day, schedule, windows, gaps=(gap,))
    assert times.loads["b.1"] - times.loads["a.1"] == 40


def test_the_busiest_machine_is_that_with_the_least_time_to_spare():
    mixers, ovens = machine_uses(*_two_on_a_mixer())
    assert busiest(mixers, {}) == "m"
    assert busiest(ovens, {}) is None


def _two_on_a_mixer() -> tuple[Problem, Schedule]:
    day = plain_day(plain_job("a"), plain_job("b"))
    return day, schedule_of(day, placed("a", 0), placed("b", 10))


# -- on a grid of a minute ---------------------------------------------------------------------


def test_a_schedule_at_the_minute_passes_its_check():
    day = plain_day(plain_job("a"), plain_job("b"))
    schedule = schedule_of(day, placed("a", 0), placed("b", 10))
    times = Times({"a": 0, "b": 12}, {"a": 43, "b": 54}, {})
    made = {
        "a": replace(day.jobs[0].options[0], bulk_min=33),
        "b": replace(day.jobs[1].options[0], bulk_min=32),
    }
    fine = exact_problem(day, made, times.starts)
    at = at_times(fine, schedule, times)
    assert check(fine, at) == []
    assert [(j.start, j.divide_start) for j in at.jobs] == [(0, 43), (12, 54)]


def test_a_planted_overlap_is_found_at_the_minute():
    day = plain_day(plain_job("a"), plain_job("b"))
    schedule = schedule_of(day, placed("a", 0), placed("b", 10))
    times = Times({"a": 0, "b": 9}, {"a": 40, "b": 49}, {})
    made = {job.id: job.options[0] for job in day.jobs}
    fine = exact_problem(day, made, times.starts)
    assert {f.rule for f in check(fine, at_times(fine, schedule, times))} == {"one_mix_per_mixer"}


def test_breaks_stay_when_a_schedule_is_timed_anew():
    # Both are ripest 33 min after mixing. a would be divided at 43, into the break: it stays at
    # 40. b is divided at 70 as before, and starts 3 min sooner.
    day = with_break()
    schedule = schedule_with_break(day)
    times = retimed(day, schedule, Windows({j: bulk(27, 33, 39) for j in "ab"}, {}, {}))
    assert times.divides == {"a": 40, "b": 70}
    assert times.starts == {"a": 0, "b": 27}
    made = {j: replace(day.job(j).options[0], bulk_min=m) for j, m in (("a", 30), ("b", 33))}
    fine = exact_problem(day, made, times.starts)
    found = at_times(fine, schedule, times)
    assert check(fine, found) == []
    assert found.rests == schedule.rests
    assert not found.unmet


def test_what_a_minute_late_costs_is_the_same_on_either_grid():
    # 1000 points for 5 min, 200 for one.
    day = plain_day(plain_job("a"))
    fine = exact_problem(day, {"a": day.jobs[0].options[0]}, {"a": 0})
    assert (day.weights.late_per_slot, fine.weights.late_per_slot) == (1000, 200)
    assert PerMinute.of(day.weights, 5).late == 200 * 60


def test_moments_are_minutes_after_a_time():
    times = Times({"a": 3}, {"a": 40}, {"a.1": 90})
    assert times.minute(start_of("a").later(7)) == 10
    assert times.minute(divide_of("a")) == 40
    assert times.minute(loading_of("a.1").later(-10)) == 80
    assert times.minute(fixed(5)) == 5
