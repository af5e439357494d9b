"""What a bakery's readings have taught: corrections that enter the next plan as plain input."""

from __future__ import annotations

from dataclasses import dataclass

from planner.errors import check_within
from planner.estimate import Estimate, Origin
from planner.mixers import Speed


@dataclass(frozen=True, slots=True)
class MixingWorkCorrection:
    """Learned factor on the mixing work of one mixer and dough class.

    Attributes
    ----------
    factor, factor_sd
        Multiplies the work of every speed; 1 means the first guess was right.
    readings
        End temperatures it rests on.
    ignored
        The baker's switch to leave it out.
    """

    mixer_id: str
    dough_class: str
    factor: float
    factor_sd: float
    readings: int
    ignored: bool = False

    def __post_init__(self) -> None:
        check_within("factor", self.factor, 0, 10, "(factor)")
        check_within("factor_sd", self.factor_sd, 0, 10, "(factor)")
        check_within("readings", self.readings, 0, 1e6, "readings")


@dataclass(frozen=True, slots=True)
class Corrections:
    """Everything learned, each with its evidence."""

    mixing_work: tuple[MixingWorkCorrection, ...] = ()

    def work_factor(self, mixer_id: str, dough_class: str) -> MixingWorkCorrection | None:
        """Return the correction that holds for a mixer and dough class, if any."""
        return next(
            (
                c
                for c in self.mixing_work
                if c.mixer_id == mixer_id and c.dough_class == dough_class and not c.ignored
            ),
            None,
        )

    def corrected_work(
        self, work: dict[Speed, Estimate], mixer_id: str, dough_class: str
    ) -> dict[Speed, Estimate]:
        """Return mixing work by speed with what was learned applied [kJ/kg min]."""
        correction = self.work_factor(mixer_id, dough_class)
        if correction is None:
            return work
        return {
            speed: Estimate(
                e.value * correction.factor,
                e.value * correction.factor_sd,
                Origin.LEARNED,
                f"{correction.readings} readings",
            )
            for speed, e in work.items()
        }
