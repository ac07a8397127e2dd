"""What a meter, gauge or scope can be set to, and what each setting measures."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Function"]


class Function(StrEnum):
    """A setting of the meter, a level that a scope shows of a switching signal, or an instrument of its own."""

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
    VACUUM_GAUGE = "vacuum_gauge"
    PRESSURE_GAUGE = "pressure_gauge"
    THERMOMETER = "thermometer"
    INFRARED = "infrared"
    COUNT = "count"
    FITTED_TEMPERATURE = "fitted_temperature"
    FITTED_SHARE = "fitted_share"

    @property
    def kind(self) -> str:
        """The quantity: `voltage`, `resistance`, `current`, `vacuum`, `pressure`, `temperature`, `share`, `count`."""
        return _KINDS.get(self, "voltage")

    @property
    def unit(self) -> str:
        """The symbol of the unit of the values, SI but for degree Celsius: `V`, `Ω`, `A`, `Pa`, `°C`, `%`, `1`."""
        return _UNITS[self.kind]

    @property
    def drives(self) -> bool:
        """Whether the meter feeds the circuit itself, so that the circuit must be dead."""
        return self in (Function.OHMS, Function.CONTINUITY, Function.DIODE)

    @property
    def single(self) -> bool:
        """Whether it is put to one place, and reads against the surroundings: a gauge, a thermometer."""
        return self.kind in ("vacuum", "pressure", "temperature", "share")


_KINDS = {
    Function.OHMS: "resistance",
    Function.CONTINUITY: "resistance",
    Function.AMPS: "current",
    Function.AMPS_CLAMP: "current",
    Function.VACUUM_GAUGE: "vacuum",
    Function.PRESSURE_GAUGE: "pressure",
    Function.THERMOMETER: "temperature",
    Function.INFRARED: "temperature",
    Function.COUNT: "count",
    Function.FITTED_TEMPERATURE: "temperature",
    Function.FITTED_SHARE: "share",
}
_UNITS = {
    "voltage": "V",
    "resistance": "Ω",
    "current": "A",
    "vacuum": "Pa",
    "pressure": "Pa",
    "temperature": "°C",
    "share": "%",
    "count": "1",
}
