"""Demo days by name."""

from __future__ import annotations

from pathlib import Path

import pytest

SCENARIOS = Path(__file__).parents[3] / "scenarios"


@pytest.fixture
def scenario():
    return lambda name: (SCENARIOS / f"{name}.toml").read_text(encoding="utf-8")
