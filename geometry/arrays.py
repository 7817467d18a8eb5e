"""The two array types used everywhere; shapes stand in docstrings and line comments."""

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

ArrayT = TypeVar("ArrayT", FloatArray, IntArray, BoolArray)


def locked(array: ArrayT) -> ArrayT:
    """Return the same array, made read-only."""
    array.setflags(write=False)
    return array
