"""A night made up by hand, so that pages can be judged without the planner.

Three doughs: a white dough with ice and chilled water, a levain dough and a rye dough with a
scald. Figures are plausible and round; none comes from the planner.
"""

from __future__ import annotations

from dataclasses import replace

from planner import mixers
from planner import water_sources as sources
from planner.corrections import Corrections
from planner.pins import Limits
from planner.plan_figures import AssumptionCost, HourBudget, Points
from planner.planned import (
    Plan,
    PlannedLoad,
    PlannedMix,
    PlannedStep,
    PlannedTask,
    PlanStatus,
    Steered,
)
from planner.planned_preparation import PlannedPreparation, PreparationKind
from planner.remarks import Remark, RemarkKind, difference, minutes, moment, temperature, word
from planner.water_ticket import (
    BalanceTerm,
    ScalingLine,
    Strip,
    StripCell,
    SumBeside,
    WaterLine,
    WaterTicket,
)
from tests.api.pages.sample_house import at, sample_conditions, sample_day


def ticket(
    wanted_c: float,
    water_c: float,
    water: tuple[WaterLine, ...],
    ice_kg: float,
    strip: Strip | None = None,
) -> WaterTicket:
    """A ticket with the usual rest."""
    return WaterTicket(
        wanted_c=wanted_c,
        water_c=water_c,
        water=water,
        ice_kg=ice_kg,
        ice_kind=sources.IceKind.FLAKE if ice_kg else None,
        formula_water_kg=sum(line.water_kg for line in water) + ice_kg,
        expected_c=wanted_c + 0.1,
        expected_sd_k=0.8,
        dough_per_water_k=0.45,
        hand_sum=SumBeside("friction in the sum", True, water_c + 4, wanted_c + 2, water_c),
        terms=(BalanceTerm("strong flour", 41.2, 27.5, 190.0, 1.2),),
        strip=strip,
        draw_not_before_utc=None,
    )


def strip_of(column: str, column_c: float, flour_c: float, water_kg: float, ice_kg: float) -> Strip:
    """Half a kilo of ice more per degree of flour, a quarter per degree across (an invention)."""
    rows, columns = (-3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0), (-4.0, -2.0, 0.0, 2.0, 4.0)

    def cell(row: float, across: float) -> StripCell:
        more = row / 2 + across / 4
        water = (
            WaterLine("tap", sources.SupplyKind.TAP, 4.0, 18.0),
            WaterLine("cold", sources.SupplyKind.CHILLER, water_kg - 4.0 - more, 4.0),
        )
        return StripCell(water, ice_kg + more, 25.0)

    return Strip(
        column,
        tuple(flour_c + row for row in rows),
        tuple(column_c + across for across in columns),
        tuple(tuple(cell(row, across) for across in columns) for row in rows),
    )


def load(mix: str, product: str, pieces: int, times: tuple[str, ...], oven: str) -> PlannedLoad:
    """A load from six clock times."""
    proof, first, last, into, out, ready = (at(clock) for clock in times)
    return PlannedLoad(
        f"{mix}/1", product, pieces, "bakehouse", proof, first, last, into, out, ready, oven, 1, 1.0
    )


def white_mix() -> PlannedMix:
    """White dough with 8.35 kg of ice and two supplies; flour 41.236 kg."""
    water = (
        WaterLine("tap", sources.SupplyKind.TAP, 4.0, 18.0),
        WaterLine("cold", sources.SupplyKind.CHILLER, 13.2163, 4.0),
    )
    return PlannedMix(
        id="white",
        line_id="white",
        formula_id="white",
        product_id="white_loaf",
        batch=1,
        batches=1,
        dough_kg=69.6888,
        flour_kg=41.236,
        pieces=120,
        mixer_id="spiral_1",
        start_utc=at("23:40"),
        mix_end_utc=at("23:51"),
        steps=(PlannedStep(mixers.Speed.FIRST, 5), PlannedStep(mixers.Speed.SECOND, 6)),
        scaling=(
            ScalingLine("strong flour", 100, 41.236, 27.5, 0),
            ScalingLine("fresh yeast", 2, 0.8247, 4.0, 0),
            ScalingLine("salt", 2, 0.8247, 27.0, 0),
            ScalingLine("whole egg", 3, 1.2371, 4.0, 1),
        ),
        ticket=ticket(25.0, 7.5, water, 8.35, strip_of("room", 26.0, 27.5, 17.2163, 8.35)),
        divide_from_utc=at("1:05"),
        divide_by_utc=at("1:35"),
        divide_utc=at("1:15"),
        divide_end_utc=at("1:40"),
        ripeness=0.98,
        minutes_per_degree=9,
        band_min=8,
        folds_utc=(at("0:31"),),
        loads=(
            load(
                "white", "white_loaf", 120, ("1:40", "2:25", "2:50", "2:30", "3:05", "3:50"), "rack"
            ),
        ),
        leave_by_utc=at("6:30"),
        preparation_ids=(),
        steered=Steered(25.0, True, 9.0, 20.0, 26.0, 24.5),
        remarks=(
            Remark(
                RemarkKind.REASON,
                "cooler_for_oven",
                "Made {by} cooler because the rack oven is free at {free}.",
                (difference("by", 0.5), moment("free", at("2:30"))),
                "white",
            ),
            Remark(
                RemarkKind.CAUTION,
                "ice_melts_late",
                "Ice stays in the dough for about {min}: read the temperature after it has melted.",
                (minutes("min", 4.0),),
                "white",
            ),
        ),
    )


