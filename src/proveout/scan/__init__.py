"""Standard scan data: logs of on-board parameters."""

from proveout.scan.log import Gap, Log, Series, log_of
from proveout.scan.parameters import Parameter, parameter_of, parameters
from proveout.scan.plausible import Doubt
from proveout.scan.typed import typed_log

__all__ = ["Doubt", "Gap", "Log", "Parameter", "Series", "log_of", "parameter_of", "parameters", "typed_log"]
