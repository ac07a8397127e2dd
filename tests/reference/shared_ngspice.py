"""ngspice in process, through its shared library: one circuit at a time, errors raised with ngspice's own words."""

from __future__ import annotations

import ctypes
import math
from collections.abc import Iterable, Sequence
from functools import cache

import numpy as np
import numpy.typing as npt

__all__ = ["ACCURACY", "Ngspice", "NgspiceError", "ngspice"]

LIBRARY = "libngspice.so.0"

ACCURACY = {"reltol": 1e-6, "abstol": 1e-12, "vntol": 1e-9, "gmin": 1e-15, "itl1": 300, "itl2": 300}
"""Options of every netlist.

The default gmin of 1e-12 S would be felt at a node that only 1 Gohm holds. A tighter abstol than 1e-12 A asks more of
branch currents than the rounding of a matrix with 5 mohm beside 1 Gohm allows; voltages are held by vntol.
"""

_FATAL = ("aborted", "error on line", "circuit not parsed", "no such", "unknown", "undefined", "no circuit loaded")

_Text = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_void_p)
_Exit = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_int, ctypes.c_bool, ctypes.c_bool, ctypes.c_int, ctypes.c_void_p)


class NgspiceError(RuntimeError):
    """ngspice could not do what it was asked; the message holds what it said."""


class _Vector(ctypes.Structure):
    _fields_ = (
        ("name", ctypes.c_char_p),
        ("type", ctypes.c_int),
        ("flags", ctypes.c_short),
        ("real", ctypes.POINTER(ctypes.c_double)),
        ("complex", ctypes.c_void_p),
        ("length", ctypes.c_int),
    )


class Ngspice:
    """The library of this process. Its state is global, so there is one instance: `ngspice()`."""

    def __init__(self) -> None:
        try:
            self._library = ctypes.CDLL(LIBRARY)
        except OSError as error:
            raise NgspiceError(f"{LIBRARY} cannot be loaded ({error}); run `make ngspice`") from error
        self._said: list[str] = []
        self._dead = ""
        self._loaded = False
        self._callbacks = (_Text(self._hear), _Text(self._ignore), _Exit(self._leave))
        self._library.ngGet_Vec_Info.restype = ctypes.POINTER(_Vector)
        self._library.ngGet_Vec_Info.argtypes = [ctypes.c_char_p]
        self._library.ngSpice_Init(*self._callbacks, None, None, None, None)

    def load(self, netlist: Sequence[str]) -> None:
        """Replace the circuit by this netlist: title first, `.end` last."""
        self.unload()
        lines = (ctypes.c_char_p * (len(netlist) + 1))(*[line.encode("ascii") for line in netlist], None)
        self._said.clear()
        status = self._library.ngSpice_Circ(lines)
        self._loaded = True
        self._check(status, "the netlist")

    def unload(self) -> None:
        """Drop the circuit and its results."""
        if self._loaded:
            self.command("destroy all")
            self.command("remcirc")
            self._loaded = False

    def command(self, text: str) -> None:
        """Run one command of ngspice's command language."""
        self._said.clear()
        self._check(self._library.ngSpice_Command(text.encode("ascii")), text)

    def operating_point(self) -> None:
        """Solve the steady state; earlier results are dropped."""
        self.command("destroy all")
        self.command("op")

    def transient(self, step: float, stop: float, largest: float, *, from_initial: bool = True) -> None:
        """Solve from time 0 to `stop` [s], from the initial conditions in the netlist or from the steady state."""
        self.command("destroy all")
        self.command(f"tran {step!r} {stop!r} 0 {largest!r}" + (" uic" if from_initial else ""))

    def alter(self, device: str, value: float) -> None:
        """Give a resistor or a source another value."""
        self.command(f"alter {device} = {value!r}")

    def vector(self, name: str) -> npt.NDArray[np.float64]:
        """Return a vector of the last analysis: `n1` for a node's voltage, `v1#branch` for a source's current."""
        found = self._library.ngGet_Vec_Info(name.encode("ascii"))
        if not found or found.contents.length < 1 or not found.contents.real:
            raise NgspiceError(f"ngspice has no result '{name}'" + self._quote())
        return np.array(found.contents.real[: found.contents.length])

    def scalars(self, names: Iterable[str]) -> list[float]:
        """Return the last value of each named vector; the node `0` is 0."""
        seek = self._library.ngGet_Vec_Info
        values = []
        for name in names:
            if name == "0":
                values.append(0.0)
                continue
            found = seek(name.encode("ascii"))
            if not found or found.contents.length < 1:
                raise NgspiceError(f"ngspice has no result '{name}'" + self._quote())
            vector = found.contents
            values.append(vector.real[vector.length - 1])
        if not all(map(math.isfinite, values)):
            raise NgspiceError(f"ngspice gave a voltage or current that is not finite: {values}" + self._quote())
        return values

    def _check(self, status: int, doing: str) -> None:
        if self._dead:
            raise NgspiceError(f"ngspice has ended itself ({self._dead}) and cannot be used again in this process")
        if status != 0 or any(word in line.lower() for line in self._said for word in _FATAL):
            raise NgspiceError(f"ngspice failed at {doing}" + self._quote())

    def _quote(self) -> str:
        return ": " + " | ".join(self._said[-40:]) if self._said else ""

    def _hear(self, text: bytes, number: int, user: int) -> int:
        self._said.append(text.decode("utf-8", "replace").removeprefix("stderr ").removeprefix("stdout "))
        return 0

    def _ignore(self, text: bytes, number: int, user: int) -> int:
        return 0

    def _leave(self, status: int, at_once: bool, on_quit: bool, number: int, user: int) -> int:
        self._dead = f"status {status}" + self._quote()
        return 0


@cache
def ngspice() -> Ngspice:
    """Return the one ngspice of this process."""
    return Ngspice()