def country_mix() -> PlannedMix:
    """Levain dough, tap water only."""
    return replace(
        white_mix(),
        id="country",
        line_id="country",
        formula_id="country",
        product_id="country_loaf",
        dough_kg=55.0,
        flour_kg=31.977,
        pieces=60,
        mixer_id="twin",
        start_utc=at("0:10"),
        mix_end_utc=at("0:25"),
        scaling=(
            ScalingLine("wheat flour", 80, 25.5814, 27.5, 0),
            ScalingLine("levain", 40, 12.7907, 27.0, 0),
            ScalingLine("salt", 2, 0.6395, 27.0, 0),
        ),
        ticket=ticket(24.5, 18.0, (WaterLine("tap", sources.SupplyKind.TAP, 15.9884, 18.0),), 0.0),
        divide_from_utc=at("2:40"),
        divide_by_utc=at("3:20"),
        divide_utc=at("2:50"),
        divide_end_utc=at("3:15"),
        folds_utc=(at("1:05"),),
        loads=(
            load(
                "country",
                "country_loaf",
                60,
                ("3:15", "4:25", "5:00", "4:30", "5:15", "6:00"),
                "deck",
            ),
        ),
        preparation_ids=("levain-1",),
        remarks=(),
    )


def rye_mix() -> PlannedMix:
    """Rye with a scald that is still warm."""
    return replace(
        white_mix(),
        id="rye",
        line_id="rye",
        formula_id="rye",
        product_id="rye_loaf",
        dough_kg=44.44,
        flour_kg=25.837,
        pieces=40,
        mixer_id="twin",
        start_utc=at("2:00"),
        mix_end_utc=at("2:08"),
        steps=(PlannedStep(mixers.Speed.FIRST, 8.5),),
        scaling=(
            ScalingLine("rye flour", 80, 20.6698, 27.0, 0),
            ScalingLine("rye scald", 60, 15.5023, 38.0, 0),
            ScalingLine("salt", 2, 0.5167, 27.0, 0),
        ),
        ticket=ticket(
            29.0, 9.0, (WaterLine("cold", sources.SupplyKind.CHILLER, 7.7512, 4.0),), 0.0
        ),
        divide_from_utc=at("3:20"),
        divide_by_utc=at("3:50"),
        divide_utc=at("3:25"),
        divide_end_utc=at("3:40"),
        folds_utc=(),
        loads=(
            load("rye", "rye_loaf", 40, ("3:40", "4:40", "5:05", "5:25", "6:25", "7:10"), "deck"),
        ),
        leave_by_utc=at("6:30"),
        preparation_ids=("scald-1",),
        remarks=(),
    )


