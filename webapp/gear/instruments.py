"""The gear page, scales, and meters with their plates."""

from __future__ import annotations

from flask import flash, g, redirect, render_template, url_for
from flask_babel import gettext as _

from webapp.db import get_db
from webapp.gear.blueprint import gear
from webapp.gear.forms import MeterForm, PlateForm, ScaleForm, use_scale
from webapp.gear.setup import bench_parts
from webapp.store import gear as store
from webapp.store import meter_state, methods, products
from webapp.ui.access import open_to, who
from webapp.ui.meter_words import meter_line


def names(items) -> list[tuple[str, str]]:
    """(id, name) of what there is, for the check that names differ."""
    return [(item.id, item.name) for item in items]


def back_to_gear(part: str):
    """Where a change of gear ends: the gear page, at its part."""
    return redirect(url_for("gear.index", _anchor=part), code=303)


@gear.get("/gear")
@open_to("trainee")
def index():
    """Everything on the bench; for a new bench, what comes next."""
    db = get_db()
    return render_template(
        "gear/index.html",
        parts=bench_parts(db),
        scales=store.list_scales(db),
        meters=store.list_meters(db, active_only=False),
        machines=store.list_machines(db, active_only=False),
        grinders=store.list_grinders(db, active_only=False),
        methods=len(methods.list_methods(db)),
        products=len(products.list_products(db)),
    )


@gear.route("/gear/scales/new", methods=["GET", "POST"])
@open_to("lead", confirmed=True)
def new_scale():
    """A new scale. There is no way to change one: readings on it would change their meaning."""
    form = ScaleForm(others=names(store.list_scales(get_db())))
    if form.validate_on_submit():
        store.add_scale(
            get_db(), form.name.data, form.lower.data, form.upper.data, form.step.data, int(form.lighter.data),
            who(), g.now, id=form.id.data,
        )  # fmt: skip
        flash(_("The scale %(name)s is stored.", name=form.name.data))
        return back_to_gear("scales")
    return render_template("gear/new_scale.html", form=form)


@gear.route("/gear/meters/new", methods=["GET", "POST"])
@open_to("lead", confirmed=True)
def new_meter():
    """A new meter, with its plate if there is one."""
    db = get_db()
    form = MeterForm(others=names(store.list_meters(db, active_only=False)), scales=store.list_scales(db))
    if form.validate_on_submit():
        plate = [field.data if form.has_plate else None for field in form.plate_fields]
        store.add_meter(db, form.name.data, form.scale.data, *plate, who(), g.now, id=form.id.data)
        flash(_("The meter %(name)s is stored.", name=form.name.data))
        return back_to_gear("meters")
    return render_template("gear/new_meter.html", form=form)


@gear.get("/gear/meters/<uuid:meter_id>")
@open_to("trainee")
def meter(meter_id):
    """A meter, how it stands, and every plate value it has had."""
    db = get_db()
    there = store.get_meter(db, str(meter_id))
    stands = meter_state.standing(db, there.id, g.now)
    return render_template(
        "gear/meter.html",
        meter=there,
        plates=store.list_plates(db, there.id),
        line=meter_line(there, stands, g.now),
        rule=stands.rule,
    )


def plate_before(plates: list[store.Plate], plate_id: str) -> store.Plate | None:
    """The row that the one of this id follows, or will follow: a form sent twice must find the same one."""
    older = [plate.id for plate in plates]
    at = older.index(plate_id) + 1 if plate_id in older else 0
    return plates[at] if at < len(plates) else None


def plate_words(change: str | None, name: str) -> str:
    """What to say when it is stored."""
    if change == "damaged":
        return _("The plate of %(name)s is out of use. Give the meter another plate, or a new value.", name=name)
    return _("The plate value of %(name)s is stored.", name=name)


@gear.route("/gear/meters/<uuid:meter_id>/plate", methods=["GET", "POST"])
@open_to("lead", confirmed=True)
def new_plate(meter_id):
    """What became of a meter's plate: another one, a new value, damaged. The rows before stay on record."""
    there = store.get_meter(get_db(), str(meter_id))
    form = PlateForm(plate_name=there.plate.name if there.plate else None)
    use_scale(form, there.scale)
    form.follow(plate_before(store.list_plates(get_db(), there.id), form.id.data))
    if form.validate_on_submit():
        store.add_plate(
            get_db(), there.id, *form.values(), form.reason.data, who(), g.now, id=form.id.data, what=form.change
        )
        flash(plate_words(form.change, there.name))
        return redirect(url_for("gear.meter", meter_id=there.id), code=303)
    return render_template("gear/new_plate.html", form=form, meter=there)
