"""A form without its token is refused on a page in plain words."""

import pytest


@pytest.fixture
def strict(app):
    app.config["WTF_CSRF_ENABLED"] = True
    yield app
    app.config["WTF_CSRF_ENABLED"] = False


@pytest.mark.parametrize("signed", [True, False])
def test_it_says_that_the_form_is_too_old(strict, sign_in, client, signed):
    answer = (sign_in("roaster") if signed else client).post("/sign-in", data={"person": "x", "pin": "000000"})
    assert answer.status_code == 400
    assert "This form is too old to send" in answer.get_data(as_text=True)
