"""A test client that looks at every page it fetches: what no page may lack, no test has to ask for."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import lru_cache
from html import unescape
from html.parser import HTMLParser

from flask.testing import FlaskClient

VOID = {"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"}
NEEDS_LABEL = {"input", "select", "textarea"}
UNLABELLED_TYPES = {"hidden", "submit", "button"}
# A start tag as our templates write nearly all: small letters, every value in double quotes.
PLAIN = re.compile(r'<([a-z][a-z0-9]*)((?:\s+[a-z][a-z0-9-]*(?:="[^"<>]*")?)*)\s*>')
PLAIN_ATTRIBUTE = re.compile(r'([a-z][a-z0-9-]*)(?:="([^"]*)")?')


@dataclass
class Element:
    """A start tag with its attributes and the text directly or deeper inside it.

    part: 0 on the page itself; in a <template>, which is no part of the page until a script takes it, its number.
    """

    tag: str
    attrs: dict[str, str]
    inside: list[str] = field(default_factory=list)
    part: int = 0
    texts: list[str] = field(default_factory=list)

    @property
    def text(self) -> str:
        """What stands in it, as it stands there."""
        return "".join(self.texts)


class Page(HTMLParser):
    """The elements of a page, and the tags that are left open or closed twice."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[Element] = []
        self.open: list[Element] = []
        self.faults: list[str] = []
        self.templates = 0
        self.feed(html)
        self.close()
        self.faults += [f"<{e.tag}> is never closed" for e in self.open]

    def parse_starttag(self, i: int) -> int:
        """As the library's, which takes half of a test's time for it; what is not plain is left to the library."""
        plain = PLAIN.match(self.rawdata, i)
        if not plain or plain[1] in self.CDATA_CONTENT_ELEMENTS:
            return super().parse_starttag(i)
        attrs = PLAIN_ATTRIBUTE.findall(plain[2])
        self.handle_starttag(plain[1], [(name, unescape(value) if "&" in value else value) for name, value in attrs])
        return plain.end()

    def updatepos(self, i: int, j: int) -> int:
        """Nobody asks for the line."""
        return j

    def handle_starttag(self, tag: str, attrs: list) -> None:
        element = self.element(tag, attrs)
        if tag not in VOID:
            self.open.append(element)

    def handle_startendtag(self, tag: str, attrs: list) -> None:
        self.element(tag, attrs)

    def element(self, tag: str, attrs: list) -> Element:
        """Note an element, with where it stands."""
        inside = [e.tag for e in self.open]
        self.templates += tag == "template"
        part = self.templates if "template" in inside else 0
        made = Element(tag, {k: v or "" for k, v in attrs}, inside=inside, part=part)
        self.elements.append(made)
        return made

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open[-1].tag != tag:
            self.faults.append(f"</{tag}> closes {self.open[-1].tag if self.open else 'nothing'}")
            return
        self.open.pop()

    def handle_data(self, data: str) -> None:
        for element in self.open:
            element.texts.append(data)

    def find(self, tag: str, **attrs: str) -> list[Element]:
        """Elements with this tag and these attributes (class_ for class, as a word in it)."""
        wanted_class = attrs.pop("class_", None)
        return [
            e
            for e in self.elements
            if e.tag == tag
            and all(e.attrs.get(k.replace("_", "-")) == v for k, v in attrs.items())
            and (wanted_class is None or wanted_class in e.attrs.get("class", "").split())
        ]


@lru_cache(maxsize=8)
def parsed(html: str) -> Page:
    """A page's elements: of one that was looked at just now, the same."""
    return Page(html)


def faults_of(html: str) -> list[str]:
    """What is wrong with a page, with the remedy."""
    page = parsed(html)
    faults = list(page.faults)
    headings = [e.part for e in page.find("h1")]
    if headings.count(0) != 1:
        faults.append(f"{headings.count(0)} <h1>: a page has exactly one")
    faults += [f"{headings.count(part)} <h1> in one template" for part in set(headings) if headings.count(part) > 1]
    # One inside a picture names the picture.
    titles = [title for title in page.find("title") if "svg" not in title.inside]
    if len(titles) != 1 or not titles[0].text.replace("· Drumside", "").strip():
        faults.append("no <title> of its own: fill the block title")
    ids = [(e.part, e.attrs["id"]) for e in page.elements if "id" in e.attrs]
    faults += [f"id {i[1]!r} stands twice" for i in sorted({i for i in ids if ids.count(i) > 1})]
    labelled = {(e.part, e.attrs.get("for")) for e in page.find("label")}
    for e in page.elements:
        if "style" in e.attrs or e.tag == "style":
            faults.append(f"<{e.tag}> has a style: put it into a CSS file")
        faults += [f"<{e.tag}> has {a}: attach it in a module" for a in e.attrs if a.startswith("on")]
        if e.tag == "script" and "src" not in e.attrs:
            faults.append("a script stands in the page: put it into a module")
        if e.tag in NEEDS_LABEL and e.attrs.get("type") not in UNLABELLED_TYPES:
            named = (e.part, e.attrs.get("id")) in labelled or "aria-label" in e.attrs or "label" in e.inside
            if not named:
                faults.append(f"<{e.tag} name={e.attrs.get('name')!r}> has no label")
        if e.attrs.get("type") == "number":
            faults.append("type=number swallows what was typed: use text with inputmode")
        if e.tag == "form" and e.attrs.get("method", "").lower() == "post" and "novalidate" not in e.attrs:
            has_text = any(x.tag in NEEDS_LABEL and x.attrs.get("type") not in UNLABELLED_TYPES for x in page.elements)
            if has_text and "inline" not in e.attrs.get("class", ""):
                faults.append("a form without novalidate: the server's words are the only ones")
        for name in ("href", "src", "action"):
            if e.attrs.get(name, "").startswith(("http:", "https:", "//")):
                faults.append(f"{name}={e.attrs[name]!r} leads elsewhere")
        if e.tag == "img" and "alt" not in e.attrs:
            faults.append("an <img> without alt")
        if e.tag == "a" and not e.attrs.get("href"):
            faults.append("a link without href")
    for part, href in ((e.part, e.attrs["href"]) for e in page.find("a") if e.attrs.get("href", "").startswith("#")):
        if (part, href[1:]) not in ids:
            faults.append(f"link to {href}, which is not on the page")
    return faults


class CheckingClient(FlaskClient):
    """Fails on any HTML answer that is not a sound page; a POST form gets its token by itself."""

    def open(self, *args, **kwargs):
        """As Flask's, plus the look at the page."""
        response = super().open(*args, **kwargs)
        if response.mimetype == "text/html" and not 300 <= response.status_code < 400 and response.data:
            faults = faults_of(response.get_data(as_text=True))
            assert not faults, f"{args}: " + "; ".join(faults)
        return response

    def page(self, path: str, status: int = 200) -> Page:
        """GET a page and parse it."""
        response = self.get(path)
        assert response.status_code == status, (path, response.status_code, response.get_data(as_text=True)[:2000])
        return parsed(response.get_data(as_text=True))

    def token(self, path: str) -> str:
        """The form token of a page."""
        return next(e.attrs["value"] for e in self.page(path).elements if e.attrs.get("name") == "csrf_token")
