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
    keep the app to open it offline; False takes it off them again and leaves what they have not sent yet.
    """

    database: Path
    secret_key: str
    secure_cookies: bool = False
    trusted_hosts: tuple[str, ...] = ()
    testing: bool = False
    worker: bool = True

    @classmethod
    def from_environment(cls) -> Config:
        """DRUMSIDE_DATABASE, DRUMSIDE_SECRET_KEY or ..._KEY_FILE, DRUMSIDE_HTTPS, DRUMSIDE_HOSTS, DRUMSIDE_WORKER."""
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
        )
