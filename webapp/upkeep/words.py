"""The lines of the server's state in words: what it is, how it is, what to do."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from flask import g
from flask_babel import gettext as _
from flask_babel import ngettext

from webapp.store.site import Site
from webapp.store.times import to_text
from webapp.ui.filters import day_and_clock

from .state import Line


@dataclass(frozen=True)
class Said:
    """advice: what to do, or nothing."""

    title: str
    text: str
    advice: str = ""


def said_of(line: Line, site: Site | None = None) -> Said:
    """A line in words. site: whose time zone times are told in, outside of a page."""
    if site is not None:
        g.site = site
    return globals()[f"_{line.what}"](line.how, **line.facts)


def _when(at: datetime | None) -> str:
    return day_and_clock(to_text(at)) if at else ""


def megabytes(size: int) -> str:
    """A size in bytes as 1,234 MB would be: whole megabytes, < 1 MB below."""
    return f"{size // 1_000_000} MB" if size >= 1_000_000 else "< 1 MB"


def _build(how: str, build: str, size: int) -> Said:
    return Said(_("Build"), _("%(build)s; the database has %(size)s.", build=build, size=megabytes(size)))


def _engine(how: str, version: str, journal: str, sound: bool) -> Said:
    text = _("SQLite %(version)s, journal mode %(journal)s.", version=version, journal=journal.upper())
    if not sound:
        text += " " + _("This version can lose what was stored in WAL mode: so it is not used.")
    advice = "" if how == "fine" else _("Stop the server and start it again: the journal mode is not the one it needs.")
    return Said(_("Engine"), text, advice)


def _no_https(how: str) -> Said:
    return Said(
        _("HTTPS"),
        _("Not set up."),
        _("Without it tablets keep no app and no readings when the network is away. See deploy/README.md."),
    )


def _certificate(how: str, host: str, problem: str, days: int | None) -> Said:
    if days is None:
        text = _("%(host)s cannot be reached as tablets would: %(problem)s.", host=host, problem=problem)
        return Said(_("Certificate"), text, _("Look at the reverse proxy and its certificate now."))
    text = ngettext("%(host)s: %(num)d day left.", "%(host)s: %(num)d days left.", days, host=host)
    advice = "" if how == "fine" else _("Renew it, or find out why it was not renewed.")
    return Said(_("Certificate"), text, advice)


def _authority(how: str, fingerprint: str | None, file: str) -> Said:
    title = _("Own authority")
    if fingerprint is None:
        return Said(title, _("%(file)s holds no certificate.", file=file), _("Put the root's certificate there."))
    return Said(title, _("Its fingerprint, to compare with what a tablet shows: %(digits)s", digits=fingerprint))


def _clock(how: str, now: datetime, newest: str | None) -> Said:
    if how == "fine":
        return Said(_("Clock"), _("%(now)s, not behind what is stored.", now=_when(now)))
    text = _("%(now)s, but the newest record is from %(newest)s.", now=_when(now), newest=day_and_clock(newest))
    return Said(_("Clock"), text, _("Set the clock: times, certificates and sign-in hang on it."))


def _copy(how: str, at: datetime | None, count: int, problem: str) -> Said:
    title = _("Copy of the database")
    if at is None:
        text = _("There is none yet.") + (f" {problem}" if problem else "")
        return Said(title, text, _("Run flask backup every night (deploy/README.md)."))
    kept = ngettext("%(num)d copy is kept.", "%(num)d copies are kept.", count)
    text = _("Newest: %(at)s.", at=_when(at)) + f" {kept}" + (f" {problem}" if problem else "")
    return Said(
        title, text, "" if how == "fine" else _("Find out why the nightly copy was not made, or not brought away.")
    )


def _trial(how: str, at: datetime | None, problem: str, lines: int | None) -> Said:
    title = _("Copy put back for trial")
    if at is None:
        return Said(title, _("Never yet."), _("Run flask try-restore once a month: a copy counts when it was tried."))
    if problem:
        return Said(
            title, f"{_when(at)}: {problem}", _("Do not rely on this copy. Make another one and look at the disk.")
        )
    return Said(title, _("%(at)s, everything was there.", at=_when(at)), "" if how == "fine" else _("Try again soon."))


def _check(how: str, at: datetime | None, problem: str, lines: int | None) -> Said:
    title = _("Ledger")
    if at is None:
        return Said(title, _("Never looked through yet."), _("Run flask check once a week."))
    if problem:
        return Said(
            title, f"{_when(at)}: {problem}", _("Somebody or something changed the file. Keep it, and ask for help.")
        )
    text = _("Looked through %(at)s, as it was written.", at=_when(at))
    return Said(title, text, "" if how == "fine" else _("Run flask check again."))


def _space(how: str, free: int) -> Said:
    advice = "" if how == "fine" else _("Make room: a full disk takes no readings.")
    return Said(_("Disk"), _("%(free)s free.", free=megabytes(free)), advice)
