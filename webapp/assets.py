"""What a tablet keeps of the app: files whose address changes with their content, the worker, the manifest."""

from __future__ import annotations

import base64
import hashlib
import json
from pathlib import Path

from flask import Flask, Response, abort, current_app, jsonify, send_from_directory, url_for
from flask_babel import get_locale
from flask_babel import gettext as _

from webapp.headers import CSP
from webapp.shell import views as kept_pages
from webapp.ui.access import open_to

STATIC = Path(__file__).resolve().parent.parent / "static"
# Not the bench's: the workers themselves, pictures for the shop window of an install, notes for developers.
NOT_KEPT = ("sw.js", "sw-off.js", "screenshots/", "icons/README.md", "icons/favicon.ico")
# --paper in static/css/tokens.css.
PAPER = "#f7f3ea"


def build_id(folder: Path = STATIC) -> str:
    """Twelve hex digits over every static file's name and content."""
    digest = hashlib.sha256()
    for name, path in static_files(folder):
        digest.update(name.encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()[:12]


def static_files(folder: Path) -> list[tuple[str, Path]]:
    """(name, path) of every static file, in order of the names."""
    found = [(path.relative_to(folder).as_posix(), path) for path in folder.rglob("*") if path.is_file()]
    return sorted(found)


def kept_files(folder: Path) -> list[tuple[str, Path]]:
    """Those that a tablet keeps to work offline."""
    return [(name, path) for name, path in static_files(folder) if not name.startswith(NOT_KEPT)]


def integrity(content: bytes) -> str:
    """The content's hash as browsers check it (W3C Subresource Integrity)."""
    return "sha256-" + base64.b64encode(hashlib.sha256(content).digest()).decode()


def release(app: Flask) -> dict:
    """What one version of the app consists of on a tablet: {name, files: [[address, hash]], pages: {name: address}}.

    Worked out once a process and language: the pages among them are the same for everybody.
    """
    made = app.extensions.setdefault("drumside-releases", {})
    language = str(get_locale())
    if language not in made:
        folder = Path(app.static_folder)
        files = [[f"{app.static_url_path}/{name}", integrity(path.read_bytes())] for name, path in kept_files(folder)]
        pages = kept_pages.addresses()
        files += [[address, integrity(kept_pages.content(name).encode())] for name, address in pages.items()]
        worker = (folder / "sw.js").read_bytes()
        name = hashlib.sha256(json.dumps([files, CSP]).encode() + worker).hexdigest()[:12]
        made[language] = {"name": name, "files": files, "pages": pages}
    return made[language]


@open_to("anyone")
def worker() -> Response:
    """The service worker of this release, or the one that takes it away again."""
    folder = Path(current_app.static_folder)
    if current_app.config["WORKER"]:
        text = f"const RELEASE = {json.dumps(release(current_app))};\n" + (folder / "sw.js").read_text()
    else:
        text = (folder / "sw-off.js").read_text()
    response = Response(text, mimetype="text/javascript")
    response.headers["Cache-Control"] = "no-cache"
    return response


@open_to("anyone")
def earlier_static(build: str, filename: str) -> Response:
    """A file of another build, by its name: for a page that was open when this one came. Never kept by a browser."""
    if len(build) != 12 or not set(build) <= set("0123456789abcdef"):
        abort(404)
    return send_from_directory(current_app.static_folder, filename)


@open_to("anyone")
def manifest() -> Response:
    """The web app manifest: what a home screen needs to know. `id` stays for ever: another would be another app."""
    response = jsonify(
        id="/",
        name="Drumside",
        short_name="Drumside",
        description=_("Roast colour at the bench: prepare, read, and see where the batch stands."),
        start_url="/",
        scope="/",
        display="standalone",
        display_override=["standalone", "minimal-ui"],
        lang="en",
        dir="ltr",
        theme_color=PAPER,
        background_color=PAPER,
        prefer_related_applications=False,
        icons=icons(),
        screenshots=screenshots(),
    )
    response.mimetype = "application/manifest+json"
    response.headers["Cache-Control"] = "no-cache"
    return response


def icons() -> list[dict]:
    """For launchers that show an icon as it is, and for those that cut their own shape out of it."""
    return [
        {**picture(f"icons/icon-{file}.png", f"{size}x{size}"), "purpose": purpose}
        for file, size, purpose in (("192", 192, "any"), ("512", 512, "any"), ("maskable-512", 512, "maskable"))
    ]


def screenshots() -> list[dict]:
    """What a browser shows of the app before it is installed; demo/screenshots.py takes them."""
    return [
        {**picture(f"screenshots/{form}.png", size), "form_factor": form, "label": label}
        for form, size, label in (
            ("wide", "1180x820", _("The day strip: every batch of a day against its target")),
            ("narrow", "412x915", _("The result of a batch: in band, and how sure that is")),
        )
    ]


def picture(filename: str, sizes: str) -> dict:
    """A PNG among the static files."""
    return {"src": url_for("static", filename=filename), "sizes": sizes, "type": "image/png"}


def init_app(app: Flask) -> None:
    """The manifest, the worker, and the files of the build before this one."""
    app.add_url_rule("/manifest.webmanifest", "manifest", manifest)
    app.add_url_rule("/sw.js", "worker", worker)
    app.add_url_rule("/static/<build>/<path:filename>", "earlier_static", earlier_static)
