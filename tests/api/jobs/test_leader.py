"""One process leads; when it dies another does."""

import multiprocessing
from time import monotonic, sleep

import pytest

from api.jobs.leader import leader_for
from api.store.engine import open_engine


def lead(address, ready):
    engine = open_engine(address)
    leader = leader_for(engine)
    assert leader.leads()
    ready.set()
    sleep(60)


def test_one_leads_and_the_next_when_it_gives_up(engine):
    first, second = leader_for(engine), leader_for(engine)
    assert (first.leads(), second.leads(), first.leads()) == (True, False, True)
    first.close()
    assert second.leads()
    second.close()


@pytest.mark.parametrize("round", range(3))
def test_the_death_of_a_leader_frees_its_place(address, round):  # noqa: ARG001  again and again
    """Killed, not told to stop; the place is free within 5 s."""
    context = multiprocessing.get_context("spawn")
    ready = context.Event()
    process = context.Process(target=lead, args=(address, ready))
    process.start()
    engine = open_engine(address)
    leader = leader_for(engine)
    assert ready.wait(30)
    assert not leader.leads()
    process.kill()
    process.join(10)
    end = monotonic() + 5
    while not leader.leads() and monotonic() < end:
        sleep(0.05)
    assert leader.leads()
    leader.close()
    engine.dispose()
