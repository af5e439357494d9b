"""The lint and type rules catch what they are there to catch."""

import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PLANTS = tomllib.loads((ROOT / "tests/planted/core_bans.toml").read_text())["plant"]
CLEAN = '''"""A module of the core with nothing to complain about."""


def rise_k(work_kj: float, heat_capacity_kj_per_k: float) -> float:
    """Return the temperature rise [K] of work turned to heat."""
    return work_kj / heat_capacity_kj_per_k
'''


@pytest.fixture
def tree(tmp_path):
    """Give an empty house with this one's rules."""
    for folder in ("planner", "api"):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "__init__.py").write_text('"""A package."""\n')
    for name in ("pyproject.toml", "planner/ruff.toml"):
        shutil.copy(ROOT / name, tmp_path / name)
    return tmp_path


def run(folder, module, *arguments):
    """Run a tool of this environment in `folder`."""
    return subprocess.run(
        [sys.executable, "-m", module, *arguments],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
    )


def found(tree, snippet, file="planner/planted.py"):
    """Lint a snippet; return the exit code and the lines of the report."""
    (tree / file).write_text(snippet)
    report = run(tree, "ruff", "check", "--no-cache", "--output-format=concise", file)
    return report.returncode, report.stdout.splitlines()


def test_every_ban_of_the_core_has_a_plant():
    rules = tomllib.loads((ROOT / "planner/ruff.toml").read_text())
    banned = rules["lint"]["flake8-tidy-imports"]["banned-api"]
    assert {plant["ban"] for plant in PLANTS if "ban" in plant} == set(banned)


@pytest.mark.parametrize("plant", PLANTS, ids=lambda plant: plant.get("ban", plant["code"]))
def test_ruff_reports_the_plant(tree, plant):
    code, report = found(tree, f'"""A planted module."""\n\n{plant["snippet"].lstrip()}')
    named = f"`{plant['ban']}` is banned" if "ban" in plant else ""
    assert code == 1
    assert any(f" {plant['code']} " in line and named in line for line in report), report


def test_a_clean_module_passes(tree):
    assert found(tree, CLEAN) == (0, ["All checks passed!"])


def test_the_service_may_ask_the_time(tree):
    """The bans are the core's own; if they held everywhere the plants would prove less."""
    clock = (
        '"""The one clock."""\n\nfrom datetime import UTC, datetime\n\nNOW = datetime.now(UTC)\n'
    )
    assert found(tree, clock, "api/clock.py") == (0, ["All checks passed!"])


@pytest.mark.parametrize(
    ("snippet", "code"),
    [
        ("def rise(work):\n    return work\n", "no-untyped-def"),
        ("def rise(work: list) -> float:\n    return 7.0\n", "type-arg"),
        ("def rise() -> float:\n    return '7'\n", "return-value"),
    ],
)
def test_mypy_is_strict(tree, snippet, code):
    (tree / "planner/planted.py").write_text(snippet)
    report = run(tree, "mypy", "--cache-dir", str(tree / "cache"))
    assert report.returncode == 1
    assert f"[{code}]" in report.stdout


def test_mypy_passes_a_clean_module(tree):
    (tree / "planner/planted.py").write_text(CLEAN)
    report = run(tree, "mypy", "--cache-dir", str(tree / "cache"))
    assert report.returncode == 0, report.stdout + report.stderr
