"""A sheet as one who fills it in field by field sees it: what fits is taken over, what does not keeps its own error."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from proveout.circuits.schema import Circuit
from proveout.circuits.sheet import new_sheet
from proveout.circuits.sheet_answers import parse_answers, questions
from proveout.errors import InputError

__all__ = ["SheetEdit", "edit_sheet"]


@dataclass(frozen=True)
class SheetEdit:
    """What came of some answers.

    Attributes
    ----------
    text : str
        Text of the sheet with every answer that fits; empty where nothing changed.
    wrong : mapping
        Key: what is wrong with the answer, for those that were not taken over.
    """

    text: str
    wrong: Mapping[str, str]


def edit_sheet(circuit: Circuit, typed: Mapping[str, str]) -> SheetEdit:
    """Take answers over into a sheet.

    Parameters
    ----------
    circuit : Circuit
        The sheet as it is.
    typed : mapping
        Key of a question: text as typed. Texts that say what the sheet says already change nothing, and one that is
        emptied where nothing stood neither.
    """
    now = {question.key: question.now for question in questions(circuit)}
    changed = {key: text.strip() for key, text in typed.items() if text.strip() != now.get(key)}
    wrong = {key: fault for key, text in changed.items() if (fault := _fault(circuit, key, text))}
    fitting = {key: text for key, text in changed.items() if key not in wrong}
    if not fitting:
        return SheetEdit("", wrong)
    try:
        return SheetEdit(_with(circuit, fitting), wrong)
    except InputError as error:
        # Answers that fit each for itself may not fit together: two terminals in one cavity.
        moved = [key for key in fitting if key.startswith("terminal.")] or list(fitting)
        rest = {key: text for key, text in fitting.items() if key not in moved}
        return SheetEdit(_with(circuit, rest) if rest else "", {**wrong, **dict.fromkeys(moved, str(error))})


def _fault(circuit: Circuit, key: str, text: str) -> str:
    try:
        parse_answers(circuit, [(key, text)])
    except InputError as error:
        return str(error).removeprefix(f"{key}: ")
    return ""


def _with(circuit: Circuit, answers: Mapping[str, str]) -> str:
    return new_sheet(circuit, parse_answers(circuit, {"name": circuit.name, **answers}.items()))
