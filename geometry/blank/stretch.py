"""Principal stretches between blank and formed panel, and the small matrices behind them."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.errors import GeometryError


class InvertedFacesError(GeometryError):
    """Faces that are folded over or have no area on the blank.

    Attributes
    ----------
    faces : (k,) int
    """

    def __init__(self, faces: IntArray) -> None:
        self.faces = faces
        super().__init__(f"{len(faces)} faces are folded over on the blank")


@dataclass(frozen=True, eq=False)
class RotatedStretches:
    """A 2x2 map of every face, split as U diag(s) V^T with U and V rotations.

    Attributes
    ----------
    u, v : (m, 2, 2)
    s : (m, 2)
        Larger first; the second is negative where the map folds over.
    """

    u: FloatArray
    s: FloatArray
    v: FloatArray


def rest_frames(vertices: FloatArray, faces: IntArray) -> FloatArray:
    """Return (m, 2, 2): the two edges from each face's first corner, as columns in its own plane.

    The first axis runs along the first edge, the second towards the third corner.
    """
    first = vertices[faces[:, 1]] - vertices[faces[:, 0]]
    second = vertices[faces[:, 2]] - vertices[faces[:, 0]]
    length = np.linalg.norm(first, axis=1)
    along = (first * second).sum(axis=1) / length
    height = np.linalg.norm(np.cross(first, second), axis=1) / length
    frames = np.zeros((len(faces), 2, 2))
    frames[:, 0, 0], frames[:, 0, 1], frames[:, 1, 1] = length, along, height
    return frames


def shape_gradients(frames: FloatArray) -> FloatArray:
    """Return (m, 3, 2), 1/mm: the gradients of the three corner functions in the face's plane."""
    length, along, height = frames[:, 0, 0], frames[:, 0, 1], frames[:, 1, 1]
    gradients = np.zeros((len(frames), 3, 2))
    gradients[:, 1, 0] = 1.0 / length
    gradients[:, 1, 1] = -along / (length * height)
    gradients[:, 2, 1] = 1.0 / height
    gradients[:, 0] = -gradients[:, 1] - gradients[:, 2]
    return gradients


def face_maps(flat_vertices: FloatArray, faces: IntArray, gradients: FloatArray) -> FloatArray:
    """Return (m, 2, 2): the linear map of each face from formed plane to blank."""
    maps: FloatArray = np.matmul(flat_vertices[faces].transpose(0, 2, 1), gradients)
    return maps


def split_rotations(maps: FloatArray) -> RotatedStretches:
    """Split each (2, 2) map J into U diag(s) V^T in closed form.

    >>> split_rotations(np.array([[[0.0, -3.0], [2.0, 0.0]]])).s.tolist()
    [[3.0, 2.0]]
    """
    a, b, c, d = maps[:, 0, 0], maps[:, 0, 1], maps[:, 1, 0], maps[:, 1, 1]
    e, f, g, h = (a + d) / 2, (a - d) / 2, (c + b) / 2, (c - b) / 2
    turn, skew = np.arctan2(h, e), np.arctan2(g, f)  # U V^T angle, U V angle
    larger = np.hypot(e, h) + np.hypot(f, g)
    smaller = np.divide(a * d - b * c, larger, out=np.zeros_like(a), where=larger > 0)
    return RotatedStretches(
        _rotation((turn + skew) / 2),
        np.stack([larger, smaller], axis=1),
        _rotation((skew - turn) / 2),
    )


def _rotation(angle: FloatArray) -> FloatArray:
    cosine, sine = np.cos(angle), np.sin(angle)
    return np.stack([np.stack([cosine, -sine], -1), np.stack([sine, cosine], -1)], -2)


def principal_stretches(
    vertices: FloatArray, flat_vertices: FloatArray, faces: IntArray
) -> FloatArray:
    """Return the larger and the smaller stretch of every face, blank to formed panel.

    Parameters
    ----------
    vertices : (n, 3) float, mm
        Where the vertices lie on the formed panel.
    flat_vertices : (n, 2) float, mm
        Where the same vertices lie on the blank.
    faces : (m, 3) int
        Counter-clockwise on the blank.

    Returns
    -------
    (m, 2) float
        Formed length over flat length, larger first: above 1 stretch, below 1 shrink.

    Raises
    ------
    InvertedFacesError
        Faces folded over or without area on the blank; carries their indices.

    Source: [sander2001], singular values of the map from the plane.

    >>> tri = np.array([[0, 1, 2]])
    >>> flat = np.array([[0.0, 0], [1, 0], [0, 1]])
    >>> principal_stretches(np.array([[0.0, 0, 5], [1.1, 0, 5], [0, 0.9, 5]]), flat, tri).round(9)
    array([[1.1, 0.9]])
    """
    gradients = shape_gradients(rest_frames(vertices, faces))
    flat_over_formed = split_rotations(face_maps(flat_vertices, faces, gradients)).s
    inverted = np.flatnonzero(~(flat_over_formed[:, 1] > 0.0))
    if inverted.size:
        raise InvertedFacesError(inverted)
    return 1.0 / flat_over_formed[:, ::-1]
