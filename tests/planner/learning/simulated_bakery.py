"""A bakery with hidden truths: its mixes come off by a model in steps of a second.

The planner's side foresees with its own balance and learns; the truth has other mixing work,
another wetting heat, a heavier bowl and thermometers with noise, and is followed by `fine_mix`,
which shares no code with the project.
"""

from dataclasses import dataclass, field, replace
from math import cos, pi
from random import Random

from planner.batches import batches_of
from planner.conditions import Conditions
from planner.corrections import Corrections
from planner.estimate import Estimate
from planner.learning.readings import learn
from planner.night import Night
from planner.options import Choice
from planner.outcomes import outcome_of_ticket, remembered_outcome
from planner.physics.hand_sums import friction_from_mix_k, water_from_sum_c
from planner.remembered import RememberedMix
from planner.tickets import MixTemperatures, make_ticket
from tests.planner.builders import bakery, day, lean_dough, steady_room
from tests.planner.physics.fine_mix import Addition, FineStep, fine_dough_c

WISH_C = 25.0
DAYS = 365
THERMOMETER_SD_K, FLOUR_READ_SD_K, WATER_SD_K = 0.4, 0.7, 0.5


@dataclass
class Season:
    """Flour, room and tap on a day of the year [°C], with the weather's whims."""

    flour_c: float
    room_c: float
    tap_c: float

    @classmethod
    def of(cls, day_of_year: float, rng: Random) -> "Season":
        summer = -cos(2 * pi * (day_of_year - 20) / DAYS)
        whim = rng.gauss(0, 1.5)
        room = 23 + 5 * summer + whim
        return cls(19 + 7 * summer + rng.gauss(0, 1.0), room, 12 + 5 * summer)


@dataclass
class HiddenBakery:
    """What nobody knows: true work by speed [kJ/kg min], by class, wetting, bowl, air."""

    rng: Random
    first: float = 0.7
    second: float = 1.6
    class_factor: dict[str, float] = field(default_factory=dict)
    wetting_kj_per_kg: float = 9.3

    @classmethod
    def drawn(cls, seed: int) -> "HiddenBakery":
        """A bakery drawn from what is believed of mixers before anything was read."""
        rng = Random(seed)
        together = rng.gauss(0, 1)
        return cls(
            rng,
            first=0.7 * max(0.3, 1 + 0.43 * (0.8 * together + 0.6 * rng.gauss(0, 1))),
            second=1.6 * max(0.3, 1 + 0.375 * (0.8 * together + 0.6 * rng.gauss(0, 1))),
            class_factor={c: 1 + rng.gauss(0, 0.1) for c in ("wheat", "sweet")},
            wetting_kj_per_kg=9.3 * max(0.2, 1 + rng.gauss(0, 0.25)),
        )

    def comes_off_c(
        self,
        season: Season,
        water_c: float,
        ice_kg: float,
        *,
        minutes: tuple[float, float] = (4.0, 6.0),
        dough_class: str = "wheat",
        flour_kg: float = 20.0,
    ) -> float:
        """True dough at the end, by seconds [°C]."""
        water_kg, dough_kg = 0.65 * flour_kg, 1.685 * flour_kg
        flour_c = season.flour_c + self.rng.gauss(0, FLOUR_READ_SD_K)
        water_c += self.rng.gauss(0, WATER_SD_K)
        factor = self.class_factor.get(dough_class, 1.0) * dough_kg
        added = [
            Addition(flour_kg, 1.83, flour_c, self.wetting_kj_per_kg * flour_kg),
            Addition(water_kg - ice_kg, 4.18, water_c),
            Addition(0.02 * flour_kg, 0.87, season.room_c, -1.32 * flour_kg),
            Addition(0.015 * flour_kg, 3.45, 4.0),
        ]
        steps = [
            FineStep(minutes[0], self.first * factor * minutes[0], added, ice_kg),
            FineStep(minutes[1], self.second * factor * minutes[1]),
        ]
        return fine_dough_c(
            steps,
            bowl_kj_per_k=0.5 * 29.0,
            bowl_c=season.room_c,
            loss_w_per_k=12.0,
            room_c=season.room_c,
            ice_c=-2.0,
            true_share=0.9,
        )[-1]

    def read(self, true_c: float) -> float:
        """What the thermometer says."""
        return true_c + self.rng.gauss(0, THERMOMETER_SD_K)


def a_night(season: Season, corrections: Corrections, dough_class: str = "wheat") -> Night:
    """The planner's view of a day."""
    house = bakery(supplies=(replace(bakery().supplies[0], temperature_c=Estimate(season.tap_c)),))
    formula = lean_dough(dough_class=dough_class)
    conditions = Conditions(
        rooms={"room": steady_room(season.room_c)}, flour_c={"sacks": Estimate(season.flour_c)}
    )
    return Night(day(bakery=house, formulas=(formula,)), conditions, corrections)


def mixed(hidden: HiddenBakery, season: Season, known: Corrections, dough_class: str = "wheat"):
    """One mix by our ticket: how far it really came off the wish, and what is known after it."""
    night = a_night(season, known, dough_class)
    batch, mixer = batches_of(night.day)[0], night.day.bakery.mixers[0]
    batch = replace(batch, dough_kg=33.7, flour_kg=20.0)
    choice = Choice(WISH_C, use_chilled=False)
    made = make_ticket(
        night, batch, mixer, 300.0, choice, {}, measured=MixTemperatures(flour_c=season.flour_c)
    )
    # The bakery has cold and hot water enough: the ticket's energy number is what goes in.
    water_c = made.ticket.equivalent_c + (WISH_C - made.ticket.expected_c) / max(
        made.ticket.dough_per_water_k, 1e-6
    )
    true_c = hidden.comes_off_c(season, water_c, 0.0, dough_class=dough_class)
    outcome = outcome_of_ticket(night, batch, mixer, made, hidden.read(true_c), THERMOMETER_SD_K)
    outcome = replace(outcome, predicted_c=WISH_C)
    return true_c - WISH_C, learn([outcome], known)


def remembered(hidden: HiddenBakery, rng: Random) -> Corrections:
    """What one mix of last month, remembered with everything "about", teaches."""
    season = Season.of(rng.uniform(0, DAYS), rng)
    water_c = rng.uniform(8, 20)
    true_c = hidden.comes_off_c(season, water_c, 0.0)
    about = RememberedMix(
        mixer_id="spiral",
        formula_id="white",
        water_c=max(0.0, water_c + rng.gauss(0, 1.5)),
        dough_end_c=true_c + rng.gauss(0, 1.0),
        dough_kg=33.7,
        flour_c=season.flour_c + rng.gauss(0, 2.0),
        room_c=season.room_c + rng.gauss(0, 2.0),
    )
    night = a_night(season, Corrections())
    return remembered_outcome(night.day, night.conditions, Corrections(), about)


def by_the_sum(hidden: HiddenBakery, season: Season, friction_k: float) -> tuple[float, float]:
    """One mix by the three-term sum: its error, and the friction number re-tuned after it."""
    water_c = water_from_sum_c(WISH_C, [season.flour_c, season.room_c], friction_k)
    true_c = hidden.comes_off_c(season, water_c, 0.0)
    read_c = hidden.read(true_c)
    return true_c - WISH_C, friction_from_mix_k(read_c, [water_c, season.flour_c, season.room_c])
