"""The look at every page that a test fetches: what is read quickly there is read as the library reads it."""

from __future__ import annotations

from html.parser import HTMLParser

import pytest

from tests.support.pages import Page, faults_of


class AsTheLibrary(Page):
    """The same, without the short way."""

    parse_starttag = HTMLParser.parse_starttag
    updatepos = HTMLParser.updatepos


def read(page: Page) -> list[tuple]:
    """Everything that was found in it."""
    return [(e.tag, e.attrs, e.text, e.inside, e.part) for e in page.elements] + page.faults


@pytest.mark.parametrize(
    "html",
    [
        '<p class="a b" id="x">one <b>two</b> &amp; three</p>',
        '<input name="q" value="5 &lt; 6 &quot;&#8239;kg" required><br><br/>',
        "<p title='single' data-x=bare HIDDEN>text</p><P>more</P>",
        '<a\n  href="/x?a=1&amp;b=2"\n  class="button">go</a>',
        '<svg viewBox="0 0 10 10"><path d="M0 0"/><title>a > b</title></svg>',
        '<p data-x="1 > 0" data-y="<b>">x</p>',
        '<script type="module" src="/a.mjs"></script><script>if (a < b) "<p>"</script><style>p > a {}</style>',
        "<textarea name=\"t\">\n<b>as typed</b> &amp;</textarea><template><h1>x</h1></template>",
        '<p class="open"><b>never closed</p>',
        '<p a="1" a="2" a>twice</p><p =x "y">odd</p>< p>no tag</p>',
    ],
)
def test_it_reads_a_page_as_the_library_does(html):
    assert read(Page(html)) == read(AsTheLibrary(html))


def test_it_reads_our_own_pages_as_the_library_does(pages, sign_in):
    client = sign_in("lead")
    compared = 0
    for address in pages.values():
        answer = client.get(address)
        if answer.mimetype == "text/html":
            html = answer.get_data(as_text=True)
            assert read(Page(html)) == read(AsTheLibrary(html)), address
            compared += 1
        answer.close()
    assert compared > 50


def test_it_finds_what_is_wrong_with_a_page():
    wrong = '<h1>a</h1><h1>b</h1><p id="i" style="x">c</p><i id="i">d<input name="n"><img src="//x">'
    found = "; ".join(faults_of(wrong))
    for fault in ("2 <h1>", "no <title>", "stands twice", "has a style", "has no label", "never closed", "without alt"):
        assert fault in found
