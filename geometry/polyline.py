"""Lines of points: how long they are."""

import numpy as np

from geometry.arrays import FloatArray


def line_length(points: FloatArray) -> float:
    """Return how long a line (k, 2) or (k, 3) is from its first point to its last.

    >>> line_length(np.array([[0.0, 0.0], [3.0, 4.0], [3.0, 5.0]]))
    6.0
    """
    return float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())


def lengths_along(points: FloatArray) -> FloatArray:
    """Return how far every point (k, 2) or (k, 3) lies along its line, (k,), from 0.

    >>> lengths_along(np.array([[0.0, 0.0], [3.0, 4.0], [3.0, 5.0]])).tolist()
    [0.0, 5.0, 6.0]
    """
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    return np.concatenate([[0.0], np.cumsum(steps)])
