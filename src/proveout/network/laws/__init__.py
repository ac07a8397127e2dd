"""The branch laws: monotone two-terminal relations between effort difference and flow."""

from proveout.network.laws._law import Array, Law
from proveout.network.laws.diode import Diode
from proveout.network.laws.lamp import Lamp
from proveout.network.laws.limited import Limited
from proveout.network.laws.linear import Linear
from proveout.network.laws.sink import Sink

__all__ = ["LAWS", "Array", "Diode", "Lamp", "Law", "Limited", "Linear", "Sink"]

LAWS: dict[str, type[Law]] = {law.name: law for law in (Linear, Limited, Diode, Sink, Lamp)}
