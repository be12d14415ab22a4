"""Every text for the screen passes through gettext: no word stands in a template, a view or a script as it is."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from tests.support.texts import words_outside_gettext

ROOT = Path(__file__).resolve().parent.parent.parent
TEMPLATES = sorted((ROOT / "webapp" / "templates").rglob("*.html"))
SCRIPTS = sorted((ROOT / "static").rglob("*.mjs")) + sorted((ROOT / "static").rglob("*.js"))
# The name of the software is not translated.
NAMES = {"Drumside"}
MARKS = {"_", "_l", "N_", "gettext"}
# A script puts a text on the screen by one of these.
SAYS = re.compile(
    r"(?:textContent|innerText|ariaLabel|title|placeholder|alt)\s*=(?!=)\s*(.+)"
    r"|setAttribute\(\s*[\"'](?:aria-label|title|placeholder|alt)[\"']\s*,\s*(.+)"
    r"|\b(?:alert|confirm|prompt)\((.+)"
)
LITERAL = re.compile(r"\"[^\"]*\"|'[^']*'|`[^`]*`")


def words_said(script: str) -> list[str]:
    """Lines of a script that put a word of its own on the screen. What stands in brackets names something."""
    found = []
    for line in script.splitlines():
        for said in SAYS.finditer(line):
            value = next(group for group in said.groups() if group)
            value = re.sub(r"\([^()]*\)", "", value) if not line.strip().startswith(("alert", "confirm")) else value
            literals = [re.sub(r"\$\{[^}]*\}", "", literal) for literal in LITERAL.findall(value)]
            if any(re.search(r"[A-Za-z]{2,}", literal) for literal in literals):
                found.append(line.strip())
    return found


def short(path: Path) -> str:
    """A file's path in the clone: the name of its case."""
    return str(path.relative_to(ROOT))


@pytest.mark.parametrize("path", TEMPLATES, ids=short)
def test_no_word_stands_outside_gettext(path):
    found = [text for text in words_outside_gettext(path.read_text(encoding="utf-8")) if text not in NAMES]
    found = [text for text in found if text.replace("· Drumside", "").strip()]
    assert found == [], "put it into {{ _('...') }}"


@pytest.mark.parametrize("path", SCRIPTS, ids=short)
def test_no_script_brings_words_of_its_own(path):
    """Words for scripts come from the page, in data- attributes, where gettext reaches them."""
    assert words_said(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("path", sorted((ROOT / "webapp").rglob("*.py")), ids=short)
def test_gettext_is_given_whole_texts(path):
    """A text put together from pieces, or with values in it, can be neither found nor translated."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in MARKS:
            first = node.args[0] if node.args else None
            assert not isinstance(first, ast.JoinedStr | ast.BinOp), f"{short(path)}:{node.lineno}"


# The check itself: each of these must be found, and the others left alone.


@pytest.mark.parametrize(
    "source",
    [
        "<p>Read it again</p>",
        "<p>{{ _('Fill') }} two</p>",
        '<button aria-label="Delete">⌫</button>',
        '<img alt="A dish" src="{{ x }}">',
        '<input type="submit" value="Send">',
        "{% if a %}<b>{{ a }}</b>{% else %}nothing{% endif %}",
        '<a title="{% if a %}Open{% endif %}" href="#x">{{ a }}</a>',
        "<title>{{ _('Batch') }} page</title>",
    ],
)
def test_the_check_finds_a_bare_word(source):
    assert words_outside_gettext(source)


@pytest.mark.parametrize(
    "source",
    [
        "<p>{{ _('Read it again') }}</p>",
        '<button aria-label="{{ _(\'Delete\') }}">⌫</button>',
        "{# a remark for whoever edits this #}<p>{{ text }} · {{ 3 }} %</p>",
        '<p class="soft" id="remark" data-step="no" lang="en">{{ x }}</p>',
        "<script type=\"module\" src=\"{{ x }}\">let words = 'none';</script>",
        "{% block body_class %}wall{% endblock %}<p>{{ text }}</p>",
    ],
)
def test_the_check_leaves_the_rest_alone(source):
    assert words_outside_gettext(source) == []


@pytest.mark.parametrize(
    ("line", "is_found"),
    [
        ('this.button.textContent = "Send it";', True),
        ("this.figure.textContent = ready ? `now ${n}` : '';", True),
        ('box.setAttribute("aria-label", "Delete");', True),
        ('alert("gone")', True),
        ('this.text.textContent = this.words.locking.replace("{seconds}", seconds);', False),
        ('this.title = this.part("title");', False),
        ("this.figure.textContent = `${value} · ${unit}`;", False),
    ],
)
def test_the_check_knows_a_script_that_talks(line, is_found):
    assert bool(words_said(line)) == is_found
