"""The QR code on a record, read by a decoder that is not ours and not the encoder's."""

from __future__ import annotations

import re

import numpy
import pytest
import zxingcpp

from webapp.sheets.qr import QUIET, qr_of
from webapp.sheets.words import whole_address


def drawn(path: str, size: int, scale: int = 4) -> numpy.ndarray:
    """The path as a picture: each run is `M x y h width v1 h-width z`."""
    picture = numpy.full((size, size), 255, dtype=numpy.uint8)
    runs = re.findall(r"M(\d+) (\d+)h(\d+)v1h-(\d+)z", path)
    assert "".join(f"M{x} {y}h{w}v1h-{back}z" for x, y, w, back in runs) == path
    for x, y, width, back in (tuple(map(int, run)) for run in runs):
        assert width == back
        picture[y, x : x + width] = 0
    return numpy.kron(picture, numpy.ones((scale, scale), dtype=numpy.uint8))


@pytest.mark.parametrize(
    "address",
    [
        "http://127.0.0.1:8000/batches/123e4567-e89b-42d3-a456-426614174000/record",
        "https://a-rather-long-name-of-a-bench.example:8443/batches/123e4567-e89b-42d3-a456-426614174000/record",
    ],
)
def test_it_is_read_as_the_address(address):
    code = qr_of(address)
    (found,) = zxingcpp.read_barcodes(drawn(code.path, code.size))
    assert found.text == address
    assert str(found.format).rsplit(".")[-1].replace(" ", "") in ("QRCode", "QRCodeModel2")
    # ISO/IEC 18004: four light modules around it; level M, as it was asked for.
    assert QUIET == 4
    assert found.ec_level == "M"


def test_the_record_shows_its_own_address(sign_in, bench):
    batch = bench.batch("Q-1")
    page = sign_in("trainee").page(f"/batches/{batch.id}/record")
    svg = next(e for e in page.find("svg") if e.attrs.get("aria-label", "").startswith("QR code"))
    path = next(e for e in page.find("path") if len(e.attrs.get("d", "")) > 2000)
    (found,) = zxingcpp.read_barcodes(drawn(path.attrs["d"], int(svg.attrs["viewbox"].split()[-1])))
    assert found.text == f"http://localhost/batches/{batch.id}/record"
    assert found.text in page.find("footer")[0].text


@pytest.mark.parametrize(("secure", "scheme"), [(False, "http"), (True, "https")])
def test_its_address_has_the_host_that_was_asked_for(app, monkeypatch, secure, scheme):
    monkeypatch.setitem(app.config, "SECURE_COOKIES", secure)
    with app.test_request_context("/", base_url="http://bench.local:8443"):
        assert whole_address("/batches/x/record") == f"{scheme}://bench.local:8443/batches/x/record"
