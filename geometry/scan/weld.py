"""Joining vertices that stand at one place: by hash where exact, by distance along open edges."""

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from geometry.arrays import FloatArray, IntArray
from geometry.progress import Report, silent
from geometry.scan.raw_scan import RawFloats

_ROWS_AT_ONCE = 1_000_000
_ODD = np.uint64(0x9E3779B97F4A7C15)  # golden-ratio multiplier, spreads bits
_SHIFT = np.uint64(29)


def same_places(vertices: RawFloats, *, report: Report = silent) -> IntArray:
    """Return, for each of (n, 3) vertices, the first vertex with exactly its coordinates.

    Noughts of either sign are one place. Places are told apart by hash and then compared.

    >>> same_places(np.array([[0.0, 0, 1], [2, 0, 0], [-0.0, 0, 1]])).tolist()
    [0, 1, 0]
    """
    first = np.arange(len(vertices), dtype=np.int64)
    rows = first.copy()
    salt = 1
    while True:
        report(min(0.1 + 0.4 * (salt - 1), 0.9), "Joining equal points")
        keys = _hashes(vertices, rows, salt)
        report(min(0.4 + 0.4 * (salt - 1), 0.95), "Joining equal points")
        found = rows[_first_with_key(keys)]
        del keys
        differing = _rows_that_differ(vertices, rows, found)
        first[rows] = found
        if not len(differing):
            return first
        rows = rows[differing]  # two places with one hash: again, hashed otherwise
        salt += 1


def _hashes(vertices: RawFloats, rows: IntArray, salt: int) -> NDArray[np.uint64]:
    """Return 64 mixed bits for the coordinates of each row."""
    keys = np.empty(len(rows), np.uint64)
    for start in range(0, len(rows), _ROWS_AT_ONCE):
        part = slice(start, start + _ROWS_AT_ONCE)
        bits = np.ascontiguousarray(vertices[rows[part]].astype(np.float64) + 0.0).view(np.uint64)
        mixed = np.full(len(bits), salt, np.uint64)
        for axis in range(3):
            mixed ^= bits[:, axis]
            mixed *= _ODD
            mixed ^= mixed >> _SHIFT
        keys[part] = mixed
    return keys


def _first_with_key(keys: NDArray[np.uint64]) -> IntArray:
    order = np.argsort(keys)
    ordered = keys[order]
    begins = np.concatenate([np.ones(min(len(keys), 1), bool), ordered[1:] != ordered[:-1]])
    starts = np.flatnonzero(begins)
    smallest = np.minimum.reduceat(order, starts) if len(starts) else order
    found = np.empty(len(keys), np.int64)
    found[order] = np.repeat(smallest, np.diff(np.append(starts, len(keys))))
    return found


def _rows_that_differ(vertices: RawFloats, rows: IntArray, found: IntArray) -> IntArray:
    differing = [
        start
        + np.flatnonzero(
            (
                vertices[rows[start : start + _ROWS_AT_ONCE]]
                != vertices[found[start : start + _ROWS_AT_ONCE]]
            ).any(axis=1)
        )
        for start in range(0, len(rows), _ROWS_AT_ONCE)
    ]
    return np.concatenate([*differing, np.empty(0, np.int64)])


def near_places(points: FloatArray, tolerance: float) -> IntArray:
    """Return, for each of (k, 3) points, the first point of the cluster it belongs to.

    Points nearer than `tolerance` to one another, at first hand or through others, are a cluster.

    >>> near_places(np.array([[0.0, 0, 0], [1, 0, 0], [1e-6, 0, 0]]), 1e-5).tolist()
    [0, 1, 0]
    """
    if len(points) == 0:
        return np.empty(0, np.int64)
    tree = cKDTree(points, compact_nodes=False, balanced_tree=False)
    pairs = tree.query_pairs(tolerance, output_type="ndarray")
    graph = coo_array(
        (np.ones(len(pairs), np.int8), (pairs[:, 0], pairs[:, 1])), shape=(len(points),) * 2
    )
    _, label = connected_components(graph, directed=False)
    _, first = np.unique(label, return_index=True)
    return first[label].astype(np.int64)
