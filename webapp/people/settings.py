"""The lead's index of everything that is set up once, and the site's own facts."""

from __future__ import annotations

from flask import flash, g, redirect, render_template, url_for
from flask_babel import gettext as _

from webapp.db import get_db
from webapp.people.blueprint import people
from webapp.people.forms import SiteForm
from webapp.people.zones import all_zones
from webapp.store.site import Site, put_site
from webapp.ui.access import open_to, who


@people.get("/settings")
@open_to("lead")
def settings():
    """Where to set up what."""
    links = [
        ("targets.products", _("Products"), _("What is sold, and the band each should read in")),
        ("gear.index", _("Gear"), _("Scales, meters and their plates, grinders, machines")),
        ("gear.methods", _("Methods"), _("The steps of preparing a sample")),
        ("studies.index", _("Studies"), _("How precise the bench is, and whether old and new agree")),
        ("trends.rules", _("What trends listen for"), _("The rules that mark a signal, and how often they are wrong")),
        ("exchange.choose", _("Export"), _("Take the data out, in open formats")),
        ("exchange.take_in", _("Import"), _("Take older batches in, from a spreadsheet or CSV")),
        ("people.list_people", _("People"), _("Who works here, roles and PINs")),
        ("people.tablets", _("Tablets"), _("Enrol a tablet, revoke one")),
        ("api.show_keys", _("Keys for programs"), _("Let a program read what is stored, and nothing more")),
        ("people.site", _("Site"), _("Name, time zone, when a tablet locks")),
        ("upkeep.status", _("The server"), _("Copies, certificate, clock, disk, ledger")),
    ]
    return render_template("people/settings.html", links=links)


@people.route("/site", methods=["GET", "POST"])
@open_to("lead", confirmed=True)
def site():
    """Name, time zone, and how long a tablet stays open."""
    now = g.site
    form = SiteForm(
        site_name=now.name, time_zone=now.time_zone,
        idle_minutes=str(now.idle_minutes), shift_hours=str(now.shift_hours),
    )  # fmt: skip
    if form.validate_on_submit():
        new = Site(form.site_name.data, form.time_zone.data, form.idle_minutes.number, form.shift_hours.number)
        put_site(get_db(), new, who(), g.now)
        flash(_("The site is changed."))
        return redirect(url_for("people.settings"), code=303)
    return render_template("people/site.html", form=form, zones=all_zones())
