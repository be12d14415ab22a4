"""The lead's list of people: everybody, those who have left at the end, and who has to wait."""

from webapp.store import people
from webapp.store.who import SYSTEM


def names(page) -> list[str]:
    return [" ".join(e.text.split()) for e in page.find("span", class_="crew-name")]


def test_it_lists_everybody_by_name(sign_in, bench):
    people.add_person(bench.db, "ädis", "roaster", "835170", SYSTEM, bench.now)
    assert names(sign_in("lead").page("/people")) == ["Ada", "Ravi", "Tomas", "ädis"]


def test_it_puts_those_who_left_at_the_end(sign_in, bench):
    people.add_person(bench.db, "Abel", "roaster", "835170", SYSTEM, bench.now)
    abel = people.find_by_name(bench.db, "abel")
    people.change_person(bench.db, abel.id, "Abel", "roaster", False, SYSTEM, bench.now)
    page = sign_in("lead").page("/people")
    assert names(page)[-1] == "Abel"
    assert "no longer here" in page.find("main")[0].text


def test_it_shows_who_has_to_wait_and_lets_a_lead_end_it(sign_in, client, enter):
    for _ in range(5):
        enter(client, "roaster", "808172")
    lead = sign_in("lead")
    page = lead.page("/people")
    assert "Too many wrong PINs: has to wait 30 seconds." in page.find("main")[0].text
    form = next(e for e in page.find("form") if e.attrs["action"].endswith("/unlock"))
    answer = lead.post(form.attrs["action"], follow_redirects=True)
    assert "Ravi can try again now." in answer.text
    assert enter(client, "roaster").status_code == 303
