"""The house itself: what lies where, how long it is, and what no file may hold."""

import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "docker-compose.yml",
    "planner",
    "api",
    "tests",
    "scenarios",
}
LONGEST_LINES = 500

# Spelt backwards, so that this file does not hold what it looks for.
REGISTRIES = [
    name[::-1] for name in ("gro.ipyp", "gro.detsohnohtyp", "gro.sjmpn", "oi.setarc", "lru-xedni")
]
# An absolute path of somebody's machine; one inside an address or after a variable is none.
MACHINE_PATH = re.compile(r"(?:^|[^\w.:/-])/(?:home|root|tmp|work|farm|opt|srv|mnt)/", re.MULTILINE)


def tracked():
    """List the files that are in the repository or would be with the next commit."""
    listing = subprocess.run(
        ["git", "-c", "safe.directory=*", "ls-files", "-z", "-co", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    names = {name for name in listing.stdout.split("\0") if name}
    return sorted(name for name in names if (ROOT / name).is_file())


TRACKED = tracked()


def read(name):
    """Return a tracked file's text; what is not text shows as replacement signs."""
    return (ROOT / name).read_text(encoding="utf-8", errors="replace")


def forbidden_in(text):
    """Return the registry hosts and machine paths that a text holds."""
    low = text.lower()
    return [host for host in REGISTRIES if host in low] + MACHINE_PATH.findall(text)


def test_the_repository_is_listed():
    assert {"pyproject.toml", "README.md", "planner/__init__.py"} <= set(TRACKED)


def test_the_top_level_holds_only_what_has_a_place_there():
    top = {name.split("/")[0] for name in TRACKED}
    assert {name for name in top if not name.startswith(".")} <= TOP_LEVEL


@pytest.mark.parametrize("name", TRACKED)
def test_no_file_names_a_registry_or_a_machine_path(name):
    assert forbidden_in(read(name)) == []


@pytest.mark.parametrize(
    "text",
    ["see {}home/me/day.toml", "{}tmp/day", "first line\n{}opt/wheels", "folder='{}srv/day'"],
)
def test_a_planted_machine_path_is_seen(text):
    assert len(forbidden_in(text.format("/"))) == 1


@pytest.mark.parametrize("text", ["https:{0}{0}ovens.example{0}work{0}7", "planner{0}tmp{0}day"])
def test_the_path_of_an_address_is_no_machine_path(text):
    assert forbidden_in(text.format("/")) == []


@pytest.mark.parametrize("host", REGISTRIES)
def test_a_planted_registry_is_seen(host):
    assert forbidden_in(f"https://{host}/simple") == [host]
    assert forbidden_in(f"HTTPS://FILES.{host.upper()}/simple") == [host]


@pytest.mark.parametrize("name", [name for name in TRACKED if name.endswith(".py")])
def test_no_source_file_is_too_long(name):
    lines = len(read(name).splitlines())
    assert lines <= LONGEST_LINES


def test_no_lock_file_is_tracked():
    """A lock file spells out the address of an index for each of its files."""
    assert [name for name in TRACKED if name.endswith(".lock")] == []
