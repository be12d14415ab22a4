"""Makes the README's pictures from the running demo, and those that a browser shows before the app is installed:
`.venv/bin/python demo/screenshots.py`.

The day strip of an afternoon, and the result of a batch that has just been read and waits for its release.

Needs what the tests need (`python3 tests/run.py` makes it). Starts a demo of its own and stops it again.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import uuid
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from playwright.sync_api import BrowserContext, Page, sync_playwright  # noqa: E402

from demo import environment, serving  # noqa: E402
from demo.build import build  # noqa: E402
from webapp.store import batches, connect, gear, methods, new_samples, products, sessions, times  # noqa: E402
from webapp.store.batches import NewBatch  # noqa: E402
from webapp.store.connect import one  # noqa: E402
from webapp.store.new_samples import NewReading, NewSample  # noqa: E402
from webapp.store.samples import StepDone  # noqa: E402
from webapp.store.who import SYSTEM, Who  # noqa: E402

PICTURES = ROOT / "demo" / "pictures"
SIZE = {"width": 1180, "height": 820}
# The same pages for the web app manifest: name -> (picture above, size of the screen).
SHOTS = ROOT / "static" / "screenshots"
SHOWN = {"wide": ("strip", SIZE), "narrow": ("position", {"width": 412, "height": 915})}
MOST_BYTES = 200_000
# What the pictured batch reads, and how many minutes before that moment.
READ = {"whole": (-9, (5620, 5610, 5630)), "ground": (-3, (6230, 6240, 6230))}
# Always the same day's bench, so that the pictures change only when the screens do.
MOMENT = datetime(2026, 5, 14, 13, 30, tzinfo=ZoneInfo("Europe/Vienna"))


def main() -> None:
    """The command."""
    parser = argparse.ArgumentParser(description="Make the README's pictures.")
    parser.add_argument("--into", type=Path, default=PICTURES, help="folder for the README's pictures")
    parser.add_argument("--shots", type=Path, default=SHOTS, help="folder for the manifest's")
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
            pictures = [(path, SIZE, chosen.into / f"{name}.png") for name, path in paths.items()]
            pictures += [(paths[page], size, chosen.shots / f"{name}.png") for name, (page, size) in SHOWN.items()]
            for path, size, into in pictures:
                context = browser.new_context(
                    viewport=size, color_scheme="light", reduced_motion="reduce", locale="en", service_workers="block"
                )
                context.add_cookies([{"name": n, "value": v, "url": server.address} for n, v in cookies.items()])
                take(context, server.address + path, into)
                context.close()
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
    """Name of each picture -> the page it shows."""
    return {"strip": f"/days/{MOMENT.date().isoformat()}", "position": f"/batches/{read_one_more(db)}/result"}


def read_one_more(db) -> str:
    """One more batch of Lantern House, read by a roaster just now; returns its id."""
    product = next(p for p in products.list_products(db) if p.name == "Lantern House")
    target = products.target_in_force(db, product.id, MOMENT)
    roaster = one(db, "SELECT id FROM person WHERE name LIKE 'Ravi%'")["id"]
    tablet = one(db, "SELECT id FROM tablet WHERE name = 'Bench'")["id"]
    who, dropped = Who(roaster, "roaster", tablet), MOMENT - timedelta(minutes=24)
    batch_id = str(uuid.uuid4())
    new = NewBatch(
        batch_id, batches.propose_code(db, MOMENT.date().isoformat()), product.id, gear.list_machines(db)[0].id,
        "K-124", 14_800, 12_520, 2_108, 688, 121, "", times.to_text(dropped), times.to_text(dropped),
    )  # fmt: skip
    batches.add_batch(db, new, who, dropped)
    meter = gear.list_meters(db, scale_id=target.scale.id)[0]
    for kind, (minutes, values) in READ.items():
        version = methods.version_in_force(db, target.method_id(kind), MOMENT)
        at = MOMENT + timedelta(minutes=minutes)
        sample = NewSample(
            str(uuid.uuid4()), batch_id, kind, version.id, meter.id, "short", "",
            times.to_text(at), tuple(NewReading(1, no, v, f"{v / 100:.1f}") for no, v in enumerate(values, 1)),
            tuple(StepDone(step.no, times.to_text(at)) for step in version.steps),
        )  # fmt: skip
        new_samples.add_sample(db, sample, who, at)
    return batch_id


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
