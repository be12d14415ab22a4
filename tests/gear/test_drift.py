"""A meter's checks in order of time: has it begun to move away from its plate, and when?

The running mean and its limits are held to their sources in tests/outside; here the page that shows them.
"""

from __future__ import annotations

import html
import re
from datetime import UTC, datetime

import pytest

from tests.support.roastery import later
from webapp.gear.drift import drift
from webapp.store import gear

FIRST = datetime(2026, 5, 1, 7, 0, tzinfo=UTC)
# Deviations of a meter that is steady, in hundredths: made up, all within its tolerance of 20.
STEADY = [4, -6, 2, -3, 6, -5, 1, -2, 5, -4, 3, -1]
WORDS = re.compile(r"(?:Since|From) \d+ \w+ the meter reads? \w+ than its plate\.")


def checked(bench, deviations, first=FIRST, meter=None, left=None):
    """One check a day, as found off by these hundredths; the last one is adjusted if `left` is given."""
    meter = meter or bench.meter
    plate = gear.plate_in_force(bench.db, meter).assigned
    for day, off in enumerate(deviations):
        end = [(plate + left) / 100] if left is not None and day == len(deviations) - 1 else None
        bench.check([(plate + off) / 100] * 2, end, at=later(first, days=day), meter=meter)


def shown(sign_in, bench, meter=None):
    """The page of a meter's drift, as one line of text, and as it was sent."""
    response = sign_in("trainee").get(f"/gear/meters/{meter or bench.meter}/drift")
    assert response.status_code == 200
    sent = response.get_data(as_text=True).partition("<main")[2]
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", sent)).split()), sent


def test_it_says_what_will_stand_here_while_there_is_no_check(sign_in, bench):
    text, sent = shown(sign_in, bench)
    assert "No check of this meter is stored yet." in text
    assert "<svg" not in sent
    assert "<table" not in sent


@pytest.mark.parametrize(("checks", "words"), [(1, "after 5 more checks"), (5, "after 1 more check:")])
def test_it_says_when_limits_will_come(sign_in, bench, checks, words):
    checked(bench, STEADY[:checks])
    text, sent = shown(sign_in, bench)
    assert f"Limits come {words}" in text
    assert 'class="bounds"' not in sent
    assert sent.count('<tr><td class="nowrap">') == checks


def test_it_finds_nothing_on_a_steady_meter(sign_in, bench):
    checked(bench, STEADY)
    text, sent = shown(sign_in, bench)
    assert "No drift since 1 May" in text
    assert not WORDS.search(text)
    assert 'class="bounds"' in sent


@pytest.mark.parametrize(("meter", "sign", "word"), [
    ("meter", 1, "lighter"), ("meter", -1, "darker"), ("flipped_meter", 1, "darker"), ("flipped_meter", -1, "lighter"),
])  # fmt: skip
def test_it_names_the_first_signal_with_its_day_and_its_side(app, sign_in, bench, meter, sign, word):
    """Steady for twelve days, then off by 0.12 or 0.13: within the tolerance, so no check fails.

    The moving ranges are written out by hand; mean and limits as in the NIST e-Handbook, 6.3.2.4, limits exact.
    """
    there = getattr(bench, meter)
    checked(bench, [sign * off for off in STEADY + [12, 13, 12, 13, 12, 13]], meter=there)
    it = drift_of(app, bench, there)
    ranges = [10, 8, 5, 9, 11, 6, 3, 7, 9, 7, 4, 13, 1, 1, 1, 1, 1]
    sigma = sum(ranges) / len(ranges) / 100 / 1.12838
    run, first = 0.0, None
    for no, off in enumerate(STEADY + [12, 13, 12, 13, 12, 13]):
        run = 0.2 * off / 100 + 0.8 * run
        half = 2.962 * sigma * (0.2 / 1.8 * (1 - 0.8 ** (2 * (no + 1)))) ** 0.5
        assert it.points[no].half == pytest.approx(half, rel=1e-5)
        assert abs(it.points[no].average) == pytest.approx(abs(run), abs=1e-9)
        first = no if first is None and abs(run) > half else first
    assert first is not None
    assert all(point.check.passed for point in it.points)
    text, _sent = shown(sign_in, bench, there)
    assert f"Since {1 + first} May the meter reads {word} than its plate." in text
    assert "Clean the window." in text


def drift_of(app, bench, meter):
    """What the page draws, as numbers."""
    with app.test_request_context("/"):
        return drift(bench.db, gear.get_meter(bench.db, meter))


def test_it_says_when_a_drift_has_come_back(sign_in, bench):
    checked(bench, [*STEADY, 14, 14, 15, 14, 15, 14, 15, 14, 2, -3, 1, -2, 2, -1, 1, 0, -2, 1])
    text, _sent = shown(sign_in, bench)
    assert re.search(r"From \d+ May the meter read lighter than its plate\. By now it has come back\.", text)
    assert "Clean the window." not in text


def test_it_starts_again_after_an_adjustment(app, sign_in, bench):
    checked(bench, [*STEADY, 12, 13, 12, 13, 12, 13], left=0)
    text, sent = shown(sign_in, bench)
    assert "The meter was just adjusted." in text
    assert not WORDS.search(text)
    assert sent.count('<circle class="left"') == 2 + 1  # both sizes of the chart, and the key
    checked(bench, [2, -1, 3], first=later(FIRST, days=30))
    text, sent = shown(sign_in, bench)
    assert "No drift since 31 May" in text
    assert not WORDS.search(text)
    it = drift_of(app, bench, bench.meter)
    assert it.points[-3].average == pytest.approx(0.2 * 0.02)
    assert it.points[-3].starts


def test_it_starts_again_at_a_new_plate_value(sign_in, bench):
    checked(bench, [*STEADY, 12, 13, 12, 13, 12, 13])
    gear.add_plate(bench.db, bench.meter, "Plate 1", 6012, 20, "New certificate", bench.who("lead"), bench.now)
    checked(bench, [1, -2], first=later(FIRST, days=30))
    text, _sent = shown(sign_in, bench)
    assert "No drift since 31 May" in text
    assert "60.12" in text


def test_it_marks_a_failed_check_by_another_shape_and_leads_to_its_look_back(sign_in, bench):
    checked(bench, [*STEADY, 300], left=5)
    text, sent = shown(sign_in, bench)
    assert sent.count('<path class="failed"') == 2 + 1
    assert "3.00 lighter" in text
    assert "0.05 lighter" in text
    assert "A mark far outside stands at the edge." in text
    assert re.search(r'<a href="/gear/look-backs/[0-9a-f-]{36}"><strong class="word outside">failed', sent)


def test_it_shows_the_newest_120_checks_and_no_style_of_its_own(sign_in, bench):
    checked(bench, (STEADY * 11)[:125], first=later(FIRST, days=-125))
    _text, sent = shown(sign_in, bench)
    assert len(re.findall(r"<tr[^>]*><td class=\"nowrap\">", sent)) == 120
    assert 'style="' not in sent


def test_it_shows_the_last_checks_on_the_meters_page(sign_in, bench):
    checked(bench, STEADY)
    sent = sign_in("trainee").get(f"/gear/meters/{bench.meter}").get_data(as_text=True)
    assert sent.count(", passed") == 5
    assert f'href="/gear/meters/{bench.meter}/drift"' in sent
