"""Times are kept in UTC as ISO 8601 text with milliseconds and a Z; the site's zone decides what "today" is."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo


def now() -> datetime:
    """The present moment, in UTC."""
    return datetime.now(UTC)


def to_text(moment: datetime) -> str:
    """`2026-05-14T06:58:03.120Z`. Text order is time order. Naive times are refused (ValueError)."""
    if moment.tzinfo is None:
        raise ValueError("a time without a zone cannot be stored")
    return moment.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def from_text(text: str) -> datetime:
    """The inverse of `to_text`; also takes an offset in place of the Z. ValueError if it is no time."""
    moment = datetime.fromisoformat(text)
    if moment.tzinfo is None:
        raise ValueError("a time without a zone")
    try:
        return moment.astimezone(UTC)
    except OverflowError:
        raise ValueError("a time outside of the calendar") from None


def claimed_time(text: str | None, now: datetime) -> str:
    """A tablet's claim of when something happened, as stored text; `now` if it is none or lies ahead."""
    try:
        moment = from_text(text or "")
    except ValueError:
        moment = now
    return to_text(min(moment, now))


def local_day(moment: datetime, zone: str) -> str:
    """The calendar day (`2026-05-14`) on which `moment` fell at a site in `zone`."""
    return moment.astimezone(ZoneInfo(zone)).date().isoformat()


def day_bounds(day: str, zone: str) -> tuple[datetime, datetime]:
    """First moment of `day` at the site, and of the day after (23 or 25 hours apart when the clock changes)."""
    site = ZoneInfo(zone)
    start = date.fromisoformat(day)
    return tuple(datetime.combine(start + timedelta(days=more), time(), site).astimezone(UTC) for more in (0, 1))
