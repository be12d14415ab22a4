"""Prints a fresh enrolment code for a tablet: `python -m demo.enrol DATABASE`."""

import sys

from webapp.store import codes, connect, times
from webapp.store.who import SYSTEM


def main(path: str) -> None:
    """One code, as a lead would make it under Settings, Tablets."""
    db = connect.connect(path)
    try:
        print(codes.make_code(db, "enrol", SYSTEM, times.now()).text)
    finally:
        db.close()


if __name__ == "__main__":
    main(sys.argv[1])
