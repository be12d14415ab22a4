"""Write tests/store/schema.sql anew, after a migration was added: `python tests/store/write_schema.py`.

Look at what git then shows as changed: that is what the migration does to every bench.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from webapp.store import connect, migrations

FILE = Path(__file__).with_name("schema.sql")


def schema() -> str:
    """Every table, index and trigger of ours after all migrations, by kind and name."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "bench.db"
        migrations.migrate(path)
        db = connect.connect(path)
        rows = db.conn.execute(
            "SELECT sql FROM sqlite_master WHERE sql IS NOT NULL AND tbl_name <> '_sqlite_migrations'"
            " ORDER BY CASE type WHEN 'table' THEN 1 WHEN 'index' THEN 2 ELSE 3 END, name"
        ).fetchall()
        db.close()
    return "".join(f"{sql};\n\n" for (sql,) in rows)


if __name__ == "__main__":
    FILE.write_text(schema(), encoding="utf-8")
