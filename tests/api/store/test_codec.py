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
