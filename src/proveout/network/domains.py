"""The physical domains of a network: what effort and flow are in each, and how large they are.

The solver knows branches and efforts alone. All domains of one network share the reference node, whose effort is zero:
the battery's negative post for voltages, the surrounding air for pressures (they are gauge pressures, a vacuum is
negative), and 0 degree Celsius for temperatures.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["DOMAINS", "ELECTRICAL", "HYDRAULIC", "PNEUMATIC", "THERMAL", "Domain"]


@dataclass(frozen=True)
class Domain:
    """One physical domain.

    Attributes
    ----------
    effort, effort_unit, flow, flow_unit : str
        What they are called, and their SI units (degree Celsius for temperatures).
    scale, flow_scale : float [effort unit], [flow unit]
        A usual effort, against which steps of the solver are judged, and a usual flow.
    leakage : float [effort unit / flow unit]
        Resistance from every node to the reference where a circuit says nothing: how well the ordinary surroundings
        keep the two apart.
    """

    name: str
    effort: str
    effort_unit: str
    flow: str
    flow_unit: str
    scale: float
    flow_scale: float
    leakage: float


ELECTRICAL, PNEUMATIC, HYDRAULIC, THERMAL = "electrical", "pneumatic", "hydraulic", "thermal"

DOMAINS: dict[str, Domain] = {
    domain.name: domain
    for domain in (
        Domain(ELECTRICAL, "voltage", "V", "current", "A", 1.0, 1.0, 1.0e9),
        Domain(PNEUMATIC, "gauge pressure", "Pa", "mass flow", "kg/s", 1.0e4, 1.0e-4, 1.0e15),
        Domain(HYDRAULIC, "gauge pressure", "Pa", "volume flow", "m3/s", 1.0e6, 1.0e-6, 1.0e18),
        Domain(THERMAL, "temperature", "°C", "heat flow", "W", 10.0, 1.0e3, 1.0e9),
    )
}
