"""Bowls from mix to mix: each dough leaves its bowl warm or cold for the next one."""

from __future__ import annotations

import numpy as np

from planner.mixers import Mixer
from planner.night import Night
from planner.physics.waiting import bowl_after_c


class Bowls:
    """The bowl of every mixer as the night goes on; mixes are told in the order of their start.

    Notes
    -----
    The first mix of a mixer meets a bowl as warm as its room. Afterwards the bowl is what the dough
    left, relaxing to the room while it stands empty. Preferments made on the mixer are left out.
    """

    def __init__(self, night: Night) -> None:
        self._night = night
        self._left: dict[str, tuple[float, float]] = {}

    def at(self, mixer: Mixer, start_min: float) -> float:
        """Return the temperature of a mixer's bowl at a minute [°C]."""
        room_c = float(self._night.air_c(mixer.room_id)(np.asarray(start_min)))
        if mixer.id not in self._left:
            return room_c
        end_min, bowl_c = self._left[mixer.id]
        return bowl_after_c(bowl_c, room_c, max(0.0, start_min - end_min))

    def leave(self, mixer_id: str, end_min: float, bowl_c: float) -> None:
        """Note that a dough left its bowl at a minute and a temperature."""
        self._left[mixer_id] = (end_min, bowl_c)
