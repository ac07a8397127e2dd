"""The element kinds, by name. A new kind is one module and one line here."""

from proveout.network.elements._element import Branch, Element, FaultMode, Gate, Parameter, check
from proveout.network.elements.battery import BATTERY
from proveout.network.elements.bridge import BRIDGE
from proveout.network.elements.capacitor import CAPACITOR
from proveout.network.elements.clamp import CLAMP
from proveout.network.elements.coil import COIL
from proveout.network.elements.control_input import CONTROL_INPUT
from proveout.network.elements.current_sink import CURRENT_SINK
from proveout.network.elements.diode import DIODE
from proveout.network.elements.fuse import FUSE
from proveout.network.elements.heater import HEATER
from proveout.network.elements.lamp import LAMP
from proveout.network.elements.meter_load import METER_LOAD
from proveout.network.elements.motor import MOTOR
from proveout.network.elements.open_collector import OPEN_COLLECTOR
from proveout.network.elements.potentiometer import POTENTIOMETER, RATIOMETRIC
from proveout.network.elements.push_pull import PUSH_PULL
from proveout.network.elements.regulator import REGULATOR
from proveout.network.elements.relay import RELAY
from proveout.network.elements.resistor import RESISTOR
from proveout.network.elements.switch import SWITCH
from proveout.network.elements.terminal import TERMINAL
from proveout.network.elements.thermistor import THERMISTOR, THERMISTOR_STEINHART
from proveout.network.elements.wire import WIRE

__all__ = ["ELEMENTS", "Branch", "Element", "FaultMode", "Gate", "Parameter", "check"]

ELEMENTS: dict[str, Element] = {
    element.name: element
    for element in (
        BATTERY,
        REGULATOR,
        RESISTOR,
        WIRE,
        TERMINAL,
        FUSE,
        SWITCH,
        RELAY,
        DIODE,
        CLAMP,
        LAMP,
        MOTOR,
        HEATER,
        COIL,
        CAPACITOR,
        THERMISTOR,
        THERMISTOR_STEINHART,
        POTENTIOMETER,
        RATIOMETRIC,
        OPEN_COLLECTOR,
        PUSH_PULL,
        CURRENT_SINK,
        CONTROL_INPUT,
        BRIDGE,
        METER_LOAD,
    )
}

for _element in ELEMENTS.values():
    check(_element)
