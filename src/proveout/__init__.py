"""Proveout: prove a fault out before the part is pulled."""

__all__ = ["__version__"]

__version__ = "0.1.0"
