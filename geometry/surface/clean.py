"""A scan cleaned on its own triangles: normals filtered without blunting creases, then followed.

Good enough to guide triangles and to tell the two sides of a crease apart; the exact place of the
surface is fitted to the scan's own points in `smooth`.
"""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array, csr_array

from geometry.arrays import FloatArray, IntArray
from geometry.mesh import TriMesh, face_areas, face_normals
from geometry.progress import Report, silent
from geometry.surface.net import columns_of, dot_columns, edges_of

_NORMAL_ROUNDS = 8
_PLACE_ROUNDS = 12
_CALMING_ROUNDS = 2
_LEAST_SPREAD, _MOST_SPREAD = 0.12, 0.5


@dataclass(frozen=True, eq=False)
class CleanScan:
    """A scan's triangles with the noise taken off.

    Attributes
    ----------
    vertices : (n, 3) float, mm
    faces : (m, 3) int
    face_normals, vertex_normals : (m, 3), (n, 3) float
        Filtered; a vertex has the mean of its faces'.
    spread : float, rad
        How much neighbouring normals of the raw scan differ by noise alone.
    """

    vertices: FloatArray
    faces: IntArray
    face_normals: FloatArray
    vertex_normals: FloatArray
    spread: float


def cleaned(scan: TriMesh, *, report: Report = silent) -> CleanScan:
    """Return the scan with normals averaged among like neighbours and vertices moved to suit.

    Source: own derivation of the two-step scheme common in the literature (bilateral filter of
    face normals, then least squares of vertices to the faces' planes).
    """
    vertices = scan.vertices
    normals = face_normals(vertices, scan.faces)
    spread = _noise_spread(scan.faces, normals)
    for _ in range(_CALMING_ROUNDS if spread >= _MOST_SPREAD else 0):
        vertices = _calmed(vertices, scan.faces)
        normals = face_normals(vertices, scan.faces)
    area = face_areas(vertices, scan.faces)
    near = _faces_sharing_a_vertex(scan.faces, len(scan.vertices))
    row = np.repeat(np.arange(len(normals)), np.diff(near.indptr))
    for turn in range(_NORMAL_ROUNDS):
        report(0.7 * turn / _NORMAL_ROUNDS, "filter the normals")
        normals = _averaged_with_like(normals, area, near, row, spread)
    vertices = vertices.copy()
    for turn in range(_PLACE_ROUNDS):
        report(0.7 + 0.3 * turn / _PLACE_ROUNDS, "clean the scan")
        vertices += _towards_planes(vertices, scan.faces, normals)
    at_vertex = _mean_at_vertices(normals * area[:, None], scan.faces, len(vertices))
    report(1.0, "clean the scan")
    return CleanScan(vertices, scan.faces, normals, at_vertex, spread)


def _calmed(vertices: FloatArray, faces: IntArray) -> FloatArray:
    """Return the vertices drawn halfway to the middle of their neighbours, those of rims left.

    For scans whose noise is so near to their spacing that faces lie folded over one another: they
    give no normals to begin with.
    """
    table = edges_of(faces)
    ends = table.ends.ravel()
    across = table.ends[:, ::-1].ravel()
    n = len(vertices)
    count = np.bincount(ends, minlength=n)
    total = np.stack([np.bincount(ends, vertices[across, k], n) for k in range(3)], axis=1)
    middle = total / np.maximum(count, 1)[:, None]
    held = count == 0
    held[table.ends[table.is_rim]] = True
    return np.where(held[:, None], vertices, (vertices + middle) / 2.0)


def _noise_spread(faces: IntArray, normals: FloatArray) -> float:
    """Return the width of the filter: from the middle angle between neighbouring faces."""
    pair = edges_of(faces).faces
    pair = pair[(pair >= 0).all(axis=1)]
    if not len(pair):
        return _LEAST_SPREAD
    apart = np.linalg.norm(normals[pair[:, 0]] - normals[pair[:, 1]], axis=1)
    return float(np.clip(1.5 * np.median(apart), _LEAST_SPREAD, _MOST_SPREAD))


def _faces_sharing_a_vertex(faces: IntArray, vertex_count: int) -> csr_array:
    """Return (m, m) with an entry where two faces, or a face and itself, share a vertex."""
    m = len(faces)
    ones = np.ones(3 * m, np.float32)
    places = (np.repeat(np.arange(m), 3), faces.ravel())
    corner = coo_array((ones, places), shape=(m, vertex_count)).tocsr()
    return (corner @ corner.T).tocsr()


def _averaged_with_like(
    normals: FloatArray, area: FloatArray, near: csr_array, row: IntArray, spread: float
) -> FloatArray:
    """Return the normals, each the mean of its neighbours' weighted by area and likeness.

    `row` is the row of every entry of `near`.
    """
    apart = np.zeros(len(row))
    for axis in columns_of(normals):
        apart += (axis[row] - axis[near.indices]) ** 2
    weight = area[near.indices] * np.exp(apart / (-2.0 * spread * spread))
    shares = csr_array((weight, near.indices, near.indptr), shape=near.shape)
    total = np.asarray(shares @ normals)
    length = np.linalg.norm(total, axis=1, keepdims=True)
    return np.asarray(np.divide(total, length, out=normals.copy(), where=length > 0))


def _towards_planes(vertices: FloatArray, faces: IntArray, normals: FloatArray) -> FloatArray:
    """Return the mean step of each vertex towards the planes of its faces."""
    corners = np.ascontiguousarray(faces.T)
    places, ways = columns_of(vertices), columns_of(normals)
    middle = [(axis[corners[0]] + axis[corners[1]] + axis[corners[2]]) / 3.0 for axis in places]
    step = np.zeros_like(vertices)
    for at in corners:
        x, y, z = (mean - axis[at] for mean, axis in zip(middle, places, strict=True))
        off = dot_columns((x, y, z), ways)
        for axis, way in enumerate(ways):
            step[:, axis] += np.bincount(at, off * way, minlength=len(vertices))
    count = np.bincount(faces.ravel(), minlength=len(vertices))
    return np.asarray(step / np.maximum(count, 1)[:, None])


def _mean_at_vertices(values: FloatArray, faces: IntArray, vertex_count: int) -> FloatArray:
    total = np.zeros((vertex_count, 3))
    for corner in range(3):
        for axis in range(3):
            total[:, axis] += np.bincount(faces[:, corner], values[:, axis], minlength=vertex_count)
    length = np.linalg.norm(total, axis=1, keepdims=True)
    return np.asarray(np.divide(total, length, out=np.zeros_like(total), where=length > 0))
