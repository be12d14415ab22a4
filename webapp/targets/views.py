"""Products: the list, one with its targets and their history, making and changing one."""

from __future__ import annotations

from flask import flash, g, redirect, render_template, request, url_for
from flask_babel import gettext as _

from webapp.db import get_db
from webapp.store import gear, methods
from webapp.store import products as store
from webapp.targets.blueprint import targets
from webapp.targets.forms import USUAL_PERCENT, NameForm, NewProductForm, TargetForm, filled_in, form_data
from webapp.targets.rails import band_gauges
from webapp.ui.access import open_to, who
from webapp.ui.record_fields import changed_meanwhile

__all__ = ["targets"]


@targets.get("/products")
@open_to("trainee")
def products():
    """Every product with its bands in force."""
    db = get_db()
    found = store.list_products(db, active_only=False)
    in_force = {product.id: store.target_in_force(db, product.id) for product in found}
    return render_template("targets/products.html", products=found, targets=in_force, scales=gear.list_scales(db))


@targets.get("/products/<uuid:product_id>")
@open_to("trainee")
def product(product_id):
    """A product: what it should read, how it is judged, and every version of that."""
    db = get_db()
    there = store.get_product(db, str(product_id))
    versions = store.list_target_versions(db, there.id)
    return render_template(
        "targets/product.html",
        product=there,
        target=versions[0],
        versions=versions,
        gauges=band_gauges(versions[0].bands.values(), versions[0].scale),
        methods={method.method_id: method for method in methods.list_methods(db, active_only=False)},
        meters=gear.list_meters(db, scale_id=versions[0].scale.id),
    )


def choices() -> dict:
    """What the forms offer to choose from."""
    db = get_db()
    return {"scales": gear.list_scales(db), "methods": methods.list_methods(db, active_only=False)}


def wants_storing(form: TargetForm) -> bool:
    """Whether the form may be stored; the preview button only asks how the bands would look."""
    fits = form.validate_on_submit()
    if "preview" not in request.form:
        return fits
    for field in form:
        if field.name not in ("scale", *store.BAND_KINDS):
            field.errors = []
    return False


def target_page(form: TargetForm, product: store.Product | None, target: store.Target | None):
    """The form, with the bands that can be drawn already."""
    gauges = band_gauges(form.bands(), form.chosen_scale) if form.is_submitted() and form.chosen_scale else []
    return render_template("targets/target_form.html", form=form, product=product, target=target, gauges=gauges)


@targets.route("/products/new", methods=["GET", "POST"])
@open_to("lead", confirmed=True)
def new_product():
    """A new product with its first targets."""
    db = get_db()
    others = store.list_products(db, active_only=False)
    form = NewProductForm(others=others, **choices(), data={"rule": "guarded", "confidence": USUAL_PERCENT})
    if wants_storing(form):
        store.add_product(
            db, form.name.data, form.short.data, **form.version(), who=who(), now=g.now, id=form.id.data
        )
        flash(_("%(name)s is stored. A batch of it can be measured now.", name=form.name.data))
        return redirect(url_for("targets.product", product_id=form.id.data), code=303)
    return target_page(form, None, None)


@targets.route("/products/<uuid:product_id>/targets", methods=["GET", "POST"])
@open_to("lead", confirmed=True)
def edit_targets(product_id):
    """The next version of a product's targets."""
    db = get_db()
    there = store.get_product(db, str(product_id))
    now = store.target_in_force(db, there.id)
    form = TargetForm(**choices(), data=form_data(now) | filled_in(request.args, now))
    if wants_storing(form) and not changed_meanwhile(form, now):
        store.add_target_version(
            db, there.id, **form.version(), reason=form.reason.data, who=who(), now=g.now, id=form.id.data
        )
        flash(_("The new targets are stored. Batches read from now on are judged by them."))
        return redirect(url_for("targets.product", product_id=there.id), code=303)
    return target_page(form, there, now)


@targets.route("/products/<uuid:product_id>/name", methods=["GET", "POST"])
@open_to("lead", confirmed=True)
def change_names(product_id):
    """A product's names, and whether it is in use."""
    db = get_db()
    there = store.get_product(db, str(product_id))
    others = [other for other in store.list_products(db, active_only=False) if other.id != there.id]
    form = NameForm(others=others, data={"name": there.name, "short": there.short, "active": there.active})
    if form.validate_on_submit():
        store.change_product(db, there.id, form.name.data, form.short.data, form.active.data, who(), g.now)
        flash(_("%(name)s is changed.", name=form.name.data))
        return redirect(url_for("targets.product", product_id=there.id), code=303)
    return render_template("targets/names.html", form=form, product=there)
