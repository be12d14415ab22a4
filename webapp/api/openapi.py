"""The description in OpenAPI 3.1, made of the table of resources."""

from __future__ import annotations

from webapp.api import resources
from webapp.api.asked import Parameter
from webapp.api.resources import Resource
from webapp.api.schemas import page_of, ref, schemas

INTRODUCTION = (
    "Read-only. Numbers of a meter are in units of its scale, masses in kilograms, times in UTC (RFC 3339). A property "
    "without a value is null. Properties may be added; none is taken away or changes its meaning within v1. Lists are "
    "in the order of storing: follow `next` until it is null. For what is new later, send the `ledger_seq` of the "
    "first page as `changed_since`. Send the ETag of an answer as If-None-Match: while nothing was stored since, the "
    "answer is 304."
)
PATHS = {"batch_id": "Number of the batch's record.", "product_id": "Number of the product's record.",
         "meter_id": "Number of the meter's record."}  # fmt: skip
TAG = {"schema": {"type": "string"}, "description": "Stands for the state of the ledger."}


def document(root: str) -> dict:
    """The whole description. root: the path below which all is answered."""
    paths = {one.path: {"get": _operation(one)} for one in resources.RESOURCES}
    paths |= {
        path: {"get": _plain(name, what, schema)}
        for (name, path, what), schema in (
            (resources.ABOUT, ref("About")), (resources.DESCRIPTION, {"type": "object"}),
        )
    }  # fmt: skip
    return {
        "openapi": "3.1.0",
        "info": {"title": "Drumside", "version": "1", "description": INTRODUCTION},
        "servers": [{"url": root}],
        "security": [{"key": []}],
        "paths": paths,
        "components": {
            "securitySchemes": {"key": {
                "type": "http", "scheme": "bearer", "description": "A key that a lead has made at /people/keys.",
            }},
            "schemas": schemas(),
            "responses": _refusals(),
        },
    }  # fmt: skip


def _operation(one: Resource) -> dict:
    inside = [_in_path(name) for name in PATHS if f"{{{name}}}" in one.path]
    answer = page_of(one.schema) if one.table else ref(one.schema)
    operation = _plain(one.name, one.what, answer)
    operation["parameters"] = [*inside, *map(_in_query, one.every_parameter), {
        "name": "If-None-Match", "in": "header", "schema": {"type": "string"}, "description": "An ETag from before.",
    }]  # fmt: skip
    responses = operation["responses"]
    responses["200"]["headers"] = {"ETag": TAG}
    if one.table:
        responses["200"]["headers"]["Link"] = {"schema": {"type": "string"}, "description": "rel=next, if there is one"}
    responses["304"] = {"description": "Nothing was stored since then.", "headers": {"ETag": TAG}}
    if inside:
        responses["404"] = {"$ref": "#/components/responses/NotFound"}
    return operation


def _plain(name: str, what: str, schema: dict) -> dict:
    return {
        "operationId": name, "summary": what,
        "responses": {
            "200": {"description": what, "content": {"application/json": {"schema": schema}}},
            "400": {"$ref": "#/components/responses/BadRequest"}, "401": {"$ref": "#/components/responses/NoKey"},
        },
    }  # fmt: skip


def _in_path(name: str) -> dict:
    schema = {"type": "string", "format": "uuid"}
    return {"name": name, "in": "path", "required": True, "description": PATHS[name], "schema": schema}


def _in_query(one: Parameter) -> dict:
    return {"name": one.name, "in": "query", "required": False, "description": one.what, "schema": one.schema}


def _refusals() -> dict[str, dict]:
    body = {"application/problem+json": {"schema": ref("Problem")}}
    challenge = {"WWW-Authenticate": {"schema": {"type": "string"}, "description": "Bearer (RFC 6750)"}}
    return {
        "BadRequest": {"description": "A parameter is not understood.", "content": body},
        "NoKey": {"description": "No key, or none in force.", "content": body, "headers": challenge},
        "NotFound": {"description": "There is no such record.", "content": body},
    }
