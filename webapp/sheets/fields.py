"""What a copy for somebody outside shows and what it leaves out: ticks, kept in the address."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from flask_babel import gettext as _
from werkzeug.datastructures import MultiDict

# Of a batch's record, in the order of the form; and those that are ticked at first. What people have typed, and who
# they are, is for a lead or roaster to add on purpose.
RECORD = (
    "names", "customer", "notes", "reasons", "lot", "masses", "readings", "steps", "check", "uncertainty", "ledger",
)  # fmt: skip
RECORD_USUAL = ("lot", "masses", "readings", "steps", "check", "uncertainty", "ledger")
# Of a month's list of batches.
MONTH = ("values", "verdicts", "decisions", "lots", "masses")
MONTH_USUAL = ("values", "verdicts", "decisions")


@dataclass(frozen=True)
class Choice:
    """of: every field there is, in order; shown: those that are shown."""

    of: tuple[str, ...]
    shown: frozenset[str]

    def __contains__(self, field: str) -> bool:
        return field in self.shown

    def only(self, field: str, text: str | None) -> str:
        """The text where its field is shown, else nothing: what is left out never reaches a template."""
        return text or "" if field in self.shown else ""

    @property
    def left_out(self) -> list[str]:
        """The names of what is left out, as they stand in a sentence."""
        return [named for field, (_label, named) in words(self.of).items() if field not in self.shown]

    @property
    def address(self) -> dict[str, object]:
        """The choice as an address has it."""
        return {"chosen": 1, "with": [field for field in self.of if field in self.shown]}


EVERYTHING = Choice(RECORD, frozenset(RECORD))


def read(args: MultiDict, of: tuple[str, ...], usual: Sequence[str]) -> Choice:
    """From the address. Without a choice in it, the usual one; what is no field counts for nothing."""
    asked = args.getlist("with") if args.get("chosen") else usual
    return Choice(of, frozenset(asked) & frozenset(of))


def words(of: Sequence[str]) -> dict[str, tuple[str, str]]:
    """Field -> (its label in the form, its name in a sentence)."""
    known = {
        "names": (_("Names of people"), _("names of people")),
        "customer": (_("The customer's name, where a concession has one"), _("the customer's name")),
        "notes": (_("Internal notes, and the reasons of corrections"), _("internal notes")),
        "reasons": (_("Reasons of decisions"), _("the reasons of decisions")),
        "lot": (_("Green lot"), _("the green lot")),
        "masses": (_("Masses and roast loss"), _("masses and roast loss")),
        "readings": (_("Readings one by one"), _("the readings one by one")),
        "steps": (_("Steps of the preparation"), _("the steps of the preparation")),
        "check": (_("The meter's last check"), _("the meter's last check")),
        "uncertainty": (_("How the uncertainty was worked out"), _("how the uncertainty was worked out")),
        "ledger": (_("Ledger lines"), _("ledger lines")),
        "values": (_("The values of each batch"), _("the values of each batch")),
        "verdicts": (_("The verdict on each batch"), _("the verdict on each batch")),
        "decisions": (_("What became of each batch"), _("what became of each batch")),
        "lots": (_("Green lots"), _("green lots")),
    }
    return {field: known[field] for field in of}
