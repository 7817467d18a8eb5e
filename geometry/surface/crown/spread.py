"""From stations back to a mesh's vertices: normals and bends mixed from the stations around."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray
from geometry.fitting import frames_of_normals
from geometry.surface.crown.bends import Bends

_MIXED = 5
_AT_ONCE = 65536
_LIKE_NORMALS = 0.3


@dataclass(frozen=True, eq=False)
class AtVertices:
    """What stations say at vertices; see `Bends`.

    Attributes
    ----------
    normals : (n, 3) float
    bend : (n, 3, 3) float, 1/mm
    standard_error, normal_error : (n,) float
    determined : (n,) bool
    """

    normals: FloatArray
    bend: FloatArray
    standard_error: FloatArray
    normal_error: FloatArray
    determined: BoolArray


def at_vertices(bends: Bends, vertices: FloatArray, vectors: FloatArray) -> AtVertices:
    """Return what the five nearest stations that face the same way say at vertices.

    Each station tells the normal at the vertex by its own bend, not only its own normal: mixing
    then leaves no facets. What mixing calms is not counted in the errors.

    Parameters
    ----------
    bends : Bends
    vertices : (n, 3) float, mm
    vectors : (n, 3) float
        About which way each vertex faces.
    """
    tree = cKDTree(bends.places)
    parts = [
        _mixed(tree, bends, vertices[start : start + _AT_ONCE], vectors[start : start + _AT_ONCE])
        for start in range(0, len(vertices), _AT_ONCE)
    ]
    columns = [np.concatenate(column) for column in zip(*parts, strict=True)]
    return AtVertices(columns[0], columns[1], columns[2], columns[3], columns[4] > 0.5)


def _mixed(
    tree: cKDTree, bends: Bends, vertices: FloatArray, vectors: FloatArray
) -> tuple[FloatArray, ...]:
    width = min(_MIXED, len(bends.places))
    distance, index = (
        np.asarray(found).reshape(len(vertices), -1) for found in tree.query(vertices, k=width)
    )
    far = np.maximum(1.02 * distance[:, -1:], 1e-9)
    share = (1.0 - (distance / far) ** 2) ** 2 + 1e-6
    up = bends.normals[index]  # (n, j, 3)
    facing = np.einsum("nji,ni->nj", up, vectors) > 0.0
    share = share * np.where(facing, 1.0, 1e-6)
    first = np.take_along_axis(up, share.argmax(axis=1)[:, None, None], axis=1)
    share *= np.exp(((up - first) ** 2).sum(axis=2) / (-2.0 * _LIKE_NORMALS**2))
    share *= np.where(bends.determined[index], 1.0, 1e-3)
    share /= share.sum(axis=1, keepdims=True)
    away = vertices[:, None] - bends.places[index]
    bend = bends.bend[index]
    turned = up + np.einsum("njab,njb->nja", bend, away)
    turned /= np.linalg.norm(turned, axis=2, keepdims=True)
    normal = np.einsum("nj,nji->ni", share, turned)
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    mixed = np.einsum("nj,njab->nab", share, bend)
    error = (share * bends.standard_error[index]).sum(axis=1)
    carried = bends.standard_error[index] * distance  # by the bend, from station to vertex
    tilt = (share * np.hypot(bends.normal_error[index], carried)).sum(axis=1)
    sound = (share * bends.determined[index]).sum(axis=1)
    return normal, mixed, error, tilt, sound


def principal(bend: FloatArray, normals: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return (n, 2) principal values of bends within the skin, larger first, and their ways.

    Parameters
    ----------
    bend : (n, 3, 3) float, 1/mm
    normals : (n, 3) float

    Returns
    -------
    (n, 2) float, 1/mm
    (n, 2, 3) float
        Unit, square to each other and to the normal.

    >>> tube = np.diag([0.1, 0.0, 0.0])[None]
    >>> values, ways = principal(tube, np.array([[0.0, 0.0, 1.0]]))
    >>> values.tolist(), np.abs(ways[0, 0]).tolist()
    ([[0.1, 0.0]], [1.0, 0.0, 0.0])
    """
    frames = frames_of_normals(normals)
    u, v = frames[:, 0], frames[:, 1]
    along_u = np.einsum("nab,nb->na", bend, u)
    a = np.einsum("na,na->n", along_u, u)
    b = np.einsum("na,na->n", along_u, v)
    c = np.einsum("na,nab,nb->n", v, bend, v)
    middle, half = (a + c) / 2.0, (a - c) / 2.0
    radius = np.hypot(half, b)
    angle = 0.5 * np.arctan2(b, half)
    first = np.cos(angle)[:, None] * u + np.sin(angle)[:, None] * v
    values = np.stack([middle + radius, middle - radius], axis=1)
    return values, np.stack([first, np.cross(frames[:, 2], first)], axis=1)
