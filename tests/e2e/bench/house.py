"""A bakery that really works: the service with the real core, one night, and a clock to turn."""

from __future__ import annotations

from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx2
from sqlmodel import Session

from api.files.toml_day import parsed
from api.main import create_app
from api.schemas.accounts import KeyCreate
from api.settings import Settings
from api.store import keys
from api.store.engine import for_writing
from tests.api.live import listening

SCENARIOS = Path(__file__).parents[3] / "scenarios"
BAKERY = "bakehouse"
BEFORE = timedelta(minutes=15)


def plain(data):
    """Return TOML data as JSON has it."""
    if isinstance(data, dict):
        return {key: plain(value) for key, value in data.items()}
    if isinstance(data, list):
        return [plain(value) for value in data]
    return data.isoformat() if hasattr(data, "isoformat") else data


def document_of(scenario, **bakery):
    """A demo day as it is sent, with some of its bakery replaced."""
    document = plain(parsed((SCENARIOS / f"{scenario}.toml").read_text(encoding="utf-8")))
    document["bakery"] |= bakery
    return document


class House:
    """A running service with planned nights.

    Attributes
    ----------
    address
        Where it listens.
    now
        What its clock says [UTC].
    plan, mixes
        The plan's id and its mixes in the order of starting.
    """

    def __init__(self):
        self.address, self.plan, self.mixes = "", "", []
        self.now = datetime(2026, 1, 1, tzinfo=UTC)
        self.app = None

    def get(self, path):
        return httpx2.get(self.address + path, timeout=60)

    def post(self, path, body):
        return httpx2.post(self.address + path, json=body, timeout=120)

    def put_day(self, document):
        """Plan a day; it is then the night of the house."""
        date = document["production_date"]
        path = f"/api/v1/bakeries/{BAKERY}/days/{date}"
        assert httpx2.put(self.address + path, json=document, timeout=60).is_success
        made = self.post("/api/v1/plans", {"bakery_id": BAKERY, "production_date": date})
        assert made.status_code == 201, made.text
        self.look_at(made.json()["id"])

    def put_account(self, login, password):
        """Let somebody sign in; before that, only the first account of all can be made."""
        path = f"{self.address}/api/v1/bakeries/{BAKERY}/accounts/{login}"
        sent = {"name": login, "role": "bench", "password": password}
        made = httpx2.put(path, json=sent, timeout=60)
        assert made.is_success, made.text

    def look_at(self, plan):
        """Take a plan for the night, its clock a quarter of an hour before the first mix."""
        self.plan = plan
        night = self.get(f"/api/v1/plans/{plan}").json()["night"]
        self.mixes = sorted(night["mixes"], key=lambda mix: mix["start_utc"])
        self.now = datetime.fromisoformat(self.mixes[0]["start_utc"]) - BEFORE

    def readings(self, kind=None):
        """Readings that were stored, in the order of arrival."""
        listed = self.get(f"/api/v1/plans/{self.plan}/readings").json()
        return [one for one in listed if kind in (None, one["kind"])]

    def answer_to(self, stored):
        """What the service answered to a reading that it has stored."""
        asked = {key: one for key, one in stored.items() if one is not None}
        sent = {key: one for key, one in asked.items() if key not in {"received_at", "offset_k"}}
        answered = self.post(f"/api/v1/plans/{self.plan}/readings", sent)
        assert answered.status_code == 200, answered.text
        return answered.json()

    def key(self, role="bench"):
        """A key of a device."""
        engine = self.app.state.services.engine
        with Session(for_writing(engine)) as session, session.begin():
            sent = KeyCreate.model_construct(name=role, role=role, expires_at=None)
            return keys.create(session, BAKERY, sent, "test", self.now).key


@contextmanager
def open_house(folder, **changes):
    """Serve what is stored in a folder."""
    house = House()
    usual = {"demo": True, "deterministic_s": 0.5, "workers": 1, "plan_wait_s": 120}
    settings = Settings(data_dir=folder, timers=False, **{**usual, **changes})
    house.app = create_app(settings, clock=lambda: house.now)
    with listening(house.app) as (address, _):
        house.address = address
        yield house
