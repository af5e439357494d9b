"""Fixed lists to choose from, in the words of the core."""

from __future__ import annotations

from collections.abc import Iterable

from api.office.cells import say
from planner.bakery import ChamberKind, Cover, FlourStoreKind, OvenKind, VesselShape
from planner.materials import Material
from planner.mixers import MixerKind, Speed
from planner.water_sources import IceKind, SupplyKind

NONE = ("", "–")


def _of(words: Iterable[str]) -> tuple[tuple[str, str], ...]:
    return tuple((str(word), str(word)) for word in words)


MATERIAL_CHOICES = (NONE, *_of(Material))
MIXER_CHOICES = _of(MixerKind)
SPEED_CHOICES = (NONE, *_of(Speed))
ICE_CHOICES = (("", say("none")), *_of(IceKind))
FLOUR_CHOICES = _of(FlourStoreKind)
OVEN_CHOICES = _of(OvenKind)
CHAMBER_CHOICES = _of(ChamberKind)
WATER_CHOICES = _of(SupplyKind)
VESSEL_CHOICES = _of(VesselShape)
COVER_CHOICES = (NONE, *_of(Cover))
