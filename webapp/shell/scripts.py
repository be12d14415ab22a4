"""Which modules a page's scripts load, so that a browser can fetch them all at once instead of one after the other."""

from __future__ import annotations

import re
from pathlib import Path, PurePosixPath

IMPORT = re.compile(r"""^(?:import|export)\b[^;]*?\bfrom\s+"(\.[^"]+)"|^import\s+"(\.[^"]+)\"""", re.MULTILINE)


def modules(folder: Path, *entries: str) -> list[str]:
    """These modules and everything that they import outright, by their paths below `folder`, in the order found."""
    found: list[str] = []
    waiting = list(entries)
    while waiting:
        name = waiting.pop(0)
        if name in found:
            continue
        found.append(name)
        for path in IMPORT.findall((folder / name).read_text(encoding="utf-8")):
            waiting.append(normal(PurePosixPath(name).parent / (path[0] or path[1])))
    return found


def normal(path: PurePosixPath) -> str:
    """Without `..`."""
    parts: list[str] = []
    for part in path.parts:
        if part == "..":
            parts.pop()
        elif part != ".":
            parts.append(part)
    return "/".join(parts)
