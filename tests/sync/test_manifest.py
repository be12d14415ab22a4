"""What a home screen needs to know of the app (W3C Web Application Manifest; the checklist is our own)."""

import re
from pathlib import Path

import pytest

from webapp.assets import STATIC

TOKENS = (STATIC / "css" / "tokens.css").read_text()


@pytest.fixture
def manifest(app) -> dict:
    response = app.test_client().get("/manifest.webmanifest")
    assert response.status_code == 200
    assert response.mimetype == "application/manifest+json"
    assert response.headers["Cache-Control"] == "no-cache"
    return response.get_json()


def size_of(path: Path) -> tuple[int, int]:
    """Width and height of a PNG, from its header (PNG, IHDR)."""
    head = path.read_bytes()[:24]
    assert head[:8] == b"\x89PNG\r\n\x1a\n"
    return int.from_bytes(head[16:20], "big"), int.from_bytes(head[20:24], "big")


def file_of(app, address: str) -> Path:
    assert address.startswith(app.static_url_path + "/")
    return Path(app.static_folder) / address.removeprefix(app.static_url_path + "/")


def test_it_keeps_its_identity_and_opens_at_its_start(app, manifest):
    assert manifest["id"] == "/"  # for ever: another would be another app, with an empty outbox
    assert manifest["scope"] == "/"
    assert manifest["start_url"].startswith(manifest["scope"])
    assert manifest["name"]
    assert 0 < len(manifest["short_name"]) <= 12
    assert manifest["description"]
    assert (manifest["lang"], manifest["dir"]) == ("en", "ltr")


def test_it_opens_in_a_window_of_its_own_and_turns_with_the_tablet(manifest):
    assert manifest["display"] == "standalone"
    assert manifest["display_override"][0] == "standalone"
    assert "orientation" not in manifest
    assert not manifest.get("prefer_related_applications")


def test_it_has_the_colours_of_the_pages(manifest):
    paper = re.search(r"--paper:\s*(#[0-9a-f]{6})", TOKENS)[1]
    assert manifest["theme_color"] == manifest["background_color"] == paper


def test_it_has_icons_for_every_launcher(app, manifest):
    icons = {(icon["purpose"], icon["sizes"]): icon for icon in manifest["icons"]}
    assert {("any", "192x192"), ("any", "512x512"), ("maskable", "512x512")} <= set(icons)
    for (_purpose, sizes), icon in icons.items():
        assert icon["type"] == "image/png"
        assert "x".join(map(str, size_of(file_of(app, icon["src"])))) == sizes


def test_it_shows_itself_in_both_shapes_before_it_is_installed(app, manifest):
    shapes = {shot["form_factor"]: shot for shot in manifest["screenshots"]}
    assert set(shapes) == {"narrow", "wide"}
    for form, shot in shapes.items():
        width, height = size_of(file_of(app, shot["src"]))
        assert shot["sizes"] == f"{width}x{height}"
        assert (width > height) == (form == "wide")
        assert min(width, height) >= 320
        assert max(width, height) <= 3840
        assert max(width, height) <= 2.3 * min(width, height)
        assert shot["label"]
