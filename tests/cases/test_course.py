"""The course of a case computed entry by entry is the one computed at once."""

from cases.lamps import C1, C2, a_desk, lamp_model, reading, seen
from proveout.cases.events import Correction, Event, RepairNoted, RepairProven
from proveout.cases.history import Course, believe, course_of, histories

STORY: tuple[Event, ...] = (
    C1,
    reading("lamp_volts", "9.1"),
    C2,
    reading("ground_drop", "2.6"),
    Correction(corrects=4),
    reading("lamp_volts", "9.2"),
    RepairNoted(suspect="w_feed"),
    RepairProven(suspect="w_feed", behaviour="light", before="dim", after="dim", cured=False),
    seen("light", "dim"),
    reading("panel_volts", "3.0"),
    reading("fuse_volts", "12.4"),
)


def test_the_course_of_a_case_is_the_same_entry_by_entry_and_at_once() -> None:
    """Among the entries are a correction, a repair that did not help, and readings that only two faults explain."""
    desk, case = a_desk()
    course: Course | None = None
    for event in STORY:
        state = desk.record(case, event).after
        course = course_of(lamp_model(), state, course)
        rows = histories(lamp_model(), state)
        assert [row.suspects for row in course.rows] == [row.suspects for row in rows]
        assert [row.consequence for row in course.rows] == [row.consequence for row in rows]
        assert course.belief.suspects() == believe(lamp_model(), state).suspects()
