"""A bakery that really works: the service with the real core, one night, and a clock to turn."""

from __future__ import annotations

from contextlib import contextmanager
from datetime import datetime, timedelta
from pathlib import Path

import httpx2

from api.files.toml_day import parsed
from api.main import create_app
from api.settings import Settings
from tests.api.live import listening

SCENARIOS = Path(__file__).parents[3] / "scenarios"
BAKERY = "bakehouse"


def plain(data):
    """Return TOML data as JSON has it."""
    if isinstance(data, dict):
        return {key: plain(value) for key, value in data.items()}
    if isinstance(data, list):
        return [plain(value) for value in data]
    return data.isoformat() if hasattr(data, "isoformat") else data


class House:
    """A running service with one planned night."""

    def __init__(self, address, night, now):
        self.address, self.night, self.now = address, night, now

    def get(self, path):
        return httpx2.get(self.address + path, timeout=60)

    @property
    def plan(self):
        return self.night["id"]

    @property
    def mixes(self):
        return sorted(self.night["night"]["mixes"], key=lambda mix: mix["start_utc"])

    def readings(self):
        return self.get(f"/api/v1/plans/{self.plan}/readings").json()

    def pass_minutes(self, minutes):
        self.now += timedelta(minutes=minutes)


@contextmanager
def open_house(folder, scenario="winter_rye", **changes):
    """Plan a demo day and serve it, its clock a quarter of an hour before the first mix."""
    document = plain(parsed((SCENARIOS / f"{scenario}.toml").read_text(encoding="utf-8")))
    document["bakery"] |= changes.pop("bakery", {})
    date = document["production_date"]
    house = House("", None, datetime.fromisoformat(f"{date}T00:00:00+00:00"))
    settings = Settings(
        data_dir=folder, **{"demo": True, "deterministic_s": 0.5, "workers": 1, "plan_wait_s": 120,
        "timers": False, **changes},
    )  # fmt: skip
    app = create_app(settings, clock=lambda: house.now)
    with listening(app) as (address, server):
        house.address, house.server = address, server
        days = f"{address}/api/v1/bakeries/{BAKERY}/days/{date}"
        assert httpx2.put(days, json=document, timeout=60).is_success
        wanted = {"bakery_id": BAKERY, "production_date": date}
        made = httpx2.post(f"{address}/api/v1/plans", json=wanted, timeout=120)
        assert made.status_code == 201, made.text
        house.night = made.json()
        house.now = datetime.fromisoformat(house.mixes[0]["start_utc"]) - timedelta(minutes=15)
        yield house
