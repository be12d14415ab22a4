"""What stands in the static files: colours in one place, modules that are there, nothing from elsewhere."""

import re
from pathlib import Path

import pytest

from tests.conventions.source import STATIC, templates

STYLES = sorted((STATIC / "css").glob("*.css"))
SCRIPTS = sorted((STATIC / "js").rglob("*.mjs"))
PICTURES = sorted(STATIC.rglob("*.svg"))
APP = STATIC / "js" / "app.mjs"


def short(path):
    """A file's name from the static folder on."""
    return str(path.relative_to(STATIC))


def code(path):
    """A style sheet or script without its comments."""
    text = re.sub(r"/\*.*?\*/", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
    return re.sub(r"(?m)(^|\s)//.*$", "", text) if path.suffix == ".mjs" else text


# Names of colours that somebody might write (CSS Color 4, named colours: those that occur in daily life).
NAMED = (
    "black|white|red|green|blue|yellow|orange|purple|brown|gr[ae]y|pink|cyan|magenta|maroon|navy|olive|teal|silver|"
    "gold|beige|ivory|tan|wheat|linen|khaki|salmon|tomato|coral|crimson"
)
WRITTEN = r"#[0-9a-f]{3,8}\b|\b(?:rgba?|hsla?|hwb|lab|lch|oklab|oklch|color)\("
COLOUR = re.compile(rf"{WRITTEN}|:[^;{{}}]*?(?<![-\w])(?:{NAMED})(?![-\w(])", re.IGNORECASE)


@pytest.mark.parametrize("path", STYLES, ids=short)
def test_it_has_colours_only_in_the_tokens(path):
    """One place to change a colour, and one to look at for contrast, by day and by night."""
    found = [match.group() for match in COLOUR.finditer(code(path))]
    if path.name == "tokens.css":
        assert len(found) > 10, "the expression finds no colours where there are some"
    else:
        assert found == []


@pytest.mark.parametrize("path", SCRIPTS, ids=short)
def test_it_has_no_colours_in_scripts(path):
    assert not re.search(r"[\"'`]#[0-9a-f]{3,8}[\"'`]|\b(?:rgba?|hsla?|oklch)\(", code(path), re.IGNORECASE)


def test_it_uses_only_properties_that_are_defined_and_defines_none_for_nothing():
    everything = "\n".join(code(path) for path in STYLES)
    scripts = "\n".join(code(path) for path in SCRIPTS)
    defined = set(re.findall(r"(--[a-z0-9-]+)\s*:", everything)) | set(
        re.findall(r"setProperty\([\"'](--[a-z0-9-]+)", scripts)
    )
    drawn = "\n".join(templates().values())
    used = set(re.findall(r"var\(\s*(--[a-z0-9-]+)", everything + drawn + scripts))
    assert used - defined == set()
    assert defined - used == set()


def test_it_has_the_same_tokens_by_night():
    """What is set for a dark screen is set for a light one, too."""
    text = code(STATIC / "css" / "tokens.css")
    by_day, *by_night = re.split(r"@media[^{]*prefers-color-scheme:\s*dark[^{]*\{", text)
    assert by_night, "there are no colours for a dark screen"
    light = set(re.findall(r"(--[a-z0-9-]+)\s*:", by_day))
    dark = set(re.findall(r"(--[a-z0-9-]+)\s*:", "".join(by_night)))
    assert dark - light == set()


@pytest.mark.parametrize("path", STYLES, ids=short)
def test_it_loads_nothing_from_elsewhere_in_a_style_sheet(path):
    text = code(path)
    assert "@import" not in text
    for target in re.findall(r"url\(\s*[\"']?([^)\"']+)", text):
        assert not target.startswith(("http:", "https:", "//", "data:")), target
        assert (path.parent / target.split("#")[0]).resolve().is_file(), target


def listed():
    """data-module name -> file, as app.mjs has them."""
    return dict(re.findall(r"[\"']?([a-z-]+)[\"']?: \(\) => import\(\"([^\"]+)\"\)", APP.read_text()))


def test_it_has_every_module_that_app_mjs_names():
    found = listed()
    assert len(found) >= 9
    for name, file in found.items():
        path = (APP.parent / file).resolve()
        assert path.is_file(), name
        assert re.search(r"export default class\b", path.read_text()), f"{file}: app.mjs starts a class"


def test_it_lists_every_module_that_a_page_names_and_no_other():
    named = set()
    for text in templates().values():
        for value in re.findall(r'data-module="([^"]*)"', text):
            named |= set(value.split())
    assert named == set(listed())


@pytest.mark.parametrize("path", SCRIPTS, ids=short)
def test_it_imports_only_files_that_are_there(path):
    """Relative, with the ending: the build's name in the address is then inherited, and no bundler is needed."""
    text = code(path)
    targets = re.findall(r"(?:from|import)\s*\(?\s*[\"']([^\"']+)[\"']", text)
    for target in targets:
        assert target.startswith(("./", "../")), target
        assert (path.parent / target).resolve().is_file(), target


@pytest.mark.parametrize("path", SCRIPTS, ids=short)
def test_it_asks_nothing_of_elsewhere_and_runs_no_text(path):
    text = code(path).replace("http://www.w3.org/2000/svg", "")
    assert not re.search(r"https?://|[\"'`]//", text)
    forbidden = r"\b(innerHTML|outerHTML|insertAdjacentHTML|document\.write|eval|new Function|setHTMLUnsafe)\b"
    assert not re.search(forbidden, text)
    # A style attribute is refused by the policy; classes and SVG attributes are there for that.
    assert not re.search(r"setAttribute\(\s*[\"']style", text)
    assert not re.search(r"\blocalStorage\b.*\b(pin|token)\b", text, re.IGNORECASE)


def test_it_has_no_script_that_nothing_loads():
    loaded = {APP}
    waiting = [APP]
    while waiting:
        path = waiting.pop()
        for target in re.findall(r"(?:from|import)\s*\(?\s*[\"']([^\"']+)[\"']", code(path)):
            there = (path.parent / target).resolve()
            if there not in loaded:
                loaded.add(there)
                waiting.append(there)
    assert set(SCRIPTS) - loaded == set()


def test_it_has_no_style_sheet_that_nothing_loads():
    named = "\n".join([*templates().values(), *(path.read_text() for path in SCRIPTS)])
    assert [short(path) for path in STYLES if f"css/{path.name}" not in named] == []


@pytest.mark.parametrize("path", PICTURES, ids=short)
def test_it_has_pictures_that_run_and_load_nothing(path):
    text = path.read_text(encoding="utf-8")
    assert not re.search(r"<script|<foreignObject|<image|\son[a-z]+=|@import|javascript:", text, re.IGNORECASE)
    for target in re.findall(r"(?:href|src)\s*=\s*[\"']([^\"']+)", text):
        assert target.startswith("#"), target
    links = set(re.findall(r"https?://[^\"'\s>]+", text))
    assert links <= {"http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"}


def test_it_has_no_file_of_an_unknown_kind():
    kinds = {path.suffix for path in STATIC.rglob("*") if path.is_file()}
    assert kinds <= {".css", ".mjs", ".js", ".svg", ".png", ".ico", ".md"}
    # Everything is a module, but for the service worker.
    assert {path.name for path in STATIC.rglob("*.js")} == {"sw.js", "sw-off.js"}


def test_it_stays_small():
    """The whole capture page under 100 kB compressed is measured by the benchmark; no single file spoils it."""
    for path in [*STYLES, *SCRIPTS]:
        assert Path(path).stat().st_size < 40_000, short(path)
