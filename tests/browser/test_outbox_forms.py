"""One way in: batches, samples and decisions are saved on the tablet first, sent, and go on where the form would."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.test_capture import GROUND, WHOLE, Taps, open_readings
from tests.support.fake_server import FakeServer, as_json, broken
from tests.support.roastery import PINS
from tests.support.waiting import call, entries, states, until
from webapp.store import batches, decisions, products, samples
from webapp.store.products import TargetBand

STORE = "[data-readings] .actions .primary"
RELEASE = 'button:has-text("Release batch")'


def new_batch(page, address) -> None:
    page.goto(f"{address}/batches/new")
    page.wait_for_load_state("networkidle")
    page.locator('label:has-text("Lantern House")').click()


def type_sample(page, address, batch, readings=WHOLE, kind="whole") -> None:
    open_readings(page, address, batch, kind)
    for text in readings:
        Taps(page).number(text)


def measured(bench):
    """A batch in band, ready for a decision."""
    batch = bench.batch()
    bench.sample(batch.id, "whole", [56.1, 56.4, 56.1])
    bench.sample(batch.id, "ground", [61.0, 61.1, 60.9])
    return batch


def lose_answers(page) -> FakeServer:
    """A server that is there for pages, and takes no record."""
    fake = FakeServer(page)
    fake.token_script = [broken("connectionrefused")] * 9999
    return fake


def test_a_batch_goes_through_the_outbox(bench, address, tablet):
    page = tablet("roaster")
    new_batch(page, address)
    page.fill('[name="green"]', "12")
    page.fill('[name="roasted"]', "10,2")
    id, code = (page.locator(f'[name="{name}"]').input_value() for name in ("id", "code"))
    with page.expect_request("**/records") as sent:
        page.get_by_role("button", name="Go on to the sample").click()
    page.wait_for_url(f"{address}/batches/{id}/whole")
    assert "csrf_token" not in sent.value.post_data
    made = batches.get_batch(bench.db, id)
    assert (made.code, made.green_g, made.roasted_g, made.person_id) == (code, 12000, 10200, bench.people["roaster"])
    assert entries(page) == []


def test_a_batch_goes_on_to_the_ground_sample_when_asked(address, tablet):
    page = tablet("roaster")
    new_batch(page, address)
    page.get_by_role("button", name="Ground first").click()
    page.wait_for_url(re.compile("/ground$"))


def test_a_batch_goes_on_to_the_kind_that_its_product_asks_for(bench, address, tablet):
    who = bench.who("lead")
    products.add_product(
        bench.db, "Ground only", "GO", bench.scale, "guarded", 0.8, bench.methods["whole"], bench.methods["ground"],
        [TargetBand("ground", 5950, 6100, 6250)], who, bench.now,
    )  # fmt: skip
    page = tablet("roaster")
    page.goto(f"{address}/batches/new")
    page.wait_for_load_state("networkidle")
    page.locator('label:has-text("Ground only")').click()
    page.get_by_role("button", name="Go on to the sample").click()
    page.wait_for_url(re.compile("/ground$"))


def test_a_sample_goes_through_the_outbox_and_its_draft_with_it(bench, address, tablet):
    page, batch = tablet("roaster"), bench.batch()
    type_sample(page, address, batch)
    expect(page.locator("[data-saved]")).to_have_text("Kept on this tablet")
    number = page.locator('[name="id"]').input_value()
    page.locator(STORE).click()
    page.wait_for_url("**/ground")
    [made] = samples.get_samples(bench.db, batch.id)
    assert (made.id, made.tablet_seq) == (number, 1)
    assert entries(page) == []
    assert call(page, "offline/store", "get", "drafts", f"{batch.id}/whole") is None


def test_a_release_goes_through_the_outbox(bench, address, tablet):
    page, batch = tablet("roaster"), measured(bench)
    page.goto(f"{address}/batches/{batch.id}/result")
    page.wait_for_load_state("networkidle")
    page.locator(RELEASE).click()
    expect(page.locator(".decided")).to_contain_text("Released by Ravi")
    [made] = decisions.get_decisions(bench.db, batch.id)
    assert (made.what, made.tablet_seq) == ("release", 1)


def test_a_decision_that_wants_the_pin_again_asks_for_it_and_is_stored_once(bench, address, tablet):
    page, batch = tablet("lead"), measured(bench)
    bench.db.conn.execute("UPDATE session SET confirmed_at = '2026-01-05T08:00:00.000000Z'")
    page.goto(f"{address}/batches/{batch.id}/decision/reject")
    page.wait_for_load_state("networkidle")
    page.fill('[name="reason"]', "A bean that does not belong there")
    page.get_by_role("button", name="Reject").click()
    expect(page.locator("[data-part=pad]")).to_be_visible()
    for digit in PINS["lead"]:
        page.locator(f"[data-digit='{digit}']").click()
    page.get_by_role("button", name="Go on").click()
    expect(page.locator(".decided")).to_contain_text("Rejected by Ada")
    until(page, lambda: not entries(page))
    assert [d.what for d in decisions.get_decisions(bench.db, batch.id)] == ["reject"]


def test_the_servers_words_stand_beside_the_field_and_the_entry_is_kept_till_it_is_right(bench, address, tablet):
    page = tablet("roaster")
    new_batch(page, address)
    page.fill('[name="green"]', "10")
    page.fill('[name="roasted"]', "12")
    id = page.locator('[name="id"]').input_value()
    page.get_by_role("button", name="Go on to the sample").click()
    expect(page.locator(".problems")).to_contain_text("cannot weigh more than the green")
    assert states(page) == {id: "attention"}
    expect(page.locator("[data-saved]")).to_contain_text("1 needs attention")
    assert page.locator('[name="id"]').input_value() == id
    page.fill('[name="roasted"]', "8,5")
    page.get_by_role("button", name="Go on to the sample").click()
    page.wait_for_url(re.compile("/whole$"))
    assert entries(page) == []
    assert batches.get_batch(bench.db, id).roasted_g == 8500


def test_a_code_that_is_used_already_can_still_be_changed(bench, address, tablet):
    """The tablet knows the codes of the last days; the server says it beside the field. Nothing is called saved."""
    page, there = tablet("roaster"), bench.batch("1125-77")
    call_kit(page, address)
    new_batch(page, address)
    page.fill('[name="code"]', "1125-77")
    id = page.locator('[name="id"]').input_value()
    page.get_by_role("button", name="Go on to the sample").click()
    expect(page.locator(".problems")).to_contain_text("Batch 1125-77 is there already: Lantern House")
    assert entries(page) == []
    page.fill('[name="code"]', "1125-78")
    page.get_by_role("button", name="Go on to the sample").click()
    page.wait_for_url(f"{address}/batches/{id}/whole")
    assert there.id != id


def call_kit(page, address) -> None:
    """Fetch the kit, as a tablet does by itself."""
    page.goto(f"{address}/me")
    page.wait_for_load_state("networkidle")
    call(page, "offline/kit", "renew")


def test_the_server_says_what_is_missing_while_it_is_there(bench, address, tablet):
    """Nothing that is not finished is called saved."""
    page, batch = tablet("roaster"), bench.batch()
    type_sample(page, address, batch, WHOLE[:2])
    page.locator(STORE).click()
    expect(page.locator(".problems")).to_contain_text("the method asks for 3")
    assert entries(page) == []
    page.get_by_label("Store it with fewer readings").check()
    page.locator(STORE).click()
    page.wait_for_url("**/ground")
    assert len(samples.get_samples(bench.db, batch.id)[0].readings) == 2


def test_the_page_shows_what_is_missing_while_the_server_is_away(bench, address, tablet):
    page, batch = tablet("roaster", failing=True), bench.batch()
    type_sample(page, address, batch, WHOLE[:2])
    page.context.set_offline(True)
    page.locator(STORE).click()
    expect(page.get_by_role("alert").filter(has_text="Not finished yet")).to_be_visible()
    assert entries(page) == []
    page.get_by_label("Store it with fewer readings").check()
    page.locator(STORE).click()
    until(page, lambda: len(entries(page)) == 1)
    page.context.set_offline(False)
    page.wait_for_url("**/ground")
    assert len(samples.get_samples(bench.db, batch.id)[0].readings) == 2


def test_a_far_reading_is_asked_about_while_the_server_is_away(bench, address, tablet):
    page, batch = tablet("roaster", failing=True), bench.batch()
    type_sample(page, address, batch, ("56.1", "56.2", "65.2", "56.3"))
    page.context.set_offline(True)
    page.locator(STORE).click()
    expect(page.get_by_role("alert").filter(has_text="Not finished yet")).to_be_visible()
    assert entries(page) == []


def test_without_a_worker_the_page_stays_until_the_server_is_back(bench, address, tablet):
    """There is no page to go to: this one says that it is saved, and goes on by itself."""
    page, batch = tablet("roaster", failing=True), bench.batch()
    type_sample(page, address, batch)
    page.context.set_offline(True)
    page.locator(STORE).click()
    expect(page.get_by_role("alert").filter(has_text="The server cannot be reached")).to_be_visible()
    expect(page.locator("[data-saved]")).to_have_text("Saved on this tablet")
    expect(page.locator(STORE)).to_be_disabled()
    page.context.set_offline(False)
    page.wait_for_url("**/ground")
    assert len(samples.get_samples(bench.db, batch.id)) == 1


def test_a_half_typed_batch_survives_a_reload(address, tablet):
    page = tablet("roaster")
    new_batch(page, address)
    page.fill('[name="lot"]', "Lot 9")
    page.locator("summary").click()
    page.fill('[name="total"]', "11:3")
    expect(page.locator("[data-saved]")).to_have_text("Kept on this tablet")
    id = page.locator('[name="id"]').input_value()
    page.reload()
    expect(page.locator('[name="lot"]')).to_have_value("Lot 9")
    expect(page.locator('[name="total"]')).to_be_visible()
    expect(page.locator('[name="total"]')).to_have_value("11:3")
    expect(page.locator('[name="product"]').first).to_be_checked()
    assert page.locator('[name="id"]').input_value() == id
    page.get_by_role("button", name="Go on to the sample").click()


def test_yesterdays_proposals_do_not_come_back_with_a_draft(address, tablet):
    """Only what somebody typed is kept: not the code, day and time that the form proposed."""
    page = tablet("roaster")
    new_batch(page, address)
    page.fill('[name="lot"]', "Lot 9")
    expect(page.locator("[data-saved]")).to_have_text("Kept on this tablet")
    kept = call(page, "offline/store", "get", "drafts", "new-batch")["fields"]
    assert set(kept) == {"id", "lot", "product"}


def test_every_fill_of_a_draft_comes_back(bench, address, tablet):
    page, batch = tablet("roaster"), bench.batch()
    open_readings(page, address, batch)
    for fill in range(4):
        for text in ("56.1", "56.2", "56.1"):
            Taps(page).number(text)
        if fill < 3:
            page.locator("[data-new-fill]").click()
    page.wait_for_timeout(300)
    page.reload()
    expect(page.locator('[name="fills-3-readings-2-value"]')).to_have_value("56.1")
    expect(page.locator("[data-summary]")).to_contain_text("mean of 4 fills")


def test_a_half_typed_reason_survives_a_reload(bench, address, tablet):
    page, batch = tablet("roaster"), measured(bench)
    page.goto(f"{address}/batches/{batch.id}/decision/hold")
    page.wait_for_load_state("networkidle")
    page.fill('[name="reason"]', "Wait for the second grinder")
    expect(page.locator("[data-saved]")).to_have_text("Kept on this tablet")
    page.reload()
    expect(page.locator('[name="reason"]')).to_have_value("Wait for the second grinder")


def test_both_kinds_offline_and_then_stored_in_their_order(bench, address, tablet):
    """Without a worker page by page: the batch first, then the samples, each waiting; then all are stored at once."""
    page = tablet("roaster", failing=True)
    lose_answers(page)
    batch = bench.batch()
    for kind, readings in (("whole", WHOLE), ("ground", GROUND)):
        type_sample(page, address, batch, readings, kind)
        page.locator(STORE).click()
        expect(page.get_by_role("alert").filter(has_text="The server cannot be reached")).to_be_visible()
    assert [entry["sample_kind"] for entry in entries(page)] == ["whole", "ground"]
    page.context.unroute("**/csrf")
    page.context.unroute("**/records")
    page.goto(f"{address}/outbox")
    until(page, lambda: not entries(page))
    assert {s.kind for s in samples.get_samples(bench.db, batch.id)} == {"whole", "ground"}


@pytest.mark.parametrize("status", [409, 404])
def test_what_the_page_cannot_settle_leads_to_the_list(bench, address, tablet, status):
    page, batch = tablet("roaster", failing=True), bench.batch()
    type_sample(page, address, batch)
    fake = FakeServer(page)
    fake.refuse(page.locator('[name="id"]').input_value(), status, "other_content" if status == 409 else "not_found")
    page.locator(STORE).click()
    page.wait_for_url(f"{address}/outbox")
    expect(page.locator("[data-entries]")).to_contain_text("needs attention")


def test_it_carries_nothing_secret(bench, address, tablet):
    """Neither a token nor a PIN stands in what waits."""
    page, batch = tablet("roaster", failing=True), bench.batch()
    type_sample(page, address, batch)
    fake = FakeServer(page)
    fake.script = [as_json(503, {})] * 99
    page.locator(STORE).click()
    until(page, lambda: len(entries(page)) == 1)
    assert not {"csrf_token", "next", "pin"} & set(entries(page)[0]["form"])
    assert "token-" not in str(entries(page))
