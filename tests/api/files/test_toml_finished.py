"""A file of finished mixes: it teaches, and each fault names its row."""

import pytest

from api.files import toml_day
from api.files.toml_finished import learned
from api.scenario_files import scenario_text
from planner import Limits, make_plan
from planner.corrections import Corrections
from planner.errors import InputError
from planner.mixers import Speed

MIX = """
[[finished]]
mixer = "spiral mixer"
formula = "white tin dough"
water_c = 12
flour_c = 22
room_c = 22
dough_kg = 48
dough_end_c = {end}
"""


@pytest.fixture
def least():
    return toml_day.load(scenario_text("least_entry"))


def taught(least, text):
    return learned(text, "finished.toml", least.day, least.conditions)


def test_mixes_that_came_off_warm_teach_that_the_mixer_heats_more(least):
    text = "".join(MIX.format(end=end) for end in (27.5, 27.9, 27.6))
    known = taught(least, text)
    assert known.mixing_work[0].readings == 3
    machine = least.day.bakery.mixers[0]
    assert known.work_factors(machine, "wheat")[Speed.SECOND][0] > 1.05
    plans = [
        make_plan(least.day, least.conditions, one, limits=Limits(list_only=True))
        for one in (Corrections(), known)
    ]
    plain, told = (plan.mixes[0].ticket for plan in plans)
    assert told.equivalent_c < plain.equivalent_c - 1.0
    assert told.expected_sd_k < plain.expected_sd_k


def test_what_was_read_counts_more_than_what_is_remembered(least):
    """The same figures from memory, a degree off and flour two, teach less."""
    known = taught(least, MIX.format(end=28.5))
    vague = taught(least, MIX.format(end=28.5).replace("flour_c = 22", "about_k = 1.0"))
    machine = least.day.bakery.mixers[0]
    read, told = (k.work_factors(machine, "wheat")[Speed.SECOND][0] for k in (known, vague))
    assert read > told > 1.0


@pytest.mark.parametrize(
    ("text", "field"),
    [
        (MIX.format(end=27) + MIX.format(end=60), "finished[1].dough_end_c"),
        (MIX.format(end=27).replace("spiral", "twin"), "finished[0].mixer"),
        (MIX.format(end=27) + "ice_kg = 40", "finished[0].ice_kg"),
        (MIX.format(end=27) + "part_c = { levain = 24 }", "finished[0].part_c.levain"),
        (MIX.format(end=44).replace("water_c = 12", "water_c = 2"), "finished[0].dough_end_c"),
        (MIX.format(end=27) + "colour = 3", "finished[0].colour"),
        ("finished == 3", "line 1"),
        ("", "finished"),
    ],
)
def test_a_fault_names_the_file_and_the_row(least, text, field):
    with pytest.raises(InputError) as refused:
        taught(least, text)
    assert refused.value.faults[0].field.startswith(f"finished.toml, {field}")
