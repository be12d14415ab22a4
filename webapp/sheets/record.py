"""Everything on the record of a batch, worked out beforehand. A copy is the same with less in it: what is left out is
dropped here, so that no template can let it through."""

from __future__ import annotations

from dataclasses import dataclass

from flask_babel import gettext as _
from flask_babel import ngettext
from sqlite_utils import Database

from webapp.measure import show_give_or_take, show_percent, show_value
from webapp.sheets import changes
from webapp.sheets.fields import Choice
from webapp.sheets.people import People
from webapp.sheets.qr import Qr, qr_of
from webapp.sheets.samples import SampleSheet, sheet_of
from webapp.sheets.words import verdict_word
from webapp.store import batch_records, batches, claims, countersigns, decisions, ledger, results, samples
from webapp.store.batch_records import Blend
from webapp.store.batches import Batch
from webapp.store.decisions import Decision
from webapp.store.samples import Sample
from webapp.ui import verdict_words
from webapp.ui.decision_words import decided as decided_word
from webapp.ui.filters import day_and_clock, one_decimal
from webapp.ui.numbers import celsius, decimal_mark, kilograms, minutes
from webapp.ui.part_views import PartView, apart_at, part_views
from webapp.ui.verdict_words import Words


@dataclass(frozen=True)
class Row:
    """A kind in the table of numbers. Texts; "" for what there is not."""

    view: PartView
    value: str
    band: str
    chance: str
    counted: str
    remarks: tuple[str, ...]


@dataclass(frozen=True)
class Decided:
    """A decision: its word, who and when, what was said, for whom; old: a later one took its place."""

    word: str
    when: str
    reason: str
    more: tuple[str, ...]
    old: bool


@dataclass(frozen=True)
class Ledger:
    """The newest line about the batch, how many there are, and the chain's newest one."""

    seq: int
    at: str
    hash: str
    lines: int
    head_seq: int
    head_hash: str


@dataclass(frozen=True)
class Sheet:
    """The record. facts: (name, text) of the roast; rules: by what it was judged; unsure: how u was worked out, a line
    for each kind; parents: of a blend, (code, mass); left_out: what a copy lacks, as texts."""

    batch: Batch
    words: Words
    doubts: tuple[str, ...]
    facts: tuple[tuple[str, str], ...]
    note: str
    parents: tuple[tuple[str, str], ...]
    rows: tuple[Row, ...]
    rules: tuple[str, ...]
    unsure: tuple[tuple[str, str], ...]
    samples: tuple[SampleSheet, ...]
    changes: tuple[changes.Line, ...]
    signed: tuple[str, ...]
    decisions: tuple[Decided, ...]
    ledger: Ledger | None
    qr: Qr
    left_out: tuple[str, ...]


def make(db: Database, batch_id: str, choice: Choice, address: str) -> Sheet:
    """The record of a batch. address: where it is to be found, for the QR code. NotFound if there is no such batch."""
    batch, taken, made = batches.get_batch(db, batch_id), samples.get_samples(db, batch_id), None
    made, signed = decisions.get_decisions(db, batch_id), countersigns.list_countersignatures(db, batch_id)
    under = claims.get_claims(db, [one.claim_id for one in (batch, *taken, *made, *signed)])
    people, views = People("names" in choice, under), part_views(db, batch_id)
    stands, blend = results.get_batch_result(db, batch_id), batch_records.find_blend(db, batch_id)
    parts, steps = ({kind: getattr(view, name) for kind, view in views.items()} for name in ("part", "step"))
    words = verdict_words.batch_words(stands, parts, steps, apart_at(parts, taken))
    return Sheet(
        batch, words, tuple(doubts(db, batch_id, words, stands, made, people)),
        tuple((name, text) for name, text in facts(db, batch, blend, choice, people) if text),
        choice.only("notes", batch.note), tuple(parents(blend, choice)),
        tuple(row(view, blend) for view in views.values()), rules(views),
        tuple(unsure(views)) if "uncertainty" in choice else (),
        tuple(sheet_of(db, sample, choice, people) for sample in taken),
        tuple(changes.lines(db, batch_id, choice, people)),
        tuple(countersigned(signed, taken, choice, people)),
        tuple(decided(db, made, choice, people)),
        ledger_of(db, batch_id, taken, list(under)) if "ledger" in choice else None,
        qr_of(address), tuple(choice.left_out),
    )  # fmt: skip


