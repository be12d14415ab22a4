"""The list of what waits on a tablet (the page itself: tests/browser/test_outbox_page.py)."""


def test_the_list_of_what_waits_has_a_word_for_every_kind_of_record(app, sign_in):
    page = sign_in("roaster").get("/outbox").get_data(as_text=True)
    kinds = set(app.extensions["records"].handlers) - {"sample"} | {"sample-whole", "sample-ground"}
    assert [kind for kind in sorted(kinds) if f'data-kind-{kind}="' not in page] == []
