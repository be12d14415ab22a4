"""Builds the demo database: `python -m demo.build instance/demo.db`. The same for the same day and time."""

from __future__ import annotations

import argparse
import os
import time as stopwatch
from datetime import UTC, datetime, time, timedelta
from pathlib import Path
from random import Random
from zoneinfo import ZoneInfo

from demo import environment
from demo.blending import plan_blend
from demo.comparing import conclude_burrs, plan_burrs, plan_meters
from demo.control import plan_checks
from demo.grinding import plan_log
from demo.plan import day_plan, working_days
from demo.scenario import Scenario, load
from demo.setting import Setting
from demo.signing import plan_sign_offs
from demo.studying import plan_precision
from demo.watching import plan_watching
from demo.work import Day
from webapp.store import connect, migrations, trend_states
from webapp.store.connect import write


def build(path: Path, now: datetime, scenario: Scenario | None = None) -> None:
    """Make the database at `path` (replacing one that is there) as it would be at `now`, a time with a zone."""
    scenario = scenario or load()
    for ending in ("", "-wal", "-shm", "-journal"):
        path.with_name(path.name + ending).unlink(missing_ok=True)
    migrations.migrate(path)
    db = connect.connect(path)
    try:
        # In one transaction: nobody looks on, and how each product stands is worked out once, at the end.
        with write(db), trend_states.put_off(db):
            fill(Setting(db, scenario), now)
    finally:
        db.close()


def fill(setting: Setting, now: datetime) -> None:
    """Open the bench and work through every day until `now`."""
    scenario = setting.scenario
    zone = ZoneInfo(scenario.site["time_zone"])
    # Reckoned in UTC: on the two days when the clock changes, times at the site cannot be subtracted.
    now, today = now.astimezone(UTC), now.astimezone(zone).date()
    seed = today.isoformat()
    days = working_days(scenario, today)
    setting.open_bench(days[0][0], datetime.combine(days[0][1] - timedelta(days=1), time(14), zone))
    for at, (day, when) in enumerate(days):
        morning(setting, day, min(datetime.combine(when, time(5, 30), zone), now))
        yesterday = at == len(days) - 2
        planned = day_plan(Random(f"{seed}/{day}"), scenario, day, when, now, yesterday)
        work = Day(setting, seed, planned, now, twice=at == len(days) - 6, elsewhere=yesterday)
        plan_checks(work, yesterday)
        for plan in (plan_log, plan_burrs, plan_meters, plan_precision, plan_sign_offs, plan_watching, plan_blend):
            plan(work)
        work.run()


def morning(setting: Setting, day: int, moment: datetime) -> None:
    """What is changed before the day's first batch."""
    setting.come_and_go(day, moment)
    lead = setting.who(setting.scenario.people[0].key, "cupping")
    if day >= setting.scenario.burrs["day"]:
        if not setting.burr_days:
            setting.change_burrs(lead, moment)
        setting.burr_days.append(day)
    if day >= setting.scenario.retarget["day"] and not setting.retargeted:
        setting.retargeted = conclude_burrs(setting, lead, moment)


def main() -> None:
    """The command."""
    parser = argparse.ArgumentParser(description="Build the demo database.")
    parser.add_argument("path", type=Path)
    parser.add_argument("--now", type=datetime.fromisoformat, help="as if it were this time (default: now)")
    chosen = parser.parse_args()
    now = chosen.now or datetime.now().astimezone()
    if now.tzinfo is None:
        now = now.replace(tzinfo=ZoneInfo(load().site["time_zone"]))
    scenario, started = load(), stopwatch.monotonic()
    scenario.days["history"] = environment.days()
    build(chosen.path, now, scenario)
    size = os.path.getsize(chosen.path) / 1e6
    print(f"Built {chosen.path} in {stopwatch.monotonic() - started:.1f} s ({size:.1f} MB)", flush=True)


if __name__ == "__main__":
    main()
