"""The demo days are found, and say what they show."""

import pytest

from api import scenario_files
from api.scenario_files import UnknownScenarioError, first_comment, scenario_text


@pytest.fixture
def two_days(tmp_path, monkeypatch):
    (tmp_path / "b_day.toml").write_text("# The second.\nid = 'b'\n")
    (tmp_path / "a_day.toml").write_text("# The\n# first.\n\n# Details.\n")
    monkeypatch.setattr(scenario_files, "PACKED", tmp_path)


@pytest.mark.usefixtures("two_days")
def test_names_are_the_files_in_order():
    assert scenario_files.scenario_names() == ("a_day", "b_day")


@pytest.mark.usefixtures("two_days")
def test_an_unknown_day_lists_the_known_ones():
    with pytest.raises(UnknownScenarioError, match="no demo day 'c'; there are: a_day, b_day"):
        scenario_text("c")


@pytest.mark.usefixtures("two_days")
def test_a_name_cannot_leave_the_folder():
    with pytest.raises(UnknownScenarioError):
        scenario_text("../a_day")


@pytest.mark.usefixtures("two_days")
def test_only_the_first_comment_counts():
    assert first_comment(scenario_text("a_day")) == "The first."


def test_without_packed_days_those_of_the_checkout_are_used(tmp_path, monkeypatch):
    monkeypatch.setattr(scenario_files, "PACKED", tmp_path / "none")
    monkeypatch.setattr(scenario_files, "CHECKOUT", tmp_path)
    assert scenario_files.folder() == tmp_path
