"""What JSON allows and a bakery cannot mean is refused, with its place."""

import pytest

from api.routes.strict import check_body
from planner.errors import InputError


@pytest.mark.parametrize(
    ("body", "field", "value"),
    [
        ('{"a": NaN}', "a", "NaN"),
        ('{"a": {"b": [1, -Infinity]}}', "a.b[1]", "-Infinity"),
        ('{"a": 1e999}', "a", "1e999"),
        ("Infinity", "body", "Infinity"),
        ('{"a": 12345678901234567890}', "a", "123456789012…"),
        ('{"a": 1, "a": 2}', "a", "a"),
        ('{"a": "\\ud800"}', "a", "'\\ud800'"),
        ('{"a": ["x\\u0000"]}', "a[0]", "'x\\x00'"),
    ],
)
def test_it_is_named_with_its_place(body, field, value):
    with pytest.raises(InputError) as refused:
        check_body(body.encode())
    assert [(f.field, f.value) for f in refused.value.faults] == [(field, value)]


def test_every_place_is_named():
    with pytest.raises(InputError) as refused:
        check_body(b'{"a": NaN, "b": [NaN, 1, NaN]}')
    assert [fault.field for fault in refused.value.faults] == ["a", "b[0]", "b[2]"]


def test_a_body_nested_without_end_is_refused():
    with pytest.raises(InputError, match="nested too deeply"):
        check_body(b"[" * 100_000 + b"]" * 100_000)


def test_a_body_that_is_no_text_is_refused():
    with pytest.raises(InputError, match="not text in UTF-8"):
        check_body(b"\xff")


@pytest.mark.parametrize("body", [b"", b"{", b'{"a": 1.5, "b": [null, "NaN"]}'])
def test_all_else_is_left_to_the_framework(body):
    check_body(body)
