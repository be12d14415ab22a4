"""One content has one spelling: what the ledger hashes."""

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from webapp.store import ledger

# What SQLite hands back: no NaN (stored as NULL), integers of 64 bits, text that is UTF-8.
TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
VALUES = st.one_of(
    st.integers(-(2**63), 2**63 - 1), st.floats(allow_nan=False, allow_infinity=False), TEXT, st.none()
)
ROWS = st.dictionaries(st.sampled_from(["id", "value", "typed", "no", "ü"]), VALUES)
CONTENT = st.dictionaries(st.sampled_from(["sample", "reading", "step_done"]), st.lists(ROWS, max_size=4))


@settings(max_examples=50)
@given(CONTENT)
def test_it_can_be_read_back_without_loss(content):
    spelled = ledger.canonical(content)
    again = json.loads(spelled)
    assert again == content
    assert ledger.canonical(again) == spelled


@given(ROWS, st.randoms(use_true_random=False))
def test_it_does_not_depend_on_the_order_of_columns(row, random):
    names = list(row)
    random.shuffle(names)
    assert ledger.canonical({name: row[name] for name in names}) == ledger.canonical(row)


@given(ROWS, st.sampled_from(["id", "value", "typed"]), VALUES, VALUES)
def test_it_is_another_spelling_when_one_value_is_another(row, name, value, other):
    alike = type(value) is type(other) and repr(value) == repr(other)
    assert (ledger.canonical(row | {name: value}) == ledger.canonical(row | {name: other})) is alike


@pytest.mark.parametrize(
    ("content", "spelled"),
    [
        ({"b": 1, "a": "ö"}, '{"a":"ö","b":1}'.encode()),
        ([{"value": 5620, "u": 0.1}], b'[{"u":0.1,"value":5620}]'),
        ({"typed": "61,4", "note": 'a "quoted"\nline'}, b'{"note":"a \\"quoted\\"\\nline","typed":"61,4"}'),
    ],
)
def test_it_is_spelled_with_sorted_keys_no_spaces_and_utf_8(content, spelled):
    assert ledger.canonical(content) == spelled
