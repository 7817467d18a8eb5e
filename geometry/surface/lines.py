"""Lines a net keeps to: rims and edges to be kept, parted at corners."""

from collections.abc import Sequence

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray

_SHARP_TURN = np.cos(np.radians(40.0))


def chains(edges: IntArray, is_end: BoolArray) -> tuple[IntArray, ...]:
    """Return the (k, 2) edges joined into runs of vertices from one end to another.

    Parameters
    ----------
    edges : (k, 2) int
    is_end : (n,) bool
        Where runs stop besides loose ends and forks. A closed run repeats its first vertex.
    """
    at: dict[int, list[int]] = {}
    for number, (a, b) in enumerate(edges.tolist()):
        at.setdefault(a, []).append(number)
        at.setdefault(b, []).append(number)
    pairs = edges.tolist()
    used = [False] * len(pairs)
    ends = sorted(v for v, near in at.items() if len(near) != 2 or is_end[v])
    found: list[IntArray] = []
    for start in [*ends, *sorted(at)]:
        for first in at[start]:
            if used[first]:
                continue
            run, edge, here = [start], first, start
            while True:
                used[edge] = True
                here = pairs[edge][0] if pairs[edge][1] == here else pairs[edge][1]
                run.append(here)
                if here == start or len(at[here]) != 2 or is_end[here]:
                    break
                edge = at[here][0] if at[here][1] == edge else at[here][1]
            found.append(np.array(run, np.int64))
    return tuple(found)


def sharp_turns(vertices: FloatArray, edges: IntArray) -> BoolArray:
    """Return (n,) where two of the edges meet at a turn of more than 40 degrees, or not two."""
    n = len(vertices)
    count = np.bincount(edges.ravel(), minlength=n)
    total = np.zeros((n, 3))
    run = vertices[edges[:, 1]] - vertices[edges[:, 0]]
    run /= np.maximum(np.linalg.norm(run, axis=1, keepdims=True), 1e-300)
    np.add.at(total, edges[:, 0], run)
    np.add.at(total, edges[:, 1], -run)
    cosine = 1.0 - (total * total).sum(axis=1) / 2.0  # of the turn: 1 where they run straight on
    return np.asarray((count > 0) & ((count != 2) | (cosine < _SHARP_TURN)))


def line_table(runs: Sequence[IntArray]) -> tuple[IntArray, IntArray]:
    """Return all edges of the runs and the number of the run each belongs to."""
    edges = [np.stack([run[:-1], run[1:]], axis=1) for run in runs]
    number = [np.full(len(part), i, np.int64) for i, part in enumerate(edges)]
    empty = np.empty((0, 2), np.int64)
    return np.concatenate([empty, *edges]), np.concatenate([empty[:, 0], *number])
