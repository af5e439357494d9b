"""The commands: what they print, where they write, and how they end."""

import json
import subprocess
import sys

import pytest
from typer.testing import CliRunner

from api import cli, scenario_files
from api.cli import Tools, app
from api.cli_errors import BROKE_OFF, FAULTS, USAGE
from api.pages.choice import Paper
from api.pages.pdf import NoPdfError
from planner.errors import InputError, NotConvergedError, refuse
from tests.api.pages.sample import sample_plan

HEAVY = ("numpy", "ortools", "fastapi", "sqlmodel", "uvicorn", "jinja2", "rich.table", "planner")


class FakePlanner:
    """Hands out the sample plan, and remembers what it was asked."""

    def __init__(self, error: Exception | None = None) -> None:
        self.error = error
        self.days, self.known = [], []

    def __call__(self, day, _conditions, corrections, **_more):
        self.days.append(day)
        self.known.append(corrections)
        if self.error is not None:
            raise self.error
        return sample_plan()


@pytest.fixture
def planner(monkeypatch) -> FakePlanner:
    """A planner without planning, and a day reader without a file format."""
    plan = sample_plan()
    monkeypatch.setattr(cli, "_night_of", lambda _: cli.Night(plan.day, plan.conditions, ()))
    return FakePlanner()


@pytest.fixture
def in_folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "day.toml").write_text("# A day.\n")
    (tmp_path / "july_night.toml").write_text("# A July night.\n")
    monkeypatch.setattr(scenario_files, "PACKED", tmp_path)
    return tmp_path


def run(*arguments: str, planner=None, serve=None):
    tools = Tools(make_plan=planner, serve=serve)
    return CliRunner().invoke(app, list(arguments), obj=tools)


# -- cost of starting --------------------------------------------------------------------------


def modules_after(statement: str) -> set[str]:
    script = f"import sys; {statement}; print(' '.join(sys.modules))"
    done = subprocess.run(
        [sys.executable, "-c", script], check=True, capture_output=True, text=True
    )
    return set(done.stdout.split())


def test_starting_imports_nothing_heavy():
    loaded = modules_after("import api.cli")
    assert not [name for name in HEAVY if name in loaded]


def test_help_imports_little_more_than_typer():
    """Bare typer loads some 250 modules; ours may add a handful, not a framework."""
    bare = modules_after("import typer")
    ours = modules_after("import api.cli")
    assert len(ours - bare) < 30


# -- demo --------------------------------------------------------------------------------------


def test_the_demo_prints_the_table_and_writes_the_sheet(planner, in_folder):
    done = run("demo", planner=planner)
    assert done.exit_code == 0
    assert "Bakery at the Weir, Thursday 16 July 2026" in done.stdout
    assert "Ice and chilled water" in done.stdout
    assert "ovenward-bench-sheet.html" in done.stderr
    page = (in_folder / "ovenward-bench-sheet.html").read_text(encoding="utf-8")
    assert page.startswith("<!DOCTYPE html>")


def test_an_unknown_demo_day_names_the_known_ones(planner, in_folder):
    done = run("demo", "--scenario", "winter", planner=planner)
    assert done.exit_code == USAGE
    assert "day, july_night" in done.stderr
    assert not (in_folder / "ovenward-bench-sheet.html").exists()


@pytest.mark.usefixtures("in_folder")
def test_demo_days_are_listed_with_their_first_comment():
    assert "july_night  A July night." in run("scenarios").stdout


# -- plan --------------------------------------------------------------------------------------


@pytest.mark.usefixtures("in_folder")
def test_plan_prints_in_the_units_asked_for(planner):
    assert "°C" in run("plan", "day.toml", planner=planner).stdout
    assert "°F" in run("plan", "day.toml", "--units", "us", planner=planner).stdout


def test_plan_draws_the_day_into_a_file(in_folder, planner):
    done = run("plan", "day.toml", "--drawing", "day.svg", planner=planner)
    assert (done.exit_code, "day.svg" in done.stderr) == (0, True)
    drawn = (in_folder / "day.svg").read_text(encoding="utf-8")
    assert drawn.startswith("<?xml")
    assert "The day of 2026-07-16" in drawn
    nowhere = run("plan", "day.toml", "--drawing", "none/day.svg", planner=planner)
    assert (nowhere.exit_code, "cannot be written" in nowhere.stderr) == (USAGE, True)


