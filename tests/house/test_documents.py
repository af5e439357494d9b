"""What is public is documented: settings, commands, scenarios."""

import re
from pathlib import Path

import pytest
from typer.main import get_command

from api.cli import app
from api.scenario_files import scenario_names
from api.settings import Settings, variable

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", sorted(Settings.model_fields))
def test_each_setting_stands_in_the_readme_with_its_default(name):
    row = next(
        (line for line in README.splitlines() if line.startswith(f"| `{variable(name)}` |")), None
    )
    assert row, f"README.md does not list {variable(name)}"
    default = str(Settings.model_fields[name].default)
    if default not in ("", "."):
        assert f"`{default}`" in row


def test_no_setting_stands_there_that_does_not_exist():
    named = set(re.findall(r"OVENWARD_[A-Z_]+", README))
    assert named <= {variable(name) for name in Settings.model_fields}


def test_each_command_stands_in_the_readme():
    for command in get_command(app).commands:
        assert f"ovenward {command}" in README, command


def test_the_readme_names_only_commands_that_exist():
    known = set(get_command(app).commands)
    for command in re.findall(r"`ovenward ([a-z]+)", README):
        assert command in known, command


def test_each_scenario_opens_with_what_its_day_shows():
    for name in scenario_names():
        text = (ROOT / "scenarios" / f"{name}.toml").read_text(encoding="utf-8")
        assert text.startswith("# "), name


def test_each_module_of_the_core_stands_in_the_walk():
    """A module that the walk does not name is one that a new contributor does not find."""
    walked = set(re.findall(r"`(?:planner/)?([a-z_]+)\.py`", DEVELOPERS))
    modules = {path.stem for path in (ROOT / "planner").glob("*.py")} - {"__init__"}
    assert modules <= walked, sorted(modules - walked)
