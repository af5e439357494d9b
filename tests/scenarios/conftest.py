"""Each demo day is planned once per run and judged from many sides."""

from functools import cache
from pathlib import Path

import pytest

from api.files.toml_day import load
from planner import Limits, make_plan
from planner.planned import Plan

FOLDER = Path(__file__).parents[2] / "scenarios"
NAMES = sorted(path.stem for path in FOLDER.glob("*.toml"))

LIMITS = Limits(solve_s=60.0, deterministic_s=3.0, workers=1)
"""Deterministic work ends the search, so that a slow machine gets the same plan."""


@cache
def planned(name: str, warmer_k: float = 0.0) -> Plan:
    """Plan a demo day, in a room that much warmer."""
    day, conditions, pins = load((FOLDER / f"{name}.toml").read_text(encoding="utf-8"))
    return make_plan(day, conditions.shifted(warmer_k), pins=pins, limits=LIMITS)


@pytest.fixture(params=NAMES)
def plan(request) -> Plan:
    return planned(request.param)


@pytest.fixture
def july() -> Plan:
    return planned("july_night")


@pytest.fixture
def hotter_july() -> Plan:
    """The same night with every room six degrees warmer."""
    return planned("july_night", 6.0)


@pytest.fixture
def small_kitchen() -> Plan:
    return planned("small_kitchen")


@pytest.fixture
def ready_mixes() -> Plan:
    return planned("ready_mixes")


@pytest.fixture
def shared_doughs() -> Plan:
    return planned("shared_doughs")