@pytest.mark.usefixtures("in_folder")
def test_balance_prints_one_mix_and_the_first_when_none_is_named(planner):
    first = run("balance", "day.toml", planner=planner)
    assert first.exit_code == 0
    assert "together" in first.stdout
    assert first.stdout == run("balance", "day.toml", "white", planner=planner).stdout


@pytest.mark.usefixtures("in_folder")
def test_balance_of_an_unknown_mix_lists_the_known_ones(planner):
    done = run("balance", "day.toml", "nobody", planner=planner)
    assert done.exit_code == cli.USAGE
    assert "There is no mix 'nobody'; there are: white" in done.stderr


@pytest.mark.usefixtures("in_folder")
def test_plan_as_json_is_json_and_nothing_else(planner):
    done = run("plan", "day.toml", "--json", planner=planner)
    assert len(json.loads(done.stdout)["mixes"]) == 3


def test_plan_writes_a_sheet_only_when_asked(planner, in_folder):
    run("plan", "day.toml", planner=planner)
    assert not list(in_folder.glob("*.html"))
    run("plan", "day.toml", "--sheet", "wall.html", planner=planner)
    assert (in_folder / "wall.html").exists()


@pytest.mark.usefixtures("in_folder")
def test_a_sheet_that_cannot_be_written_is_said_plainly(planner):
    done = run("plan", "day.toml", "--sheet", "none/wall.html", planner=planner)
    assert done.exit_code == USAGE
    assert "none/wall.html cannot be written" in done.stderr


@pytest.mark.usefixtures("in_folder", "planner")
@pytest.mark.parametrize(
    ("error", "code", "text"),
    [
        (refuse("ice", -1, "is negative", "enter kilos"), FAULTS, "ice: is negative (got -1)"),
        (NotConvergedError("water_temperature"), BROKE_OFF, "broke off: water_temperature"),
    ],
)
def test_errors_are_sentences_and_codes(error, code, text):
    done = run("plan", "day.toml", planner=FakePlanner(error))
    assert done.exit_code == code
    assert text in done.stderr
    assert "Traceback" not in done.output


@pytest.mark.usefixtures("in_folder", "planner")
def test_an_error_of_ours_is_not_hidden_as_a_fault_of_the_input():
    done = run("plan", "day.toml", planner=FakePlanner(KeyError("oven")))
    assert isinstance(done.exception, KeyError)


@pytest.mark.usefixtures("in_folder")
@pytest.mark.parametrize("command", ["plan", "check"])
def test_a_missing_file_is_said_plainly(command):
    done = run(command, "none.toml")
    assert done.exit_code == USAGE
    assert "none.toml cannot be read: No such file" in done.stderr


def test_a_file_that_is_not_text_is_said_plainly(in_folder):
    (in_folder / "day.toml").write_bytes(b"\xff\xfe\x00a")
    done = run("check", "day.toml")
    assert (done.exit_code, "save it as UTF-8" in done.stderr) == (USAGE, True)


def test_unknown_units_list_the_known_ones(planner, in_folder):
    done = run("plan", str(in_folder / "day.toml"), "--units", "stone", planner=planner)
    assert done.exit_code == USAGE
    assert "metric, us" in done.stderr


# -- check -------------------------------------------------------------------------------------


@pytest.mark.usefixtures("in_folder", "planner")
def test_check_counts_what_a_day_holds():
    done = run("check", "day.toml")
    assert done.exit_code == 0
    assert "3 lines of the mix list, 3 formulas, 3 products, 2 mixers" in done.stdout


@pytest.mark.usefixtures("in_folder")
def test_check_names_every_fault_and_counts_them(monkeypatch):
    faults = [
        fault
        for field in ("bakery.zone", "orders[1].pieces")
        for fault in refuse(field, 0, "cannot be", "enter another").faults
    ]

    def refuse_all(_text):
        raise InputError(faults)

    monkeypatch.setattr(cli, "_night_of", refuse_all)
    done = run("check", "day.toml")
    assert done.exit_code == FAULTS
    assert done.stderr.splitlines() == [
        "bakery.zone: cannot be (got 0); enter another.",
        "orders[1].pieces: cannot be (got 0); enter another.",
        "2 faults.",
    ]


