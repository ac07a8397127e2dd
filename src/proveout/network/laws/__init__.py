"""The branch laws: monotone two-terminal relations between effort and flow."""

from proveout.network.laws._law import Array, ContentLaw, Law
from proveout.network.laws.check_valve import CheckValve
from proveout.network.laws.diode import Diode
from proveout.network.laws.lamp import Lamp
from proveout.network.laws.limited import Limited
from proveout.network.laws.linear import Linear
from proveout.network.laws.one_way import OneWay
from proveout.network.laws.orifice import Orifice
from proveout.network.laws.sink import Sink
from proveout.network.laws.store import ChargeStore, GasStore, Store
from proveout.network.laws.turbulent import Turbulent
from proveout.network.laws.wax import Wax, WaxLift

__all__ = [
    "LAWS",
    "Array",
    "ChargeStore",
    "CheckValve",
    "ContentLaw",
    "Diode",
    "GasStore",
    "Lamp",
    "Law",
    "Limited",
    "Linear",
    "OneWay",
    "Orifice",
    "Sink",
    "Store",
    "Turbulent",
    "Wax",
    "WaxLift",
]

LAWS: dict[str, type[Law]] = {
    law.name: law
    for law in (
        Linear,
        Limited,
        Diode,
        Sink,
        Lamp,
        OneWay,
        Turbulent,
        Orifice,
        CheckValve,
        Store,
        GasStore,
        ChargeStore,
        Wax,
        WaxLift,
    )
}
