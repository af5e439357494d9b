"""Ovenward's core: a bakery's night as four pure functions on frozen values.

The door: `make_plan` plans a day, `replan` replans what has not begun, `answer` answers one
reading in milliseconds, `learn` turns readings into corrections. Inside the core, modules import
each other and never this door.
"""

from planner.answer import answer, with_reading
from planner.beside import sum_reasons
from planner.conditions import Conditions, HourlyForecast
from planner.corrections import Corrections
from planner.day import Day
from planner.errors import Fault, InputError, OvenwardError
from planner.events import (
    Carried,
    LateOrder,
    NewConditions,
    OrderDropped,
    PowerBack,
    PowerCut,
    RunsAgain,
    SomebodyAway,
    with_events,
)
from planner.happened import Breakdown, Change
from planner.learning.readings import learn
from planner.outcomes import learned_from, noted, outcome_of
from planner.pin_prices import PinPrice, price_remarks
from planner.pins import Limits, Pin, Progress
from planner.plan import make_plan, price_pins
from planner.planned import Answer, Plan
from planner.readings import MixOutcome, Reading, ReadingKind
from planner.replan import replan
from planner.verify import verify

__all__ = [
    "Answer",
    "Breakdown",
    "Carried",
    "Change",
    "Conditions",
    "Corrections",
    "Day",
    "Fault",
    "HourlyForecast",
    "InputError",
    "LateOrder",
    "Limits",
    "MixOutcome",
    "NewConditions",
    "OrderDropped",
    "OvenwardError",
    "Pin",
    "PinPrice",
    "Plan",
    "PowerBack",
    "PowerCut",
    "Progress",
    "Reading",
    "ReadingKind",
    "RunsAgain",
    "SomebodyAway",
    "answer",
    "learn",
    "learned_from",
    "make_plan",
    "noted",
    "outcome_of",
    "price_pins",
    "price_remarks",
    "replan",
    "sum_reasons",
    "verify",
    "with_events",
    "with_reading",
]
