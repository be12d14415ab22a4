"""The kit: what a tablet needs to prepare, read and judge without a server. No reading of any batch, and no secret.

Numbers in scale units, in the shapes that static/js/measure takes. What a page would choose by itself (method, meter,
target) a tablet chooses from here by the same rules: see page.gather.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date, datetime, timedelta

from sqlite_utils import Database

from webapp import measure
from webapp.bench import kit_compared, kit_studies
from webapp.bench import page as pages
from webapp.store import (
    batches,
    burrs,
    comparisons,
    countersigns,
    gear,
    grinder_log,
    meter_rules,
    meter_state,
    methods,
    people,
    precision,
    products,
    signoffs,
    spreads,
    times,
)
from webapp.store.gear import Meter, Scale
from webapp.store.methods import MethodVersion
from webapp.store.products import Product, Target
from webapp.store.shown_before import shown_before
from webapp.store.site import get_site
from webapp.ui.filters import day_of, method_text
from webapp.ui.goes_wrong import goes_wrong

FORMAT = 1
KINDS = ("whole", "ground")
TRANSLATED = ("title", "body", "why", "done_label", "caution", "note_label")


@dataclass(frozen=True)
class Offer:
    """A product in use and the target now in force for it."""

    product: Product
    target: Target | None


def make(db: Database, now: datetime) -> dict:
    """Everything, ready for JSON."""
    site = get_site(db)
    offers = [Offer(p, products.target_in_force(db, p.id)) for p in products.list_products(db)]
    meters, grinders = gear.list_meters(db), gear.list_grinders(db)
    compared, studied = comparisons.list_open(db), precision.list_open(db)
    scales = {meter.scale.id: meter.scale for meter in meters} | {
        offer.target.scale.id: offer.target.scale for offer in offers if offer.target
    } | {there.scale.id: there.scale for there in (*compared, *studied)}
    versions = usable_versions(db, offers)
    yesterday = date.fromisoformat(times.local_day(now, site.time_zone)) - timedelta(days=1)
    return {
        "format": FORMAT,
        "made_at": times.to_text(now),
        "site": {"name": site.name, "time_zone": site.time_zone, "idle_minutes": site.idle_minutes},
        "people": [person_content(db, p, now) for p in people.list_people(db)],
        "products": [product_content(offer) for offer in offers],
        "machines": [{"id": m.id, "name": m.name} for m in gear.list_machines(db)],
        "scales": [scale_content(s) for s in scales.values()],
        "meters": [meter_content(db, m, now) for m in meters],
        "settings": [
            {"id": s.id, "grinder_id": grinder.id, "grinder": grinder.name, "name": s.name,
             "burrs": burrs_content(db, s.id, now)}
            for grinder in grinders for s in grinder.settings
        ],
        "grinders": [{"id": g.id, "name": g.name, "now": grinder_log.current_setting(db, g.id)} for g in grinders],
        "comparisons": [kit_compared.content(db, there) for there in compared],
        "studies": [kit_studies.content(db, there) for there in studied],
        "methods": [method_content(db, v) for v in versions],
        "sigmas": [sigma_content(db, v, s) for v in versions for s in scales.values()],
        "history": [found for offer in offers for found in histories(db, offer, meters, versions)],
        "batches": [outline_content(db, outline) for outline in batches.outlines(db, yesterday.isoformat())],
    }


def usable_versions(db: Database, offers: list[Offer]) -> list[MethodVersion]:
    """The version in force of every method in use, and of those that a target names; in the order of choice."""
    found = {v.method_id: v for v in methods.list_methods(db)}
    named = [offer.target.method_id(kind) for offer in offers if offer.target for kind in KINDS]
    for method_id in named:
        if method_id and method_id not in found:
            found[method_id] = methods.version_in_force(db, method_id)
    return [v for v in found.values() if v]


def person_content(db: Database, person: people.Person, now: datetime) -> dict:
    """Name, role and habits: enough to take over a tablet by a claim, nothing to prove it with. `signed`: of a trainee,
    the kinds for which they are signed off, since and until when."""
    signed = {}
    for kind in KINDS if person.role == "trainee" else ():
        there = signoffs.state_of(db, person.id, kind, now)
        if there.signed:
            signed[kind] = {"since": there.since, "until": there.until}
    return {
        "id": person.id, "name": person.name, "role": person.role, "signed": signed,
        "auto_point": person.auto_point, "short_checklist": person.short_checklist,
    }  # fmt: skip


def outline_content(db: Database, outline: batches.Outline) -> dict:
    """A batch without a number. `hands`: of a batch that a trainee has read, which samples wait for a countersignature
    and which have one; null where there is nothing of either."""
    waiting = [
        {"id": s.id, "kind": s.kind, "name": s.person_name} for s in countersigns.waiting_samples(db, outline.id)
    ] if outline.by_trainee else []  # fmt: skip
    signs = countersigns.list_countersignatures(db, outline.id) if outline.by_trainee else []
    signed = [sample_id for sign in signs for sample_id in sign.sample_ids]
    content = asdict(outline)
    del content["by_trainee"]
    return content | {"hands": {"waiting": waiting, "signed": signed} if waiting or signed else None}


def product_content(offer: Offer) -> dict:
    """A product with its target."""
    product, target = offer.product, offer.target
    content = {"id": product.id, "name": product.name, "short": product.short, "target": None}
    if target:
        content["target"] = {
            "id": target.id,
            "no": target.no,
            "scale_id": target.scale.id,
            "rule": {"kind": target.rule, "confidence": target.confidence},
            "methods": {kind: target.method_id(kind) for kind in KINDS},
            "bands": {kind: pages.band_units(band) for kind, band in target.bands.items()},
        }
    return content


def scale_content(scale: Scale) -> dict:
    """A scale as js/measure takes it, with its name."""
    ends = {"lower": scale.lower / 100, "upper": scale.upper / 100, "step": scale.step / 100}
    return {"id": scale.id, "name": scale.name, **ends, "lighter": scale.lighter}


def meter_content(db: Database, meter: Meter, now: datetime) -> dict:
    """A meter with its plate, its standard uncertainty, and how it stands: see `control_content`."""
    there = meter.usable_plate
    plate = there and {
        "id": there.id, "name": there.name, "assigned": there.assigned / 100, "tolerance": there.tolerance / 100,
    }  # fmt: skip
    return {
        "id": meter.id, "name": meter.name, "scale_id": meter.scale.id, "plate": plate,
        "uMeter": meter_state.meter_u(db, meter, now), "control": control_content(db, meter, now),
    }  # fmt: skip


def control_content(db: Database, meter: Meter, now: datetime) -> dict:
    """Its rule (or null), its last check (or null), the shifts that begin in the week from then, and how many samples
    were read on it since."""
    stands = meter_state.standing(db, meter.id, now)
    rule, last = stands.rule, stands.last
    starts: list[str] = []
    if rule and rule.due == "shift":
        zone, moment = get_site(db).time_zone, now - timedelta(days=1)
        if last:
            moment = max(moment, times.from_text(last.made_at))
        while moment < now + timedelta(days=7):
            moment = meter_rules.shift_after(moment, rule.shift_starts, zone)
            starts.append(times.to_text(moment))
    return {
        "rule": rule and {
            "due": rule.due, "every": rule.every, "warm_up_s": rule.warm_up_s, "planned": rule.planned_readings,
        },
        "last": last and {"made_at": last.made_at, "name": last.person_name, "proven": last.proven},
        "due_at": times.to_text(stands.due_at) if stands.due_at else None,
        "starts": starts,
        "since": meter_state.samples_since(db, meter.id, last.made_at if last else ""),
    }  # fmt: skip


def method_content(db: Database, version: MethodVersion) -> dict:
    """A method version with its steps, in the words of the page's language; `wrong` of a step: what its picture of
    what goes wrong says; `rows`: readings a fill has room for; `now` of its setting: the setting at which its grinder
    stands."""
    steps = [
        asdict(step) | {name: method_text(getattr(step, name)) for name in TRANSLATED}
        | {"wrong": goes_wrong(step.picture)} for step in version.steps
    ]  # fmt: skip
    setting = version.setting_name and {
        "id": version.grinder_setting_id, "grinder": version.grinder_name, "name": version.setting_name,
        "now": pages.likely_setting(db, version),
    }  # fmt: skip
    return {
        "id": version.method_id, "version_id": version.id, "no": version.no, "name": method_text(version.name),
        "kind": version.kind, "active": version.active, "dish": method_text(version.dish),
        "planned_readings": version.planned_readings, "planned_fills": version.planned_fills,
        "rows": pages.room_for(version.planned_readings), "setting": setting, "steps": steps,
    }  # fmt: skip


def burrs_content(db: Database, setting_id: str, now: datetime) -> dict | None:
    """Since when the grinder has burrs that nobody has compared, with the day in words."""
    at = burrs.burrs_changed(db, setting_id, times.to_text(now))
    return at and {"at": at, "day": day_of(at)}


def sigma_content(db: Database, version: MethodVersion, scale: Scale) -> dict:
    """What is known now about a method version's spread on a scale; of a study also its day, in words."""
    span = (scale.upper - scale.lower) / 100
    sigmas = spreads.sigmas_for(db, version.id, scale.id, version.kind, span)
    study = precision.accepted_for(db, version.id, scale.id) if sigmas.source == "study" else None
    return {
        "version_id": version.id, "scale_id": scale.id, "kind": version.kind,
        "sigmaR": sigmas.sigma_r, "sigmaF": sigmas.sigma_f, "source": sigmas.source,
        "studied": study and day_of(study.made_at),
    }  # fmt: skip


