"""Practice: a vehicle with a hidden fault, computed by the same network, for apprentices.

The apprentice measures, looks and repairs as on a real one, dismantling costs minutes, and at the end their path stands
beside the planner's on the same vehicle.
"""

from .book import PracticeBook, Prices
from .choices import Choice, choices_of
from .code import SEEDS, Task, read_code
from .difficulty import DIFFICULTIES, Difficulty
from .ending import Ending, Leg, Path, Truth, side_by_side
from .twin import ending_twin, practice_listing, practice_twin
from .work import Work

__all__ = [
    "DIFFICULTIES",
    "SEEDS",
    "Choice",
    "Difficulty",
    "Ending",
    "Leg",
    "Path",
    "PracticeBook",
    "Prices",
    "Task",
    "Truth",
    "Work",
    "choices_of",
    "ending_twin",
    "practice_listing",
    "practice_twin",
    "read_code",
    "side_by_side",
]
