"""How large triangles may be: as asked for on calm skin, finer at creases and small holes."""

from collections.abc import Sequence

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.mesh import edge_lengths, loop_length
from geometry.surface.net import edges_of

_SAG_MM = 0.05
_FINEST_SHARE = 1.0 / 3.0
_GROWTH = 0.3
_EDGES_ROUND_A_HOLE = 12


def wanted_size(
    vertices: FloatArray,
    faces: IntArray,
    normals: FloatArray,
    rims: Sequence[IntArray],
    *,
    spacing_mm: float,
    held: Sequence[IntArray] = (),
) -> FloatArray:
    """Return the (n,) edge length wanted at each vertex, mm.

    A chord of an arc of radius R and length h stands h^2 / (8 R) off it: h is chosen to keep this
    to 0.05 mm, but never above the spacing nor below a third of it. A hole gets at least a dozen
    edges; along held lines it is a third of the spacing. Along the surface the length grows by
    0.3 mm a millimetre at most.
    """
    finest = _FINEST_SHARE * spacing_mm
    ends = edges_of(faces).ends
    bend = _bend(vertices, normals, ends)
    size = np.sqrt(8.0 * _SAG_MM / np.maximum(bend, 1e-9))
    for rim in rims:
        most = loop_length(vertices, rim) / _EDGES_ROUND_A_HOLE
        size[rim] = np.minimum(size[rim], most)
    for run in held:
        size[run] = finest
    size = np.clip(size, finest, spacing_mm)
    return _graded(size, ends, edge_lengths(vertices, ends))


def _bend(vertices: FloatArray, normals: FloatArray, ends: IntArray) -> FloatArray:
    """Return about the larger curvature at each vertex, 1/mm, from how normals turn around it.

    Of a surface bent one way only, edges all round see half of the square on average.
    """
    turn = ((normals[ends[:, 0]] - normals[ends[:, 1]]) ** 2).sum(axis=1)
    run = ((vertices[ends[:, 0]] - vertices[ends[:, 1]]) ** 2).sum(axis=1)
    n = len(vertices)
    turned = np.bincount(ends.ravel(), np.repeat(turn, 2), minlength=n)
    ran = np.bincount(ends.ravel(), np.repeat(run, 2), minlength=n)
    return np.asarray(np.sqrt(2.0 * turned / np.maximum(ran, 1e-300)))


def _graded(size: FloatArray, ends: IntArray, length: FloatArray) -> FloatArray:
    """Return the sizes lowered until none exceeds a neighbour's by more than the growth allowed."""
    out = size.copy()
    step = _GROWTH * length
    while True:
        before = out.copy()
        np.minimum.at(out, ends[:, 0], before[ends[:, 1]] + step)
        np.minimum.at(out, ends[:, 1], before[ends[:, 0]] + step)
        if (before - out).max(initial=0.0) < 1e-6:
            return out
