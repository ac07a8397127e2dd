"""Sixteen samples compared at once, and the first that meets the condition, without a branch.

A loop over samples costs a mispredicted branch at every edge, and the compiler does not turn it into the vector
comparison with a bit for each sample that every processor has. So that comparison is written out for it here.
"""

from __future__ import annotations

from typing import Any

from llvmlite import ir  # type: ignore[import-untyped]  # it has no stubs
from numba import types
from numba.extending import intrinsic

__all__ = ["LANES", "first_at_least", "first_below"]

LANES = 16


def _first_of(comparison: str, builder: Any, samples: Any, threshold: Any) -> Any:
    """Return the number of samples before the first that compares so with the threshold, LANES if none does."""
    lanes, none = samples.type, ir.Constant(samples.type, ir.Undefined)
    everywhere = ir.Constant(ir.VectorType(ir.IntType(32), LANES), [0] * LANES)
    one = builder.insert_element(none, threshold, ir.Constant(ir.IntType(32), 0))
    thresholds = builder.shuffle_vector(one, ir.Constant(lanes, ir.Undefined), everywhere)
    met = builder.bitcast(builder.fcmp_ordered(comparison, samples, thresholds), ir.IntType(LANES))
    return builder.zext(builder.cttz(met, ir.Constant(ir.IntType(1), 0)), ir.IntType(64))


def _searching(comparison: str, array: Any, index: Any, threshold: Any) -> Any:
    def generate(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        kind = signature.args[0]
        lanes = ir.VectorType(context.get_value_type(kind.dtype), LANES)
        start = builder.gep(context.make_array(kind)(context, builder, arguments[0]).data, [arguments[1]])
        samples = builder.load(builder.bitcast(start, lanes.as_pointer()), align=kind.dtype.bitwidth // 8)
        return _first_of(comparison, builder, samples, arguments[2])

    return types.int64(array, types.int64, array.dtype), generate


def _at_least(typing_context: Any, array: Any, index: Any, threshold: Any) -> Any:
    return _searching(">=", array, index, threshold)


def _below(typing_context: Any, array: Any, index: Any, threshold: Any) -> Any:
    return _searching("<", array, index, threshold)


first_at_least: Any = intrinsic(_at_least)
"""Of `(array, index, threshold)`: how many of array[index : index + LANES] come before the first >= threshold, LANES if
none is. The samples must lie within the array, which is contiguous; NaN compares with nothing."""

first_below: Any = intrinsic(_below)
"""The same for the first < threshold."""
