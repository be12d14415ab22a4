"""Temporary files in memory, where the system has room for them there.

Every commit waits for the disk, in the store's files and in the browser's own database: some milliseconds each, tens of
thousands of times in a run, in which the processor does nothing. What a test proves is the same: the same calls are
made in the same order, and a process that is killed loses in memory no more than it loses from a disk's cache. No test
cuts the power. The benchmarks do not come here: they measure on the disk.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from pathlib import Path

MEMORY = Path("/dev/shm")
# A run with three workers needs a twentieth of it; a container often has 64 MB there, which would not do.
ROOM = 4 * 2**30


def use() -> None:
    """Let temporary files go there, unless somebody has said where they go."""
    if not any(os.environ.get(name) for name in ("TMPDIR", "TEMP", "TMP")) and has_room(MEMORY):
        os.environ["TMPDIR"] = str(MEMORY)
        tempfile.tempdir = None


def has_room(folder: Path) -> bool:
    """Whether it is there, may be written to, has room for a run, and lets the scripts run that tests put there."""
    if not folder.is_dir() or not os.access(folder, os.W_OK | os.X_OK):
        return False
    return shutil.disk_usage(folder).free > ROOM and not os.statvfs(folder).f_flag & os.ST_NOEXEC
