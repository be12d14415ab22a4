"""Lock: the session ends on the server, so a copied cookie is worth nothing."""


def test_it_ends_the_session_and_goes_to_sign_in(client, enter):
    enter(client, "roaster")
    answer = client.post("/lock", data={"next": "/me"})
    assert (answer.status_code, answer.location) == (303, "/sign-in?next=/me")
    assert client.get_cookie("person") is None
    assert client.get_cookie("tablet") is not None
    assert client.get("/me").status_code == 303


def test_it_sends_a_stolen_cookie_to_sign_in(client, enter, app, bench):
    enter(client, "lead")
    stolen = client.get_cookie("person").value
    thief = app.test_client()
    thief.set_cookie("tablet", bench.tablet_secret)
    thief.set_cookie("person", stolen)
    assert thief.get("/people").status_code == 200
    client.post("/lock")
    for path in ("/me", "/people", "/settings"):
        answer = thief.get(path)
        assert (answer.status_code, answer.location) == (303, f"/sign-in?next={path}")
    assert thief.post("/people/new").status_code == 403


def test_it_does_not_take_a_cookie_on_another_tablet(client, enter, app, sign_in):
    enter(client, "roaster")
    elsewhere = app.test_client()
    code = sign_in("lead").post("/tablets/code").text.split('class="code num">')[1][:9]
    elsewhere.post("/enrol", data={"code": code, "tablet_name": "Other"})
    elsewhere.set_cookie("person", client.get_cookie("person").value)
    assert elsewhere.get("/me").status_code == 303


def test_it_leaves_what_the_tablet_stores_for_itself(client, enter):
    enter(client, "roaster")
    assert "Clear-Site-Data" not in client.post("/lock").headers


def test_it_locks_what_is_locked_already(client):
    assert client.post("/lock").status_code == 303


def test_it_locks_without_a_form_token(app, client, enter):
    """An old page of the tablet itself still locks; every other form wants its token."""
    enter(client, "roaster")
    app.config["WTF_CSRF_ENABLED"] = True
    token = client.token("/me")
    assert client.post("/stay", headers={"X-CSRFToken": token}).status_code == 204
    assert client.post("/lock").status_code == 303
    assert client.get("/me").status_code == 303


def test_it_is_not_a_link(client, enter):
    enter(client, "roaster")
    assert client.get("/lock").status_code == 405
    assert client.get("/me").status_code == 200


def test_it_stays_open_when_the_page_says_that_somebody_is_typing(client, enter, clock):
    enter(client, "roaster")
    for _ in range(4):
        clock(minutes=9)
        assert client.post("/stay").status_code == 204
    assert client.get("/me").status_code == 200


def test_it_cannot_be_kept_open_once_it_has_ended(client, enter, clock):
    enter(client, "roaster")
    clock(minutes=12)
    assert client.post("/stay").status_code == 401
    assert client.get("/me").status_code == 303
