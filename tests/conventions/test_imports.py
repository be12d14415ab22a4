"""Who may use whom: features -> ui, store, measure; store -> measure; measure -> the standard library."""

import ast
import subprocess
import sys

import pytest

from tests.conventions.source import ROOT, WEBAPP, imports, modules

FEATURES = {
    "bench", "decisions", "strip", "targets", "gear", "people", "studies", "sync", "trends", "exchange", "blends",
}  # fmt: skip
# Above the features: the shell is made of their own forms and pages.
SHELL = {"measure", "store", "ui", "bench", "gear", "studies"}
# What stands in webapp/ itself. What a module here may use of ours, besides measure:
ABOVE = {
    "webapp": {"assemble", "config"},  # create_app is a door: nothing is loaded before it is called
    "webapp.wsgi": {"assemble", "create_app"},
    "webapp.config": set(),
    "webapp.headers": set(),
    "webapp.db": {"store"},
    "webapp.errors": {"store", "ui"},  # one table from the store's errors to HTTP; JSON where ui/as_json.py says so
    # The manifest is a view, and carries the access mark; the worker keeps the shell, with the policy it was sent with.
    "webapp.assets": {"ui", "shell", "headers"},
    # Commands for when nobody can sign in use the same services as the screens and the tablets.
    "webapp.cli": {"people", "store", "sync"},
    # Puts everything together.
    "webapp.assemble": {*FEATURES, "shell", "ui", "store", "db", "assets", "cli", "config", "errors", "headers"},
}
LAYERS = {
    "measure": set(),
    "store": {"measure"},
    "ui": {"measure", "store", "db"},
    # assets: where the static files lie, and under which name they are served.
    **{feature: {"measure", "store", "db", "ui", "assets"} for feature in FEATURES},
    "shell": SHELL,
    "translations": set(),  # texts, and the script that gathers them
}


def ours(name, tree):
    """First part below webapp of everything of ours that a module imports."""
    package = (WEBAPP.parent / name.replace(".", "/")).is_dir()
    used = imports(name, tree, package=package)
    return {parts[1] if len(parts) > 1 else "webapp" for parts in (n.split(".") for n in used) if parts[0] == "webapp"}


MODULES = dict(modules())


def test_it_knows_every_package():
    """A new package needs its line above, and a thought."""
    packages = {name.split(".")[1] for name in MODULES if "." in name and (WEBAPP / name.split(".")[1]).is_dir()}
    assert packages == set(LAYERS)
    assert {n for n in MODULES if n.count(".") <= 1} - {f"webapp.{p}" for p in packages} == set(ABOVE)


@pytest.mark.parametrize("name", MODULES)
def test_it_uses_only_what_lies_below(name):
    package = name.split(".")[1] if "." in name else None
    allowed = LAYERS[package] | {package} if package in LAYERS else ABOVE[name] | {"measure"}
    assert ours(name, MODULES[name]) - allowed == set()


def test_it_finds_an_import_that_goes_up():
    """The rule itself: relative, inside a function, and by name."""
    source = """
def f():
    from webapp.gear import views
    from ..people import service
    import webapp.ui.forms
"""
    assert ours("webapp.bench.views", ast.parse(source)) == {"gear", "people", "ui"}


# No clock, no randomness, no files, no processes: what these modules hold is arithmetic and text.
ARITHMETIC = {
    "__future__", "bisect", "collections", "dataclasses", "decimal", "fractions", "functools", "itertools", "math",
    "re", "statistics", "typing", "unicodedata",
}  # fmt: skip


# The doors to scipy: quantiles of t and F, and linear programmes.
DOORS = ("webapp.measure._pairs", "webapp.measure._programme")


@pytest.mark.parametrize("name", [n for n in MODULES if n.startswith("webapp.measure")])
def test_it_measures_with_the_standard_library_alone(name):
    package = (ROOT / name.replace(".", "/")).is_dir()
    used = {n.split(".")[0] for n in imports(name, MODULES[name], package=package)}
    assert used - ARITHMETIC - {"webapp"} - ({"scipy"} if name in DOORS else set()) == set()