def chosen_version(offer: Offer, kind: str, versions: list[MethodVersion]) -> MethodVersion | None:
    """The version that a page would prepare this product by, if any: see page.gather."""
    wanted = offer.target and offer.target.method_id(kind)
    usable = (v for v in versions if v.kind == kind and (v.method_id == wanted if wanted else v.active))
    return next(usable, None)


def histories(db: Database, offer: Offer, meters: list[Meter], versions: list[MethodVersion]) -> list[dict]:
    """What a product has shown, of each kind on each scale that it may be read on, by the method version now used."""
    found = []
    scale_ids = {m.scale.id for m in pages.usable_meters(meters, offer.target)}
    for scale_id in sorted(scale_ids):
        for kind in KINDS:
            version = chosen_version(offer, kind, versions)
            if version is None:
                continue
            shown = shown_before(db, offer.product.id, kind, scale_id, version)
            on_scale = offer.target and offer.target.scale.id == scale_id
            digits = pages.whole_digits(offer.target.bands.get(kind) if on_scale else None, shown)
            mean, sd, n = pages.summary(shown)
            if n < measure.LEAST_HISTORY:
                # Says nothing to js/measure, and the mean of one batch would be its reading.
                mean = sd = None
            found.append(
                {"product_id": offer.product.id, "kind": kind, "scale_id": scale_id, "version_id": version.id,
                 "mean": mean, "sd": sd, "n": n, "wholeDigits": digits}
            )  # fmt: skip
    return found
