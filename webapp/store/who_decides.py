"""Who may decide what about a batch: one rule for the pages, for what comes out of a tablet, and for many at once.

Its twin on a tablet without the server is mayDecide in static/js/offline/result-view.mjs.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from .meter_state import FINE

if TYPE_CHECKING:
    from .decisions import Decision
    from .part_results import BatchResult

# What can be asked for by itself. A batch goes into a blend when the blend is carried out, never with a button.
WHATS = ("release", "hold", "remeasure", "reject", "concession")
# What a lead answers for with the PIN entered again.
PIN_AGAIN = ("concession", "reject")


def may_decide(role: str, stands: BatchResult | None, last: Decision | None = None) -> tuple[str, ...]:
    """What a role may decide about a batch as it stands. stands: None while nothing is measured; last: the newest
    decision.

    A roaster releases what is in band (or has no target to be judged by) and was read on a meter that is proven, may
    hold anything, and may ask for another reading; everything else is a lead's, and what a lead has decided, only a
    lead supersedes. Whatever else leaves, leaves by concession. What waits for a countersignature does not leave at
    all. A decision that asked for another reading says nothing more once there is one.
    """
    if role == "trainee" or (role != "lead" and last is not None and last.by_lead and not last.reread):
        return ()
    waits = stands is not None and stands.hands_state == "waiting"
    fine = stands is not None and stands.verdict in ("inside", "unjudged") and stands.meter_state in FINE
    allowed = ["release"] if fine and not waits else []
    allowed.append("hold")
    if stands is not None:
        allowed.append("remeasure")
    if role == "lead":
        allowed.append("reject")
        if not fine and not waits:
            allowed.append("concession")
    return tuple(allowed)


def needs_reason(what: str, last: Decision | None) -> bool:
    """Whether a decision says why: all do but a release of what nobody has decided about."""
    return what != "release" or (last is not None and not last.reread)
