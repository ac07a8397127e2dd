"""`proveout circuits`: ready circuits and the vehicle's own sheets."""

from .group import circuits

__all__ = ["circuits"]
