"""The operator's commands as they are typed."""

import json

import pytest
from typer.testing import CliRunner

from api.cli import app
from api.jobs.leader import leader_for
from api.store.engine import open_engine

RUNNER = CliRunner()


@pytest.fixture
def run(sqlite_address, monkeypatch):
    monkeypatch.setenv("OVENWARD_DATABASE_URL", sqlite_address)

    def command(*words, code=0):
        result = RUNNER.invoke(app, [str(word) for word in words])
        assert result.exit_code == code, result.output
        return result.output

    return command


def test_a_copy_is_made_and_put_back(run, tmp_path):
    copy = tmp_path / "copy.sqlite3"
    assert "whole copy" in run("backup", copy)
    assert "is the database now" in run("restore", copy)


def test_a_copy_is_not_put_back_under_a_running_service(run, tmp_path, sqlite_address):
    copy = tmp_path / "copy.sqlite3"
    run("backup", copy)
    engine = open_engine(sqlite_address)
    leader = leader_for(engine)
    assert leader.leads()
    assert "stop it first" in run("restore", copy, code=2)
    run("restore", copy, "--force")
    leader.close()
    engine.dispose()


def test_what_is_no_copy_is_named(run, tmp_path):
    wrong = tmp_path / "wrong"
    wrong.write_text("no database")
    assert "cannot be read" in run("restore", wrong, code=1)
    assert "is not there" in run("restore", tmp_path / "nothing", code=1)


def test_an_export_is_written_and_brought_in(run, tmp_path):
    file = tmp_path / "all.json"
    assert "0 rows" in run("export", file)
    assert json.loads(file.read_text())["format"] == "ovenward export"
    assert "0 rows" in run("import", file)
    assert "no bakery 'weir'" in run("export", file, "--bakery", "weir", code=2)
    file.write_text("{")
    assert "no JSON" in run("import", file, code=2)
    assert "cannot be read" in run("import", tmp_path / "nothing", code=2)


def test_tidying_says_what_is_gone(run):
    assert "0 plans" in run("tidy")


def test_the_doctor_looks_at_everything(run):
    told = RUNNER.invoke(app, ["doctor"]).output
    for what in ("database", "clock", "disk", "zones", "leader", "backlog", "forecasts"):
        assert what in told
    assert run


def test_the_doctor_ends_with_1_where_something_is_broken(run, monkeypatch, tmp_path):
    monkeypatch.setenv("OVENWARD_DATABASE_URL", f"sqlite:///{tmp_path / 'empty.sqlite3'}")
    assert "broken" in run("doctor", code=1)
