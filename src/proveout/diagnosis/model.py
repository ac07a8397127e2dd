"""A circuit ready for diagnosis: faults, suspects, predictions and tables, compiled once and kept on disk."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from zipfile import BadZipFile

import numpy as np

from proveout.circuits.assemble import Assembly, assemble
from proveout.circuits.schema import Circuit
from proveout.diagnosis.faults import Fault, Suspect, enumerate_faults, list_suspects
from proveout.diagnosis.hypotheses import Hypotheses, lay_out
from proveout.diagnosis.observables import Observable, observable_of_measurement, observables_of
from proveout.diagnosis.predict import OhmsSource, Predictions, Variant, predict, single_fault_variants
from proveout.diagnosis.tables import behaviour_table, look_table, trial_cures
from proveout.errors import InputError
from proveout.instruments import Function, Meter
from proveout.network.laws import Array

__all__ = ["SEVERITIES", "Model", "compile_model", "load_model"]

SEVERITIES = 32  # 24 does as well on drawn vehicles, 16 loses 0.01 nat of what is known of the true suspect
LARGE, LARGE_SEVERITIES = 150, 16  # from so many fault modes fewer severities, for time's sake


@dataclass(frozen=True)
class Model:
    """All that belief and planning need of a circuit.

    Attributes
    ----------
    circuit, meter : Circuit, Meter
    faults : tuple of Fault
    suspects : tuple of Suspect
    predictions : Predictions
        Rows: sound, then one variant for each fault in the order of `faults` (then pairs, where they were added).
    hypotheses : Hypotheses
    """

    circuit: Circuit
    meter: Meter
    faults: tuple[Fault, ...]
    suspects: tuple[Suspect, ...]
    predictions: Predictions
    hypotheses: Hypotheses

    @cached_property
    def column(self) -> Mapping[str, int]:
        """Column of the predictions for each measurement."""
        place = {o: k for k, o in enumerate(self.predictions.observables)}
        return {
            name: place[observable_of_measurement(self.circuit, m, self.meter)]
            for name, m in self.circuit.measurements.items()
        }

    @cached_property
    def references(self) -> tuple[str, ...]:
        """`part.mode` of each variant, joined by + for a pair."""
        return tuple("+".join(f.reference for f in v.faults) for v in self.predictions.variants)

    @cached_property
    def behaviours(self) -> Mapping[str, Array]:
        """P(outcome | row), (G, outcome), of each behaviour."""
        circuit = self.circuit
        return {name: behaviour_table(self.predictions, circuit, b) for name, b in circuit.behaviours.items()}

    @cached_property
    def looks(self) -> Mapping[str, Array]:
        """P(outcome | hypothesis), (H, outcome), of each look."""
        return {name: look_table(k, self.references, self.hypotheses) for name, k in self.circuit.looks.items()}

    @cached_property
    def cures(self) -> Mapping[str, Array]:
        """P(cured | hypothesis), (H,), of each trial."""
        return {name: trial_cures(t, self.references, self.hypotheses) for name, t in self.circuit.trials.items()}

    @cached_property
    def suspect_index(self) -> Mapping[str, int]:
        """Place of each suspect by name."""
        return {suspect.name: k for k, suspect in enumerate(self.suspects)}

    def function(self, measurement: str) -> Function:
        """Return the instrument function of a measurement."""
        return Function(self.circuit.measurements[measurement].function)

    def save(self, path: Path) -> None:
        """Write the predictions to a file that `load_model` reads."""
        p = self.predictions
        np.savez(path, mean=p.mean, slopes=p.slopes, rough=p.rough)


def ohms_source(meter: Meter) -> OhmsSource:
    """Return the meter's ohms source in the range for a few kilohm, which most circuits need."""
    voltage = meter.open_circuit_volts(Function.OHMS)
    return OhmsSource(voltage, float(meter.series_resistance(Function.OHMS, 3.0e3)), meter.lead_uncertainty)


def _without_predictions(
    circuit: Circuit, meter: Meter
) -> tuple[Assembly, tuple[Fault, ...], tuple[Variant, ...], tuple[Observable, ...]]:
    assembly = assemble(circuit)
    faults = enumerate_faults(assembly)
    count = SEVERITIES if len(faults) < LARGE else LARGE_SEVERITIES
    return assembly, faults, single_fault_variants(faults, count), observables_of(circuit, meter)


def _finish(
    circuit: Circuit, meter: Meter, faults: tuple[Fault, ...], variants: Sequence[Variant], predictions: Predictions
) -> Model:
    suspects = list_suspects(circuit, faults)
    hypotheses = lay_out(variants, suspects, circuit.no_fault_weight, circuit.unknown_weight)
    return Model(circuit, meter, faults, suspects, predictions, hypotheses)


def compile_model(circuit: Circuit, meter: Meter, progress: Callable[[float], None] | None = None) -> Model:
    """Compute all predictions of a circuit.

    Raises
    ------
    NetworkError
        If the network cannot be solved under some fault; the message names node and element.
    """
    assembly, faults, variants, observables = _without_predictions(circuit, meter)
    predictions = predict(assembly, variants, observables, ohms_source(meter), progress)
    return _finish(circuit, meter, faults, variants, predictions)


def load_model(path: Path, circuit: Circuit, meter: Meter) -> Model:
    """Return the model whose predictions were saved for this very circuit and meter.

    Raises
    ------
    InputError
        If the file cannot be read or belongs to another circuit; compile the circuit again.
    """
    _, faults, variants, observables = _without_predictions(circuit, meter)
    try:
        with path.open("rb") as file, np.load(file) as stored:
            mean, slopes, rough = stored["mean"], stored["slopes"], stored["rough"]
    except (OSError, KeyError, ValueError, EOFError, BadZipFile) as error:
        raise InputError(f"compiled circuit '{path}' cannot be read ({error}); delete it, it is made anew") from error
    if mean.shape != (1 + sum(v.count for v in variants), len(observables)):
        raise InputError(f"compiled circuit '{path}' belongs to another circuit; delete it, it is made anew")
    return _finish(circuit, meter, faults, variants, Predictions(observables, variants, mean, slopes, rough))
