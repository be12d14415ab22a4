"""What a program reads. Every route stands in resources.py; the page of the keys in keys.py."""

from __future__ import annotations

from collections.abc import Callable
from urllib.parse import urlencode

from flask import Response, current_app, g, json, request

from webapp.api import asked, keys, openapi, resources
from webapp.api.blueprint import api
from webapp.api.resources import Resource
from webapp.db import get_db
from webapp.store import ledger, times
from webapp.ui.access import PROGRAM, open_to
from webapp.ui.problems import problem

__all__ = ["api", "keys"]

ROOT = "/api/v1"


def body(value: object) -> Response:
    """JSON as it is: in the order of the description, nothing escaped that need not be."""
    text = json.dumps(value, ensure_ascii=False, sort_keys=False, allow_nan=False, separators=(",", ":"))
    return Response(text, mimetype="application/json")


def once_for_a_state(answer: Callable[..., Response]) -> Callable[..., Response]:
    """With an ETag of the ledger's head: while nothing was stored, what is asked for again is 304, a list without work.

    Everything that these answers rest on is written with a line of the ledger in the same transaction. The head is
    looked at before the rows are. A record is looked for first: one that is not there is 404 whatever was sent.
    """

    def view(**which) -> Response:
        tag = f"{ledger.head(get_db())[1][:20]}-{current_app.config['BUILD']}"
        known = request.if_none_match.contains(tag)
        response = None if known and not which else answer(**which)
        if known:
            response = Response(status=304)
        response.set_etag(tag)
        return response

    return view


def view_of(resource: Resource) -> Callable[..., Response]:
    """The view of one line of the table."""

    def one(**which) -> Response:
        return body(resource.read(get_db(), str(next(iter(which.values())))))

    def many() -> Response:
        sent = asked.read(resource.every_parameter, request.args)
        page, place = resources.read_list(resource, get_db(), sent)
        following = next_address(page.next) if page.next else None
        response = body({"items": page.items, "next": following, "ledger_seq": place.seq})
        if following:
            response.headers["Link"] = f'<{following}>; rel="next"'
        return response

    return refusing(resource.every_parameter, once_for_a_state(many if resource.table else one))


def refusing(parameters: tuple[asked.Parameter, ...], answer: Callable[..., Response]) -> Callable[..., Response]:
    """400 for parameters that are not understood, also where nothing is asked of them."""

    def view(**which) -> Response:
        try:
            asked.read(parameters, request.args)
            return answer(**which)
        except asked.Refused as refused:
            return problem(400, "Look at `errors` for what is wrong with which parameter.", errors=refused.problems)

    return open_to(PROGRAM)(view)


def next_address(place: asked.Place) -> str:
    """Where the list goes on, with what was asked for."""
    query = {name: value for name, value in request.args.items() if name != "cursor"}
    return api_address(query | {"cursor": asked.write_cursor(place)})


def api_address(query: dict[str, str]) -> str:
    """This address, with other parameters: a path, so that it holds under whatever name the server is asked."""
    return f"{request.path}?{urlencode(query)}"


def about() -> Response:
    """What answers here."""
    lines, newest = ledger.head(get_db())
    return body({
        "name": "Drumside", "version": "v1", "build": current_app.config["BUILD"], "site": g.site.name,
        "time_zone": g.site.time_zone, "now": times.to_text(g.now), "ledger_seq": lines, "ledger_hash": newest,
    })  # fmt: skip


def description() -> Response:
    """OpenAPI 3.1."""
    return body(openapi.document(ROOT))


def add_routes() -> None:
    """GET and HEAD alone, no OPTIONS: no page of another site has any business here."""
    table = [(one.name, one.rule, view_of(one)) for one in resources.RESOURCES]
    table += [(name, path, refusing((), view)) for (name, path, _what), view in (
        (resources.ABOUT, about), (resources.DESCRIPTION, description),
    )]  # fmt: skip
    for name, rule, view in table:
        api.add_url_rule(f"{ROOT}{rule}", name, view, methods=["GET"], provide_automatic_options=False)


add_routes()
