"""The independent reference of the tests and measurements: circuits simulated by ngspice, never by the product.

It shares with the product the circuit schema and the declared data (element kinds' parameters, defaults and fault
modes, the meter's file); how an element conducts, how faults act, how gates settle and what a meter shows is written
here anew.
"""

from reference.behaviours import behaviour, signal, signals
from reference.faulted import Drawn, Fault, Situation
from reference.readings import reading, readings
from reference.shared_ngspice import Ngspice, NgspiceError, ngspice
from reference.spice_netlist import OperatingPoint, Probe, SpiceNetlist, solve

__all__ = [
    "Drawn",
    "Fault",
    "Ngspice",
    "NgspiceError",
    "OperatingPoint",
    "Probe",
    "Situation",
    "SpiceNetlist",
    "behaviour",
    "ngspice",
    "reading",
    "readings",
    "signal",
    "signals",
    "solve",
]
