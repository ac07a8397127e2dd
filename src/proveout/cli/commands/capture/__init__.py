"""The commands of `proveout capture`."""

from proveout.cli.commands.capture.group import capture

__all__ = ["capture"]