def test_it_measures_without_loading_anything_else():
    # What a bench page draws, too: an EWMA is worked out without scipy, and so is a moving range.
    code = "import sys, webapp.measure; from webapp.measure import compare, control; "
    code += "control.ewma([1.0], 0, 1); control.moving_range_sigma([[1, 2]], 0.1); "
    code += "print(*sorted({n.split('.')[0] for n in sys.modules}))"
    said = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    loaded = set(said.stdout.split())
    assert "webapp" in loaded
    unwanted = {
        "flask", "flask_wtf", "flask_babel", "werkzeug", "jinja2", "wtforms", "sqlite3", "_sqlite3", "pysqlite3",
        "sqlite_utils", "argon2", "zoneinfo", "socket", "scipy", "numpy",
    }  # fmt: skip
    assert loaded & unwanted == set()


CHARTS = {"altair", "vl_convert", "pandas"}


CHARTING = {"webapp.trends.chart": {"vl_convert"}, "webapp.trends.template": {"altair", "vl_convert"}}


def test_it_makes_charts_in_two_modules_and_only_when_one_is_wanted():
    """They take a second to load: no other page pays for them."""
    for name, tree in MODULES.items():
        package = (ROOT / name.replace(".", "/")).is_dir()
        used = {n.split(".")[0] for n in imports(name, tree, package=package)} & CHARTS
        assert used == CHARTING.get(name, set()), name
    code = "import sys, webapp.assemble, webapp.trends.page; print(*{n.split('.')[0] for n in sys.modules})"
    said = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    # pandas comes with the tests' reference libraries, and sqlite-utils takes it where it is: none of our doing.
    assert set(said.stdout.split()) & {"altair", "vl_convert", "scipy"} == set()


@pytest.mark.parametrize("name", [n for n in MODULES if n.startswith("webapp.store")])
def test_it_stores_without_a_web_framework(name):
    package = (ROOT / name.replace(".", "/")).is_dir()
    used = {n.split(".")[0] for n in imports(name, MODULES[name], package=package)}
    assert used & {"flask", "flask_wtf", "flask_babel", "werkzeug", "jinja2", "wtforms", "click"} == set()


def test_it_reaches_sqlite_by_one_door():
    """One engine in a process: through sqlite_utils, which takes pysqlite3 where there is one."""
    for name, tree in MODULES.items():
        package = (ROOT / name.replace(".", "/")).is_dir()
        used = imports(name, tree, package=package)
        assert not {n for n in used if n.split(".")[0] in ("sqlite3", "pysqlite3")}, name


@pytest.mark.parametrize("name", [n for n in MODULES if not n.startswith(("webapp.store", "webapp.measure"))])
def test_it_writes_sql_only_in_the_store(name):
    """Elsewhere a Database is handed on, and nothing is asked of it."""
    package = (ROOT / name.replace(".", "/")).is_dir()
    used = imports(name, MODULES[name], package=package)
    assert {n for n in used if n.startswith("sqlite_utils")} <= {"sqlite_utils.Database"}
    asked = {
        node.attr
        for node in ast.walk(MODULES[name])
        if isinstance(node, ast.Attribute) and node.attr in ("execute", "executemany", "executescript", "query", "conn")
    }
    # db.py looks after the request's connection: it rolls back what a broken request left open.
    assert asked - ({"conn", "execute"} if name == "webapp.db" else set()) == set()


@pytest.mark.parametrize("name", MODULES)
def test_it_stays_short_enough_to_read(name):
    """Modules of about 300 lines, views of about 25 (DEVELOPERS.md, Style): a tenth of grace."""
    path = ROOT / name.replace(".", "/")
    path = path / "__init__.py" if path.is_dir() else path.with_suffix(".py")
    assert len(path.read_text().splitlines()) <= 330
    for node in ast.walk(MODULES[name]):
        if isinstance(node, ast.FunctionDef) and any("open_to" in ast.unparse(d) for d in node.decorator_list):
            assert node.end_lineno - node.lineno < 28, node.name
