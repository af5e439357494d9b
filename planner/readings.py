"""Readings: what the shift writes down. Never overwritten, only superseded."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from planner.day import check_utc
from planner.errors import check_name, check_within, refuse
from planner.mixers import Speed


class ReadingKind(StrEnum):
    """What was measured."""

    FLOUR_C = "flour temperature"
    ROOM_C = "room temperature"
    PART_C = "preferment or scald temperature"
    SCALD_STIRRED_C = "cooling scald, stirred through"
    SCALD_MIDDLE_C = "cooling scald, in its middle"
    WATER_C = "tap temperature"
    DOUGH_END_C = "dough temperature at the end"
    BOWL_C = "bowl temperature"
    DOUGH_MID_C = "dough temperature during the mix"
    METERED_KWH = "metered energy of the mix"
    MIX_START = "mixer started"
    MIX_END = "off the mixer"
    NOTE = "note"
    WITHDRAWN = "withdrawn"


HAS_TEMPERATURE = frozenset(
    {
        ReadingKind.FLOUR_C,
        ReadingKind.ROOM_C,
        ReadingKind.PART_C,
        ReadingKind.SCALD_STIRRED_C,
        ReadingKind.SCALD_MIDDLE_C,
        ReadingKind.WATER_C,
        ReadingKind.DOUGH_END_C,
        ReadingKind.BOWL_C,
        ReadingKind.DOUGH_MID_C,
    }
)


DOUGH_C = (-5.0, 60.0)
"""Temperatures that a dough off the mixer can have [°C]; beyond them something else was read."""

WORK_SHARE = (0.05, 10.0)
"""Metered work beside what was foreseen; beyond it the meter read another thing than the mix."""

COOLING_SCALD = frozenset({ReadingKind.SCALD_STIRRED_C, ReadingKind.SCALD_MIDDLE_C})


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading at one mix.

    Attributes
    ----------
    id
        Given by whoever sends it; the same id twice is the same reading.
    mix_id
        The mix it belongs to.
    at_utc
        When it was read [UTC].
    value_c
        Temperature [°C]; None for a time reading.
    sd_k
        How sure it is [K]; a remembered mix has 2 or more.
    energy_kwh
        Metered energy of the mix [kWh]; None for other kinds.
    after_step
        For a dough during the mix: the step that has just ended; 0 is the first.
    part_id
        Which preferment or scald, for that kind.
    thermometer_id
        Which thermometer, when known.
    supersedes
        Id of a reading that this one replaces; one of kind ``WITHDRAWN`` takes it back, and says
        nothing in its place.
    by
        Initials or name of whoever read it, when told.
    note
        What was done about it, in the words of the house; a reading of kind ``NOTE`` is only that.
    """

    id: str
    kind: ReadingKind
    mix_id: str
    at_utc: datetime
    value_c: float | None = None
    sd_k: float = 0.5
    part_id: str | None = None
    thermometer_id: str | None = None
    supersedes: str | None = None
    energy_kwh: float | None = None
    after_step: int | None = None
    by: str | None = None
    note: str | None = None

    def __post_init__(self) -> None:
        check_name("id", self.id)
        check_name("mix_id", self.mix_id)
        check_utc("at_utc", self.at_utc)
        check_within("sd_k", self.sd_k, 0.05, 10, "K")
        if self.kind in HAS_TEMPERATURE:
            check_within(
                "value_c", float("nan") if self.value_c is None else self.value_c, -25, 100, "°C"
            )
        if self.kind is ReadingKind.METERED_KWH:
            kwh = float("nan") if self.energy_kwh is None else self.energy_kwh
            check_within("energy_kwh", kwh, 0, 1000, "kWh")
        if self.kind is ReadingKind.NOTE and not (self.note or "").strip():
            raise refuse("note", self.note, "says nothing", "write what was done")
        if self.kind is ReadingKind.WITHDRAWN and self.supersedes is None:
            raise refuse("supersedes", None, "is missing", "name the reading that is taken back")
        if self.kind is ReadingKind.DOUGH_MID_C:
            step = float("nan") if self.after_step is None else self.after_step
            check_within("after_step", step, 0, 50, "(index of a mixing step)")


@dataclass(frozen=True, slots=True)
class MixOutcome:
    """A finished mix as `learn` needs it: what went in, what came out.

    Attributes
    ----------
    predicted_c
        End temperature foreseen with what was measured before the mix [°C].
    measured_c, measured_sd_k
        End temperature read [°C] and its spread [K].
    degrees_by_speed
        How much the end temperature rises when the work of a speed rises by 100 % [K].
    factor_by_speed
        Factors on the first guess of work with which it was foreseen.
    work_prior_sd
        Spread of the first guess by speed, as a share of it; speeds that were not used may be
        there too, and profit.
    other_sd_k
        Spread of what was foreseen that is not the mixer's: flour, water, ice, bowl [K].
    metered_work_share
        Work by the meter beside what was foreseen; None when it was not metered.
    overloaded
        Mixed above the rated load: teaches nothing about the ordinary mixer.
    source
        The one mix of one day that it is: the same told again, as after a corrected reading, takes
        the place of the first. Empty for a mix that stands for itself.
    """

    mix_id: str
    mixer_id: str
    dough_class: str
    predicted_c: float
    measured_c: float
    measured_sd_k: float
    degrees_by_speed: tuple[tuple[Speed, float], ...]
    factor_by_speed: tuple[tuple[Speed, float], ...]
    work_prior_sd: tuple[tuple[Speed, float], ...]
    other_sd_k: float = 0.6
    metered_work_share: float | None = None
    overloaded: bool = False
    source: str = ""

    def __post_init__(self) -> None:
        check_within("predicted_c", self.predicted_c, *DOUGH_C, "°C")
        check_within("measured_c", self.measured_c, *DOUGH_C, "°C")
        check_within("measured_sd_k", self.measured_sd_k, 0.05, 10, "K")
        check_within("other_sd_k", self.other_sd_k, 0, 20, "K")
        for speed, degrees in self.degrees_by_speed:
            check_within(f"degrees_by_speed.{speed}", degrees, 0, 60, "K")
        for speed, factor in self.factor_by_speed:
            check_within(f"factor_by_speed.{speed}", factor, 0.01, 20, "(factor)")
        for speed, share in self.work_prior_sd:
            check_within(f"work_prior_sd.{speed}", share, 0.001, 10, "(share)")
        told = dict(self.factor_by_speed).keys() & dict(self.work_prior_sd).keys()
        for speed, _ in self.degrees_by_speed:
            if speed not in told:
                raise refuse(
                    f"degrees_by_speed.{speed}",
                    speed,
                    "has no factor or no spread of its first guess",
                    "give both for every speed of the mix",
                )
        if self.metered_work_share is not None:
            check_within("metered_work_share", self.metered_work_share, *WORK_SHARE, "(share)")
