"""Measurements of what the product promises: `python -m bench [group]` prints `name value unit`, one a line.

A group is one module with a generator `run()` that yields figures as they come. Nothing here is a test: what is
measured is printed, whatever it is.
"""

from bench.figure import Figure

__all__ = ["Figure"]
