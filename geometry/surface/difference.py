"""Before and after: how far the scan's points lie off the working surface's outside."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import BoolArray, FloatArray, locked
from geometry.mesh import NearestPoint, TriMesh, face_normals


@dataclass(frozen=True, eq=False)
class Difference:
    """How far the scan's points lie off a surface, mm; what is said leaves out guessed places.

    Attributes
    ----------
    median, p95, largest : float
        Of the distances, without sign; not a number where every place is a guess.
    largest_at : (3,) float
        The point of the scan that lies farthest off.
    off : (n,) float
        Of every point of the scan; positive where it stands out of the surface.
    guessed : (n,) bool
        Points whose nearest place of the surface is a guess.
    """

    median: float
    p95: float
    largest: float
    largest_at: FloatArray
    off: FloatArray
    guessed: BoolArray


def difference_of(points: FloatArray, surface: TriMesh, filled: BoolArray) -> Difference:
    """Return how far (n, 3) points of a scan lie off a surface, some of whose faces are filled."""
    near = NearestPoint(surface).find(points)
    normals = face_normals(surface.vertices, surface.faces)[near.faces]
    out = ((points - near.points) * normals).sum(axis=1) >= 0.0
    off = np.where(out, near.distances, -near.distances)
    guessed = filled[near.faces]
    told = np.flatnonzero(~guessed)
    if not len(told):
        none = float("nan")
        return Difference(none, none, none, locked(np.full(3, none)), locked(off), locked(guessed))
    distance = near.distances[told]
    median, p95 = np.percentile(distance, [50.0, 95.0])
    farthest = told[np.argmax(distance)]
    return Difference(
        median=float(median),
        p95=float(p95),
        largest=float(distance.max()),
        largest_at=locked(points[farthest].copy()),
        off=locked(off),
        guessed=locked(guessed),
    )