def doubts(db: Database, batch_id: str, words: Words, stands, made: list[Decision], people: People):
    """Why the result is not to be taken as it stands."""
    if words.mark:
        yield words.mark
    if stands and stands.grinder_state == "burrs":
        yield _("Ground on new burrs that nobody has compared with the old ones yet.")
    waiting = countersigns.waiting_samples(db, batch_id)
    if waiting and not (made and made[-1].what in ("release", "concession", "reject")):
        yield _("Read by a trainee, and not countersigned yet.")
    elif waiting:
        yield _("Read by a trainee, and never countersigned.")


def facts(db: Database, batch: Batch, blend: Blend | None, choice: Choice, people: People):
    """(Name, text) of the roast; "" for what is left out or was not written down."""
    yield _("Machine"), batch.machine_name
    yield _("Roasted"), day_and_clock(batch.roasted_at)
    yield _("Green lot"), choice.only("lot", batch.lot)
    if "masses" in choice:
        yield _("Green mass"), f"{kilograms(batch.green_g)} kg" if batch.green_g is not None else ""
        yield _("Roasted mass"), f"{kilograms(batch.roasted_g)} kg" if batch.roasted_g is not None else ""
        yield _("Roast loss"), f"{one_decimal(batch.roast_loss)} %" if batch.roast_loss is not None else ""
    degrees = batch.drop_decicelsius
    yield _("Drop temperature"), f"{celsius(degrees)} °C" if degrees is not None else ""
    yield _("Total time"), minutes(batch.total_s) if batch.total_s is not None else ""
    yield _("Development time"), minutes(batch.development_s) if batch.development_s is not None else ""
    yield _("Started by"), people.of(batch, batch.person_name, None, batch.tablet_name)
    if blend:
        yield _("Mixed"), people.at(blend.person_name, day_and_clock(blend.made_at))
        yield _("Why mixed"), choice.only("reasons", blend.reason)
    if batch.import_id:
        taken = batch_records.find_taken_in(db, batch.import_id, batch.import_row)
        row_no = _("row %(no)d", no=taken.row) if taken.row is not None else ""
        when = people.at(taken.person_name, day_and_clock(taken.received_at))
        yield _("Taken in from a file"), ", ".join(filter(None, (choice.only("notes", taken.file_name), row_no, when)))


def parents(blend: Blend | None, choice: Choice):
    """(Code, mass and share) of the batches in a blend; without masses the codes alone."""
    if blend is None:
        return
    total = sum(part.grams for part in blend.parts)
    for part in blend.parts:
        share = show_percent(part.grams / total, decimal_mark())
        yield part.code, choice.only("masses", f"{kilograms(part.grams)} kg, {share}")


def row(view: PartView, blend: Blend | None) -> Row:
    """A kind as texts."""
    part, gauge, remarks = view.part, view.gauge, []
    if part.readings_disagree:
        remarks.append(_("readings of one fill disagree"))
    if part.fills_disagree and part.kind != "difference":
        remarks.append(_("fills differ by more than this method usually shows"))
    if part.apart:
        remarks.append(ngettext("one more sample is kept apart", "%(num)d more samples are kept apart", part.apart))
    if blend and part.kind in blend.expected:
        value, u = blend.expected[part.kind]
        remarks.append(_("%(value)s was expected of the blend", value=with_give(value, 2 * u, view.step)))
    fills = ngettext("%(num)d fill", "%(num)d fills", part.fills)
    counted = f"{fills}, {ngettext('%(num)d reading', '%(num)d readings', part.readings)}"
    chance = "" if part.verdict is None else show_percent(part.chance, decimal_mark())
    return Row(view, with_give(part.value, part.U, view.step), band_words(gauge) if view.band else "", chance,
               counted if part.kind != "difference" else "", tuple(remarks))  # fmt: skip


