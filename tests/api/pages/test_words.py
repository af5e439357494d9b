"""Words: every sentence in every language, the house's own words, two languages side by side."""

import re
from dataclasses import dataclass, replace
from importlib import resources

import pytest

from api.pages.choice import EVERYTHING, Choice
from api.pages.sheet import page_of, sheet_content
from api.pages.wording import Units
from api.pages.words import LANGUAGES, SOURCE, Words, catalogue
from tests.api.pages.messages import all_messages, catalogue_entries
from tests.api.pages.papers import html_of, reader_for
from tests.api.pages.sample import sample_plan, white_mix
from tests.api.pages.sample_nights import copies, night_of

OTHERS = [language for language in LANGUAGES if language != SOURCE]
MESSAGES = sorted(all_messages())


def placeholders(text):
    return sorted(re.findall(r"\{(\w+)\}", text))


def test_the_walk_finds_the_sentences():
    """So that an empty walk cannot pass for a good one: pages, templates, lists and the core."""
    assert {"then waits", "{n} pcs", "wheat flour", "Read first"} <= set(MESSAGES)
    assert "Tap water at {tap} alone would give a dough of about {dough}." in MESSAGES
    assert len(MESSAGES) > 300


@pytest.mark.parametrize("language", OTHERS)
def test_no_sentence_is_missing_and_each_has_the_same_figures(language):
    entries = catalogue_entries(language)
    missing = [text for text in MESSAGES if not all(entries.get(text, ("",)))]
    assert missing == []
    for text in MESSAGES:
        for said in entries[text]:
            assert placeholders(said) == placeholders(text), text


@pytest.mark.parametrize("language", OTHERS)
def test_no_sentence_is_kept_that_nothing_says(language):
    assert sorted(set(catalogue_entries(language)) - set(MESSAGES)) == []


@pytest.mark.parametrize("language", OTHERS)
def test_a_translation_says_that_a_baker_must_look_at_it(language):
    path = f"locale/{language}/LC_MESSAGES/papers.po"
    text = resources.files("api.pages").joinpath(path).read_text("utf-8")
    assert "native baker's eye" in text.replace("\n# ", " ")


def test_an_unknown_language_is_refused_with_those_there_are():
    with pytest.raises(LookupError, match="en, es"):
        catalogue("xx")


ASKED: set[str] = set()


@dataclass(frozen=True, slots=True)
class Listening(Words):
    """Words that note what they were asked to say."""

    def __call__(self, text: str, **figures: object) -> str:
        ASKED.add(text)
        return Words.__call__(self, text, **figures)

    def only(self, language: str) -> Words:
        return Listening(language, None, self.aliases)


def test_all_papers_of_a_night_say_only_what_the_catalogue_knows():
    """What the bakery entered itself, names of doughs, places and people, stays as it is."""
    ASKED.clear()
    runs = night_of([*copies(white_mix(), 4), *sample_plan().mixes[1:]])
    for plan in (sample_plan(), replace(sample_plan(), mixes=runs.mixes)):
        reader = replace(reader_for(plan), say=Listening("es"))
        page_of(sheet_content(plan, reader, Choice(EVERYTHING), before=sample_plan()))
        page_of(sheet_content(plan, reader))
    entered = {
        "strong flour",
        "levain",
        "rye scald",
        "whole egg",
        "White tin dough",
        "Rye with scald",
    }
    figures = {text for text in ASKED if not re.search("[a-zA-Z]{2}", text)}
    places = {"Tom", "Ana", "twin arm 60", "spiral 120", "divide and shape"}
    unknown = ASKED - set(MESSAGES) - entered - figures - places
    assert {text for text in unknown if not is_of_the_sample(text)} == set()
    assert len(ASKED) > 150


def is_of_the_sample(text):
    """Remarks and assumptions that the sample made up, and figures with their units."""
    made_up = {one for remark in sample_remarks() for one in (remark.text,)}
    assumed = {x for a in sample_plan().assumptions for x in (a.name, a.basis, a.remedy, a.unit)}
    listed = all(part in MESSAGES for part in text.split(", "))
    return text in made_up | assumed or bool(re.search(r"\d", text)) or listed


def sample_remarks():
    plan = sample_plan()
    own = [r for m in plan.mixes for r in m.remarks]
    return [*plan.remarks, *own, *(r for p in plan.preparations for r in p.remarks)]


def test_spanish_papers_have_spanish_days_and_words():
    page = html_of(sample_plan(), Units.METRIC, None, "es")
    assert '<html lang="es" dir="ltr">' in page
    assert "jueves, 16 de julio de 2026" in page
    assert "Leer primero" in page
    assert "primera velocidad" in page
    assert "White tin dough" in page


def test_two_languages_stand_side_by_side():
    both = Words("es", "en")
    assert both("water") == "agua / water"
    assert both("gluten") == "gluten"
    assert both.many("{n} pc", "{n} pcs", 3) == "3 pzas. / 3 pcs"


def test_what_the_house_calls_a_thing_is_printed():
    ours = Words(aliases={"levain": "sour", "divide": "scale off"})
    assert ours(
        "Water at {water} burns and kills yeast: water first, then flour, then yeast or "
        "levain on top.",
        water="50 °C",
    ).endswith("yeast or sour on top.")
    assert ours("divide") == "scale off"
    assert ours("divided by that figure") == "divided by that figure"


def test_names_that_were_entered_stay_as_they_are():
    """The sample's levain is called levain by its bakery: the alias does not touch it."""
    plan = sample_plan()
    reader = replace(reader_for(plan), say=Words(aliases={"levain": "sour"}))
    rows = sheet_content(plan, reader).rows
    assert any(row.what == "make levain" for row in rows)


def test_a_language_written_from_the_right_turns_the_page():
    assert Words("ar").direction == "rtl"
    assert Words("es").direction == "ltr"
