"""Makes the README's pictures from the running demo: `.venv/bin/python demo/screenshots.py`.

Needs what the tests need (`python3 tests/run.py` makes it). Starts a demo of its own and stops it again.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from playwright.sync_api import BrowserContext, Page, sync_playwright  # noqa: E402

from demo import environment, serving  # noqa: E402
from demo.build import build  # noqa: E402
from webapp.store import connect, sessions, times  # noqa: E402
from webapp.store.connect import one  # noqa: E402
from webapp.store.who import SYSTEM  # noqa: E402

PICTURES = ROOT / "demo" / "pictures"
SIZE = {"width": 1180, "height": 820}
MOST_BYTES = 200_000
# Always the same day's bench, so that the pictures change only when the screens do.
MOMENT = datetime(2026, 5, 14, 13, 30, tzinfo=ZoneInfo("Europe/Vienna"))


def main() -> None:
    """The command."""
    parser = argparse.ArgumentParser(description="Make the README's pictures.")
    parser.add_argument("--into", type=Path, default=PICTURES, help="folder for the pictures")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="drumside-") as folder:
        database = Path(folder) / "demo.db"
        build(database, MOMENT)
        cookies, paths = facts(database)
        port = serving.any_port("127.0.0.1")
        with serving.Server(sys.executable, database, "127.0.0.1", port) as server, sync_playwright() as player:
            browser = player.chromium.launch(
                executable_path=environment.find_browser(), args=list(environment.BROWSER_ARGS)
            )
            context = browser.new_context(viewport=SIZE, color_scheme="light", reduced_motion="reduce", locale="en")
            context.add_cookies([{"name": n, "value": v, "url": server.address} for n, v in cookies.items()])
            for name, path in paths.items():
                take(context, server.address + path, chosen.into / f"{name}.png")
            browser.close()


def facts(database: Path) -> tuple[dict[str, str], dict[str, str]]:
    """(cookies of a tablet with a roaster signed in, name of each picture -> the page it shows)."""
    db = connect.connect(database)
    try:
        now = times.now()
        tablet_id, secret = sessions.enrol_tablet(db, "Pictures", SYSTEM, now)
        person = one(db, "SELECT id FROM person WHERE role = 'roaster' AND name LIKE 'Ravi%'")
        token = sessions.start_session(db, person["id"], tablet_id, 12, now)
        return {"tablet": secret, "person": token}, pages(db)
    finally:
        db.close()


def pages(db) -> dict[str, str]:
    """Name of each picture -> the page it shows: that day, and its newest batch that waits for its release."""
    day = MOMENT.date().isoformat()
    batch = one(
        db,
        "SELECT b.id FROM batch b JOIN batch_result r ON r.batch_id = b.id AND r.verdict = 'inside'"
        " JOIN part_result p ON p.batch_id = b.id AND p.kind = 'difference' AND p.verdict = 'inside'"
        " WHERE b.day = ? ORDER BY EXISTS (SELECT 1 FROM decision d WHERE d.batch_id = b.id), r.chance DESC LIMIT 1",
        (day,),
    )
    return {"strip": f"/days/{day}", "position": f"/batches/{batch['id']}/result"}


def take(context: BrowserContext, address: str, into: Path) -> None:
    """One picture, as small as the page allows."""
    page: Page = context.new_page()
    answer = page.goto(address, wait_until="networkidle")
    if answer.status != 200:
        raise SystemExit(f"{address} answered {answer.status}")
    into.parent.mkdir(parents=True, exist_ok=True)
    page.screenshot(path=into)
    page.close()
    size = into.stat().st_size
    print(f"{into}: {size / 1000:.0f} kB", flush=True)
    if size > MOST_BYTES:
        raise SystemExit(f"{into} is larger than {MOST_BYTES / 1000:.0f} kB")


if __name__ == "__main__":
    main()
