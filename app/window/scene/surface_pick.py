"""Which place of a surface lies under the pointer: exact, on the whole mesh, whatever is drawn."""

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import pyvista as pv
from vtkmodules.vtkCommonCore import mutable
from vtkmodules.vtkCommonDataModel import vtkStaticCellLocator

from geometry.arrays import FloatArray, IntArray

On = Literal["scan", "surface", "cut", "skin", "picture"]
"""Whose faces are pointed at; "picture" is the plane of the picture, before everything."""


@dataclass(frozen=True, eq=False)
class Hit:
    """A place on a surface.

    Attributes
    ----------
    on : "scan", "surface", "cut", "skin" or "picture"
        Whose face it is.
    face : int
        -1 on the picture.
    point : (3,) float
        File coordinates.
    barycentric : (3,) float
    """

    on: On
    face: int
    point: FloatArray
    barycentric: FloatArray


def poly_data(vertices: FloatArray, faces: IntArray) -> pv.PolyData:
    """Return triangles as VTK holds them."""
    whole: Any = pv.PolyData
    shape: pv.PolyData = whole.from_regular_faces(np.ascontiguousarray(vertices), faces)
    return shape


class SurfacePick:
    """Finds where a ray meets a surface first."""

    def __init__(self, on: On, vertices: FloatArray, faces: IntArray) -> None:
        self.on = on
        self._vertices, self._faces = vertices, faces
        self._locator: Any = vtkStaticCellLocator()
        self._locator.SetDataSet(poly_data(vertices, faces))
        self._locator.BuildLocator()

    def along(self, start: FloatArray, end: FloatArray) -> Hit | None:
        """Return the first place met between two points, or None."""
        how_far, side, face = mutable(0.0), mutable(0), mutable(0)
        place, weights = [0.0, 0.0, 0.0], [0.0, 0.0, 0.0]
        met = self._locator.IntersectWithLine(start, end, 1e-9, how_far, place, weights, side, face)
        if not met:
            return None
        at = int(face)
        point = np.array(place)
        return Hit(self.on, at, point, barycentric(point, self._vertices[self._faces[at]]))


def barycentric(point: FloatArray, corners: FloatArray) -> FloatArray:
    """Return the weights of a triangle's corners at a point in its plane, kept inside it."""
    a, b, c = corners
    ab, ac, ap = b - a, c - a, point - a
    d00, d01, d11 = float(ab @ ab), float(ab @ ac), float(ac @ ac)
    d20, d21 = float(ap @ ab), float(ap @ ac)
    det = d00 * d11 - d01 * d01
    if det <= 0.0:
        return np.array([1.0, 0.0, 0.0])
    v, w = (d11 * d20 - d01 * d21) / det, (d00 * d21 - d01 * d20) / det
    weights = np.clip([1.0 - v - w, v, w], 0.0, 1.0)
    return np.asarray(weights / weights.sum(), np.float64)
