"""Vessels of the scald tests, a shorthand for cool-downs, and reading of the reference tables."""

import csv
from pathlib import Path

import numpy as np

from planner.bakery import Cover, VesselShape
from planner.physics.cooling import CoolingBody, CoolingPlace, cooling_path, minutes_to_cool

REFERENCE = Path(__file__).parents[2] / "reference"


def table(name):
    """Rows of a table under tests/reference, without its comments."""
    lines = (REFERENCE / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def body(mass_kg, length_m, width_m=None, cover=Cover.FILM, place=CoolingPlace.BENCH, **more):
    """A round vessel when it has no width."""
    shape = VesselShape.ROUND if width_m is None else VesselShape.BOX
    wide = length_m if width_m is None else width_m
    heat = more.pop("specific_heat_kj_per_kg_k", 3.42)
    return CoolingBody(mass_kg, shape, length_m, wide, cover, place, heat, **more)


def path(one, start_c, air_c, *, span_h=48.0, humidity=0.5, step_min=5.0, start_minute=0.0):
    """A cool-down in steady air, or in air over minutes."""
    return cooling_path(
        one,
        start_c=start_c,
        start_minute=start_minute,
        air_c=air_c if callable(air_c) else lambda minute: np.full_like(minute, air_c),
        humidity=lambda minute: np.full_like(minute, humidity),
        span_min=span_h * 60,
        step_min=step_min,
    )


def hours_to(one, start_c, air_c, target_c, *, warmest=False, **more):
    """Hours until its mean, or its warmest point, is at a temperature."""
    return float(minutes_to_cool(path(one, start_c, air_c, **more), target_c, warmest=warmest)) / 60
