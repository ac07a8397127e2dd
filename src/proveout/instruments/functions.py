"""What a meter or scope can be set to, and what each setting measures."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Function"]


class Function(StrEnum):
    """A setting of the meter, or one of the levels that a two-channel scope shows of a switching signal."""

    VOLTS_DC = "volts_dc"
    VOLTS_AC = "volts_ac"
    OHMS = "ohms"
    CONTINUITY = "continuity"
    AMPS = "amps"
    AMPS_CLAMP = "amps_clamp"
    DIODE = "diode"
    SCOPE_LOW = "scope_low"
    SCOPE_HIGH = "scope_high"
    SCOPE_SWING = "scope_swing"

    @property
    def kind(self) -> str:
        """The physical quantity: `voltage`, `resistance` or `current`."""
        return _KINDS.get(self, "voltage")

    @property
    def unit(self) -> str:
        """The symbol of the SI unit of the values: `V`, `Ω` or `A`."""
        return _UNITS[self.kind]

    @property
    def drives(self) -> bool:
        """Whether the meter feeds the circuit itself, so that the circuit must be dead."""
        return self in (Function.OHMS, Function.CONTINUITY, Function.DIODE)


_KINDS = {
    Function.OHMS: "resistance",
    Function.CONTINUITY: "resistance",
    Function.AMPS: "current",
    Function.AMPS_CLAMP: "current",
}
_UNITS = {"voltage": "V", "resistance": "Ω", "current": "A"}
