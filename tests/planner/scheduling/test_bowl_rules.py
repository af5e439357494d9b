"""What mixers take and in which order: small days solved by hand, as in `test_rules`.

A mix runs 10 min, bulks 30, is divided in 10. The answer without the rule stands in brackets.
"""

from __future__ import annotations

from dataclasses import replace

from planner.scheduling.check import check
from planner.scheduling.problem import Option, OvenPlaces, Store
from planner.scheduling.schedule import Schedule
from tests.planner.scheduling.days import options, plain_day, plain_job, plain_load
from tests.planner.scheduling.solving import searched, starts

WHEAT, NUTS, MILK = frozenset({"gluten"}), frozenset({"nuts"}), frozenset({"milk"})


def cold(*more: Option, cost: int = 0) -> tuple[Option, ...]:
    """The usual options, all of them cold, and others."""
    return (*(replace(o, cold=True) for o in options(cost=cost)), *more)


def placed(schedule: Schedule) -> dict[str, tuple[str, int]]:
    return {j.job_id: (j.mixer_id, j.start) for j in schedule.jobs}


def rules_broken(day, schedule) -> set[str]:
    return {finding.rule for finding in check(day, schedule)}


def test_keep_cold_mixes_light():
    # "m" holds it only warm, and all its options are cold: it goes on "n". (m)
    job = plain_job(mixer_ids=("m", "n"), warm_only=frozenset({"m"}), options=cold())
    assert placed(searched(plain_day(job))) == {"a": ("n", 0)}


def test_a_cold_option_gives_way_to_a_dearer_warm_one_where_no_mixer_holds_it():
    # Cold costs nothing, warm costs 7; the only mixer holds it only warm. (0 points)
    job = plain_job(warm_only=frozenset({"m"}), options=cold(*options(cost=7)))
    schedule = searched(plain_day(job))
    assert schedule.points.windows == 7
    assert not job.options[schedule.jobs[0].option].cold


def test_a_cold_mix_without_a_mixer_has_no_place():
    schedule = searched(plain_day(plain_job(warm_only=frozenset({"m"}), options=cold())))
    assert schedule.unplaced == ("a",)
    assert "more than any mixer takes" in schedule.unmet[0].detail


def test_check_finds_a_cold_mix_where_it_is_too_much():
    job = plain_job(warm_only=frozenset({"m"}), options=cold(*options(cost=7)))
    day = plain_day(job)
    schedule = searched(day)
    wrong = tuple(replace(j, option=0) for j in schedule.jobs)
    assert "starts_inside_bounds" in rules_broken(day, replace(schedule, jobs=wrong))


ONE_OR_TWO = ((("one",), ("two-1", "two-2")),)


def one_or_two(cost: int, **changes: object):
    """One mix that costs so much, or two that cost 3 each."""
    jobs = (
        plain_job("one", options=options(cost=cost)),
        plain_job("two-1", options=options(cost=3)),
        plain_job("two-2", options=options(cost=3)),
    )
    return plain_day(*jobs, alternatives=ONE_OR_TWO, **changes)


def test_the_cheaper_of_two_ways_to_make_a_dough_is_made():
    # One mix for 5 points, two for 6.
    schedule = searched(one_or_two(5))
    assert placed(schedule) == {"one": ("m", 0)}
    assert (schedule.points.first_stage, schedule.unplaced) == (5, ())


def test_two_smaller_mixes_are_made_where_one_is_dearer():
    # One mix for 7 points, two for 6, one after the other.
    schedule = searched(one_or_two(7))
    assert placed(schedule).keys() == {"two-1", "two-2"}
    assert (schedule.points.first_stage, starts(schedule)) == (6, [0, 10])


def test_two_mixes_take_two_places_of_the_mixer():
    # "b" holds the mixer from 10 to 20. Two mixes for 6 points go before and after it while they
    # may start at 20; when they must start by 15 there is room for one only, at 7 points. (two)
    busy = plain_job("b", earliest_start=10, latest_start=10)
    day = one_or_two(7)
    jobs = [replace(j, latest_start=20, options=j.options) for j in day.jobs]
    schedule = searched(replace(day, jobs=(*jobs, busy)))
    # 0 to 10, "b" from 10 to 20, the second from 20: there is just room.
    assert starts(schedule) == [0, 10, 20]
    late = [replace(j, latest_start=15) for j in day.jobs]
    schedule = searched(replace(day, jobs=(*late, busy)))
    assert placed(schedule) == {"one": ("m", 0), "b": ("m", 10)}


def test_ice_that_makes_a_mix_too_heavy_is_paid_with_a_second_mix():
    # One mix takes 1 kg of ice at 6 points a kilo, or goes warm for 100; two take half a kilo each.
    jobs = (
        plain_job(
            "one",
            warm_only=frozenset({"m"}),
            options=tuple(
                o
                for k in range(8)
                for o in (Option(k, 30, 0, 0, 1000, 0, (), cold=True), Option(k, 30, 0, 100, 0, 0))
            ),
        ),
        *(plain_job(f"two-{i}", options=options(ice_g=500)) for i in (1, 2)),
    )
    store = Store(10_000, 0, 10_000)
    schedule = searched(plain_day(*jobs, alternatives=ONE_OR_TWO, ice=store))
    assert placed(schedule).keys() == {"two-1", "two-2"}
    assert schedule.points.first_stage == 6
    # On a mixer that holds it with ice, one mix does.
    free = replace(jobs[0], warm_only=frozenset())
    schedule = searched(plain_day(free, *jobs[1:], alternatives=ONE_OR_TWO, ice=store))
    assert placed(schedule).keys() == {"one"}