def with_give(value: float, U: float, step: float) -> str:
    """`56.2 ± 0.5`."""
    number, give = show_value(value, step, decimal_mark()), show_give_or_take(U, step, decimal_mark())
    return f"{number}\N{NO-BREAK SPACE}±\N{NO-BREAK SPACE}{give}"


def band_words(gauge) -> str:
    """`54.5 to 57.5, target 56.0`, or the one limit there is."""
    if gauge.lower and gauge.upper:
        return _("%(lower)s to %(upper)s, target %(centre)s", lower=gauge.lower, upper=gauge.upper, centre=gauge.centre)
    if gauge.lower:
        return _("from %(limit)s, target %(centre)s", limit=gauge.lower, centre=gauge.centre)
    return _("up to %(limit)s, target %(centre)s", limit=gauge.upper, centre=gauge.centre)


def rules(views: dict[str, PartView]) -> tuple[str, ...]:
    """By which rule and which targets it was judged, each once."""
    found = []
    for view in views.values():
        if view.target is None or not view.part.verdict:
            continue
        if view.target.rule == "guarded":
            share = show_percent(view.target.confidence, decimal_mark())
            said = _("Guarded rule (JCGM 106): in band or out is said from a chance of %(share)s on.", share=share)
        else:
            said = _("Simple rule (JCGM 106): in band from limit to limit, however uncertain the value is.")
        found.append(f"{said} {_('Targets, version %(no)s', no=view.target.no)}.")
    return tuple(dict.fromkeys(found))


def unsure(views: dict[str, PartView]):
    """(Kind, how its u was worked out)."""
    def fine(number: float, places: float = 0.001) -> str:
        return show_value(number, places, decimal_mark())

    for view in views.values():
        part, terms = view.part, []
        if part.sigma_r is not None:
            terms.append(_("σ between fills %(f)s, between readings %(r)s (%(source)s)", f=fine(part.sigma_f),
                           r=fine(part.sigma_r), source=view.sigmas_from))  # fmt: skip
        squares = (part.fill_term, part.reading_term, part.step_term, part.meter_term)
        terms.append(_("u² = %(terms)s (fills, readings, step, meter)",
                       terms=" + ".join(fine(term, 0.0001) for term in squares)))  # fmt: skip
        terms.append(_("u = %(u)s, U = 2u = %(U)s", u=fine(part.u), U=fine(part.U)))
        yield view.name, "; ".join(terms)


def countersigned(signed, taken: list[Sample], choice: Choice, people: People):
    """Each countersignature with the samples that it stands for."""
    for one in signed:
        kinds = [verdict_words.kind_word(s.kind).lower() for s in taken if s.id in one.sample_ids]
        when = people.at(one.person_name, day_and_clock(one.received_at), one.role)
        said = _("Countersigned, %(when)s", when=when) + (f" ({', '.join(kinds)})" if kinds else "")
        note = choice.only("notes", one.note)
        yield "; ".join((said + (f" “{note}”" if note else ""), *people.arrival(one)))


def decided(db: Database, made: list[Decision], choice: Choice, people: People):
    """The decisions, oldest first; the last one stands."""
    beside = batch_records.decisions_more(db, made[0].batch_id) if made else {}
    for one in made:
        more = beside[one.id]
        customer = choice.only("customer", more.customer)
        said = [_("for %(customer)s", customer=customer)] if customer else []
        said += [_("blend %(code)s", code=more.blend_code)] if more.blend_code else []
        said.append(_("it read: %(verdict)s", verdict=verdict_word(one.verdict)))
        # Older decisions say no role: only a lead could take these two.
        role = more.role or ("lead" if one.what in ("reject", "concession") else None)
        yield Decided(
            decided_word(one.what), people.at(one.person_name, day_and_clock(one.received_at), role),
            choice.only("reasons", one.reason), (*said, *people.arrival(one)), more.superseded,
        )  # fmt: skip


def ledger_of(db: Database, batch_id: str, taken: list[Sample], claim_ids: list[str]) -> Ledger:
    """See Ledger."""
    line, lines = batch_records.newest_line(db, batch_id, [sample.id for sample in taken], claim_ids)
    return Ledger(line["seq"], day_and_clock(line["at"]), line["hash"], lines, *ledger.head(db))
