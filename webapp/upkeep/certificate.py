"""How long the certificate still lasts that tablets see: asked for as a tablet does, by opening a connection."""

from __future__ import annotations

import hashlib
import socket
import ssl
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

WAIT_S = 3.0


@dataclass(frozen=True)
class Seen:
    """ends_at: when it runs out; None if no connection could be made, or it is not trusted: `problem` says why."""

    host: str
    ends_at: datetime | None
    problem: str = ""


def look(host: str, authority: Path | None, port: int = 443, address: str | None = None) -> Seen:
    """Connect to `host` (at `address`, if it is to be looked for there), check its certificate and name as a browser
    would, and read when it ends. `authority`: a PEM file to trust in the place of the public authorities."""
    try:
        trust = ssl.create_default_context(cafile=str(authority) if authority else None)
        with (
            socket.create_connection((address or host, port), timeout=WAIT_S) as line,
            trust.wrap_socket(line, server_hostname=host) as secured,
        ):
            ends = ssl.cert_time_to_seconds(secured.getpeercert()["notAfter"])
    except ssl.SSLCertVerificationError as problem:
        return Seen(host, None, problem.verify_message or str(problem))
    except OSError as problem:
        return Seen(host, None, problem.strerror or str(problem))
    return Seen(host, datetime.fromtimestamp(ends, UTC))


def fingerprint(pem: Path) -> str | None:
    """SHA-256 over the first certificate in a PEM file, in pairs with colons, as tablets show it; None: none there."""
    try:
        encoded = ssl.PEM_cert_to_DER_cert(first_certificate(pem.read_text()))
    except (OSError, ValueError):
        return None
    return hashlib.sha256(encoded).digest().hex(":").upper()


def first_certificate(text: str) -> str:
    """The first certificate in a PEM text, and nothing else that may stand there (a key, say). ValueError: none."""
    begin, end = "-----BEGIN CERTIFICATE-----", "-----END CERTIFICATE-----"
    if begin not in text or end not in text:
        raise ValueError("no certificate")
    return begin + text.split(begin, 1)[1].split(end, 1)[0] + end + "\n"