def test_check_finds_a_dough_made_in_both_ways_and_in_none():
    day = one_or_two(5)
    schedule = searched(day)
    both = searched(replace(day, alternatives=()))
    assert "everything_has_a_place" in rules_broken(day, both)
    none = replace(schedule, jobs=())
    assert "everything_has_a_place" in rules_broken(day, none)


def test_a_dough_that_fits_in_neither_way_is_named_once():
    # The mixer is out of reach for both groups.
    jobs = [replace(j, mixer_ids=("gone",), options=()) for j in one_or_two(5).jobs]
    schedule = searched(plain_day(*jobs, alternatives=ONE_OR_TWO))
    assert schedule.unplaced == ("one",)


def test_cleaning_between_colours_may_differ_by_direction():
    # Light after dark 20 min, dark after light none: light first. (0 and 10 either way, or 30)
    day = plain_day(
        plain_job("a", colour_class="dark"),
        plain_job("b", colour_class="light"),
        clean_down_min={"m": 15},
        colour_clean_min={"m": {("dark", "light"): 20, ("light", "dark"): 0}},
    )
    schedule = searched(day)
    assert placed(schedule) == {"b": ("m", 0), "a": ("m", 10)}
    swapped = tuple(replace(j, job_id={"a": "b", "b": "a"}[j.job_id]) for j in schedule.jobs)
    assert "cleaned_between_doughs" in rules_broken(day, replace(schedule, jobs=swapped))


def test_an_allergen_that_leaves_is_cleaned_for_even_where_colours_are_alike():
    # 0 to 10, cleaning 15, so 25; adding milk would be free, but milk must go first here.
    milk = plain_job("a", allergens=MILK, latest_start=0)
    day = plain_day(milk, plain_job("b"), clean_down_min={"m": 15})
    assert starts(searched(day)) == [0, 25]


def test_keep_gluten_out_of_the_room_of_what_must_be_free_of_it():
    # Free of gluten from 0 to 50 (10 + 30 + 10); wheat is scaled for 10 on another mixer of the
    # same room, so it starts at 60. (10)
    free = plain_job("f", gluten_free=True, mixer_ids=("m",))
    wheat = plain_job("w", allergens=WHEAT, mixer_ids=("n",), scale_min=10)
    day = plain_day(free, wheat, mixer_room={"m": "bakehouse", "n": "bakehouse"})
    assert placed(searched(day)) == {"f": ("m", 0), "w": ("n", 60)}
    apart = replace(day, mixer_room={"m": "side room", "n": "bakehouse"})
    assert placed(searched(apart)) == {"f": ("m", 0), "w": ("n", 10)}


def test_check_finds_gluten_beside_what_must_be_free_of_it():
    free = plain_job("f", gluten_free=True, mixer_ids=("m",))
    wheat = plain_job("w", allergens=WHEAT, mixer_ids=("n",))
    together = plain_day(free, wheat, mixer_room={"m": "side room", "n": "bakehouse"})
    schedule = searched(together)
    day = replace(together, mixer_room={"m": "bakehouse", "n": "bakehouse"})
    assert rules_broken(day, schedule) == {"gluten_kept_out"}


def test_gluten_that_is_in_the_room_already_leaves_no_place_and_a_reason():
    # Wheat must start at 0; what is free of gluten could only start after it.
    wheat = plain_job("w", allergens=WHEAT, latest_start=0)
    free = plain_job("f", gluten_free=True, earliest_start=30)
    schedule = searched(plain_day(free, wheat, clean_down_min={"m": 10}))
    assert len(schedule.unplaced) == 1
    (unmet,) = [u for u in schedule.unmet if u.code == "no_place"]
    assert "wheat flour is handled" in unmet.detail


def two_products(**changes: object):
    """One mix, two loads: 30 min of proof and out by 120, an hour and out by 160."""
    job = plain_job(
        options=tuple(replace(o, proofs_min=((30, 30), (60, 60))) for o in options()),
        loads=(
            replace(plain_load("a.1"), leave_by=120),
            replace(plain_load("a.2"), first_route=1, leave_by=160),
        ),
        leave_by=120,
    )
    return replace(job, **changes)


def test_loads_of_one_mix_have_their_own_proof_and_their_own_time():
    # Divided at 40 + s, proofing from 50 + s: loaded at 80 + s and 110 + s, out 30 later: 110 + s
    # by 120 and 140 + s by 160. At s = 10 the first is just in time. (with one window for both
    # the second would be loaded at 80 + s too, and one oven place could not take it)
    day = plain_day(two_products())
    schedule = searched(day)
    (job,) = schedule.jobs
    assert (job.start, [at.load_start for at in job.loads]) == (10, [90, 120])
    assert schedule.points.late == 0
    late = tuple(replace(j, start=j.start) for j in schedule.jobs)
    tighter = replace(
        day,
        jobs=(
            two_products(
                leave_by=100,
                loads=tuple(
                    replace(load, leave_by=100 + 20 * i)
                    for i, load in enumerate(two_products().loads)
                ),
            ),
        ),
    )
    assert "leaves_in_time" in rules_broken(tighter, replace(schedule, jobs=late))


def test_check_finds_a_load_outside_the_window_of_its_own_product():
    day = plain_day(two_products(), ovens=(OvenPlaces("o", 2, 0),))
    schedule = searched(day)
    (job,) = schedule.jobs
    soon = replace(job.loads[1], load_start=90, out=120)
    wrong = replace(schedule, jobs=(replace(job, loads=(job.loads[0], soon)),))
    assert "loads_inside_window" in rules_broken(day, wrong)
