"""Where a lead makes keys for programs, sees when they were used, and revokes them."""

from __future__ import annotations

from flask import flash, g, redirect, render_template, request, url_for
from flask_babel import gettext as _

from webapp.api import examples
from webapp.api.blueprint import api
from webapp.api.forms import KeyForm
from webapp.db import get_db
from webapp.store import api_tokens
from webapp.store.errors import AlreadyThere
from webapp.ui.access import open_to, who


@api.route("/people/keys", methods=["GET", "POST"])
@open_to("lead", confirmed=True)
def show_keys():
    """Every key, and a form for another one. The text of a new one is on the page that answers, and nowhere else."""
    form, made = KeyForm(), None
    if form.validate_on_submit():
        try:
            made = api_tokens.add_key(get_db(), form.id.data, form.name.data, who(), g.now)
        except AlreadyThere:
            flash(_("This key was made before, and its text is shown only once. Without it: revoke it, make another."))
            return back_to_list()
    address = request.host_url.rstrip("/") + url_for("api.list_batches")
    return render_template(
        "api/keys.html", form=form, made=made, keys=api_tokens.list_keys(get_db()), curl=examples.curl(address),
        python=examples.python(address),
    )  # fmt: skip


@api.post("/people/keys/<uuid:key_id>/revoke")
@open_to("lead", confirmed=True)
def revoke_key(key_id):
    """The program is refused from its next request on."""
    api_tokens.revoke_key(get_db(), str(key_id), who(), g.now)
    flash(_("The key is revoked."))
    return back_to_list()


def back_to_list():
    """Where every change ends."""
    return redirect(url_for("api.show_keys"), code=303)
