"""Measurements of what the product promises: `python -m bench [group]` prints `name value unit`, one a line.

A group is one module with a generator `run()` that yields (name, value, unit) as they come. Nothing here is a test:
what is measured is printed, whatever it is.
"""

import sys
from pathlib import Path

# The reference simulator lives beside the tests that it serves; worker processes need the path as well.
sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))
