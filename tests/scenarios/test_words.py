"""What the demo days have to say, said in every language."""

import pytest

from api.pages.words import LANGUAGES, SOURCE, Words
from tests.api.pages.messages import all_messages

MESSAGES = all_messages()
OTHERS = [language for language in LANGUAGES if language != SOURCE]


def remarks_of(plan):
    of_mixes = [remark for mix in plan.mixes for remark in mix.remarks]
    return [*plan.remarks, *of_mixes, *(r for one in plan.preparations for r in one.remarks)]


def test_every_remark_is_in_the_catalogue(plan):
    texts = {remark.text for remark in remarks_of(plan)}
    assert texts
    assert sorted(texts - MESSAGES) == []


@pytest.mark.parametrize("language", OTHERS)
def test_every_assumption_is_told_in_other_words_than_ours(plan, language):
    say = Words(language)
    for one in plan.assumptions:
        for text in (one.name, one.basis, one.remedy):
            assert say.composed(text) != text
