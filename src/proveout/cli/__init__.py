"""The command line: thin commands over the case desk. It holds no rule of the trade."""

from .application import application, main

__all__ = ["application", "main"]
