"""A preparation as planned: a levain build, scald or soaker with everything its card shows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from planner.remarks import Remark
from planner.water_ticket import ScalingLine, WaterLine


class PreparationKind(StrEnum):
    """What is prepared ahead."""

    PREFERMENT = "preferment"
    SCALD = "scald"
    SOAKER = "soaker"


@dataclass(frozen=True, slots=True)
class PlannedBuild:
    """One build of a preferment that is fed in steps.

    Attributes
    ----------
    start_utc, start_c
        When it is set, and at what temperature [°C].
    fed_kg, fed_c
        What it takes of the build before it, and how warm that is then [kg, °C]; seed, without a
        temperature, in the first.
    ripe_from_utc, ripe_by_utc
        Between which it is ripe.
    ripeness
        Its progress when the next takes it; None for the last.
    """

    name: str
    start_utc: datetime
    start_c: float
    fed_kg: float
    fed_c: float | None
    ripe_from_utc: datetime
    ripe_by_utc: datetime
    ripeness: float | None
    scaling: tuple[ScalingLine, ...]
    water: tuple[WaterLine, ...]


@dataclass(frozen=True, slots=True)
class PlannedPreparation:
    """A levain build, a scald or a soaker.

    Attributes
    ----------
    mix_ids
        The mixes that use it.
    made_kg, kept_back_kg
        Mass made, and seed kept back of it [kg].
    start_utc
        When it is set or poured.
    ready_from_utc, ready_by_utc
        Ripe or cool enough from and by.
    start_c
        Its temperature when set or poured [°C].
    use_c
        Its expected temperature at each use [°C], in the order of ``mix_ids``.
    use_at_most_c
        The warmest it may be at its use [°C].
    water, ice_kg
        Its own water; of a preferment that is fed in steps, that of its first build, as is what to
        scale and its start.
    builds
        Every build of a preferment that is fed in steps; else none.
    way, way_words
        For a scald, how it is cooled: a short name, and plain words.
    later_water, add_utc
        Of a scald, its own water that is kept back with all of its ice, and when they go in; it is
        set aside when the scald is poured.
    """

    id: str
    part_id: str
    name: str
    kind: PreparationKind
    formula_id: str
    mix_ids: tuple[str, ...]
    made_kg: float
    kept_back_kg: float
    seed_kg: float
    place_id: str
    start_utc: datetime
    ready_from_utc: datetime
    ready_by_utc: datetime
    start_c: float
    use_c: tuple[float, ...]
    use_at_most_c: float
    scaling: tuple[ScalingLine, ...]
    water: tuple[WaterLine, ...]
    ice_kg: float
    mixer_id: str | None
    vessel: str
    remarks: tuple[Remark, ...] = ()
    builds: tuple[PlannedBuild, ...] = ()
    way: str = ""
    way_words: str = ""
    later_water: tuple[WaterLine, ...] = ()
    add_utc: datetime | None = None

    @property
    def draws(self) -> tuple[tuple[datetime, tuple[WaterLine, ...]], ...]:
        """What water it takes when."""
        if self.builds:
            return tuple((build.start_utc, build.water) for build in self.builds)
        return ((self.start_utc, (*self.water, *self.later_water)),)
