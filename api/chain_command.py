"""The command that plans a date for every bakery of the database."""

# ruff: noqa: PLC0415  (imports stand in the command that pays for them)

from __future__ import annotations

from collections import Counter
from datetime import datetime
from statistics import median
from time import perf_counter
from typing import Annotated

import typer


def plan_all(
    date: Annotated[datetime, typer.Option(formats=["%Y-%m-%d"], help="Which production day.")],
    *,
    processes: Annotated[int, typer.Option(min=1, max=64, help="How many bakeries at once.")] = 2,
) -> None:
    """Plan a date for every bakery of the database, each input once."""
    from api.jobs.plan_all import Outcome
    from api.jobs.plan_all import plan_all as planned
    from api.settings import Settings
    from api.store.upgrade import upgrade
    from planner.pins import Limits

    settings, began = Settings(), perf_counter()
    upgrade(settings.address)
    limits = Limits(solve_s=settings.solve_s, deterministic_s=settings.deterministic_s, workers=1)
    counted: Counter[Outcome] = Counter()
    took_s = []
    for one in planned(settings.address, date.date(), limits, processes):
        counted[one.outcome] += 1
        typer.echo(f"{one.bakery_id}: {one.outcome} {one.plan_id or one.fault}")
        if one.outcome is Outcome.PLANNED:
            took_s.append(one.took_s)
    told = ", ".join(f"{count} {outcome}" for outcome, count in sorted(counted.items()))
    typer.echo(f"{told or 'no bakeries'}; {perf_counter() - began:.1f} s", err=True)
    if took_s:
        typer.echo(f"half of the bakeries took no more than {median(took_s):.2f} s", err=True)
    if counted[Outcome.GIVEN_UP]:
        raise typer.Exit(3)
