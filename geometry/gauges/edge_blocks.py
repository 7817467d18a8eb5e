"""A mesh's edges in blocks near together, so that a plane looks only at blocks it passes."""

import numpy as np

from geometry.arrays import FloatArray, IntArray

_BLOCK = 96
"""Edges of a block: small ones are many to look at, large ones hold many edges for nothing."""


class EdgeBlocks:
    """Edges ready to be cut by planes.

    Parameters
    ----------
    vertices : (n, 3) float, mm
    edges : (e, 2) int
    """

    def __init__(self, vertices: FloatArray, edges: IntArray) -> None:
        middles = vertices[edges].mean(axis=1)
        order = _near_together(middles, -(-len(edges) // _BLOCK))
        self._starts = vertices[edges[order, 0]]
        self._ends = vertices[edges[order, 1]]
        self._firsts = np.arange(0, len(order), _BLOCK)
        if len(order):
            low = np.minimum.reduceat(np.minimum(self._starts, self._ends), self._firsts)
            high = np.maximum.reduceat(np.maximum(self._starts, self._ends), self._firsts)
            self._middles, self._halves = (low + high) / 2.0, (high - low) / 2.0

    def crossing(self, point: FloatArray, normal: FloatArray) -> FloatArray:
        """Return (k, 3) places where a plane cuts the edges."""
        if not len(self._starts):
            return np.empty((0, 3))
        away = np.abs((self._middles - point) @ normal)
        passed = self._firsts[away <= self._halves @ np.abs(normal) + 1e-9]
        rows = (passed[:, None] + np.arange(_BLOCK)).ravel()
        rows = rows[rows < len(self._starts)]
        starts, ends = self._starts[rows], self._ends[rows]
        first, last = (starts - point) @ normal, (ends - point) @ normal
        cut = np.flatnonzero((first >= 0.0) != (last >= 0.0))
        starts, ends = starts[cut], ends[cut]
        share = (first[cut] / (first[cut] - last[cut]))[:, None]
        return np.asarray(starts + share * (ends - starts))


def _near_together(places: FloatArray, blocks: int) -> IntArray:
    """Return an order that keeps near places together: by cells of a grid, cut across the longest.

    Halves all places across their longest way again and again.
    """
    groups = [np.arange(len(places))]
    while len(groups) < blocks:
        halves: list[IntArray] = []
        for group in groups:
            if len(group) <= _BLOCK:
                halves.append(group)
                continue
            axis = int(np.ptp(places[group], axis=0).argmax())
            middle = (len(group) // 2 + _BLOCK - 1) // _BLOCK * _BLOCK
            parted = group[np.argpartition(places[group, axis], middle)]
            halves += [parted[:middle], parted[middle:]]
        if len(halves) == len(groups):
            break
        groups = halves
    return np.concatenate(groups)
