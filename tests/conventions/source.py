"""The source, as the convention tests look at it."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

from flask import Flask
from werkzeug.routing import Rule

ROOT = Path(__file__).resolve().parents[2]
WEBAPP = ROOT / "webapp"
TEMPLATES = WEBAPP / "templates"
STATIC = ROOT / "static"


def modules() -> Iterator[tuple[str, ast.Module]]:
    """(dotted name, syntax tree) of every module of the app."""
    for path in sorted(WEBAPP.rglob("*.py")):
        parts = path.relative_to(ROOT).with_suffix("").parts
        name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
        yield name, ast.parse(path.read_text(encoding="utf-8"))


def imports(name: str, tree: ast.Module, *, package: bool) -> set[str]:
    """Absolute dotted names of everything a module imports, wherever in it: inside functions, too.

    `from webapp.store import gear` gives webapp.store.gear: what is named after `import` may be a module.
    """
    found = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                parts = name.split(".")
                up = parts[: len(parts) - node.level + package]
                base = ".".join([*up, *([base] if base else [])])
            found |= {f"{base}.{alias.name}" for alias in node.names}
    return found


def templates() -> dict[str, str]:
    """Name -> text of every template."""
    return {
        str(path.relative_to(TEMPLATES)): path.read_text(encoding="utf-8") for path in sorted(TEMPLATES.rglob("*.html"))
    }


def rules(app: Flask) -> list[tuple[Rule, str]]:
    """(rule, method) for every method that a rule answers by a view of ours."""
    return [
        (rule, method)
        for rule in app.url_map.iter_rules()
        for method in sorted(rule.methods - {"HEAD", "OPTIONS"})
    ]
