"""A line of text as a meter or a weighing scale sends it: the number in it, a question, or a refusal; never a guess.

The lines are made up: what devices send differs, and no standard for it was found (common practice, no source).
"""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.measure import ReadingProblem, parse_mass, parse_reading

READ = [
    ("L 61.2 a 203.4", 6120),
    ("#012 61,2 OK", 6120),
    ("-- 61.2%", 6120),
    ("61.4 %", 6140),
    ("L=61.2;a=203.4", 6120),
    ("L:61.2", 6120),
    ("ST,GS,  61.2", 6120),
    ("ST,GS,61.2", 6120),
    ("+  61.2 OK", 6120),
    ("61,2, OK", 6120),
    ("L\t61.2\r\n", 6120),
    ("L 61.2 L 61,20", 6120),
    # The time, the day and the running number are not the reading.
    ("12:30 61.2", 6120),
    ("12:30:05 61.2", 6120),
    ("2026-05-14 61.2", 6120),
    ("2026-05-14 12:30 61.2", 6120),
    ("2026-05-14T12:30:05Z;61.2", 6120),
    ("14.05.2026 61.2", 6120),
    ("61.2 14.05.2026", 6120),
    ("5/14/2026 61.2", 6120),
    ("No.7 B12 61.2", 6120),
    # Off the scale is no reading, and says so only where there is no other number.
    ("203.4 L 61.2", 6120),
]
REFUSED = [
    ("no number", "not_a_number"),
    ("12:30", "not_a_number"),
    ("2026-05-14", "not_a_number"),
    ("L61.2", "not_a_number"),
    ("#61", "not_a_number"),
    ("OK .5", "not_a_number"),
    ("OK 203.4", "off_scale"),
    ("-61.2 OK", "off_scale"),
    # Finer than the scale's step: the digit is not swallowed, and no other number is taken in its place.
    ("61.25 OK", "too_fine"),
    ("L 3.4 a 61.25", "too_fine"),
    # Grouped, or perhaps: a blank in the middle of a number.
    ("1.234,5 OK", "two_marks"),
    ("1,234.5 OK 61.2", "two_marks"),
    ("1 234 OK", "not_a_number"),
    ("61 4 OK", "not_a_number"),
    ("1'234 OK", "not_a_number"),
    # An exponent, another base.
    ("1e1 OK", "not_a_number"),
    ("6.1E+1 OK", "not_a_number"),
    ("0x3d OK", "not_a_number"),
    # A minus that stands apart.
    ("-  61.2 OK", "not_a_number"),
    ("L - 5", "not_a_number"),
    ("6\N{SUPERSCRIPT TWO} 61.2", "digits"),
    ("L\x0061.2", "not_a_number"),
    ("x" * 200 + " 61.2", "not_a_number"),
]


@pytest.mark.parametrize(("line", "hundredths"), READ)
def test_it_finds_the_reading(line, hundredths):
    assert parse_reading(line, 0, 150, 0.1) == hundredths


@pytest.mark.parametrize(("line", "code"), REFUSED)
def test_it_refuses_what_it_cannot_be_sure_of(line, code):
    for first in (False, True):
        with pytest.raises(ReadingProblem) as problem:
            parse_reading(line, 0, 150, 0.1, first)
        assert (problem.value.code, problem.value.suggestion_hundredths) == (code, None)


@pytest.mark.parametrize(("line", "first"), [("L 61.2 a 3.4", 6120), ("a 3.4 L 61.2", 340), ("61.2;61.3", 6120)])
def test_it_asks_which_of_several_numbers_it_is(line, first):
    with pytest.raises(ReadingProblem) as problem:
        parse_reading(line, 0, 150, 0.1)
    assert (problem.value.code, problem.value.suggestion_hundredths) == ("which", first)
    assert parse_reading(line, 0, 150, 0.1, first=True) == first


def test_it_looks_at_the_scale_and_its_step():
    assert parse_reading("L 61.2 a 3.4", 20, 150, 0.1) == 6120
    with pytest.raises(ReadingProblem, match="too_fine"):
        parse_reading("L 61.2 a 3.4", 0, 150, 0.5)
    assert parse_reading("L -3.5", -20, 20, 0.5) == -350


def test_it_takes_no_line_where_no_meter_writes():
    with pytest.raises(ReadingProblem, match="not_a_number"):
        parse_reading("61.4 %", 0, 150, 0.1, line=False)
    assert parse_reading("61.4", 0, 150, 0.1, line=False) == 6140


@given(st.text("0123456789.,+-e:;#L%= \u00a0", max_size=14))
def test_what_it_takes_stands_in_the_line(text):
    """Whatever is taken is a number that stands there as it is, with no digit or letter touching it."""
    try:
        value = parse_reading(text, 0, 150, 0.1)
    except ReadingProblem:
        return
    there = re.findall(r"(?<![0-9A-Za-z.])[0-9]*[.,]?[0-9]*(?![0-9A-Za-z])", text.replace("\u00a0", " "))
    assert value / 100 in [float(one.replace(",", ".")) for one in there if re.search("[0-9]", one)]


MASSES = [
    ("12,35", 12350),
    ("12.35 kg", 12350),
    ("+  1234 g", 1234),
    ("ST,GS,  1.234 kg", 1234),
    ("ST,GS,+0001.234kg", 1234),
    ("US,NT,+ 1234.0 g", 1234),
    ("12.350KG", 12350),
    ("12:30 1.234 kg", 1234),
    ("#012 1,234 kg", 1234),
]
NO_MASSES = [
    ("+  1234.5 g", "too_fine"),
    ("1.2345 kg", "too_fine"),
    ("1,234 g", "too_fine"),  # a mark is the decimal mark: 1.234 g
    ("1.234,5 g", "two_marks"),
    ("1 234 g", "not_a_number"),
    ("1234 lb", "not_a_number"),
    ("1234 mg", "not_a_number"),
    ("ST,GS, 1234", "not_a_number"),
    ("kg 1.234", "not_a_number"),
    ("-  1.234 kg", "not_a_number"),
    ("N 12.5 kg T 0.3 kg", "which"),
    ("12 lb 5 g", "which"),
    ("", "empty"),
]


@pytest.mark.parametrize(("line", "grams"), MASSES)
def test_it_reads_a_mass_in_its_own_unit(line, grams):
    assert parse_mass(line) == grams


@pytest.mark.parametrize(("line", "code"), NO_MASSES)
def test_it_refuses_a_mass_that_it_cannot_be_sure_of(line, code):
    with pytest.raises(ReadingProblem) as problem:
        parse_mass(line)
    assert problem.value.code == code


def test_a_negative_mass_stays_negative():
    """So that the form can refuse it."""
    assert parse_mass("-1.234 kg") == -1234
