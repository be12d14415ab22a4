"""Scratch: open capture, print console."""
import sys
from tests.browser.test_capture import open_readings, Taps
def test_try(bench, address, tablet):
    page = tablet("roaster")
    page.on("console", lambda m: print("CONSOLE", m.type, m.text))
    page.on("pageerror", lambda m: print("ERR", m))
    page.on("response", lambda r: r.status >= 400 and print("STATUS", r.status, r.url))
    batch = bench.batch()
    page.goto(f"{address}/batches/{batch.id}/whole")
    page.wait_for_timeout(3000)
    print(page.url, page.title())
