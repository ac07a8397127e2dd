"""The element kinds, by name. A new kind is one module and one line here."""

from proveout.network.elements._element import Branch, Drive, Element, FaultMode, Gate, Parameter, check
from proveout.network.elements.accumulator import ACCUMULATOR, LIQUID_VESSEL
from proveout.network.elements.battery import BATTERY
from proveout.network.elements.booster_output import HYDRAULIC_BOOSTER_OUTPUT, VACUUM_BOOSTER_OUTPUT
from proveout.network.elements.bridge import BRIDGE
from proveout.network.elements.capacitor import CAPACITOR
from proveout.network.elements.check_valve import CHECK_VALVE
from proveout.network.elements.clamp import CLAMP
from proveout.network.elements.coil import COIL
from proveout.network.elements.combustion import COMBUSTION
from proveout.network.elements.control_input import CONTROL_INPUT
from proveout.network.elements.control_valve import CONTROL_VALVE
from proveout.network.elements.coolant_pump import COOLANT_PUMP
from proveout.network.elements.coolant_sensor import COOLANT_SENSOR
from proveout.network.elements.current_sink import CURRENT_SINK
from proveout.network.elements.diode import DIODE
from proveout.network.elements.fuse import FUSE
from proveout.network.elements.heat_mass import HEAT_MASS
from proveout.network.elements.heat_path import COOLING_FAN, HEAT_PATH
from proveout.network.elements.heater import HEATER
from proveout.network.elements.heater_core import HEATER_CORE
from proveout.network.elements.hose import HOSE
from proveout.network.elements.hydraulic_pump import HYDRAULIC_PUMP
from proveout.network.elements.lamp import LAMP
from proveout.network.elements.liquid_valve import LIQUID_CHECK_VALVE, SPOOL_VALVE
from proveout.network.elements.manifold import MANIFOLD
from proveout.network.elements.meter_load import METER_LOAD
from proveout.network.elements.motor import MOTOR
from proveout.network.elements.open_collector import OPEN_COLLECTOR
from proveout.network.elements.potentiometer import POTENTIOMETER, RATIOMETRIC
from proveout.network.elements.pressure_line import LIQUID_SEAL, PRESSURE_LINE
from proveout.network.elements.push_pull import PUSH_PULL
from proveout.network.elements.radiator import RADIATOR
from proveout.network.elements.regulator import REGULATOR
from proveout.network.elements.relay import RELAY
from proveout.network.elements.resistor import RESISTOR
from proveout.network.elements.restriction import RESTRICTION
from proveout.network.elements.seal import SEAL
from proveout.network.elements.surrounding_air import SURROUNDING_AIR
from proveout.network.elements.switch import SWITCH
from proveout.network.elements.terminal import TERMINAL
from proveout.network.elements.thermistor import THERMISTOR, THERMISTOR_STEINHART
from proveout.network.elements.thermostat import HEATED_THERMOSTAT, THERMOSTAT
from proveout.network.elements.vacuum_pump import VACUUM_PUMP
from proveout.network.elements.vacuum_sensor import VACUUM_SENSOR
from proveout.network.elements.valve_position import VALVE_POSITION
from proveout.network.elements.vessel import VESSEL
from proveout.network.elements.wire import WIRE

__all__ = ["ELEMENTS", "Branch", "Drive", "Element", "FaultMode", "Gate", "Parameter", "check"]

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
        MANIFOLD,
        VACUUM_PUMP,
        VACUUM_SENSOR,
        HOSE,
        RESTRICTION,
        SEAL,
        CHECK_VALVE,
        VESSEL,
        CONTROL_VALVE,
        VACUUM_BOOSTER_OUTPUT,
        HYDRAULIC_PUMP,
        PRESSURE_LINE,
        LIQUID_SEAL,
        LIQUID_CHECK_VALVE,
        SPOOL_VALVE,
        ACCUMULATOR,
        LIQUID_VESSEL,
        HYDRAULIC_BOOSTER_OUTPUT,
        SURROUNDING_AIR,
        COMBUSTION,
        HEAT_MASS,
        HEAT_PATH,
        COOLING_FAN,
        RADIATOR,
        HEATER_CORE,
        COOLANT_PUMP,
        THERMOSTAT,
        HEATED_THERMOSTAT,
        COOLANT_SENSOR,
        VALVE_POSITION,
    )
}

for _element in ELEMENTS.values():
    check(_element)