ORDERS = "product;pieces;leave_by\nwhite tin;24;06:00\nwhite tin;12;06:15\n"


@pytest.fixture
def least(tmp_path, monkeypatch):
    """The day that enters the least, in a folder of its own."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "day.toml").write_text(scenario_files.scenario_text("least_entry"))
    return tmp_path


def test_orders_of_a_list_replace_those_of_the_day(least):
    (least / "orders.csv").write_text(ORDERS)
    assert "1 line of the mix list" in run("check", "day.toml").stdout
    assert "2 lines of the mix list" in run("check", "day.toml", "--orders", "orders.csv").stdout


def test_faults_of_the_day_and_of_its_orders_are_told_together(least):
    """A dough at 245 °C is 24.5 with its point forgotten; "x" pieces are none."""
    day = least / "day.toml"
    day.write_text(day.read_text().replace("dough_c = 25 ", "dough_c = 245 "))
    (least / "orders.csv").write_text(ORDERS.replace("12", "x"))
    done = run("check", "day.toml", "--orders", "orders.csv")
    assert done.exit_code == FAULTS
    lines = done.stderr.splitlines()
    assert any("dough_c" in line and "245" in line for line in lines)
    assert any(line.startswith("orders.csv, line 3") for line in lines)
    assert lines[-1] == f"{len(lines) - 1} faults."


def test_a_slip_in_the_notation_is_named_with_its_line(least):
    (least / "day.toml").write_text("production_date = 2026-05-12\nmix_list = [\n")
    done = run("check", "day.toml")
    assert done.exit_code == FAULTS
    assert "is not written as TOML" in done.stderr


FINISHED = """
[[finished]]
mixer = "spiral mixer"
formula = "white tin dough"
water_c = 12
dough_end_c = 27.5
"""


@pytest.mark.parametrize("command", ["plan", "balance"])
def test_finished_mixes_teach_the_night_that_is_planned(least, command):
    """Nothing is known without them; with them the core gets what they taught."""
    (least / "finished.toml").write_text(FINISHED)
    planner = FakePlanner()
    for more in ([], ["--finished", "finished.toml"]):
        assert run(command, "day.toml", *more, planner=planner).exit_code == 0
    assert [[one.readings for one in known.mixing_work] for known in planner.known] == [[], [1]]


def test_a_fault_in_finished_mixes_is_named_with_its_file(least):
    (least / "finished.toml").write_text(FINISHED.replace("27.5", "275"))
    done = run("plan", "day.toml", "--finished", "finished.toml", planner=FakePlanner())
    assert done.exit_code == FAULTS
    assert done.stderr.startswith("finished.toml, finished[0].dough_end_c")
    missing = run("plan", "day.toml", "--finished", "nowhere.toml", planner=FakePlanner())
    assert missing.exit_code == USAGE


# -- serve -------------------------------------------------------------------------------------


def test_serve_listens_where_it_is_told():
    asked = []
    done = run("serve", "--host", "127.0.0.2", "--port", "8123", serve=lambda *a: asked.append(a))
    assert (done.exit_code, asked) == (0, [("127.0.0.2", 8123)])


def test_papers_writes_every_paper_of_a_night(in_folder, planner, monkeypatch):
    def no_pdf(_page):
        raise NoPdfError("PDF is not installed here.")

    monkeypatch.setattr("api.paper_samples.pdf_of", no_pdf)
    done = run("papers", "--folder", "papers", planner=planner)
    assert done.exit_code == 0
    written = {path.name for path in (in_folder / "papers").iterdir()}
    kinds = {f"{paper.value}.html" for paper in Paper}
    assert kinds | {"shift.html", "rows.csv", "rows.json", "dosing.json", "day.svg"} <= written
    assert {"place-deck.html", "place-twin.html", "person-ana.html"} <= written
    assert "PDF is not installed here." in done.stderr
    slip = (in_folder / "papers" / "slip.html").read_text("utf-8")
    assert "Version 4 says on paper" in slip


@pytest.mark.parametrize(("option", "value"), [("--language", "xx"), ("--size", "A0")])
def test_papers_in_no_language_or_size_there_is_are_refused(in_folder, planner, option, value):
    done = run("papers", "--folder", "papers", option, value, planner=planner)
    assert done.exit_code == USAGE
    assert "there are:" in done.stderr
    assert not (in_folder / "papers").exists()
