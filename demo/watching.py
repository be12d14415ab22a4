"""What is said of trends: limits frozen before a product walks off, an odd batch that was chance, and the walk itself,
which somebody is looking into."""

from __future__ import annotations

from datetime import datetime, timedelta

from demo.scenario import Product
from demo.setting import Setting
from demo.work import Day
from webapp.store import baselines, signal_notes
from webapp.store.baselines import NewBaseline, Place
from webapp.store.signal_notes import NewNote
from webapp.store.trends import ALL
from webapp.trends import baseline_find, run
from webapp.trends.filters import USUAL
from webapp.trends.run import Looked, Signalled

KIND = "whole"
# The first working days from then on.
FROZEN_FROM, CLOSED_FROM = -12, -9


def plan_watching(day: Day) -> None:
    """Each of the three on its day."""
    setting, today = day.setting, day.planned[0].day
    walking = next((product for product in day.scenario.products if product.walk), None)
    if walking is None or ("people", day.scenario.people[0].key) not in setting.ids:
        return
    if today >= FROZEN_FROM and not setting.frozen:
        setting.frozen = True
        day.at(day.planned[0].drop, lambda then: freeze(setting, walking, then))
    if today >= CLOSED_FROM and not setting.closed:
        setting.closed = True
        day.at(day.planned[0].drop, lambda then: close_one(setting, walking, then))
    if today == 0:
        day.at(day.now - timedelta(minutes=6), lambda then: look_into(setting, walking, then))


def look(setting: Setting, product: Product) -> Looked:
    """As its page shows it at that time."""
    return run.look_at(setting.db, setting.ids["products", product.key], KIND, ALL, USUAL)


def freeze(setting: Setting, product: Product, moment: datetime) -> None:
    """The stretch that the page proposes, if there is one."""
    it, who = look(setting, product), setting.who(setting.scenario.people[0].key, "cupping")
    ends = baseline_find.proposed(it) if it.trend.points else None
    if ends is None:
        return
    limits = baseline_find.stretch(it, *ends).frozen(it.way)
    place = Place(setting.ids["products", product.key], KIND, it.trend.scale_id, it.trend.method_version_id)
    reason = "Steady for weeks, and the customer likes it as it is."
    new = NewBaseline(setting.id_for("baseline", product.key), place, limits, reason)
    baselines.add_baseline(setting.db, new, who, moment)


def close_one(setting: Setting, walking: Product, moment: datetime) -> None:
    """The newest odd batch of any other product: it was looked into, and it was chance."""
    for product in setting.scenario.products:
        it = look(setting, product)
        odd = next((one for one in it.signals if one.rule == 1), None)
        if odd is None or product is walking:
            continue
        said = "Batch, dish and meter looked at again: nothing found.", "Nothing. The batches after it were as always."
        note(setting, product, it, odd, setting.scenario.people[1].key, "chance", *said, moment)
        return


def look_into(setting: Setting, product: Product, moment: datetime) -> None:
    """What stands: somebody is looking for it."""
    it = look(setting, product)
    if it.standing is None:
        return
    roaster = next(person for person in setting.scenario.people if person.role == "roaster")
    said = "Darker from day to day, and no new lot. The burner is looked at tonight.", ""
    note(setting, product, it, it.standing, roaster.key, "unknown", *said, moment)


def note(
    setting: Setting, product: Product, it: Looked, one: Signalled, person: str, cause: str, found: str, done: str,
    moment: datetime,
) -> None:  # fmt: skip
    """One note on a signal."""
    batch_id = it.trend.points[one.point].batch_id
    new = NewNote(
        setting.id_for("note", batch_id, one.side), setting.ids["products", product.key], KIND, batch_id, one.rule,
        one.side, cause, found, done, cause != "unknown",
    )  # fmt: skip
    signal_notes.add_note(setting.db, new, setting.who(person, setting.bench()), moment)
