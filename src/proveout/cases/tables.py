"""The tables of the store on disk; the migrations make them, and a test compares the two."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, Column, ForeignKey, Integer, MetaData, Table, Text

__all__ = ["HEAD", "cases", "current_case", "events", "metadata"]

HEAD = "0001"
"""The schema's revision that this program reads and writes."""

metadata = MetaData()

cases = Table("cases", metadata, Column("id", Integer, primary_key=True), Column("at", Text, nullable=False))

events = Table(
    "events",
    metadata,
    Column("case_id", Integer, ForeignKey("cases.id"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("at", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("version", Integer, nullable=False),
    Column("payload", Text, nullable=False),
    Column("previous", Text, nullable=False),
    Column("seal", Text, nullable=False, unique=True),
)

current_case = Table(
    "current_case",
    metadata,
    Column("only", Integer, CheckConstraint("only = 1", name="one_row"), primary_key=True),
    Column("case_id", Integer, ForeignKey("cases.id"), nullable=False),
)
