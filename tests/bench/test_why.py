"""Why each step matters, with a picture of what goes wrong: on the page, in the kit, for every picture there is."""

import re
from dataclasses import replace

import pytest

from tests.conventions.source import STATIC
from webapp.gear.pictures import WORDS, picture_names
from webapp.store import methods
from webapp.ui.default_methods import DEFAULT_METHODS
from webapp.ui.goes_wrong import GOES_WRONG, goes_wrong

PICTURES = STATIC / "pictures"
STEPS = [pytest.param(step, id=f"{m.kind}-{no}") for m in DEFAULT_METHODS for no, step in enumerate(m.steps, 1)]


def drawing(name):
    return (PICTURES / f"{name}.svg").read_text(encoding="utf-8")


@pytest.mark.parametrize("step", STEPS)
def test_it_has_a_reason_and_a_picture_of_what_goes_wrong_for_every_step(step):
    assert step.why
    assert step.picture in GOES_WRONG
    assert (PICTURES / f"{step.picture}-wrong.svg").is_file()


@pytest.mark.parametrize("name", sorted(WORDS))
def test_it_tells_the_wrong_picture_from_the_right_one_by_a_shape(name):
    """A cross in a ring, in the same corner of each: nothing rests on colour alone."""
    wrong = drawing(f"{name}-wrong")
    ring = r'<circle cx="(\d+)" cy="(\d+)" r="28" fill="#f7dcd6" stroke="#a3211a"/>'
    mark = re.search(ring + r'<path d="M\d+ \d+l22 22M', wrong)
    assert mark
    assert max(int(mark[1]), int(mark[2])) < 60
    assert 'r="28"' not in drawing(name)


def test_it_has_one_short_sentence_for_each_and_none_for_anything_else():
    assert set(GOES_WRONG) == set(WORDS)
    for text in map(str, GOES_WRONG.values()):
        assert text.endswith(".")
        assert len(text) <= 80
        # No figure: no published number was found for any of it.
        assert not re.search(r"\d|\b(higher|lower|brighter)\b", text)
    assert goes_wrong("") == goes_wrong("no-such-picture") == ""


def test_it_offers_the_wrong_pictures_to_no_step():
    assert set(picture_names()) == set(WORDS)


@pytest.mark.parametrize("kind", ["whole", "ground"])
def test_it_shows_them_inside_the_reason_on_the_capture_page(bench, sign_in, kind):
    html = sign_in("trainee").get(f"/batches/{bench.batch().id}/{kind}").get_data(as_text=True)
    reasons = re.findall(r"<details><summary>Why this matters</summary>(.*?)</details>", html, re.DOTALL)
    steps = bench.versions[kind].steps
    assert len(reasons) == len(steps)
    for reason, step in zip(reasons, steps, strict=True):
        assert f"/pictures/{step.picture}-wrong.svg" in reason
        assert re.search(r"<figcaption>[^<]+</figcaption>", reason)


def test_it_shows_the_reason_alone_where_a_step_has_no_picture(bench, sign_in):
    old, lead = bench.versions["whole"], bench.who("lead")
    own = [replace(step, picture="", why="Because we say so.") for step in old.steps[:2]]
    methods.add_version(bench.db, old.method_id, old.dish, 3, 1, None, own, "ours", lead, bench.now)
    for path in (f"/batches/{bench.batch().id}/whole", f"/methods/{old.method_id}"):
        html = sign_in("lead").get(path).get_data(as_text=True)
        assert html.count("Because we say so.") == 2
        assert "-wrong.svg" not in html
        assert "<figure" not in html


def test_it_shows_them_on_the_methods_page_and_where_a_picture_is_chosen(bench, sign_in):
    method, client = bench.versions["ground"], sign_in("lead")
    for path in (f"/methods/{method.method_id}", f"/methods/{method.method_id}/edit"):
        html = client.get(path).get_data(as_text=True)
        for step in method.steps:
            assert f"/pictures/{step.picture}-wrong.svg" in html, (path, step.picture)


def test_it_gives_a_tablet_the_sentences_and_the_pictures(bench, sign_in):
    client = sign_in("trainee")
    kit = client.get("/kit", headers={"Accept": "application/json"}).get_json()
    steps = [step for method in kit["methods"] for step in method["steps"]]
    assert steps
    assert all(step["wrong"] == goes_wrong(step["picture"]) for step in steps)
    worker = client.get("/sw.js").get_data(as_text=True)
    for name in WORDS:
        assert re.search(rf'"/static/[0-9a-f]{{12}}/pictures/{name}-wrong\.svg"', worker), name
