"""What the first load of the capture page weighs: everything that Chromium asks for, compressed."""

from __future__ import annotations

import gzip
import re
import urllib.request
from dataclasses import dataclass

from playwright.sync_api import sync_playwright

from demo import environment
from demo.serving import Server

# Compressing these again would not make them smaller.
DENSE = ("image/png", "image/x-icon", "image/vnd.microsoft.icon", "font/woff2")


@dataclass(frozen=True)
class Part:
    """One thing that was loaded: its path, its size compressed and plain, and whether the first load asked for it."""

    path: str
    size: int
    plain: int
    at_once: bool


def first_load(server: Server, cookies: dict[str, str], path: str) -> list[Part]:
    """Everything the page loads in a browser that has never been here, largest first.

    `at_once` False: linked icons and the manifest if the browser did not ask for them, and the pictures of the steps
    that come later.
    """
    loaded: dict[str, bytes] = {}
    kinds: dict[str, str] = {}
    with sync_playwright() as player:
        browser = player.chromium.launch(
            executable_path=environment.find_browser(), args=list(environment.BROWSER_ARGS)
        )
        context = browser.new_context(viewport={"width": 1180, "height": 820})
        context.add_cookies([{"name": n, "value": v, "url": server.address} for n, v in cookies.items()])
        page = context.new_page()
        answers = []
        page.on("response", lambda answer: answers.append(answer))
        page.goto(server.address + path, wait_until="networkidle")
        for answer in answers:
            loaded[answer.url] = answer.body()
            kinds[answer.url] = answer.headers.get("content-type", "")
        html = page.content()
        browser.close()
    elsewhere = [url for url in loaded if not url.startswith(server.address)]
    assert not elsewhere, f"loaded from elsewhere: {elsewhere}"
    parts = [
        Part(url.removeprefix(server.address), packed(body, kinds[url]), len(body), True)
        for url, body in loaded.items()
    ]
    for link in sorted(set(re.findall(r'(?:href|src)="(/(?:static|manifest)[^"]*)"', html))):
        if server.address + link not in loaded:
            with urllib.request.urlopen(server.address + link) as answer:
                body, kind = answer.read(), answer.headers.get("Content-Type", "")
            parts.append(Part(link, packed(body, kind), len(body), False))
    return sorted(parts, key=lambda part: -part.size)


def packed(body: bytes, kind: str) -> int:
    """Bytes on the way: gzip at its usual level, as a server in front would send it; what is dense already as it is."""
    return len(body) if kind.split(";")[0] in DENSE else len(gzip.compress(body, 6))
