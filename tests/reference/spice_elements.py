"""Each element kind as ngspice devices, from its physics: native resistors, sources and diodes where there are such.

Each function takes the device suffix, the nodes at the terminals, the values and whether the element is on, and gives
netlist lines. An infinite resistance is no device at all.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

from scipy.optimize import brentq

__all__ = ["DEVICES", "GATES", "TAPPED", "gate_share", "resistor"]

Values = Mapping[str, float]
Lines = list[str]
Devices = Callable[[str, Sequence[str], Values, bool], Lines]

COPPER = 1.0 / 58.0e6  # resistivity of annealed copper at 20 C [ohm m]: 58 MS/m, IEC 60028
KELVIN = 273.15
THERMAL = 1.380649e-23 * (KELVIN + 27.0) / 1.602176634e-19  # kT/q [V] at ngspice's 27 C, constants of the SI (2019)
LAMP_EXPONENT = 0.225  # as the lamp law documents
NEARLY = 1.0 - 1e-8  # share of a supply's limit from which its law goes on straight

GATES: dict[str, tuple[int, int, str]] = {
    "relay": (0, 1, "pull_in"),
    "motor": (0, 1, "minimum"),
    "open_collector": (1, 2, "minimum_supply"),
    "regulator": (2, 1, "minimum_feed"),
}
"""Kinds that need a voltage to be on: the terminals between which it stands, and the parameter with the least one."""


def gate_share(kind: str, v: Values) -> float:
    """Return the share of the voltage between the gate's terminals that does the work: a relay's is the winding's."""
    if kind != "relay":
        return 1.0
    return v["coil_resistance"] / (v["coil_resistance"] + v["lead"])


TAPPED = ("potentiometer", "ratiometric", "relay")
"""Kinds with a node of their own, `x` and the device suffix."""


def resistor(name: str, a: str, b: str, resistance: float) -> Lines:
    """Return a resistor, or nothing for an open."""
    return [f"r{name} {a} {b} {resistance!r}"] if math.isfinite(resistance) else []


def _source_behind(name: str, a: str, b: str, emf: float, resistance: float) -> Lines:
    if not math.isfinite(resistance):
        return []
    return [f"v{name} x{name} {b} dc {emf!r}", *resistor(name, a, f"x{name}", resistance)]


def _junction(name: str, anode: str, cathode: str, v: Values) -> Lines:
    if v["saturation"] == 0.0:
        return []
    # IBV below IS x BV / width puts the knee exactly at BV: beyond it the current is IS exp((u - BV) / width).
    model = f"is={v['saturation']!r} n={v['width'] / THERMAL!r} bv={v['breakdown']!r} ibv={v['saturation'] * 1e-3!r}"
    return [f"d{name} {anode} {cathode} m{name}", f".model m{name} d({model})"]


def _battery(name: str, n: Sequence[str], v: Values, on: bool) -> Lines:
    return _source_behind(name, n[0], n[1], v["emf"], v["resistance"])


def _coil(name: str, n: Sequence[str], v: Values, on: bool) -> Lines:
    return _source_behind(name, n[0], n[1], v["emf"] * v["coupling"], v["resistance"])


def _plain(parameter: str) -> Devices:
    def devices(name: str, n: Sequence[str], v: Values, on: bool) -> Lines:
        return resistor(name, n[0], n[1], v[parameter])

    return devices


def _wire(name: str, n: Sequence[str], v: Values, on: bool) -> Lines:
    return resistor(name, n[0], n[1], COPPER * v["length"] / (v["area"] * 1e-6) + v["extra"])


def _switch(name: str, n: Sequence[str], v: Values, on: bool) -> Lines:
    return resistor(name, n[0], n[1], v["resistance"] if on else v["open_resistance"])


def _relay(name: str, n: Sequence[str], v: Values, on: bool) -> Lines:
    winding = f"x{name}"
    coil = resistor(f"{name}i", n[0], winding, v["lead"]) + resistor(f"{name}c", winding, n[1], v["coil_resistance"])
    return coil + (resistor(f"{name}k", n[2], n[3], v["contact_resistance"]) if on else [])


def _diode(name: str, n: Sequence[str], v: Values, on: bool) -> Lines:
    return _junction(name, n[0], n[1], v) + resistor(name, n[0], n[1], v["bypass"])


def _pin_diodes(name: str, n: Sequence[str], v: Values) -> Lines:
    pin, rail, ground = n
    return _junction(f"{name}u", pin, rail, v) + _junction(f"{name}d", ground, pin, v)


def _clamp(name: str, n: Sequence[str], v: Values, on: bool) -> Lines:
    return _pin_diodes(name, n, v) + resistor(name, n[0], n[2], v["leak"])


def _control_input(name: str, n: Sequence[str], v: Values, on: bool) -> Lines:
    pull_up = resistor(f"{name}p", n[0], n[1], v["pull_up"])
    return pull_up + resistor(f"{name}i", n[0], n[2], v["input_resistance"]) + _pin_diodes(name, n, v)


