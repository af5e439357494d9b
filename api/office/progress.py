"""The page of a plan that is being made, and of one that could not be."""

from __future__ import annotations

from datetime import datetime
from math import floor

from api.office.cells import say
from api.office.plan_page import Version, plan_href
from api.office.shell import Shell, page
from api.pages.wording import number
from api.schemas.plans import ProgressRead
from api.schemas.problems import Problem

STAGES = (
    say("waiting for its turn"),
    say("reading the day"),
    say("searching"),
)
"""Stages of planning that are told in the reader's words; others stand as they are."""


def progress_html(
    plan_id: str,
    state: ProgressRead,
    shell: Shell,
    *,
    now: datetime,
    row_made: datetime,
    part: bool = False,
) -> str:
    """Return the page of a plan under way, or only the part that changes.

    Parameters
    ----------
    row_made
        When the plan was asked for [UTC].
    part
        Whether only the part that changes is wanted.
    """
    waited_s = max(0, floor((now - row_made).total_seconds()))
    best = "" if state.best is None else number(state.best)
    return page(
        "progress_part.html" if part else "progress.html",
        shell,
        here=plan_href(plan_id),
        stage=shell.say(state.stage),
        best=best,
        waited_s=waited_s,
        stopping=state.stop_requested,
    )


def failed_html(
    version: int, problem: Problem | None, versions: tuple[Version, ...], shell: Shell
) -> str:
    """Return the page of a plan that could not be made."""
    return page("failed.html", shell, version=version, problem=problem, versions=versions)
