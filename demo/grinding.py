"""The grinder's log: cleaned on Fridays, a grind check on Mondays."""

from __future__ import annotations

from datetime import datetime, time
from random import Random

from demo.work import Day
from webapp.store import grinder_log
from webapp.store.times import to_text

MONDAY, FRIDAY = 0, 4
TOTAL_CG = 10000


def plan_log(day: Day) -> None:
    """What is done to the bench grinder on this day, beside what changes for good (setting.change_burrs)."""
    todo = {MONDAY: (time(7, 5), grind_check), FRIDAY: (time(15, 40), clean)}.get(day.planned[0].date.weekday())
    if todo:
        clock, action = todo
        day.at(day.local(clock), lambda moment: action(day, moment))


def clean(day: Day, moment: datetime) -> None:
    """At the end of the week."""
    setting, grinder = day.setting, day.scenario.grinders[0]
    who = setting.who(day.planned[-1].roaster.key, setting.bench())
    event_id = setting.id_for("cleaned", grinder.key, to_text(moment))
    grinder_log.add_event(day.db, event_id, setting.ids["grinders", grinder.key], "cleaned", None, "", who, moment)


def grind_check(day: Day, moment: datetime) -> None:
    """How much of the week's first coffee passes the sieve."""
    setting, scenario = day.setting, day.scenario
    told, today, grinder = scenario.grind, day.planned[0].day, scenario.grinders[0]
    share = Random(f"{day.seed}/{today}/grind").gauss(told["share"], told["scatter"])
    if today >= scenario.burrs["day"]:
        share += told["burrs"]
    grinder_id = setting.ids["grinders", grinder.key]
    new = grinder_log.NewCheck(
        setting.id_for("grind check", to_text(moment)), grinder_id, grinder_log.current_setting(day.db, grinder_id),
        scenario.products[0].name, told["sieve_um"], TOTAL_CG, round(share * TOTAL_CG), "", to_text(moment),
    )  # fmt: skip
    grinder_log.add_grind_check(day.db, new, setting.who(day.planned[0].roaster.key, setting.bench()), moment)
