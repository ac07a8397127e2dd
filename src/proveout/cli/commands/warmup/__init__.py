"""The commands of `proveout warmup`."""

from proveout.cli.commands.warmup.group import warmup

__all__ = ["warmup"]
