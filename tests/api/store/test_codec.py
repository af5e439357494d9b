"""Plans survive the store unchanged."""

import json
from dataclasses import replace
from datetime import UTC, datetime

import pytest

from api.store.codec import (
    answer_from_document,
    answer_to_document,
    plan_from_document,
    plan_to_document,
    reading_from_document,
    reading_to_document,
)
from planner.alternative import Alternative, Shifted
from planner.conditions import ChamberFailure
from planner.day import Share, Split
from planner.happened import Breakdown, Change, Moved, Override
from planner.planned import Answer
from planner.readings import Reading, ReadingKind
from planner.remarks import Remark, RemarkKind, mass, moment, word
from tests.api.pages.sample import sample_plan

NOW = datetime(2026, 10, 25, 0, 30, tzinfo=UTC)


def through_json(document):
    return json.loads(json.dumps(document, allow_nan=False))


def test_a_whole_plan_comes_back_equal():
    plan = sample_plan()
    assert plan_from_document(through_json(plan_to_document(plan))) == plan


def test_an_answer_comes_back_equal():
    plan = sample_plan()
    answer = Answer(plan.mixes[0], changed=True, remarks=plan.remarks)
    assert answer_from_document(through_json(answer_to_document(answer))) == answer


@pytest.mark.parametrize("text", ["12", "2026-07-16", "2026-07-16T01:00:00Z", "1e5", "nan", ""])
def test_a_word_that_looks_like_a_moment_or_number_stays_a_word(text):
    remark = Remark(
        RemarkKind.NOTE, "n", "{a} {b} {c}", (word("a", text), moment("b", NOW), mass("c", 3))
    )
    plan = replace(sample_plan(), remarks=(remark,))
    figures = plan_from_document(through_json(plan_to_document(plan))).remarks[0].figures
    assert [figure.value for figure in figures] == [text, NOW, 3]
    assert isinstance(figures[0].value, str)


def test_a_reading_comes_back_equal():
    reading = Reading("r1", ReadingKind.PART_C, "white", NOW, 24.5, part_id="levain")
    assert reading_from_document(through_json(reading_to_document(reading))) == reading


def test_a_replanned_night_comes_back_equal():
    """What was changed, what stands still, who allowed what, and why a mix stands where it does."""
    why = Remark(RemarkKind.REASON, "why_not_sooner", "Not {by} sooner.", (moment("by", NOW),), "m")
    plan = sample_plan()
    there = Alternative(Shifted.DOUGH, 0.5, "ovens", ice_kg=0.4)
    mix = replace(plan.mixes[0], reasons=(why,), alternatives=(there,))
    shares = (Share(mix.id, 12, 8.8, ("spiral",)), Share("more", 13, 9.6, ("small",)))
    plan = replace(
        plan,
        day=replace(plan.day, splits=(Split(mix.line_id, shares),)),
        conditions=replace(plan.conditions, failed=(ChamberFailure("cold", NOW),)),
        mixes=(mix, *plan.mixes[1:]),
        outages=(Breakdown("spiral", NOW, NOW, power=True),),
        change=Change(True, ("m",), (Moved("m", 5.0, 0.0, -6.0, 0.5, 0.0, True, False),), (why,)),
        overrides=(Override(NOW, "Ada", why),),
    )
    assert plan_from_document(through_json(plan_to_document(plan))) == plan


def test_a_plan_of_an_older_version_is_read():
    """What it could not know yet is empty."""
    document = through_json(plan_to_document(sample_plan()))
    for name in ("change", "overrides"):
        del document[name]
    for mix in document["mixes"]:
        del mix["reasons"], mix["alternatives"]
    del document["day"]["splits"], document["points"]["moved"], document["conditions"]["failed"]
    assert plan_from_document(document) == sample_plan()
