"""An address for every route, with ids that stand for something or for nothing."""

from __future__ import annotations

import uuid
from collections.abc import Callable

from flask import Flask, url_for
from werkzeug.routing import AnyConverter, IntegerConverter, PathConverter, Rule, UUIDConverter


def made_up(_rule: Rule, name: str) -> object:
    """A value for a parameter that names nothing that is there."""
    return {"filename": "css/base.css", "build": "0" * 12, "day": "2026-05-14", "month": "2026-05"}.get(name)


def address(app: Flask, rule: Rule, value_of: Callable[[Rule, str], object] = made_up) -> str:
    """The path of a rule. `value_of` may give None for what any value will do."""
    values = {}
    for name in rule.arguments:
        converter = rule._converters[name]
        value = value_of(rule, name)
        if value is None and isinstance(converter, UUIDConverter):
            value = uuid.uuid4()
        elif value is None and isinstance(converter, IntegerConverter):
            value = 1
        elif value is None and isinstance(converter, AnyConverter):
            value = sorted(converter.items)[0]
        elif value is None and isinstance(converter, PathConverter):
            value = "nothing"
        values[name] = value if value is not None else "nothing"
    with app.test_request_context():
        return url_for(rule.endpoint, **values)
