"""The lead's index leads to every page on which something is set up."""


def test_it_links_to_everything_a_lead_sets_up(sign_in):
    lead = sign_in("lead")
    links = [e.attrs["href"] for e in lead.page("/settings").find("a") if "li" in e.inside]
    assert links == [
        "/products", "/gear", "/methods", "/studies", "/trends/rules", "/export", "/import", "/people", "/tablets",
        "/people/keys", "/site", "/status",
    ]  # fmt: skip
    for link in links:
        assert lead.get(link).status_code == 200


def test_it_is_offered_to_a_lead_only(sign_in):
    for role, offered in (("trainee", False), ("roaster", False), ("lead", True)):
        links = [e.attrs["href"] for e in sign_in(role).page("/me").find("a")]
        assert ("/settings" in links) is offered
