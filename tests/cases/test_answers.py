"""What was seen reads as a sentence, and a complaint is told in the circuit's words."""

from proveout.cases.answers import answered, complaint_told
from proveout.circuits.library import ready_circuit


def test_a_question_is_answered_and_a_title_is_followed_by_what_was_seen() -> None:
    assert answered("Does a new start fuse hold?", "it blows again") == "Does a new start fuse hold? it blows again"
    assert answered("How the engine starts", "starts at once") == "How the engine starts: starts at once"


def test_a_complaint_is_told_by_titles_and_not_by_names() -> None:
    circuit = ready_circuit("crank-hall-5v")
    assert complaint_told({"start": "none", "elsewhere": "late"}, circuit) == (
        "How the engine starts: cranks, does not start",
    )
