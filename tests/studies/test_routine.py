"""Routine precision: each month of everyday work against the study of its method, and whose readings disagreed."""

import math
from datetime import UTC, datetime, timedelta
from random import Random
from statistics import stdev

import pytest

from tests.support import studying
from webapp.measure import routine as rules
from webapp.store import methods
from webapp.studies import routine_page

NOW = datetime(2026, 11, 18, 10, 0, tzinfo=UTC)
WHERE = "/studies/routine"


def work(bench, month, count=14, fills=0.25, readings=0.12, role="roaster", wild=0, kind="whole", year=2026):
    """So many samples of two fills of two readings in a month, with normal scatter about 56; the first `wild` of them
    with readings that disagree. Returns the readings."""
    dice, made = Random(month), []
    for no in range(count):
        at = datetime(year, month, 3, 8, tzinfo=UTC) + timedelta(hours=7 * no)
        sample = []
        for _fill in range(2):
            centre = dice.gauss(56, fills)
            sample.append([round(dice.gauss(centre, readings), 1) for _reading in range(2)])
        if no < wild:
            sample[0] = [52.0, 60.0, 56.0]
        bench.sample(bench.batch(at=at).id, kind, *sample, at=at, role=role)
        made.append(sample)
    return made


@pytest.fixture
def gather(app, bench):
    """What the page shows on a day in November."""

    def page(only=None, now=NOW):
        with app.test_request_context():
            return routine_page.gather(bench.db, now, "Europe/Vienna", only)

    return page


@pytest.fixture
def study(bench):
    """The method of whole beans has an accepted study."""
    there = studying.plan(bench, kind="whole")
    return lambda **found: studying.accept(bench, there, **found)


@pytest.fixture
def shown(sign_in, app, monkeypatch):
    """The page's words on a day in November, for somebody."""
    monkeypatch.setattr("webapp.store.times.now", lambda: NOW)

    def text(role="lead"):
        return " ".join(sign_in(role).page(WHERE).find("main")[0].text.split())

    return text


def test_it_shows_a_month_s_scatter_as_worked_out_from_its_readings(bench, gather):
    made = work(bench, 9)
    [panel] = gather().panels
    [month] = panel.months
    pairs = [abs(a - b) for sample in made for a, b in sample]
    assert month.readings.sd == pytest.approx(math.sqrt(sum(d * d / 2 for d in pairs) / len(pairs)))
    values = [[sum(fill) / 2 for fill in sample] for sample in made]
    assert month.fills.sd == pytest.approx(math.sqrt(sum(stdev(pair) ** 2 for pair in values) / len(values)))
    # There is no other month to compare it with.
    assert (month.month, month.spread.samples, month.readings.word, month.fills.limit) == ("2026-09", 14, "few", None)


def test_it_says_in_which_month_fills_differed_more_than_in_the_study(bench, study, gather, shown):
    study(sigma_r=0.12, df_r=50.0, sigma_f=0.25, df_f=20.0)
    for month, fills in ((8, 0.25), (9, 0.25), (10, 0.9), (11, 0.25)):
        work(bench, month, fills=fills)
    page = gather()
    assert [(month.month, what) for _panel, month, what in page.wide] == [("2026-10", "fills")]
    [panel] = page.panels
    # The limit knows how well the study knows: the F distribution, with the study's degrees of freedom.
    october = next(m for m in panel.months if m.month == "2026-10")
    sure = rules.fill_value_df(0.12, 50, 0.25, 20, 2)
    assert october.fills.limit == pytest.approx(rules.limit(rules.fill_value_sigma(0.12, 0.25, 2), 14, sigma_df=sure))
    said = shown()
    assert "One month lies beyond its limit" in said
    assert said.count("In October 2026 fills differed more than this bench can when it works as in its study.") == 2
    assert "From its precision study, since" in said
    assert "readings of one fill scatter by 0.12, fills by 0.25" in said


def test_it_speaks_of_a_month_that_is_not_over_as_so_far(bench, study, shown):
    study(sigma_r=0.12, df_r=50.0, sigma_f=0.25, df_f=20.0)
    work(bench, 11, readings=0.9, fills=0.05)
    assert "So far in November 2026 readings of one fill differ more than this bench can" in shown()


def test_without_a_study_it_compares_a_month_with_all_others_and_says_so(bench, gather, shown):
    for month in (7, 8, 9):
        work(bench, month)
    work(bench, 10, fills=1.2)
    [panel] = gather().panels
    assert panel.against.sources == {"readings": "routine", "fills": "routine"}
    assert [(month.month, what) for month, what in panel.wide] == [("2026-10", "fills")]
    others = [m.spread for m in panel.months if m.month != "2026-10"]
    rest = sum(s.ss_f for s in others) / sum(s.df_f for s in others)
    october = panel.months[-1]
    assert october.fills.limit == pytest.approx(rules.limit(math.sqrt(rest), 14, sigma_df=42))
    said = shown()
    assert "In October 2026 fills differed more than they usually do on this bench." in said
    assert "No precision study yet. From routine work: readings of one fill scatter by" in said
    assert "From routine work: fills scatter by" in said


def test_it_calls_assumed_what_is_assumed(bench, shown):
    work(bench, 10, count=6, fills=0.2)
    said = shown()
    assert "Assumed: readings of one fill scatter by 0.45. Assumed: fills scatter by 0.75." in said


