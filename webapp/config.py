"""Settings, from the environment. There is no default secret: an app without one does not start."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path


class MissingSetting(RuntimeError):
    """A setting without which the app must not start."""


@dataclass(frozen=True)
class Config:
    """What `create_app` needs to know.

    database: path of the SQLite file. secret_key: signs the form tokens. secure_cookies: cookies only over
    HTTPS. trusted_hosts: host names the app answers to (empty: any; set it in production). worker: whether tablets
    keep the app to open it offline; False takes it off them again and leaves what they have not sent yet. backups:
    the folder for copies of the database. after_backup: a program that is given each copy's path, to bring it away.
    authority: the certificate of the site's own authority, where browsers trust that one (PEM file).
    """

    database: Path
    secret_key: str
    secure_cookies: bool = False
    trusted_hosts: tuple[str, ...] = ()
    testing: bool = False
    worker: bool = True
    backups: Path | None = None
    after_backup: str = ""
    authority: Path | None = None

    @classmethod
    def from_environment(cls) -> Config:
        """DRUMSIDE_DATABASE, DRUMSIDE_SECRET_KEY or ..._KEY_FILE, DRUMSIDE_HTTPS, DRUMSIDE_HOSTS, DRUMSIDE_WORKER,
        DRUMSIDE_BACKUPS, DRUMSIDE_AFTER_BACKUP, DRUMSIDE_AUTHORITY."""
        database = os.environ.get("DRUMSIDE_DATABASE")
        if not database:
            raise MissingSetting("set DRUMSIDE_DATABASE to the path of the bench's database file")
        secret = os.environ.get("DRUMSIDE_SECRET_KEY", "")
        key_file = os.environ.get("DRUMSIDE_SECRET_KEY_FILE")
        if not secret and key_file:
            secret = Path(key_file).read_text().strip()
        if len(secret) < 32:
            raise MissingSetting(
                "set DRUMSIDE_SECRET_KEY (or DRUMSIDE_SECRET_KEY_FILE) to at least 32 random characters"
            )
        return cls(
            database=Path(database),
            secret_key=secret,
            secure_cookies=os.environ.get("DRUMSIDE_HTTPS", "") == "1",
            trusted_hosts=tuple(h for h in os.environ.get("DRUMSIDE_HOSTS", "").split(",") if h),
            worker=os.environ.get("DRUMSIDE_WORKER", "") != "off",
            backups=_path("DRUMSIDE_BACKUPS"),
            after_backup=os.environ.get("DRUMSIDE_AFTER_BACKUP", ""),
            authority=_path("DRUMSIDE_AUTHORITY"),
        )


def _path(name: str) -> Path | None:
    """A path from the environment, or None."""
    text = os.environ.get(name, "")
    return Path(text) if text else None
