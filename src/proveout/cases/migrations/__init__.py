"""Brings a store's schema to the revision that this program reads and writes."""

from __future__ import annotations

from .upgrade import upgrade

__all__ = ["upgrade"]
