"""Number fields: what people type, what is kept, what is refused and in which words."""

from __future__ import annotations

import pytest
from flask import Flask
from flask_babel import Babel
from werkzeug.datastructures import MultiDict
from wtforms import Form

from webapp.ui.fields import (
    DurationField,
    HundredthsField,
    MassField,
    MeterReadingField,
    ScaleNumberField,
    TemperatureField,
    WholeNumberField,
)
from webapp.ui.numbers import celsius, kilograms, lighter_and_darker, minutes, scale_exact, scale_number, scale_signed


@pytest.fixture(params=["en", "de"])
def language(request):
    """A request in a language with a decimal point, and in one with a decimal comma."""
    app = Flask(__name__)
    Babel(app, locale_selector=lambda: request.param)
    with app.test_request_context():
        yield request.param


@pytest.fixture
def _english():
    app = Flask(__name__)
    Babel(app, locale_selector=lambda: "en")
    with app.test_request_context():
        yield


class Fields(Form):
    reading = ScaleNumberField("Reading", message="Type the reading.")
    free = ScaleNumberField("Upper limit")
    mass = MassField("Mass")
    heat = TemperatureField("Temperature")
    time = DurationField("Time")
    count = WholeNumberField("Readings", least=1, most=10)
    end = HundredthsField("Lower end")


def sent(scale=(0, 15000, 10), **typed):
    """The form after it was sent with `typed` and validated."""
    form = Fields(MultiDict({"reading": "61.4"} | typed))
    form.reading.on_scale(*scale)
    form.free.on_scale(*scale)
    form.validate()
    return form


def shown(field):
    """What the input shows, out of its HTML."""
    html = str(field())
    return html.split('value="')[1].split('"')[0]


@pytest.mark.parametrize("typed", ["61.4", "61,4", " 61.4 ", "61.40", "+61.4", "061.4"])
@pytest.mark.usefixtures("language")
def test_it_takes_a_reading_as_people_write_it(typed):
    form = sent(reading=typed)
    assert form.reading.errors == []
    assert form.reading.data == 6140
    assert shown(form.reading) == typed


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("61,4,2", "more than one mark"),
        ("1.234,5", "more than one mark"),
        ("1e3", "not a number"),
        ("six", "not a number"),
        ("NaN", "not a number"),
        ("inf", "not a number"),
        ("0x10", "not a number"),
        ("6_1", "not a number"),
        ("٦١", "digits 0 to 9"),
        ("６１", "digits 0 to 9"),
        ("61²", "digits 0 to 9"),
        ("", "Type the reading."),
        ("   ", "Type the reading."),
        ("150.1", "from 0.0 to 150.0"),
        ("-0.1", "from 0.0 to 150.0"),
        ("61.45", "steps of 0.1"),
    ],
)
@pytest.mark.usefixtures("_english")
def test_it_refuses_what_is_no_reading_and_shows_it_again(typed, words):
    form = sent(reading=typed)
    assert form.reading.data is None
    assert len(form.reading.errors) == 1
    assert words in form.reading.errors[0]
    assert shown(form.reading) == typed


@pytest.mark.usefixtures("_english")
def test_it_asks_whether_the_point_was_forgotten():
    form = sent(reading="562")
    assert form.reading.data is None
    assert form.reading.suggestion == 5620
    assert "Did you mean 56.2?" in form.reading.errors[0]
    assert shown(form.reading) == "562"


def test_it_uses_the_decimal_mark_of_the_language(language):
    mark = {"en": ".", "de": ","}[language]
    assert f"61{mark}4" in f"{scale_number(6140, 10)}"
    assert f"Did you mean 56{mark}2?" in sent(reading="562").reading.errors[0]
    assert scale_signed(-250, 10) == f"−2{mark}5"
    assert scale_signed(250, 10) == f"+2{mark}5"
    assert kilograms(12350) == f"12{mark}35"


@pytest.mark.usefixtures("_english")
def test_it_takes_a_typed_number_back_as_it_showed_it():
    for lower, upper, step in [(0, 15000, 10), (-10000, 10000, 25), (0, 50000, 100), (-300, -100, 50)]:
        for number in (lower, lower + 3 * step, upper):
            form = sent((lower, upper, step), reading=scale_number(number, step))
            assert (form.reading.errors, form.reading.data) == ([], number)


@pytest.mark.usefixtures("_english")
def test_it_may_stay_empty_where_that_is_allowed():
    form = sent(free=" ")
    assert form.free.errors == []
    assert form.free.data is None


@pytest.mark.usefixtures("_english")
def test_it_does_not_guess_a_scale():
    form = Fields(MultiDict({"reading": "61.4"}))
    with pytest.raises(RuntimeError, match="does not know its scale"):
        form.validate()


@pytest.mark.parametrize(("typed", "grams"), [("12.35", 12350), ("12,35", 12350), ("0.001", 1), ("30", 30000)])
@pytest.mark.usefixtures("_english")
def test_it_keeps_a_mass_in_grams(typed, grams):
    assert sent(mass=typed).mass.data == grams


