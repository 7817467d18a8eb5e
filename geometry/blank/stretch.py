"""Principal stretches between blank and formed panel, and the small matrices behind them."""

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


def singular_values(maps: FloatArray) -> FloatArray:
    """Return the (m, 2) singular values of (m, 2, 2) maps, larger first.

    The second is negative where the map folds over. Closed form.

    >>> singular_values(np.array([[[0.0, -3.0], [2.0, 0.0]]])).tolist()
    [[3.0, 2.0]]
    """
    (a, b), (c, d) = maps.transpose(1, 2, 0)
    larger = (np.hypot(a + d, c - b) + np.hypot(a - d, c + b)) / 2.0
    smaller = np.divide(a * d - b * c, larger, out=np.zeros_like(a), where=larger > 0)
    return np.stack([larger, smaller], axis=1)


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
    maps = np.matmul(flat_vertices[faces].transpose(0, 2, 1), gradients)
    flat_over_formed = singular_values(maps)
    inverted = np.flatnonzero(~(flat_over_formed[:, 1] > 0.0))
    if inverted.size:
        raise InvertedFacesError(inverted)
    return 1.0 / flat_over_formed[:, ::-1]
