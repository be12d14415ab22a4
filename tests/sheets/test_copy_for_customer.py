"""A copy of a batch's record for a customer: what is not chosen is not in the page, and the copy says so."""

from __future__ import annotations

import re

import pytest

from tests.sheets.conftest import text_of
from webapp.sheets.fields import RECORD, RECORD_USUAL
from webapp.store import ledger

# What stands on the whole record because of a field, each a text that nothing else on the page has.
PLANTED = {
    "names": ("wordleadname", "wordroastername", "wordtraineename", "wordtablet"),
    "customer": ("wordcustomer",),
    "notes": (
        "wordbatchnote", "wordsamplenote", "wordmovereason", "wordcorrectionreason", "wordfactreason",
        "wordcountersignnote",
    ),
    "reasons": ("wordholdreason", "wordconcessionreason"),
    "lot": ("wordlotafter", "Green lot"),
    "masses": ("12.345 kg", "10.321 kg", "Roast loss"),
    "readings": ("<del>91.3</del>", "fill 1, reading 2"),
    "steps": ("wordstepnote", "Level the dish with the straightedge"),
    "check": ("Last check before", "+0.07 as found"),
    "uncertainty": ("σ between fills", "u² ="),
    "ledger": ("ledger lines are about this batch",),
}  # fmt: skip


def address(batch, *fields):
    """The copy with these fields."""
    return f"/batches/{batch.id}/record/copy?chosen=1" + "".join(f"&with={field}" for field in fields)


@pytest.fixture
def batch(made):
    return made.everything()


@pytest.fixture
def copy(sign_in, batch):
    """copy(field, ...): the page's source as a customer could look at it."""

    def fetched(*fields):
        response = sign_in("lead").get(address(batch, *fields))
        assert response.status_code == 200
        return response.get_data(as_text=True)

    return fetched


def test_every_field_has_something_planted(sign_in, batch):
    assert set(PLANTED) == set(RECORD)
    html = sign_in("lead").get(f"/batches/{batch.id}/record").get_data(as_text=True)
    assert [word for words in PLANTED.values() for word in words if word not in html] == []


@pytest.mark.parametrize("field", RECORD)
def test_it_leaves_a_field_out_of_the_pages_source(copy, field):
    html = copy(*(other for other in RECORD if other != field))
    assert [word for word in PLANTED[field] if word in html] == []
    assert "This is an excerpt." in html
    others = [word for other in RECORD if other != field for word in PLANTED[other]]
    # The reason why a reading was corrected goes with the readings, too.
    gone = ["wordcorrectionreason"] if field == "readings" else []
    assert [word for word in others if word not in html] == gone


def test_it_shows_nothing_but_the_result_where_nothing_is_chosen(copy):
    html = copy()
    assert [word for words in PLANTED.values() for word in words if word in html] == []
    for said in ("W-1", "Lantern House", "Released by concession", "1 reading was corrected."):
        assert said in html, said


def test_it_leaves_out_names_and_what_people_have_typed_unless_somebody_asks(sign_in, batch):
    html = sign_in("lead").get(f"/batches/{batch.id}/record/copy").get_data(as_text=True)
    for field, words in PLANTED.items():
        assert [word for word in words if (word in html) != (field in RECORD_USUAL)] == [], field
    assert {"names", "notes", "customer"} & set(RECORD_USUAL) == set()


def test_it_says_that_it_is_an_excerpt_and_what_is_left_out(sign_in, batch):
    text = text_of(sign_in("lead").page(address(batch, *(f for f in RECORD if f not in ("names", "lot")))))
    assert "This is an excerpt. Left out: names of people, the green lot." in text


def test_it_is_no_excerpt_where_everything_is_chosen(copy):
    assert "This is an excerpt." not in copy(*RECORD)


def test_it_keeps_the_choice_in_the_address_and_in_the_form(sign_in, batch):
    client = sign_in("roaster")
    page = client.page(address(batch, "lot", "steps"))
    back = next(e.attrs["href"] for e in page.find("a") if "/choose" in e.attrs["href"])
    form = client.page(back)
    ticked = [e.attrs["value"] for e in form.find("input", name="with") if "checked" in e.attrs]
    assert ticked == ["lot", "steps"]
    usual = client.page(f"/batches/{batch.id}/record/choose")
    assert [e.attrs["value"] for e in usual.find("input", name="with") if "checked" in e.attrs] == list(RECORD_USUAL)
    assert usual.find("form")[0].attrs["action"] == f"/batches/{batch.id}/record/copy"
    assert usual.find("input", name="chosen")


def test_it_knows_no_field_that_is_none(copy):
    # Each says when it was made, and a minute may end between the two.
    odd, plain = (re.sub(r"\d\d:\d\d", "", text) for text in (copy("hash", "../etc", "lot"), copy("lot")))
    assert odd == plain


@pytest.mark.parametrize("end", ["copy", "choose"])
def test_a_trainee_makes_no_copy(sign_in, batch, end):
    assert sign_in("trainee").get(f"/batches/{batch.id}/record/{end}").status_code == 403
    assert sign_in("roaster").get(f"/batches/{batch.id}/record/{end}").status_code == 200


def test_it_leaves_out_the_file_and_the_masses_of_a_blend(sign_in, made, bench):
    taken = made.imported("wordfilename.csv", 3, code="OLD-2")
    mixed = made.blend("MIX-3", {taken: 7531}, "wordblendreason")
    for batch_id, word, field in ((taken, "wordfilename", "notes"), (mixed, "7.531 kg", "masses")):
        for chosen in (True, False):
            with_it = f"?chosen=1&with={field}" if chosen else "?chosen=1"
            html = sign_in("lead").get(f"/batches/{batch_id}/record/copy{with_it}").get_data(as_text=True)
            assert (word in html) == chosen
    html = sign_in("lead").get(f"/batches/{mixed}/record/copy").get_data(as_text=True)
    assert "wordblendreason" not in html
    assert "OLD-2" in html


def test_it_changes_nothing(copy, bench):
    before = ledger.head(bench.db)
    copy(*RECORD)
    assert ledger.head(bench.db) == before
