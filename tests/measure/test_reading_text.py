"""Typed text: what is taken, and what is refused with which reason."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.measure import ReadingProblem, parse_decimal, parse_reading

TAKEN = [
    ("61,4", 6140),
    ("61.4", 6140),
    (" 61.4 ", 6140),
    ("\u00a061,4\u202f", 6140),
    ("\t61.4\r\n", 6140),
    ("61", 6100),
    ("61.", 6100),
    ("+61.4", 6140),
    ("061.4", 6140),
    ("61.40", 6140),
    (".5", 50),
    ("0", 0),
    ("-0", 0),
    ("150", 15000),
    ("150.0", 15000),
    ("0" * 5000 + "61.4" + "0" * 5000, 6140),
]

REFUSED = [
    ("", "empty"),
    ("   ", "empty"),
    ("\u00a0", "empty"),
    ("six", "not_a_number"),
    ("NaN", "not_a_number"),
    ("inf", "not_a_number"),
    ("-Infinity", "not_a_number"),
    ("1e3", "not_a_number"),
    ("0x3d", "not_a_number"),
    ("6_1", "not_a_number"),
    ("+", "not_a_number"),
    ("-", "not_a_number"),
    (".", "not_a_number"),
    ("..", "not_a_number"),
    ("--5", "not_a_number"),
    ("61 4", "not_a_number"),
    ("1 234", "not_a_number"),
    ("1'234", "not_a_number"),
    ("5-3", "not_a_number"),
    ("六十一", "not_a_number"),
    ("61,4,2", "two_marks"),
    ("1.234,5", "two_marks"),
    ("1,234.5", "two_marks"),
    ("61..4", "two_marks"),
    ("٦١٫٤", "digits"),
    ("۶۱", "digits"),
    ("６１.４", "digits"),
    ("६१", "digits"),
    ("61²", "digits"),
    ("½", "digits"),
    ("Ⅻ", "digits"),
    ("150.1", "off_scale"),
    ("150.0001", "off_scale"),
    ("-0.1", "off_scale"),
    ("\N{MINUS SIGN}5", "off_scale"),
    ("9" * 5000, "off_scale"),
    ("61.45", "too_fine"),
    ("61.41", "too_fine"),
    ("61.405", "too_fine"),
    ("1.234", "too_fine"),
    ("0.001", "too_fine"),
    ("0." + "1" * 5000, "too_fine"),
]


@pytest.mark.parametrize(("text", "hundredths"), TAKEN)
def test_it_takes_plain_numbers(text, hundredths):
    assert parse_reading(text, 0, 150, 0.1) == hundredths


@pytest.mark.parametrize(("text", "code"), REFUSED)
def test_it_refuses_what_it_does_not_understand(text, code):
    with pytest.raises(ReadingProblem) as problem:
        parse_reading(text, 0, 150, 0.1)
    assert (problem.value.code, problem.value.suggestion_hundredths) == (code, None)


@pytest.mark.parametrize(
    ("text", "step", "hundredths"),
    [
        ("562", 0.1, 5620),
        (" 562 ", 0.1, 5620),
        ("0562", 0.1, 5620),
        ("1000", 0.1, 10000),
        ("5620", 0.1, 5620),
        ("5625", 0.1, None),
        ("5625", 0.05, 5625),
        ("562", 1, None),
        ("560", 1, 5600),
        ("565", 0.5, 5650),
        ("562", 0.5, None),
        ("562.0", 0.1, None),
        ("562,", 0.1, None),
        ("+562", 0.1, None),
        ("99999", 0.1, None),
    ],
)
def test_it_suggests_the_forgotten_point(text, step, hundredths):
    with pytest.raises(ReadingProblem) as problem:
        parse_reading(text, 0, 150, step)
    assert (problem.value.code, problem.value.suggestion_hundredths) == ("off_scale", hundredths)


def test_it_takes_both_ends_of_a_scale_below_zero():
    assert [parse_reading(text, -20, 20.5, 0.5) for text in ("-20", "\N{MINUS SIGN}0,5", "20.5")] == [-2000, -50, 2050]
    with pytest.raises(ReadingProblem, match="off_scale"):
        parse_reading("-20.5", -20, 20.5, 0.5)
    with pytest.raises(ReadingProblem, match="too_fine"):
        parse_reading("-0.3", -20, 20.5, 0.5)


@given(st.integers(-15000, 15000), st.sampled_from(".,"), st.sampled_from(("-", "\N{MINUS SIGN}")))
def test_it_reads_every_hundredth_back_exactly(hundredths, mark, minus):
    size = abs(hundredths)
    text = f"{minus if hundredths < 0 else ''}{size // 100}{mark}{size % 100:02d}"
    assert parse_reading(text, -150, 150, 0.01) == hundredths


@given(st.text(max_size=12))
def test_it_either_takes_a_text_or_names_a_reason(text):
    try:
        hundredths, code = parse_reading(text, 0, 150, 0.1), None
    except ReadingProblem as problem:
        hundredths, code = None, problem.code
    assert code in {None, "empty", "not_a_number", "two_marks", "digits", "off_scale", "too_fine", "which"}
    assert code is not None or hundredths in range(0, 15001, 10)


@given(st.text("0123456789.,+-e \u00a0\u2212٣", max_size=8))
def test_it_takes_only_what_python_reads_as_the_same_decimal(text):
    try:
        number = parse_decimal(text, 3)
    except ReadingProblem:
        return
    plain = text.strip(" \u00a0").replace("\u2212", "-").replace(",", ".")
    assert abs(float(plain) - number / 1000) < 1e-9


@pytest.mark.parametrize(
    ("text", "places", "number"),
    [("12,35", 2, 1235), ("12", 2, 1200), ("-4.5", 1, -45), ("60", 0, 60), ("60.0", 0, 60), ("1.234", 3, 1234)],
)
def test_it_scales_other_numbers_to_whole_ones(text, places, number):
    assert parse_decimal(text, places) == number


@pytest.mark.parametrize(
    ("text", "places", "code"),
    [("12,355", 2, "too_fine"), ("60.5", 0, "too_fine"), ("1.234,5", 2, "two_marks"), ("", 2, "empty"),
     ("9" * 16, 0, "off_scale"), ("9" * 14, 2, "off_scale"), ("twelve", 1, "not_a_number"), ("٣", 0, "digits")],
)  # fmt: skip
def test_it_refuses_other_numbers_for_the_same_reasons(text, places, code):
    with pytest.raises(ReadingProblem, match=code):
        parse_decimal(text, places)


@pytest.mark.parametrize(("lower", "upper", "step"), [(0, 150, 0), (0, 150, 0.001), (150, 0, 0.1), (0, 0, 0.1)])
def test_it_refuses_a_scale_that_is_none(lower, upper, step):
    with pytest.raises(ValueError) as problem:
        parse_reading("61.4", lower, upper, step)
    assert not isinstance(problem.value, ReadingProblem)
