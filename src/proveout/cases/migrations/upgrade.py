"""Runs the migrations inside the connection's own transaction, so that a migration and its record go together."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config
from sqlalchemy import Connection

__all__ = ["upgrade"]


def upgrade(connection: Connection) -> None:
    """Bring the schema behind `connection` to the newest revision; the caller begins and commits."""
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent))
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    command.upgrade(config, "head")
