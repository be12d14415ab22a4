"""The build id: static files live under a path that changes with their content, so browsers may keep them."""

from __future__ import annotations

import hashlib
from pathlib import Path

from flask import Flask, Response, jsonify, url_for
from flask_babel import gettext as _

from webapp.ui.access import open_to

STATIC = Path(__file__).resolve().parent.parent / "static"


def build_id(folder: Path = STATIC) -> str:
    """Twelve hex digits over every static file's name and content."""
    digest = hashlib.sha256()
    for path in sorted(folder.rglob("*")):
        if path.is_file():
            digest.update(str(path.relative_to(folder)).encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()[:12]


@open_to("anyone")
def manifest() -> Response:
    """The web app manifest: what a home screen needs to know."""
    icons = [("icon-192.png", "192x192", "any"), ("icon-512.png", "512x512", "any")]
    icons.append(("icon-maskable-512.png", "512x512", "maskable"))
    response = jsonify(
        id="/",
        name="Drumside",
        short_name="Drumside",
        description=_("Roast colour at the bench: prepare, read, and see where the batch stands."),
        start_url="/",
        scope="/",
        display="standalone",
        lang="en",
        dir="ltr",
        theme_color="#f7f3ea",
        background_color="#f7f3ea",
        icons=[
            {"src": url_for("static", filename=f"icons/{f}"), "sizes": s, "type": "image/png", "purpose": p}
            for f, s, p in icons
        ],
    )
    response.mimetype = "application/manifest+json"
    response.headers["Cache-Control"] = "no-cache"
    return response


def init_app(app: Flask) -> None:
    """Serve static files under the build id, and the manifest."""
    app.add_url_rule("/manifest.webmanifest", "manifest", manifest)
