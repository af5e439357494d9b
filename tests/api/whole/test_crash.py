"""The real process, killed at random moments: what it acknowledged is there, and told once."""

import pytest

from tests.benchmarks import crash, replicas

pytestmark = pytest.mark.scenario


@pytest.fixture(params=["sqlite", "postgres"])
def empty(request, tmp_path):
    """A database of either kind without tables: the service makes them."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path}/ovenward.sqlite3"
    return request.getfixturevalue("postgres_address")


def test_nothing_acknowledged_is_lost_and_nothing_told_twice(empty, tmp_path):
    """Three kills; `python -m tests.benchmarks.crash` is the long version."""
    report = crash.run(empty, tmp_path, rounds=3, seed=7)
    assert report.faults == []
    assert report.readings > 0
    assert report.plans >= crash.BAKERIES
    assert report.timers > 0


def test_of_three_replicas_one_leads_and_its_death_loses_no_timer(postgres_address, tmp_path):
    """Two leaders die; `python -m tests.benchmarks.replicas` is the long version."""
    told = replicas.run(postgres_address, tmp_path, timers=30)
    assert len(told.killed) == 2
    assert len(set(told.killed)) == 2
    assert set(told.times.values()) == {1}
    assert len(told.times) == 30
