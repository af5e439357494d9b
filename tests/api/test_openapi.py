"""The interface describes itself: every field, parameter and problem, in OpenAPI 3.1."""

import pytest
from openapi_spec_validator import validate

from api.errors import KINDS
from api.main import create_app
from api.settings import Settings

DOCUMENT = create_app(Settings()).openapi()
SCHEMAS = DOCUMENT["components"]["schemas"]
FIELDS = [
    (name, field, told)
    for name, schema in SCHEMAS.items()
    for field, told in schema.get("properties", {}).items()
]
OPERATIONS = [
    (f"{method.upper()} {path}", operation)
    for path, methods in DOCUMENT["paths"].items()
    for method, operation in methods.items()
]
each_schema = pytest.mark.parametrize("schema", SCHEMAS)
each_operation = pytest.mark.parametrize(
    ("name", "operation"), OPERATIONS, ids=[name for name, _ in OPERATIONS]
)


def fields_of(schema):
    return SCHEMAS[schema].get("properties", {}).items()


def is_another_schema(told):
    """Whether a field is nothing but one or more of another schema, which tells its own fields."""
    return "$ref" in told or "$ref" in told.get("items", {})


def test_the_walk_finds_the_fields():
    """So that an empty walk cannot pass for a good one."""
    assert len(FIELDS) > 200
    assert ("TicketRead", "ice_kg") in {(schema, field) for schema, field, _ in FIELDS}


@each_schema
def test_every_field_is_described(schema):
    for field, told in fields_of(schema):
        if is_another_schema(told):
            target = told.get("$ref") or told["items"]["$ref"]
            told = {**SCHEMAS[target.rsplit("/", 1)[1]], **told}  # noqa: PLW2901  told by its own
        assert told.get("description", "").strip(), f"{field} has no description"


@each_schema
def test_every_field_has_an_example(schema):
    for field, told in fields_of(schema):
        if not is_another_schema(told):
            assert told.get("examples"), f"{field} has no example"


@each_schema
def test_a_number_with_a_unit_in_its_name_has_it_in_its_description(schema):
    units = {"_c": "°C", "_kg": "kg", "_k": "K", "_min": "min"}
    for field, told in fields_of(schema):
        unit = next((unit for end, unit in units.items() if field.endswith(end)), None)
        kinds = {told.get("type"), *(one.get("type") for one in told.get("anyOf", []))}
        if unit is not None and "number" in kinds:
            assert unit in told["description"], f"{field}: {told['description']}"


@each_operation
def test_every_parameter_is_described_with_an_example(name, operation):
    for parameter in operation.get("parameters", []):
        assert parameter.get("description"), f"{name} {parameter['name']}"
        shown = parameter.get("examples") or parameter["schema"].get("examples")
        assert shown, f"{name} {parameter['name']} has no example"


@each_operation
def test_every_operation_says_what_it_does(name, operation):
    assert operation["description"].endswith("."), name
    assert operation["tags"]


@each_operation
def test_every_operation_declares_its_problems_as_problems(name, operation):
    statuses = set(operation["responses"])
    assert "503" in statuses, name
    if operation.get("parameters") or "requestBody" in operation:
        assert "422" in statuses, name
    if "{" in name:
        assert "404" in statuses, name
    for status in statuses - {"200", "201", "202", "204", "304"}:
        content = operation["responses"][status]["content"]
        assert content == {
            "application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}
        }


def test_the_frameworks_own_error_schema_is_not_promised():
    assert not [name for name in SCHEMAS if "ValidationError" in name]


def test_a_public_validator_of_openapi_finds_nothing_wrong():
    validate(DOCUMENT)


def test_the_description_lists_every_kind_of_problem():
    for kind in KINDS:
        assert f"`{kind.type}` ({kind.status})" in DOCUMENT["info"]["description"]


def test_it_is_openapi_3_1():
    assert DOCUMENT["openapi"].startswith("3.1")


def test_every_status_of_the_table_is_declared_somewhere():
    declared = {status for _, operation in OPERATIONS for status in operation["responses"]}
    on_pages_only = {"429"}
    assert {str(kind.status) for kind in KINDS} - on_pages_only <= declared


@each_operation
def test_an_operation_that_takes_a_body_says_that_it_may_be_too_long(name, operation):
    assert ("requestBody" in operation) == ("413" in operation["responses"]), name


@pytest.mark.parametrize(
    "schema", [name for name in SCHEMAS if name.endswith("Read") or name == "Problem"]
)
def test_what_is_sent_has_no_defaults(schema):
    properties = SCHEMAS[schema].get("properties", {})
    assert set(SCHEMAS[schema].get("required", [])) == set(properties)
