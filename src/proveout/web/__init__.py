"""The workbench page: the whole job in a browser on this machine. It holds no rule of the trade."""

from .application import workbench_page
from .workbench import Workbench

__all__ = ["Workbench", "workbench_page"]
