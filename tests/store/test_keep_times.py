"""Times are stored in UTC; the site's zone says which day it is, also when the clock changes."""

from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.roastery import later
from webapp.store import batches, site, times
from webapp.store.who import SYSTEM

VIENNA = "Europe/Vienna"
# One zone of each peculiar kind: clocks that change at midnight (Cairo, Santiago, Havana), by half an hour (Lord
# Howe), a day that never was (Apia, 2011-12-30), far from UTC on both sides, and quarters of an hour.
ZONES = [
    VIENNA, "UTC", "Africa/Cairo", "America/Santiago", "America/Havana", "Australia/Lord_Howe", "Pacific/Apia",
    "Pacific/Kiritimati", "Pacific/Pago_Pago", "Asia/Kathmandu", "Atlantic/Azores", "America/Sao_Paulo",
]  # fmt: skip


# Source: the European Union's summer time (Directive 2000/84/EC): it begins on the last Sunday of March and ends
# on the last Sunday of October, both at 1:00 UTC.
@pytest.mark.parametrize(
    ("day", "first", "hours"),
    [
        ("2026-03-28", "2026-03-27T23:00:00.000Z", 24),
        ("2026-03-29", "2026-03-28T23:00:00.000Z", 23),
        ("2026-03-30", "2026-03-29T22:00:00.000Z", 24),
        ("2026-10-24", "2026-10-23T22:00:00.000Z", 24),
        ("2026-10-25", "2026-10-24T22:00:00.000Z", 25),
        ("2026-10-26", "2026-10-25T23:00:00.000Z", 24),
        ("2026-12-31", "2026-12-30T23:00:00.000Z", 24),
    ],
)
def test_it_gives_a_day_its_real_length_when_the_clock_changes(day, first, hours):
    start, end = times.day_bounds(day, VIENNA)
    assert times.to_text(start) == first
    assert end - start == timedelta(hours=hours)


@pytest.mark.parametrize(
    ("moment", "day"),
    [
        ("2026-03-28T22:59:59.999Z", "2026-03-28"),
        ("2026-03-28T23:00:00.000Z", "2026-03-29"),
        ("2026-10-25T00:30:00.000Z", "2026-10-25"),  # 02:30 for the first time
        ("2026-10-25T01:30:00.000Z", "2026-10-25"),  # 02:30 for the second time
        ("2026-10-25T22:59:59.999Z", "2026-10-25"),
        ("2026-10-25T23:00:00.000Z", "2026-10-26"),
        ("2026-01-01T23:30:00.000Z", "2026-01-02"),
    ],
)
def test_it_puts_a_moment_on_the_day_it_was_at_the_site(moment, day):
    assert times.local_day(times.from_text(moment), VIENNA) == day


def test_it_is_another_day_at_another_site():
    moment = times.from_text("2026-05-14T11:30:00.000Z")
    assert times.local_day(moment, "Pacific/Kiritimati") == "2026-05-15"
    assert times.local_day(moment, "Pacific/Pago_Pago") == "2026-05-14"


MOMENTS = st.datetimes(datetime(2000, 1, 1), datetime(2060, 1, 1), timezones=st.just(UTC))


@given(MOMENTS, st.sampled_from(ZONES))
def test_it_has_every_moment_on_exactly_one_day(moment, zone):
    """The day that a moment is put on is the one whose bounds hold it, in every zone."""
    day = times.local_day(moment, zone)
    start, end = times.day_bounds(day, zone)
    assert start <= moment < end


@given(st.dates(datetime(2000, 1, 1).date(), datetime(2060, 1, 1).date()), st.sampled_from(ZONES))
def test_it_lets_no_moment_fall_between_two_days(date, zone):
    day, after = date.isoformat(), (date + timedelta(days=1)).isoformat()
    assert times.day_bounds(day, zone)[1] == times.day_bounds(after, zone)[0]


def test_it_gives_a_day_that_never_was_no_time_at_all():
    """Samoa went from the 29th to the 31st of December 2011 (IANA time zone database)."""
    start, end = times.day_bounds("2011-12-30", "Pacific/Apia")
    assert start == end


@given(MOMENTS)
def test_it_gives_back_every_moment_to_the_millisecond(moment):
    text = times.to_text(moment)
    assert times.from_text(text) == moment.replace(microsecond=moment.microsecond // 1000 * 1000)
    assert times.to_text(times.from_text(text)) == text
    assert len(text) == 24
    assert text.endswith("Z")


@given(MOMENTS, MOMENTS)
def test_it_sorts_as_text_as_in_time(a, b):
    a, b = (m.replace(microsecond=m.microsecond // 1000 * 1000) for m in (a, b))
    assert (times.to_text(a) < times.to_text(b)) == (a < b)


@given(MOMENTS, st.integers(-14 * 60, 14 * 60))
def test_it_stores_any_zone_as_the_same_moment(moment, minutes):
    elsewhere = moment.astimezone(timezone(timedelta(minutes=minutes)))
    assert times.to_text(elsewhere) == times.to_text(moment)
    assert times.from_text(elsewhere.isoformat()) == moment
    assert times.from_text(elsewhere.isoformat()).tzinfo is UTC


def test_it_refuses_a_time_without_a_zone():
    with pytest.raises(ValueError, match="zone"):
        times.to_text(datetime(2026, 5, 14, 9, 0))
    with pytest.raises(ValueError, match="zone"):
        times.from_text("2026-05-14T09:00:00")


@pytest.mark.parametrize("text", ["", "yesterday", "2026-13-01T00:00:00Z", "2026-05-14", "9:00"])
def test_it_refuses_what_is_no_time(text):
    with pytest.raises(ValueError):
        times.from_text(text)


def test_it_says_now_in_utc():
    assert times.now().tzinfo is UTC


@pytest.mark.parametrize(
    ("roasted", "zone", "day"),
    [
        (datetime(2026, 5, 13, 22, 30, tzinfo=UTC), VIENNA, "2026-05-14"),
        (datetime(2026, 5, 13, 21, 30, tzinfo=UTC), VIENNA, "2026-05-13"),
        (datetime(2026, 5, 14, 2, 30, tzinfo=UTC), "America/Bogota", "2026-05-13"),
        (datetime(2026, 10, 25, 2, 30, fold=1, tzinfo=ZoneInfo(VIENNA)), VIENNA, "2026-10-25"),
    ],
)
def test_it_keeps_a_batch_under_the_day_it_was_roasted_at_the_site(bench, roasted, zone, day):
    site.put_site(bench.db, site.Site("Test roastery", zone, 10, 12), SYSTEM, bench.now)
    assert bench.batch(at=roasted).day == day


def test_it_keeps_a_batchs_day_when_the_site_moves(bench):
    """The day is a fact of the morning it was roasted, not of where the settings point today."""
    batch = bench.batch(at=datetime(2026, 5, 13, 22, 30, tzinfo=UTC))
    site.put_site(bench.db, site.Site("Test roastery", "America/Bogota", 10, 12), SYSTEM, later(bench.now, days=1))
    assert batches.get_batch(bench.db, batch.id).day == "2026-05-14"
