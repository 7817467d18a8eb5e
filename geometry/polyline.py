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


def points_along(points: FloatArray, at: FloatArray) -> FloatArray:
    """Return the places so far along a line (k, 2) or (k, 3); beyond its ends, its ends.

    >>> points_along(np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 1.0]]), np.array([1.0, 2.5])).tolist()
    [[1.0, 0.0], [2.0, 0.5]]
    """
    gone = lengths_along(points)
    return np.stack([np.interp(at, gone, column) for column in points.T], axis=1)


def in_pieces(points: FloatArray, pieces: int) -> FloatArray:
    """Return the (pieces + 1) places that part a line into pieces of one length, ends among them.

    >>> in_pieces(np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 2.0]]), 4)[1:4].tolist()
    [[1.0, 0.0], [2.0, 0.0], [2.0, 1.0]]
    """
    gone = lengths_along(points)
    at = np.linspace(0.0, gone[-1], pieces + 1)
    return np.stack([np.interp(at, gone, column) for column in points.T], axis=1)


def outward_of_loop(loop: FloatArray) -> FloatArray:
    """Return at every point of a closed line (k, 2), counter-clockwise, the unit way out of it.

    The first point is not repeated.

    >>> square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    >>> outward_of_loop(square)[2].round(3).tolist()
    [0.707, 0.707]
    """
    along = np.roll(loop, -1, axis=0) - np.roll(loop, 1, axis=0)
    out = np.stack([along[:, 1], -along[:, 0]], axis=1)
    return np.asarray(out / np.linalg.norm(out, axis=1, keepdims=True))
