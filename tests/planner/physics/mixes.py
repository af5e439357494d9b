"""A mix in one go, and its variations, for tests of the heat balance."""

from dataclasses import replace

from planner.physics.heat_balance import Jacket, MixBalance, Portion


def with_water(mix: MixBalance, water_kg: float) -> MixBalance:
    """The same mix with another mass of water."""
    return replace(mix, portions=(Portion(water_kg),))


def with_work(mix: MixBalance, work_kj: float) -> MixBalance:
    """The same mix with another heat of working in its one step."""
    return replace(mix, steps=(replace(mix.steps[0], work_kj=work_kj),))


def with_jacket(mix: MixBalance, heat_kj: float) -> MixBalance:
    """The same mix with so much heat taken out by a cooled mixer."""
    return replace(mix, steps=(replace(mix.steps[0], jacket=Jacket(heat_kj)),))