def sample_preparations() -> tuple[PlannedPreparation, ...]:
    """The levain and the scald."""
    levain = PlannedPreparation(
        id="levain-1",
        part_id="levain",
        name="levain",
        kind=PreparationKind.PREFERMENT,
        formula_id="country",
        mix_ids=("country",),
        made_kg=14.0698,
        kept_back_kg=1.2791,
        seed_kg=1.2791,
        place_id="bakehouse",
        start_utc=at("16:30"),
        ready_from_utc=at("23:40"),
        ready_by_utc=at("1:30"),
        start_c=26.0,
        use_c=(27.0,),
        use_at_most_c=32.0,
        scaling=(
            ScalingLine("seed", 20, 1.2791, 24.0, 0),
            ScalingLine("wheat flour", 20, 6.3953, 27.5, 0),
        ),
        water=(WaterLine("tap", sources.SupplyKind.TAP, 6.3953, 18.0),),
        ice_kg=0.0,
        mixer_id=None,
        vessel="large tub",
    )
    scald = replace(
        levain,
        id="scald-1",
        part_id="scald",
        name="rye scald",
        kind=PreparationKind.SCALD,
        formula_id="rye",
        mix_ids=("rye",),
        made_kg=15.5023,
        kept_back_kg=0.0,
        seed_kg=0.0,
        start_utc=at("19:15"),
        ready_from_utc=at("1:45"),
        ready_by_utc=at("8:00"),
        start_c=74.0,
        use_c=(38.0,),
        use_at_most_c=41.0,
        scaling=(ScalingLine("rye flour", 20, 5.1674, 27.0, 0),),
        water=(WaterLine("kettle", sources.SupplyKind.HOT, 10.3349, 99.0),),
        vessel="shallow pan",
        remarks=(
            Remark(
                RemarkKind.NOTE,
                "stir",
                "Stir every {every} until it is below {warm}.",
                (minutes("every", 15), temperature("warm", 45.0)),
                "scald-1",
            ),
        ),
    )
    return (levain, scald)


def task(
    kind: str, subject: str, start: str, end: str, person: str | None, place: str
) -> PlannedTask:
    """A task from clock times."""
    return PlannedTask(kind, subject, at(start), at(end), person, place)


def sample_tasks() -> tuple[PlannedTask, ...]:
    """Who does what."""
    return (
        task("prepare", "levain-1", "16:30", "16:40", None, "bakehouse"),
        task("prepare", "scald", "19:15", "19:25", "tom", "bakehouse"),
        task("scale", "white", "23:30", "23:40", "ana", "spiral_1"),
        task("fold", "white", "0:31", "0:36", "ana", "bakehouse"),
        task("scale", "country", "0:00", "0:10", "tom", "twin"),
        task("divide and shape", "white", "1:15", "1:40", "ana", "bench"),
        task("load", "white/1", "2:30", "2:35", "tom", "rack"),
        task("divide and shape", "country", "2:50", "3:15", "ana", "bench"),
        task("load", "country/1", "4:30", "4:35", "ana", "deck"),
        task("load", "rye/1", "5:25", "5:30", "ana", "deck"),
    )


def sample_remarks() -> tuple[Remark, ...]:
    """One unmet wish with its lever, one caution."""
    return (
        Remark(
            RemarkKind.CAUTION,
            "little_slack",
            "{dough} has only {slack} between ripe and over-ripe at the oven.",
            (word("dough", "Rye with scald"), minutes("slack", 10)),
        ),
        Remark(
            RemarkKind.UNMET,
            "late",
            "{dough} is ready at {ready}, {late} after it should leave.",
            (
                word("dough", "Rye with scald"),
                moment("ready", at("7:10")),
                minutes("late", 40),
            ),
            "rye",
        ),
        Remark(
            RemarkKind.LEVER,
            "scald_earlier",
            "Pour the scald by {pour}: then it leaves on time.",
            (moment("pour", at("18:30")),),
            "rye",
        ),
    )


def sample_plan(name: str = "Bakery at the Weir") -> Plan:
    """The whole plan."""
    return Plan(
        version=3,
        status=PlanStatus.FEASIBLE,
        day=sample_day(name),
        conditions=sample_conditions(),
        corrections=Corrections(),
        pins=(),
        limits=Limits(),
        mixes=(white_mix(), country_mix(), rye_mix()),
        preparations=sample_preparations(),
        inherited_loads=(),
        tasks=sample_tasks(),
        unplaced=(),
        budgets=(
            HourBudget(at("23:00"), 8.35, 36.65, 13.2, 66.8),
            HourBudget(at("0:00"), 0.0, 41.65, 0.0, 80.0),
            HourBudget(at("2:00"), 0.0, 50.0, 7.75, 72.25),
        ),
        assumptions=(
            AssumptionCost(
                "mixing work of spiral 120, second speed",
                1.6,
                "kJ/kg min",
                "usual for a spiral mixer",
                1.9,
                17.0,
                "read the dough temperature at the end of one mix",
            ),
            AssumptionCost(
                "flour moisture",
                0.14,
                "fraction",
                "usual flour",
                0.2,
                2.0,
                "read the miller's slip",
            ),
            AssumptionCost("bowl", 30.0, "kg", "bowl of its size", 0.1, 1.0, "weigh the bowl"),
            AssumptionCost("loss", 20.0, "W/K", "bowl of its size", 0.1, 1.0, "two readings"),
        ),
        remarks=sample_remarks(),
        points=Points(late=8000),
        bound=8000.0,
    )
