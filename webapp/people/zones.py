"""Time zones by their names in the IANA database."""

from __future__ import annotations

import contextlib
import os
from functools import cache
from pathlib import Path
from zoneinfo import available_timezones

NOWHERE = ("UTC", "UCT", "GMT", "Universal", "Zulu")


@cache
def all_zones() -> tuple[str, ...]:
    """Every name: places first, then the bare ones such as UTC."""
    return tuple(sorted(available_timezones(), key=lambda z: ("/" not in z or z.startswith("Etc/"), z)))


def find_zone(typed: str) -> str | None:
    """The zone as the database spells it; letter case and spaces for underscores are forgiven."""
    wanted = "_".join(typed.split()).casefold()
    return next((zone for zone in all_zones() if zone.casefold() == wanted), None)


def guess_zone() -> str:
    """This machine's own zone, or nothing: a server that says UTC says nothing about where it stands."""
    said = [os.environ.get("TZ", "").removeprefix(":")]
    with contextlib.suppress(OSError):
        said.append(str(Path("/etc/localtime").resolve()).partition("zoneinfo/")[2])
    return next((zone for name in said if (zone := find_zone(name)) and zone.split("/")[-1] not in NOWHERE), "")
