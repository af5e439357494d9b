"""Who may do what: roles, the scopes they have, and the scope that each route needs.

A route that does not stand in `NEEDS` is closed to everybody.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Scope(StrEnum):
    """What somebody may do."""

    READ = "read"
    FOLLOW = "follow"
    READING = "send readings"
    SHIFT = "run the shift"
    SETUP = "set up"
    PEOPLE = "manage people"
    OPERATE = "operate"


class Role(StrEnum):
    """Who somebody is."""

    OPERATOR = "operator"
    HEAD_BAKER = "head_baker"
    SHIFT_LEAD = "shift_lead"
    BENCH = "bench"
    DISPLAY = "display"
    SENSOR = "sensor"


_BENCH = frozenset({Scope.READ, Scope.FOLLOW, Scope.READING})
SCOPES: dict[Role, frozenset[Scope]] = {
    Role.OPERATOR: frozenset(Scope),
    Role.HEAD_BAKER: frozenset(Scope) - {Scope.OPERATE},
    Role.SHIFT_LEAD: _BENCH | {Scope.SHIFT},
    Role.BENCH: _BENCH,
    Role.DISPLAY: frozenset({Scope.READ, Scope.FOLLOW}),
    Role.SENSOR: frozenset({Scope.READING}),
}


class Open(StrEnum):
    """Why a route asks for nobody."""

    SIGNS_IN = "it is how somebody signs in"
    TELLS_HEALTH = "it tells nothing but whether the service works"
    TELLS_WORDS = "it tells what words of the service mean, the same for everybody"
    SAME_FOR_ALL = "it is the same for everybody, and holds nothing of a bakery"


_OF_BAKERY = "/bakeries/{bakery_id}"
_SETUP = ("formulas/{formula_id}", "products/{product_id}", "thermometers/{thermometer_id}")
_DAYS = ("mix-lists/{production_date}", "days/{production_date}")
_SHIFT_DAYS = ("conditions/{production_date}", "pins/{production_date}")

_OFFICE = "/bakery/{bakery_id}"
_OFFICE_DAY = f"{_OFFICE}/{{production_date}}"
_PLAN = "/plan/{plan_id}"
_PAGES: dict[str, Scope | Open] = {
    "GET /": Scope.READ,
    "GET /static/{name}": Open.SAME_FOR_ALL,
    "POST /reads": Open.SAME_FOR_ALL,
    "GET /first-dough": Scope.SETUP,
    "POST /first-dough": Scope.SETUP,
    f"GET {_OFFICE}": Scope.READ,
    f"GET {_OFFICE}/setup": Scope.READ,
    f"GET {_OFFICE}/setup/{{part}}": Scope.READ,
    f"POST {_OFFICE}/setup/{{part}}": Scope.SETUP,
    f"GET {_OFFICE}/doughs": Scope.READ,
    f"GET {_OFFICE}/doughs/{{formula_id}}": Scope.READ,
    f"POST {_OFFICE}/doughs/{{formula_id}}": Scope.SETUP,
    f"GET {_OFFICE}/new-dough": Scope.READ,
    f"POST {_OFFICE}/new-dough": Scope.SETUP,
    f"POST {_OFFICE}/check-dough": Scope.READ,
    f"GET {_OFFICE}/import-doughs": Scope.READ,
    f"POST {_OFFICE}/import-doughs": Scope.SETUP,
    f"GET {_OFFICE}/products": Scope.READ,
    f"POST {_OFFICE}/products": Scope.SETUP,
    f"GET {_OFFICE_DAY}/mix-list": Scope.READ,
    f"POST {_OFFICE_DAY}/mix-list": Scope.SETUP,
    f"GET {_OFFICE_DAY}/conditions": Scope.READ,
    f"POST {_OFFICE_DAY}/conditions": Scope.SHIFT,
    f"GET {_OFFICE_DAY}/day": Scope.READ,
    f"GET {_OFFICE_DAY}/plan": Scope.READ,
    f"POST {_OFFICE_DAY}/plan": Scope.SHIFT,
    f"GET {_PLAN}": Scope.READ,
    f"GET {_PLAN}/progress": Scope.READ,
    f"POST {_PLAN}/stop": Scope.SHIFT,
    f"POST {_PLAN}/approve": Scope.SHIFT,
    f"POST {_PLAN}/assumed": Scope.SETUP,
    f"POST {_PLAN}/what-if": Scope.SHIFT,
    f"GET {_PLAN}/compare": Scope.READ,
    f"GET {_PLAN}/mix/{{mix_id}}": Scope.READ,
    f"POST {_PLAN}/mix/{{mix_id}}/pin": Scope.SHIFT,
}
"""Pages of the office."""

NEEDS: dict[str, Scope | Open] = {
    **_PAGES,
    "GET /sign-in": Open.SIGNS_IN,
    "POST /sign-in": Open.SIGNS_IN,
    "POST /sign-out": Open.SIGNS_IN,
    "GET /sign-in.css": Open.SIGNS_IN,
    "GET /pair": Open.SIGNS_IN,
    "GET /first-run": Open.SIGNS_IN,
    "POST /first-run": Open.SIGNS_IN,
    "GET /health": Open.TELLS_HEALTH,
    "GET /healthz": Open.TELLS_HEALTH,
    "GET /readyz": Open.TELLS_HEALTH,
    "GET /problems": Open.TELLS_WORDS,
    "GET /problems/{name}": Open.TELLS_WORDS,
    "GET /bench-files/{version}/{name}": Open.SAME_FOR_ALL,
    "GET /bench/{bakery_id}": Scope.READ,
    "GET /wall/{bakery_id}": Scope.READ,
    "GET /morning/{plan_id}": Scope.READ,
    "GET /record/{bakery_id}": Scope.READ,
    "GET /record/{bakery_id}/log.csv": Scope.READ,
    "POST /record/{bakery_id}/plans/{plan_id}/notes": Scope.READING,
    "GET /wall/{bakery_id}/now": Scope.READ,
    "GET /bench/{bakery_id}/day": Scope.READ,
    "POST /bench/{bakery_id}/plans/{plan_id}/readings": Scope.READING,
    "GET /bakeries": Scope.READ,
    f"GET {_OF_BAKERY}": Scope.READ,
    f"PUT {_OF_BAKERY}": Scope.SETUP,
    f"DELETE {_OF_BAKERY}": Scope.OPERATE,
    **{f"GET {_OF_BAKERY}/{one}": Scope.READ for one in (*_SETUP, *_DAYS, *_SHIFT_DAYS)},
    **{
        f"GET {_OF_BAKERY}/{one.split('/')[0]}": Scope.READ
        for one in (*_SETUP, "mix-lists/", *_SHIFT_DAYS)
    },
    **{f"PUT {_OF_BAKERY}/{one}": Scope.SETUP for one in (*_SETUP, *_DAYS)},
    **{f"PUT {_OF_BAKERY}/{one}": Scope.SHIFT for one in _SHIFT_DAYS},
    **{
        f"DELETE {_OF_BAKERY}/{one}": Scope.SETUP
        for one in (*_SETUP, "mix-lists/{production_date}")
    },
    **{f"DELETE {_OF_BAKERY}/{one}": Scope.SHIFT for one in _SHIFT_DAYS},
    f"GET {_OF_BAKERY}/formulas/{{formula_id}}/versions": Scope.READ,
    f"GET {_OF_BAKERY}/formulas/{{formula_id}}/versions/{{version}}": Scope.READ,
    f"POST {_OF_BAKERY}/mix-lists/{{production_date}}/import": Scope.SETUP,
    f"GET {_OF_BAKERY}/forecasts": Scope.READ,
    f"GET {_OF_BAKERY}/forecasts/{{place}}": Scope.READ,
    f"PUT {_OF_BAKERY}/forecasts/{{place}}": Scope.READING,
    f"DELETE {_OF_BAKERY}/forecasts/{{place}}": Scope.SETUP,
    f"GET {_OF_BAKERY}/forecasts/{{place}}/source": Scope.SETUP,
    f"PUT {_OF_BAKERY}/forecasts/{{place}}/source": Scope.SETUP,
    f"GET {_OF_BAKERY}/standing/{{production_date}}": Scope.READ,
    f"PUT {_OF_BAKERY}/standing/{{production_date}}": Scope.SHIFT,
    f"GET {_OF_BAKERY}/corrections": Scope.READ,
    f"GET {_OF_BAKERY}/corrections/{{mixer_id}}": Scope.READ,
    f"PUT {_OF_BAKERY}/corrections/{{mixer_id}}": Scope.SETUP,
    f"DELETE {_OF_BAKERY}/corrections/{{mixer_id}}": Scope.SETUP,
    f"GET {_OF_BAKERY}/routine": Scope.READ,
    f"PUT {_OF_BAKERY}/routine": Scope.SETUP,
    f"GET {_OF_BAKERY}/timers": Scope.FOLLOW,
    f"GET {_OF_BAKERY}/events": Scope.FOLLOW,
    f"GET {_OF_BAKERY}/events/stream": Scope.FOLLOW,
    f"GET {_OF_BAKERY}/keys": Scope.PEOPLE,
    f"POST {_OF_BAKERY}/keys": Scope.PEOPLE,
    f"DELETE {_OF_BAKERY}/keys/{{key_id}}": Scope.PEOPLE,
    f"POST {_OF_BAKERY}/devices": Scope.PEOPLE,
    f"GET {_OF_BAKERY}/accounts": Scope.PEOPLE,
    f"PUT {_OF_BAKERY}/accounts/{{login}}": Scope.PEOPLE,
    f"DELETE {_OF_BAKERY}/accounts/{{login}}": Scope.PEOPLE,
    f"GET {_OF_BAKERY}/changes": Scope.PEOPLE,
    f"POST {_OF_BAKERY}/people/{{person_id}}/forget": Scope.PEOPLE,
    "GET /plans": Scope.READ,
    "POST /plans": Scope.SHIFT,
    "GET /plans/{plan_id}": Scope.READ,
    "GET /plans/{plan_id}/progress": Scope.READ,
    "GET /plans/{plan_id}/past-days": Scope.READ,
    "POST /plans/{plan_id}/stop": Scope.SHIFT,
    "POST /plans/{plan_id}/approve": Scope.SHIFT,
    "POST /plans/{plan_id}/withdraw": Scope.SHIFT,
    "GET /plans/{plan_id}/sheet": Scope.READ,
    "GET /plans/{plan_id}/sheet.pdf": Scope.READ,
    "GET /plans/{plan_id}/day.svg": Scope.READ,
    "GET /plans/{plan_id}/rows": Scope.READ,
    "GET /plans/{plan_id}/rows.csv": Scope.READ,
    "GET /plans/{plan_id}/mixes": Scope.READ,
    "GET /plans/{plan_id}/mixes/{mix_id}": Scope.READ,
    "GET /plans/{plan_id}/preparations": Scope.READ,
    "GET /plans/{plan_id}/preparations/{preparation_id}": Scope.READ,
    "GET /plans/{plan_id}/alerts": Scope.READ,
    "GET /plans/{plan_id}/changes": Scope.READ,
    "GET /plans/{plan_id}/formulas": Scope.READ,
    "GET /plans/{plan_id}/mixes/{mix_id}/ticket": Scope.READ,
    "GET /plans/{plan_id}/mixes/{mix_id}/dosing": Scope.READ,
    "GET /plans/{plan_id}/readings": Scope.READ,
    "POST /plans/{plan_id}/readings": Scope.READING,
    "POST /plans/{plan_id}/readings/batch": Scope.READING,
}
"""The scope that each route needs: its method, and its path below ``/api/v1``."""


@dataclass(frozen=True, slots=True)
class Principal:
    """Whoever sends a request.

    Attributes
    ----------
    name
        For the trail of changes.
    bakery_id
        The only bakery there is for them; None for all.
    by_browser
        Whether a browser sends it without being asked who, so that other sites could send requests
        in their name.
    """

    name: str
    role: Role
    bakery_id: str | None
    by_browser: bool = False

    def may(self, scope: Scope) -> bool:
        """Return whether they have a scope."""
        return scope in SCOPES[self.role]

    def sees(self, bakery_id: str) -> bool:
        """Return whether a bakery is there for them."""
        return self.bakery_id is None or self.bakery_id == bakery_id


ANYBODY = Principal("somebody, in demo mode", Role.OPERATOR, None, by_browser=True)
"""Whoever sends a request in demo mode."""


def bakery_of_plan(plan_id: str) -> str:
    """Return the bakery of a plan's id.

    Examples
    --------
    >>> bakery_of_plan("weir.2026-07-16.1")
    'weir'
    """
    return plan_id.rsplit(".", 2)[0]