def _lamp(name: str, n: Sequence[str], v: Values, on: bool) -> Lines:
    # At rated voltage V the filament has V^2/P, cold 1/ratio of it; current = u / cold (1 + (u/k)^2)^-0.225.
    rated, ratio = v["rated_voltage"], v["hot_over_cold"]
    cold = rated**2 / v["power"] / ratio + v["extra"]
    if not math.isfinite(cold):
        return []
    knee = rated / math.sqrt(ratio ** (1.0 / LAMP_EXPONENT) - 1.0)
    u = f"v({n[0]},{n[1]})"
    heating = f"exp(-{LAMP_EXPONENT!r}*ln(1+({u}/{knee!r})*({u}/{knee!r})))"
    return [f"b{name} {n[0]} {n[1]} i={u}/{cold!r}*{heating}"]


def _motor(name: str, n: Sequence[str], v: Values, on: bool) -> Lines:
    turning = v["running_resistance"] if on else v["stalled_resistance"]
    return resistor(name, n[0], n[1], turning + v["extra"])


def _thermistor(name: str, n: Sequence[str], v: Values, on: bool) -> Lines:
    kelvin = v["temperature"] + KELVIN
    curve = v["resistance_25"] * math.exp(v["beta"] / kelvin - v["beta"] / 298.15)
    return resistor(name, n[0], n[1], curve * v["factor"] + v["extra"])


def _thermistor_steinhart(name: str, n: Sequence[str], v: Values, on: bool) -> Lines:
    target = 1.0 / (v["temperature"] + KELVIN)
    log = float(brentq(lambda x: v["a"] + v["b"] * x + v["c"] * x**3 - target, -20.0, 40.0, xtol=1e-13))
    return resistor(name, n[0], n[1], math.exp(log) * v["factor"] + v["extra"])


def _potentiometer(name: str, n: Sequence[str], v: Values, on: bool) -> Lines:
    high, wiper, low = n
    tap, track = f"x{name}", v["resistance"]
    shown = min(max(v["position"] * v["gain"], 0.0), 1.0)
    above = max((1.0 - shown) * track, v["end_resistance"]) + v["extra_high"]
    below = max(shown * track, v["end_resistance"]) + v["extra_low"]
    upper = resistor(f"{name}h", high, tap, above)
    return upper + resistor(f"{name}l", tap, low, below) + resistor(f"{name}w", tap, wiper, v["wiper"])


def _open_collector(name: str, n: Sequence[str], v: Values, on: bool) -> Lines:
    output = resistor(f"{name}o", n[0], n[2], v["on_resistance"] if on else v["off_resistance"])
    return output + resistor(f"{name}s", n[1], n[2], v["supply_resistance"])


def _push_pull(name: str, n: Sequence[str], v: Values, on: bool) -> Lines:
    return resistor(name, n[0], n[1] if on else n[2], v["resistance"])


def _current_sink(name: str, n: Sequence[str], v: Values, on: bool) -> Lines:
    level = v["health"] * (v["high_current"] if on else v["low_current"])
    if level == 0.0:
        return []
    x = f"(v({n[0]},{n[1]})/{v['knee']!r})"
    return [f"b{name} {n[0]} {n[1]} i={level!r}*({x}>0?1-exp(-{x}):{x})"]


def _regulator(name: str, n: Sequence[str], v: Values, on: bool) -> Lines:
    bleed = resistor(f"{name}b", n[0], n[1], v["bleed"])
    if not on:
        return bleed
    # The law L tanh(w / L), w = (e - u) / r, turned round: u = e - r L atanh(i / L) by the current i it gives, with L
    # by the direction of i. Beyond NEARLY it goes on as its tangent. In this form Newton's steps cannot run off: the
    # flat ends of tanh have become steep walls.
    i = f"i(v{name})"
    limit = f"({i}>0?{v['limit']!r}:{v['take']!r})"
    t = f"min(max({i}/{limit},-{NEARLY!r}),{NEARLY!r})"
    asked = f"{limit}*(0.5*ln((1+{t})/(1-{t}))+({i}/{limit}-{t})/{1.0 - NEARLY**2!r})"
    return [
        f"v{name} x{name} {n[0]} dc 0",
        f"b{name} x{name} {n[1]} v={v['voltage']!r}-{v['resistance']!r}*{asked}",
        *bleed,
    ]


DEVICES: dict[str, Devices] = {
    "battery": _battery,
    "regulator": _regulator,
    "resistor": _plain("resistance"),
    "wire": _wire,
    "terminal": _plain("resistance"),
    "fuse": _plain("resistance"),
    "switch": _switch,
    "relay": _relay,
    "diode": _diode,
    "clamp": _clamp,
    "lamp": _lamp,
    "motor": _motor,
    "heater": _plain("resistance"),
    "coil": _coil,
    "capacitor": _plain("leakage"),
    "thermistor": _thermistor,
    "thermistor_steinhart": _thermistor_steinhart,
    "potentiometer": _potentiometer,
    "ratiometric": _potentiometer,
    "open_collector": _open_collector,
    "push_pull": _push_pull,
    "current_sink": _current_sink,
    "control_input": _control_input,
    "bridge": _plain("resistance"),
    "meter_load": _battery,
}
"""Element kind to its devices in the steady state: a capacitor is its leakage, a coil its winding."""
