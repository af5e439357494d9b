"""What holds for every input schema."""

from __future__ import annotations

import pytest

from api.schemas import bakery, conditions, day, equipment, formula, mix_list, products
from api.schemas.base import Entry, Faults, Named, as_word, found_id, slug
from planner.errors import Fault, InputError, refuse

INPUTS = sorted(
    {
        one
        for module in (bakery, conditions, day, equipment, formula, mix_list, products)
        for one in vars(module).values()
        if isinstance(one, type) and issubclass(one, Entry) and one not in {Entry, Named}
    },
    key=lambda one: one.__name__,
)
UNITS = {"_c": "[°C]", "_k": "[K]", "_kg": "[kg", "_min": "[min]", "_m": "[m]", "_percent": "[%]"}


@pytest.mark.parametrize("schema", INPUTS)
def test_every_field_has_a_description_and_an_example(schema):
    for name, info in schema.model_fields.items():
        assert info.description, name
        assert info.examples, name


@pytest.mark.parametrize("schema", INPUTS)
def test_a_field_named_with_its_unit_describes_it_with_that_unit(schema):
    for name, info in schema.model_fields.items():
        for suffix, unit in UNITS.items():
            if name.endswith(suffix) and "_per_" not in name and name != "first":
                assert unit in info.description, name


@pytest.mark.parametrize("schema", INPUTS)
def test_every_schema_is_strict(schema):
    assert schema.model_config["extra"] == "forbid"
    assert schema.model_config["allow_inf_nan"] is False
    assert schema.model_config["str_strip_whitespace"] is True


@pytest.mark.parametrize("schema", INPUTS)
def test_every_schema_can_be_published(schema):
    assert schema.model_json_schema()["title"]


@pytest.mark.parametrize(
    ("name", "short"),
    [("Large Spiral", "large_spiral"), ("Pâté n° 3", "pate_n_3"), ("Бородинский", "бородинскии")],
)
def test_ids_are_names_in_short(name, short):
    assert slug(name) == short
    assert slug(short) == short


@pytest.mark.parametrize("text", ["hot tap", "Hot Tap", "HOT_TAP", " hot-tap "])
def test_words_of_a_list_may_be_written_freely(text):
    assert as_word(text) == "hot tap"


def test_a_reference_may_be_the_id_or_the_name():
    assert found_id("Deck Oven", ["deck_oven"]) == "deck_oven"
    assert found_id("R-1", ["R-1", "r_1"]) == "R-1"
    assert found_id("attic", ["deck_oven"]) == "attic"


def _refused() -> None:
    raise refuse("routes[0].place_id", "x", "is bad", "mend it")


def test_faults_of_the_core_are_collected_in_the_words_of_the_file():
    faults = Faults()
    assert faults.at("products.loaf").build(_refused) is None
    faults.add("mix_list", "()", "is empty", "enter one")
    with pytest.raises(InputError) as caught:
        faults.settle()
    assert caught.value.faults[0] == Fault(
        "products.loaf.proof[0].place", "'x'", "is bad", "mend it"
    )
    assert len(caught.value.faults) == 2
