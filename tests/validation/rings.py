"""Reading a blank ring by ring, where the panel is a disk of rings (`tests.bodies.disk_rings`)."""

import numpy as np

from geometry.arrays import FloatArray
from geometry.blank import FlatPanel


def ring_count(flat: FlatPanel) -> int:
    """Return how many rings there are: 6 k^2 faces for k of them."""
    return round(float(np.sqrt(len(flat.faces) / 6.0)))


def ring_lengths(points: FloatArray, rings: int) -> FloatArray:
    """Return (rings,) how long each ring is, from the inmost out; points of any dimension."""
    starts = [1 + 3 * k * (k - 1) for k in range(1, rings + 2)]
    lengths = np.empty(rings)
    for k in range(rings):
        loop = points[starts[k] : starts[k + 1]]
        lengths[k] = np.linalg.norm(np.roll(loop, -1, axis=0) - loop, axis=1).sum()
    return lengths


def ring_radii(flat: FlatPanel) -> FloatArray:
    """Return (rings + 1,) the mean distance of each ring from the middle point, 0 first."""
    rings = ring_count(flat)
    away = np.linalg.norm(flat.flat_vertices - flat.flat_vertices[0], axis=1)
    starts = [1 + 3 * k * (k - 1) for k in range(1, rings + 2)]
    return np.array([0.0, *(away[starts[k] : starts[k + 1]].mean() for k in range(rings))])


def hoop_strains(flat: FlatPanel) -> FloatArray:
    """Return (rings,) log of flat over formed length of each ring."""
    rings = ring_count(flat)
    lengths = ring_lengths(flat.flat_vertices, rings) / ring_lengths(flat.vertices, rings)
    return np.log(lengths)


def between_rings(flat: FlatPanel, values: FloatArray) -> FloatArray:
    """Return (rings,) means over the faces inside each ring, of a value per face."""
    rings = ring_count(flat)
    ends = np.concatenate([[0], np.cumsum(6 * (2 * np.arange(rings) + 1))])
    return np.array([values[ends[k] : ends[k + 1]].mean() for k in range(rings)])


def at_the_edge(means: FloatArray) -> float:
    """Return the value at the edge, by a parabola through the middles of the last three bands."""
    return float((15.0 * means[-1] - 10.0 * means[-2] + 3.0 * means[-3]) / 8.0)
