"""pyproject.toml, the constraints and the README say the same thing, and give their reasons."""

import ast
import re
import subprocess
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
TEXT = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
PROJECT = tomllib.loads(TEXT)
RUNTIME = PROJECT["project"]["dependencies"]
EXTRAS = PROJECT["project"]["optional-dependencies"]
EVERY = sorted({*RUNTIME, *(one for extra in EXTRAS.values() for one in extra)})

# Where the name to import is not the name to install.
IMPORT_NAMES = {"pydantic-settings": "pydantic_settings"}
# Dependencies that work without being imported by us, each with its reason.
USED_BY_OTHERS = {
    "python-multipart": "the web framework reads forms with it",
    "tzdata": "zoneinfo reads the zones from it where the system has none",
}


def name_of(requirement):
    """Return what is installed, without extras and versions."""
    return re.split(r"[\[<>=!~; ]", requirement, maxsplit=1)[0].lower()


def floor_of(requirement):
    """Return the lowest version a requirement takes, as numbers; empty without a floor."""
    floor = re.search(r">=\s*([\d.]+)", requirement)
    return tuple(int(part) for part in floor[1].split(".")) if floor else ()


def constraints():
    """Return the pinned versions, several where they differ by interpreter."""
    pinned = {}
    for line in (ROOT / "tests/constraints.txt").read_text(encoding="utf-8").splitlines():
        if line and not line.startswith("#"):
            name, _, version = line.partition(" ;")[0].strip().partition("==")
            pinned.setdefault(name, []).append(version)
    return pinned


def imported():
    """Return the top-level packages that the source imports, anywhere in a file."""
    found = set()
    for path in [*(ROOT / "planner").rglob("*.py"), *(ROOT / "api").rglob("*.py")]:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                found |= {name.name.split(".")[0] for name in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                found.add(node.module.split(".")[0])
    return found


def ignores_without_reason(text):
    """List the ruff ignores that have no comment beside them."""
    section = text[text.index("[tool.ruff.lint]") : text.index("[tool.mypy]")]
    listed = [line for line in section.splitlines() if re.match(r'\s*"[A-Z]+\d*",', line)]
    single = [line for line in section.splitlines() if re.match(r'"[^"]+" = \[.*\]', line)]
    return [line for line in listed + single if not re.search(r"#\s*\S+", line)]


def readme_commands(name):
    """Return the commands of the block after the line `<!-- name -->` of the README."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    _, marker, rest = readme.partition(f"<!-- {name} -->\n")
    assert marker, f"README.md has no line <!-- {name} -->"
    block = re.search(r"^```[^\n]*\n(.*?)^```", rest, re.MULTILINE | re.DOTALL)
    assert block, f"README.md has no fenced block after <!-- {name} -->"
    return [line for line in block[1].splitlines() if line and not line.startswith("#")]


@pytest.mark.parametrize("requirement", EVERY)
def test_every_dependency_has_a_floor(requirement):
    """Without one a resolver may quietly fall back by years."""
    assert floor_of(requirement)


@pytest.mark.parametrize("requirement", EVERY)
def test_every_dependency_is_pinned_for_the_checks(requirement):
    versions = constraints().get(name_of(requirement), [])
    assert versions
    for version in versions:
        assert tuple(int(part) for part in re.findall(r"\d+", version)) >= floor_of(requirement)


def test_constraints_hold_only_names_and_versions():
    for name, versions in constraints().items():
        assert re.fullmatch(r"[a-z0-9-]+", name)
        assert all(re.fullmatch(r"[\w.]+", version) for version in versions)


def test_the_development_group_points_to_the_extra():
    assert PROJECT["dependency-groups"] == {"dev": ["ovenward[dev]"]}


@pytest.mark.parametrize("requirement", RUNTIME)
def test_every_runtime_dependency_is_used(requirement):
    name = name_of(requirement)
    if name not in USED_BY_OTHERS:
        assert {IMPORT_NAMES.get(name, name)} - imported() == set()


def test_every_ignored_rule_has_its_reason():
    assert ignores_without_reason(TEXT) == []


def test_an_ignore_without_reason_is_seen():
    planted = TEXT.replace("[tool.mypy]", '    "S101",\n"x/**" = ["D"]\n[tool.mypy]')
    assert ignores_without_reason(planted) == ['    "S101",', '"x/**" = ["D"]']


def test_the_readme_shows_a_demo_in_one_command():
    (command,) = readme_commands("demo")
    assert ".venv/bin/ovenward demo" in command


def test_the_readme_shows_the_tests_in_one_command():
    (command,) = readme_commands("tests")
    assert command == (
        "python3 -m venv .venv && .venv/bin/pip install -q -e '.[dev]' && .venv/bin/pytest"
    )


def test_the_checks_run_the_commands_of_the_readme():
    run = subprocess.run(
        [str(ROOT / ".ci/run"), "--commands"], capture_output=True, text=True, check=True
    )
    assert run.stdout.splitlines() == [*readme_commands("demo"), *readme_commands("tests")]
