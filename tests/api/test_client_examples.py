"""The client examples of README.md run as they stand there."""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from api.main import create_app
from api.settings import Settings
from tests.api.fake_core import FakeCore, day_document
from tests.api.live import listening

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")


def block(name):
    found = re.search(rf"<!-- {name} -->\n```\w*\n(.*?)```", README, re.DOTALL)
    assert found, name
    return found[1]


@pytest.fixture
def address(tmp_path):
    import httpx  # noqa: PLC0415  only the example needs it

    made = Settings(data_dir=tmp_path, demo=True, timers=False)
    with listening(create_app(made, core=FakeCore())) as (where, _):
        httpx.put(f"{where}/api/v1/bakeries/weir/days/2026-07-16", json=day_document())
        wanted = {"bakery_id": "weir", "production_date": "2026-07-16"}
        assert httpx.post(f"{where}/api/v1/plans", json=wanted, timeout=30).status_code == 201
        yield where


def run(command, where, folder):
    environment = {**os.environ, "OVENWARD": where}
    done = subprocess.run(
        command, env=environment, cwd=folder, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_the_client_in_python_prints_the_five_numbers(address, tmp_path):
    """Twice: the second time the same reading is known."""
    for _ in range(2):
        printed = run([sys.executable, "-c", block("client in Python")], address, tmp_path)
        assert [line.split()[0] for line in printed.splitlines()] == [
            "dough",
            "water",
            "mixing",
            "water",
            "ice",
        ]


@pytest.mark.skipif(
    shutil.which("curl") is None and os.environ.get("CI") != "true", reason="no curl here"
)
def test_the_client_in_a_shell_puts_back_what_it_read_and_changes_nothing(address, tmp_path):
    script = block("client in a shell")
    printed = run(["bash", "-euo", "pipefail", "-c", script], address, tmp_path)
    assert "ovenward-change: unchanged" in printed.lower()
