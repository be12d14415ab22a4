"""Grind checks: how much of a ground sample passes a sieve.

Source of 70 to 75 % through a 20 mesh sieve for a cupping grind: Specialty Coffee Association, Coffee Standards
(revised 2018), section 3, cupping standards. 20 mesh is an opening of 850 um (ASTM E11, from memory).
"""

from __future__ import annotations

import pytest

from tests.support.roastery import later
from webapp.gear import grind_chart
from webapp.store import gear, grinder_log, ledger
from webapp.store.errors import AlreadyThere
from webapp.store.times import to_text


@pytest.fixture
def address(bench) -> str:
    return f"/gear/grinders/{bench.grinder}/grind-check"


def typed(bench, **changes: str) -> dict:
    fields = {"setting": bench.setting, "sieve": "850", "total": "20", "passing": "14,6", "coffee": "House", "note": ""}
    return fields | changes


def store(bench, number: int, passing: int, sieve: int = 850, setting: str | None = None, **before) -> None:
    check = grinder_log.NewCheck(
        f"{number:08}-0000-4000-8000-000000000000", bench.grinder, setting or bench.setting, "", sieve, 2000, passing,
        "", to_text(later(bench.now, **{name: -value for name, value in before.items()})),
    )  # fmt: skip
    grinder_log.add_grind_check(bench.db, check, bench.who(), bench.now)


def test_it_keeps_a_check_once_with_the_share_that_passed(sign_in, bench, address):
    client = sign_in("roaster")
    form = typed(bench, id=client.page(address).find("input", name="id")[0].attrs["value"])
    assert [client.post(address, data=form).status_code for _ in range(2)] == [303, 303]
    [there] = grinder_log.list_grind_checks(bench.db, bench.grinder)
    assert (there.sieve_um, there.total_cg, there.passing_cg, there.coffee) == (850, 2000, 1460, "House")
    assert there.share == pytest.approx(0.73, abs=1e-12)
    assert list(ledger.faults(bench.db)) == []
    text = client.page(f"/gear/grinders/{bench.grinder}").find("main")[0].text
    assert "73.0 %" in text
    assert "14.60 of 20.00 g" in text


def test_it_starts_with_the_cupping_sieve_and_where_the_grinder_stands(sign_in, bench, address):
    nine = gear.add_grinder_setting(bench.db, bench.grinder, "9", bench.who("lead"), bench.now)
    grinder_log.add_event(
        bench.db, "00000000-0000-4000-8000-000000000000", bench.grinder, "setting", nine, "", bench.who(), bench.now
    )
    page = sign_in("roaster").page(address)
    assert page.find("input", name="sieve")[0].attrs["value"] == "850"
    assert [i.attrs["value"] for i in page.find("input", name="setting") if "checked" in i.attrs] == [nine]
    assert "70 to 75 % through a sieve of 850 µm" in page.find("main")[0].text


@pytest.mark.parametrize("text", ["14.6", "14,6", " 14.60 "])
def test_it_takes_point_and_comma(sign_in, bench, address, text):
    assert sign_in("roaster").post(address, data=typed(bench, passing=text)).status_code == 303
    assert grinder_log.list_grind_checks(bench.db, bench.grinder)[0].passing_cg == 1460


@pytest.mark.parametrize("passing", ["0", "20"])
def test_it_takes_nothing_and_all_that_passed(sign_in, bench, address, passing):
    assert sign_in("roaster").post(address, data=typed(bench, passing=passing)).status_code == 303


@pytest.mark.parametrize(
    ("field", "text", "words"),
    [
        ("passing", "20.01", "More passed than there was."),
        ("passing", "-1", "Type a number from 0 to 100000."),
        ("passing", "", "Type what passed."),
        ("passing", "14.6.1", "more than one mark"),
        ("passing", "about half", "This is not a number."),
        ("passing", "14.601", "Use at most two decimals."),
        ("total", "0", "Type a number from 0.01 to 100000."),
        ("total", "", "Type the mass of all."),
        ("sieve", "0", "Type a number from 1 to 10000."),
        ("sieve", "850.5", "Type a whole number."),
        ("setting", "", "Choose the setting it was ground at."),
        ("setting", "00000000-0000-4000-8000-000000000000", "This is no setting of Grinder 1."),
    ],
)
def test_it_refuses_what_cannot_be_beside_the_field_and_keeps_it(sign_in, bench, address, field, text, words):
    answer = sign_in("roaster").post(address, data=typed(bench, note="third try", **{field: text}))
    assert answer.status_code == 422
    assert words in answer.text
    assert 'value="third try"' in answer.text
    if field != "setting":
        assert f'value="{text}"' in answer.text
    assert grinder_log.list_grind_checks(bench.db, bench.grinder) == []


def test_it_refuses_the_same_number_with_other_content(bench):
    store(bench, 1, 1400)
    store(bench, 1, 1400)
    with pytest.raises(AlreadyThere):
        store(bench, 1, 1500)


def test_it_stores_none_for_a_trainee_or_on_a_retired_grinder(sign_in, bench, address):
    assert sign_in("trainee").post(address, data=typed(bench)).status_code == 403
    client = sign_in("roaster")
    gear.retire(bench.db, "grinder", bench.grinder, bench.who("lead"), bench.now)
    answer = client.post(address, data=typed(bench))
    assert (answer.status_code, "is retired" in answer.text) == (422, True)
    assert grinder_log.list_grind_checks(bench.db, bench.grinder) == []


def test_it_draws_a_chart_for_each_sieve_with_the_limits_on_the_cupping_one(sign_in, bench):
    nine = gear.add_grinder_setting(bench.db, bench.grinder, "9", bench.who("lead"), bench.now)
    for number, (passing, sieve, setting) in enumerate(
        [(1400, 850, None), (1500, 850, None), (1100, 850, nine), (400, 500, None)]
    ):
        store(bench, number, passing, sieve, setting, days=10 - number)
    cupping, finer = grind_chart.charts(
        grinder_log.list_grind_checks(bench.db, bench.grinder), [bench.setting, nine]
    )
    assert (cupping.sieve_um, finer.sieve_um) == (850, 500)
    assert [share for _y, share in cupping.limits] == [70, 75]
    assert finer.limits == []
    # A point of 70 % and one of 75 % lie on the two lines; the later ones further to the right.
    assert [p.y for p in cupping.points[:2]] == [y for y, _share in cupping.limits]
    assert [p.x for p in cupping.points] == sorted({p.x for p in cupping.points})
    assert [p.shape for p in cupping.points] == [0, 0, 1]
    assert all(grind_chart.TOP <= p.y <= grind_chart.BOTTOM for p in (*cupping.points, *finer.points))
    page = sign_in("trainee").page(f"/gear/grinders/{bench.grinder}")
    assert len(page.find("svg", role="img")) == 2
    for share in ("70.0 %", "75.0 %", "55.0 %", "20.0 %"):
        assert share in page.find("main")[0].text