@pytest.mark.parametrize(
    ("typed", "words"),
    [("0", "from 0.001 to 2000.0"), ("-3", "from 0.001"), ("30.0005", "gram"), ("1.200,5", "mark"), ("30 lb", "not")],
)
@pytest.mark.usefixtures("_english")
def test_it_refuses_what_is_no_mass(typed, words):
    form = sent(mass=typed)
    assert form.mass.data is None
    assert words in form.mass.errors[0]


@pytest.mark.parametrize(
    ("grams", "text"), [(12350, "12.35"), (12000, "12.0"), (12, "0.012"), (100, "0.1"), (1, "0.001")]
)
@pytest.mark.usefixtures("_english")
def test_it_shows_a_mass_in_as_few_decimals_as_are_exact(grams, text):
    form = Fields(data={"mass": grams})
    assert shown(form.mass) == kilograms(grams) == text


@pytest.mark.parametrize(
    ("typed", "tenths"), [("204.5", 2045), ("204,5", 2045), ("204", 2040), ("-5", -50), ("−5", -50)]
)
@pytest.mark.usefixtures("_english")
def test_it_keeps_a_temperature_in_tenths(typed, tenths):
    assert sent(heat=typed).heat.data == tenths


@pytest.mark.usefixtures("_english")
def test_it_refuses_a_temperature_out_of_bounds_or_too_fine():
    assert "from −20 to 400" in sent(heat="401").heat.errors[0]
    assert "one decimal" in sent(heat="204.55").heat.errors[0]
    assert celsius(2040) == "204"


@pytest.mark.parametrize(
    ("typed", "seconds"), [("11:30", 690), (" 11:30 ", 690), ("0:45", 45), ("11", 660), ("90:00", 5400)]
)
@pytest.mark.usefixtures("_english")
def test_it_keeps_a_duration_in_seconds(typed, seconds):
    assert sent(time=typed).time.data == seconds


@pytest.mark.parametrize("typed", ["11.5", "11,5", "11:5", "11:60", "1:02:03", ":30", "11:", "eleven", "1e1", "11.30"])
@pytest.mark.usefixtures("_english")
def test_it_refuses_a_duration_that_could_be_read_two_ways(typed):
    form = sent(time=typed)
    assert form.time.data is None
    assert "with a colon, like 11:30" in form.time.errors[0]
    assert shown(form.time) == typed


@pytest.mark.usefixtures("_english")
def test_it_refuses_a_duration_out_of_bounds():
    # 690 is what somebody types who thinks in seconds
    assert "from 0:01 to 120:00" in sent(time="690").time.errors[0]
    assert "from 0:01 to 120:00" in sent(time="0:00").time.errors[0]
    assert minutes(690) == "11:30"
    assert shown(Fields(data={"time": 61}).time) == "1:01"


@pytest.mark.usefixtures("_english")
def test_it_keeps_counts_whole():
    assert sent(count="3").count.data == 3
    assert "whole number" in sent(count="2.5").count.errors[0]
    assert "from 1 to 10" in sent(count="11").count.errors[0]
    assert "too long" in sent(end="1234567890123456").end.errors[0]
    assert sent(end="-1,25").end.data == -125
    assert "two decimals" in sent(end="1.255").end.errors[0]


@pytest.mark.usefixtures("_english")
def test_it_takes_any_number_while_no_scale_is_chosen():
    form = Fields(MultiDict({"reading": "61,45", "free": "six"}))
    form.reading.on_no_scale()
    form.free.on_no_scale()
    form.validate()
    assert (form.reading.data, form.reading.errors) == (6145, [])
    assert form.free.errors == ["This is not a number. Type it like 61.40."]


@pytest.mark.parametrize(
    ("scale", "example"),
    [
        ((0, 15000, 10, 1), ("93.8", "56.2")),
        ((0, 15000, 10, -1), ("56.2", "93.8")),
        ((0, 100, 100, 1), ("1", "0")),
        ((-5000, -4950, 50, -1), ("−50.0", "−49.5")),
    ],
)
@pytest.mark.usefixtures("_english")
def test_it_gives_an_example_of_which_way_is_lighter(scale, example):
    assert lighter_and_darker(*scale) == example


@pytest.mark.usefixtures("_english")
def test_it_shows_a_plate_value_as_fine_as_it_is():
    assert [scale_exact(number, 10) for number in (4525, 4520, -4501)] == ["45.25", "45.2", "−45.01"]
    assert scale_exact(4500, 100) == "45"


@pytest.mark.usefixtures("_english")
def test_it_takes_the_line_of_a_meter_where_one_is_read_and_nowhere_else():
    class Two(Form):
        reading = MeterReadingField("Reading")
        limit = ScaleNumberField("From")

    form = Two(MultiDict({"reading": "#012 61.2 OK", "limit": "#012 61.2 OK"}))
    for field in form:
        field.on_scale(0, 15000, 10)
    assert not form.validate()
    assert (form.reading.data, form.reading.errors) == (6120, [])
    assert form.limit.data is None
    assert form.limit.errors[0].startswith("This is not a number.")
