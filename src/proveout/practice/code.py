"""A practice vehicle as a short code, so that a whole class gets the same one.

The code holds the circuit (by twelve bits of its file's SHA-256), the difficulty, the seed and six bits of check, in
the thirty-two letters and digits of Crockford's base 32 [from memory], which leaves out those that are misread. It does
not hold the fault; who wants to work it out needs the program.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass

from proveout.circuits import ready_names, ready_text
from proveout.errors import InputError
from proveout.practice.difficulty import DIFFICULTIES, Difficulty

__all__ = ["SEEDS", "Task", "read_code"]

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
MISREAD = str.maketrans("OIL", "011")
SEED_BITS, MARK_BITS, CHECK_BITS = 20, 12, 6
SEEDS = 1 << SEED_BITS
LETTERS = 8
POLYNOMIAL = 0b1000011


@dataclass(frozen=True)
class Task:
    """What is practised: a ready circuit, how hard, and the seed from which the vehicle is drawn."""

    circuit: str
    difficulty: Difficulty
    seed: int

    def __post_init__(self) -> None:
        if self.circuit not in ready_names():
            raise InputError(f"no ready circuit '{self.circuit}' to practise on; there are: {', '.join(ready_names())}")
        if self.difficulty not in DIFFICULTIES:
            raise InputError(f"'{self.difficulty}' is no difficulty; choose one of {', '.join(DIFFICULTIES)}")
        if not 0 <= self.seed < SEEDS:
            raise InputError(f"seed {self.seed} is out of range: give a whole number from 0 to {SEEDS - 1}")

    @property
    def mark(self) -> int:
        """Twelve bits that stand for the circuit's file as it is."""
        return _mark(self.circuit)

    @property
    def code(self) -> str:
        """The task as a short code: `4K7P-9X2M`."""
        number = (self.mark << 2 | DIFFICULTIES.index(self.difficulty)) << SEED_BITS | self.seed
        whole = number << CHECK_BITS | _check(number)
        letters = "".join(ALPHABET[whole >> 5 * k & 31] for k in reversed(range(LETTERS)))
        return f"{letters[:4]}-{letters[4:]}"


def read_code(text: str) -> Task:
    """Return the task of a code; small letters, spaces and a missing dash do not matter, nor O for 0, I and L for 1.

    Raises
    ------
    InputError
        It is no code, one letter is wrong, or it was made for a circuit that this program does not have.
    """
    typed = "".join(c for c in text.upper() if c not in " -").translate(MISREAD)
    if len(typed) != LETTERS or any(c not in ALPHABET for c in typed):
        raise InputError(f"'{text}' is no practice code: it has eight letters and digits, like 4K7P-9X2M")
    whole = 0
    for letter in typed:
        whole = whole << 5 | ALPHABET.index(letter)
    number, check = whole >> CHECK_BITS, whole & ((1 << CHECK_BITS) - 1)
    place = number >> SEED_BITS & 3
    if check != _check(number) or place >= len(DIFFICULTIES):
        raise InputError(f"practice code '{text}' has a letter wrong: compare it with what was given out")
    circuit = _circuit(number >> SEED_BITS + 2, ready_names())
    return Task(circuit, DIFFICULTIES[place], number & (SEEDS - 1))


def _circuit(mark: int, names: Iterable[str]) -> str:
    for name in names:
        if _mark(name) == mark:
            return name
    raise InputError(
        "this practice code belongs to a circuit that this version does not have: use the version that made the code"
    )


def _mark(circuit: str) -> int:
    digest = hashlib.sha256(ready_text(circuit).encode()).digest()
    return int.from_bytes(digest[:2], "big") >> 16 - MARK_BITS


def _check(number: int) -> int:
    """Return the remainder of a cyclic code, x^6 + x + 1 [from memory: that of ITU-T G.704].

    A code of degree six notices every error that spans up to six bits, so every single wrong letter.
    """
    rest = number << CHECK_BITS
    for bit in reversed(range(CHECK_BITS, rest.bit_length())):
        if rest >> bit & 1:
            rest ^= POLYNOMIAL << bit - CHECK_BITS
    return rest
