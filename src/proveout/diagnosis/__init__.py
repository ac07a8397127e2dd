"""Belief over the suspects of a circuit, and what to do next."""

from proveout.diagnosis.advice import Consequence, advise, consequence, describe_repair, describe_step
from proveout.diagnosis.advice_model import Advice, Shop, StepAdvice
from proveout.diagnosis.belief import Belief
from proveout.diagnosis.evidence import Evidence, OutcomeSeen, ReadingTaken, RepairDone
from proveout.diagnosis.limits import explain_limit, limit_band, sound_band
from proveout.diagnosis.model import Model, compile_model, load_model
from proveout.diagnosis.pairs import with_pairs

__all__ = [
    "Advice",
    "Belief",
    "Consequence",
    "Evidence",
    "Model",
    "OutcomeSeen",
    "ReadingTaken",
    "RepairDone",
    "Shop",
    "StepAdvice",
    "advise",
    "compile_model",
    "consequence",
    "describe_repair",
    "describe_step",
    "explain_limit",
    "limit_band",
    "load_model",
    "sound_band",
    "with_pairs",
]
