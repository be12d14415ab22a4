"""Whose hands a batch was read by, in words."""

from __future__ import annotations

from collections.abc import Sequence

from flask_babel import gettext as _

from webapp.store.samples import Sample
from webapp.ui.verdict_words import kind_word


def read_by(waiting: Sequence[Sample]) -> str:
    """`whole bean read by Tomas before the sign-off; ground ...`, each kind and person once."""
    found = dict.fromkeys((sample.kind, sample.person_name) for sample in waiting)
    said = [_("%(kind)s read by %(name)s before the sign-off", kind=kind_word(kind).lower(), name=name)
            for kind, name in found]  # fmt: skip
    return "; ".join(said)
