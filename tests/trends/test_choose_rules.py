"""What is listened for is one choice for the house, with what it costs beside it."""

import pytest

from webapp.store import trend_rules
from webapp.store.trend_rules import Rules
from webapp.store.trends import ALL
from webapp.trends import run

PATH = "/trends/rules"


@pytest.fixture
def lead(sign_in):
    return sign_in("lead")


def text_of(page):
    return page.find("main")[0].text


def ticked(*names):
    return dict.fromkeys(names, "y")


def test_it_shows_what_every_choice_costs(lead):
    page = lead.page(PATH)
    text = text_of(page)
    assert "rules 1, 2, 3, 4 and the running mean" in text
    assert "wrong once in 88 batches" in text
    # Champ and Woodall 1987, table 1, shift 0 and shift 1, to whole batches.
    rows = ["".join(e.text.split()) for e in page.find("tr")]
    assert any(row.startswith("1370") for row in rows)
    assert any(row.startswith("1,2,3,492") and row.endswith("9") for row in rows)
    assert len([row for row in rows if row.startswith("1")]) == 8


def test_it_stores_a_choice_once_with_its_reason(lead, bench, fields):
    page = lead.page(PATH)
    form = fields(page, reason="Fewer false alarms.", **ticked("rule_2", "average"))
    for _twice in range(2):
        assert lead.post(PATH, data=form).status_code == 303
    assert trend_rules.current(bench.db) == Rules((1, 2), True)
    [stored] = trend_rules.list_choices(bench.db)
    assert (stored.person_name, stored.reason) == ("Ada", "Fewer false alarms.")
    text = text_of(lead.page(PATH))
    assert "Now: rules 1, 2 and the running mean." in text
    assert "wrong once in 177" in text
    assert lead.post(PATH, data=form | {"reason": "Another."}).status_code == 409


def test_it_keeps_rule_1_on_and_what_was_typed(lead, bench, fields):
    form = fields(lead.page(PATH), reason="", **ticked("rule_3"))
    answer = lead.post(PATH, data=form)
    assert answer.status_code == 422
    html = answer.get_data(as_text=True)
    assert "Say in a few words why." in html
    assert 'name="rule_3" type="checkbox" value="y"' in html.replace("checked ", "")
    assert lead.post(PATH, data=form | {"reason": "Calm."}).status_code == 303
    assert trend_rules.current(bench.db).rules == (1, 3)


def test_it_refuses_what_is_on_already_and_what_somebody_changed_meanwhile(lead, bench, fields):
    everything = ticked("rule_2", "rule_3", "rule_4", "average")
    answer = lead.post(PATH, data=fields(lead.page(PATH), reason="Why not.", **everything))
    assert "the same is on already" in answer.get_data(as_text=True)
    form = fields(lead.page(PATH), reason="Mine.", **ticked("rule_4"))
    other = "00000000-0000-4000-8000-000000000001"
    trend_rules.add_choice(bench.db, other, Rules((1, 2), False), "Theirs.", bench.who("lead"), bench.now)
    answer = lead.post(PATH, data=form)
    assert answer.status_code == 422
    assert "Ada chose otherwise meanwhile" in answer.get_data(as_text=True)
    assert trend_rules.current(bench.db) == Rules((1, 2), False)


def test_it_judges_every_trend_by_the_choice(lead, sign_in, bench, roast, steady, fields):
    roast([*steady(25), 53.0, *steady(9)])
    where = f"/trends/{bench.product}/whole"
    rules = {one.rule for one in run.look_at(bench.db, bench.product, "whole", ALL, 100).signals}
    assert 1 in rules
    assert len(rules) > 1
    assert lead.post(PATH, data=fields(lead.page(PATH), reason="One is enough.")).status_code == 303
    it = run.look_at(bench.db, bench.product, "whole", ALL, 100)
    assert {one.rule for one in it.signals} == {1}
    assert it.run.average == ()
    text = text_of(sign_in("trainee").page(where))
    assert "once in 370 batches, with rule 1 on" in text
    assert "The running mean is off." in text
    assert "running mean</" not in text


def test_it_is_for_leads(sign_in):
    assert sign_in("roaster").get(PATH).status_code == 403
