"""The import rules break where a violation is planted, and only there."""

import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PLANTS = tomllib.loads((ROOT / "tests/planted/imports.toml").read_text())["plant"]
CONTRACTS = [
    contract["name"]
    for contract in tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["importlinter"][
        "contracts"
    ]
]


@pytest.fixture
def tree(tmp_path):
    """Give a copy of the source: what it imports is half of what the rules are about."""
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    for package in ("planner", "api"):
        shutil.copytree(
            ROOT / package,
            tmp_path / package,
            ignore=shutil.ignore_patterns("__pycache__", ".*", "static", "templates"),
        )
    return tmp_path


def lint_imports(tree):
    """Check the imports of a tree; return the verdicts by contract, and the whole report."""
    report = subprocess.run(
        [str(Path(sys.executable).with_name("lint-imports")), "--no-cache", "--no-logo"],
        cwd=tree,
        capture_output=True,
        text=True,
        check=False,
    )
    lines = report.stdout.splitlines()
    verdicts = {
        name: line.removeprefix(name).split()[0]
        for name in CONTRACTS
        for line in lines
        if line.startswith((f"{name} KEPT", f"{name} BROKEN"))
    }
    return report.returncode, verdicts, report.stdout


def test_the_source_keeps_every_contract(tree):
    code, verdicts, report = lint_imports(tree)
    assert verdicts == dict.fromkeys(CONTRACTS, "KEPT"), report
    assert code == 0


def test_every_contract_has_a_plant():
    assert {plant["contract"] for plant in PLANTS} == set(CONTRACTS)


@pytest.mark.parametrize("plant", PLANTS, ids=lambda plant: f"{plant['file']}: {plant['line']}")
def test_the_plant_breaks_its_contract(tree, plant):
    file = tree / plant["file"]
    earlier = file.read_text() if file.exists() else '"""A planted module."""\n'
    file.write_text(f"{earlier}\n{plant['line']}\n")
    code, verdicts, report = lint_imports(tree)
    assert verdicts.get(plant["contract"]) == "BROKEN", report
    assert code == 1
