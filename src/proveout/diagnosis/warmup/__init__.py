"""Warm-up traces: what the coolant's temperature says of the thermostat."""

from proveout.diagnosis.warmup.drive import Drive
from proveout.diagnosis.warmup.finding import WarmUpFinding, finding_of
from proveout.diagnosis.warmup.fit import WarmUpFit, fit_warm_up
from proveout.diagnosis.warmup.from_log import KINDS, DriveKind, drive_of
from proveout.diagnosis.warmup.healthy import HealthyTrace, healthy_trace

__all__ = [
    "KINDS",
    "Drive",
    "DriveKind",
    "HealthyTrace",
    "WarmUpFinding",
    "WarmUpFit",
    "drive_of",
    "finding_of",
    "fit_warm_up",
    "healthy_trace",
]
