"""People on a sheet: who, in which role, how it came, or nobody where names are left out."""

from __future__ import annotations

from dataclasses import dataclass

from flask_babel import gettext as _

from webapp.sheets.words import role_word
from webapp.store.claims import Claim
from webapp.ui.filters import day_and_clock


@dataclass(frozen=True)
class People:
    """named: whether names are shown; claims: those under which anything of the batch was made, by id."""

    named: bool
    claims: dict[str, Claim]

    def name(self, name: str, role: str | None = None) -> str:
        """`Ada (lead)`, or nothing."""
        if not self.named:
            return ""
        return f"{name} ({role_word(role)})" if role and role != "roaster" else name

    def at(self, name: str, when: str, role: str | None = None) -> str:
        """`Ada (lead), 14 May 2026, 07:42`, or the time alone."""
        return ", ".join(filter(None, (self.name(name, role), when)))

    def of(self, record, name: str, role: str | None, tablet: str) -> str:
        """Who made a record, on which tablet, and how it came: nothing where names are left out."""
        if not self.named:
            return ""
        return "; ".join((f"{self.name(name, role)}, {tablet}", *self.arrival(record)))

    def arrival(self, record) -> list[str]:
        """How a record came, where it came out of a tablet's outbox; [] without names, since they are all it says."""
        found = []
        if not self.named:
            return found
        if record.claim_id:
            claim = self.claims[record.claim_id]
            about = {"name": claim.person_name, "time": day_and_clock(claim.claimed_at)}
            found.append(_("claimed by %(name)s at %(time)s", **about))
            confirmed = claim.confirmed_at and day_and_clock(claim.confirmed_at)
            found.append(_("confirmed at %(time)s", time=confirmed) if confirmed else _("not confirmed yet"))
        if record.sent_by_name and record.sent_by != record.person_id:
            found.append(_("sent by %(name)s", name=record.sent_by_name))
        if record.tablet_clock:
            found.append(_("the tablet's clock was ahead: %(time)s", time=day_and_clock(record.tablet_clock)))
        return found
