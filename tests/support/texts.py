"""Finding texts: what a template says outside gettext, and what a page shows to whoever reads it."""

from __future__ import annotations

import re
from html.parser import HTMLParser

from jinja2 import Environment

# Attributes whose value is read out or shown.
SHOWN = {"aria-label", "aria-description", "aria-roledescription", "title", "placeholder", "alt", "label"}
# A program is the same in every language.
SILENT = {"script", "style", "pre"}
HOLE = "\N{OBJECT REPLACEMENT CHARACTER}"
WORD = re.compile(r"[^\W\d_]{2,}")


class Shown(HTMLParser):
    """Gathers the texts and the shown attributes of a page."""

    def __init__(self, html: str, more: frozenset[str] = frozenset()) -> None:
        super().__init__(convert_charrefs=True)
        self.texts: list[str] = []
        self.silent = 0
        self.more = more
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.silent += tag in SILENT
        told = dict(attrs)
        for name, value in attrs:
            data = name.startswith("data-") and name in self.more
            if value and (name in SHOWN or data):
                self.texts.append(value)
        if tag == "input" and told.get("type") in ("submit", "button", "reset") and told.get("value"):
            self.texts.append(told["value"])

    def handle_endtag(self, tag: str) -> None:
        self.silent -= tag in SILENT

    def handle_data(self, data: str) -> None:
        if not self.silent and data.strip():
            self.texts.append(data.strip())


def words_outside_gettext(source: str) -> list[str]:
    """The texts of a template that stand in its HTML as they are, with a word in them."""
    environment = Environment(extensions=["jinja2.ext.i18n"])
    # A class for the body is no text, though in the template that sets it, it stands outside any tag.
    source = re.sub(r"{%-?\s*block body_class\s*-?%}.*?{%-?\s*endblock", "{% block body_class %}{% endblock", source)
    html, inside = "", 0
    for _line, kind, value in environment.lex(source):
        if kind.endswith("_begin"):
            inside += 1
            html += HOLE if kind == "variable_begin" else ""
        elif kind.endswith("_end"):
            inside -= 1
        elif kind == "data" and not inside:
            html += value
    return [text for text in Shown(html).texts if WORD.search(text.replace(HOLE, " "))]
