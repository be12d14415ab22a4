"""Drumside: bench capture of roast colour."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from flask import Flask

    from webapp.config import Config


def create_app(config: Config | None = None) -> Flask:
    """The application, step by step. Raises MissingSetting or WrongSchema rather than start half."""
    from webapp import assemble

    return assemble.assemble(config)
