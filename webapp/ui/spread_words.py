"""What a method's give or take stands on: its standard deviations, where they are from, and since when."""

from __future__ import annotations

from dataclasses import dataclass

from flask_babel import gettext as _
from sqlite_utils import Database

from webapp.measure import Sigmas, show_value
from webapp.store import precision, spreads
from webapp.store.gear import Scale
from webapp.store.methods import MethodVersion
from webapp.store.precision import Outcome, Study
from webapp.ui.filters import day_of
from webapp.ui.numbers import decimal_mark


def source_words(source: str, study: Outcome | None) -> str:
    """Where sigmas are from, in a few words. `study`: the outcome they come from, where the source is a study."""
    if source == "study":
        return _("from the study of %(day)s", day=day_of(study.made_at)) if study else _("from a precision study")
    return {"assumed": _("assumed"), "routine": _("from this bench's own work")}[source]


def sigma_source_words(
    db: Database, source: str, method_version_id: str | None, scale_id: str, until: str | None = None
) -> str:
    """The same for a stored result. `until`: when the sample was stored, since its sigmas are those of then."""
    study = None
    if source == "study" and method_version_id:
        study = precision.accepted_for(db, method_version_id, scale_id, until)
    return source_words(source, study)


@dataclass(frozen=True)
class SpreadLine:
    """A method version's spread on one scale, for a page. `outcome` and `study`: the study it comes from, or None;
    `carried`: it was made of another version with the same preparation."""

    scale: Scale
    sigmas: Sigmas
    source: str
    outcome: Outcome | None
    study: Study | None
    carried: bool

    @property
    def fine(self) -> float:
        """Standard deviations are shown to a tenth of the scale's step."""
        return self.scale.step / 1000

    @property
    def readings(self) -> str:
        """How far readings of one fill scatter."""
        return show_value(self.sigmas.sigma_r, self.fine, decimal_mark())

    @property
    def fills(self) -> str:
        """How far fills scatter."""
        return show_value(self.sigmas.sigma_f, self.fine, decimal_mark())


def spread_line(db: Database, version: MethodVersion, scale: Scale) -> SpreadLine:
    """What is known now of a method version on a scale."""
    sigmas = spreads.sigmas_for(db, version.id, scale.id, version.kind, (scale.upper - scale.lower) / 100)
    outcome = precision.accepted_for(db, version.id, scale.id) if sigmas.source == "study" else None
    study = precision.get_study(db, outcome.study_id) if outcome else None
    carried = study is not None and study.method.id != version.id
    return SpreadLine(scale, sigmas, source_words(sigmas.source, outcome), outcome, study, carried)
