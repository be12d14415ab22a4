"""A person's own page: automatic point, short checklist."""

from webapp.store.people import get_person


def test_it_stores_a_roasters_choices(sign_in, bench):
    answer = sign_in("roaster").post("/me", data={"auto_point": "y", "short_checklist": "y"}, follow_redirects=True)
    assert "Your choices are stored." in answer.text
    ravi = get_person(bench.db, bench.people["roaster"])
    assert (ravi.auto_point, ravi.short_checklist) == (True, True)
    sign_in("roaster").post("/me", data={"csrf_token": ""})
    ravi = get_person(bench.db, bench.people["roaster"])
    assert (ravi.auto_point, ravi.short_checklist) == (False, False)


def test_it_offers_a_trainee_no_short_checklist(sign_in, bench):
    trainee = sign_in("trainee")
    assert [e.attrs["name"] for e in trainee.page("/me").find("input", type="checkbox")] == ["auto_point"]
    trainee.post("/me", data={"auto_point": "y", "short_checklist": "y"})
    tomas = get_person(bench.db, bench.people["trainee"])
    assert (tomas.auto_point, tomas.short_checklist) == (True, False)


def test_it_counts_in_the_session_at_once(sign_in, app):
    roaster = sign_in("roaster")
    roaster.post("/me", data={"auto_point": "y"})
    assert "checked" in roaster.page("/me").find("input", id="auto_point")[0].attrs