def test_few_data_are_said_as_few_and_judge_nothing(bench, study, gather, shown):
    study(sigma_r=0.12, df_r=50.0, sigma_f=0.25, df_f=20.0)
    work(bench, 10, count=4, fills=3.0, readings=2.0)
    [panel] = gather().panels
    assert [(m.readings.word, m.fills.word) for m in panel.months] == [("few", "few")]
    assert all(dot.limit is None for chart in panel.charts.values() for dot in chart.dots)
    said = shown()
    assert "There is not enough work in any month yet to say anything." in said
    assert "too few to say" in said


def test_it_shows_twelve_months_and_no_older_one(bench, gather):
    for month, year in ((11, 2025), (12, 2025), (11, 2026)):
        work(bench, month, count=2, year=year)
    [panel] = gather().panels
    assert [m.month for m in panel.months] == ["2025-12", "2026-11"]
    assert len(panel.charts["fills"].months) == 12
    assert gather(now=datetime(2028, 1, 1, tzinfo=UTC)).panels == []
    # A month is the site's: in Vienna the new year has begun.
    assert gather(now=datetime(2026, 12, 31, 23, 30, tzinfo=UTC)).this_month == "2027-01"


def test_each_version_of_a_method_stands_by_itself_with_its_name(bench, gather, shown):
    work(bench, 9, count=2)
    there = bench.versions["whole"]
    methods.add_version(
        bench.db, there.method_id, there.dish, 3, 2, None, there.steps, "Two fills.", bench.who("lead"),
        datetime(2026, 9, 30, tzinfo=UTC),
    )  # fmt: skip
    bench.versions = bench.versions | {"whole": methods.version_in_force(bench.db, there.method_id)}
    work(bench, 10, count=2)
    assert [(p.version.no, [m.month for m in p.months]) for p in gather().panels] == [
        (2, ["2026-10"]), (1, ["2026-09"]),
    ]  # fmt: skip
    assert all(f"Whole bean, deep dish, version {no}" in shown() for no in (1, 2))


def test_a_lead_sees_whose_readings_disagreed_more_often_than_by_chance(bench, study, gather, shown):
    study(sigma_r=0.12, df_r=50.0, sigma_f=0.25, df_f=20.0)
    work(bench, 9, count=24, wild=9, role="trainee", readings=0.04)
    work(bench, 10, count=24, wild=1, readings=0.04)
    everybody, ravi, tomas = gather().shares
    assert (everybody.person, everybody.spread.samples, everybody.spread.disagreeing) == (None, 48, 10)
    assert (ravi.person.person_name, ravi.judged.word, tomas.judged.word) == ("Ravi", "fine", "often")
    # Two fills of a sample: 1 - 0.97^2 of them by chance; more than four of 24 come in fewer than one of 100.
    assert (tomas.spread.disagreeing, tomas.most) == (9, rules.rate_limit(24, 1 - 0.97**2))
    said = shown()
    assert f"Tomas, Whole bean, deep dish: 9 of 24 samples, by chance at most {tomas.most}." in said
    assert "says something about the dish, the meter or the method as much as about a person" in said
    assert "Nobody’s" not in said


@pytest.mark.parametrize(("role", "own", "other"), [("trainee", "Tomas", "Ravi"), ("roaster", "Ravi", "Tomas")])
def test_others_see_their_own_share_and_everybody_s(bench, shown, role, own, other):
    work(bench, 9, count=24, wild=9, role="trainee")
    work(bench, 10, count=3)
    said = shown(role)
    assert "You see your own samples beside everybody’s." in said
    table = said[said.index("Your samples and everybody’s") :]
    assert own in table
    assert "Everybody" in table
    assert other not in said


def test_nothing_stands_out_on_a_steady_bench(bench, shown):
    for month in (8, 9, 10):
        work(bench, month)
    said = shown()
    assert "Nothing stands out: no month with enough work scatters more than it should." in said
    assert "Nobody’s samples do so more often than by chance." in said


def test_it_says_what_will_be_here(shown):
    assert "Every sample that is stored adds to this page" in shown()


def test_the_numbers_of_the_table_are_those_of_the_drawing(bench, study, gather):
    study(sigma_r=0.12, df_r=50.0, sigma_f=0.25, df_f=20.0)
    for month, fills in ((9, 0.25), (10, 0.9)):
        work(bench, month, fills=fills)
    [panel] = gather().panels
    chart = panel.charts["fills"]
    (zero, text), *more = chart.ticks
    assert (zero, text) == (routine_page.BOTTOM, "0.0")
    per_unit = (zero - more[0][0]) / float(more[0][1])
    for dot, month in zip(chart.dots, panel.months, strict=True):
        assert (zero - dot.y) / per_unit == pytest.approx(month.fills.sd, abs=0.5 / per_unit)
        assert (zero - dot.limit) / per_unit == pytest.approx(month.fills.limit, abs=0.5 / per_unit)
    assert min(routine_page.TOP, *(d.y for d in chart.dots)) == routine_page.TOP


def test_it_is_found_among_the_studies(sign_in):
    page = sign_in("trainee").page("/studies")
    assert WHERE in [link.attrs["href"] for link in page.find("a")]
