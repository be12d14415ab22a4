"""What people of the invented roastery write down."""

from __future__ import annotations

from random import Random

from webapp.store.meter_state import FINE

CORRECTED = (
    "Wrong first digit, the meter showed it right.",
    "Mistyped with gloves on.",
    "Typed the number of the batch before.",
)
BATCH_NOTES = (
    "Gas down a little earlier than usual.",
    "Chaff tray emptied before this one.",
    "First batch on a cold drum.",
    "Green was colder than usual this morning.",
)
SAMPLE_NOTES = (
    "A few broken beans in the dish.",
    "Straightedge wiped before levelling.",
    "Sample from the far side of the tray.",
)
HELD = {
    "undecided": ("Too close to call, one for a lead.", "A second fill would not settle it."),
    "outside": ("Out of band, kept aside.", "Set aside and marked."),
}
SETTLED = {
    "undecided": (
        ("concession", "Cupped beside the last one: no difference."),
        ("concession", "On the limit, the customer's own limit is wider."),
    ),
    "outside": (
        ("concession", "Cupped, clean, goes to the office coffee."),
        ("reject", "Clearly off in the cup as well."),
        ("hold", "Kept for the next blend."),
    ),
    "incomplete": (("concession", "Ground was not read: the grinder was being cleaned."),),
}

# Of a concession with such a reason, for whom it was made.
CUSTOMERS = {"On the limit, the customer's own limit is wider.": "Bakery on the quay"}
READ_AGAIN = "A fresh sample from the other sack, please."

ADJUSTED = "Off its plate. Set to the plate and read again."
NOT_PROVEN = ("Nothing stands behind the meter, one for a lead.", "The meter had not been checked.")
CONCEDED = ("Checked right after it: the meter was good.", "Cupped beside the last one: no difference.")
DOUBTED = ("Near the limit: read it again on the other meter.", "Too near the limit to let it stand.")
CUPPED = ("Cupped with the batch before, no difference.", "Cupped again: as it should be.")
ACCEPTED = (*CUPPED, "The same verdict without what the meter was off.", "What the meter was off changes nothing here.")
WAITS = "The meter failed its check: waits for the look-back."


def batch_note(rng: Random) -> str:
    """A note on a batch; most have none."""
    return rng.choice(BATCH_NOTES) if rng.random() < 0.05 else ""


def sample_note(rng: Random) -> str:
    """A note on a sample; most have none."""
    return rng.choice(SAMPLE_NOTES) if rng.random() < 0.03 else ""


def accepted(would_change: bool) -> tuple[str, ...]:
    """Why a sample of a look-back is accepted."""
    return CUPPED if would_change else ACCEPTED


def held(rng: Random, verdict: str) -> str:
    """Why a batch is held."""
    return rng.choice(HELD[verdict])


def settled(rng: Random, verdict: str, meter_state: str | None) -> tuple[str, str]:
    """What a lead decides, and the reason."""
    if meter_state == "doubted":
        return "hold", WAITS
    if meter_state not in FINE and verdict in ("inside", "unjudged"):
        return "concession", rng.choice(CONCEDED)
    return rng.choice(SETTLED[verdict]) if verdict in SETTLED else ("release", "")
