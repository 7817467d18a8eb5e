"""`ScanUnder`: the exact line of a seam on the scan itself, beside the line that is cut. No Qt.

The shortest way over the raw triangles of a scan is led astray by its noise: 0.05 mm of it at
points 0.67 mm apart add 3 parts in 1,000 to lengths, more one way than another, and that bows a
400 mm line by up to 28 mm. So the line that is cut, shortest over the surface with the noise taken
out, leads: places close along it are laid on the scan, and from each to the next the line is the
shortest over the scan's own triangles. Where nothing was scanned it stays on the filling.
"""

from collections import OrderedDict
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.errors import GeometryError
from geometry.mesh import (
    NonManifoldError,
    PathFinder,
    SurfacePath,
    SurfacePoint,
    TriMesh,
    nearest_points,
)
from geometry.polyline import in_pieces, lengths_along, line_length
from geometry.seams import OFF_GROUND_MM

GUIDE_MM = 8.0
"""From place to place of the line that is cut, where the scan's line is held to it."""

_WIDER_MM = 4.0
_TRIES = 3
_AROUND_EVERY_MM = 4.0
_LEAST_MM = 1.0  # shorter pieces between two fillings stay as they are
_MOST_KEPT = 400


@dataclass(frozen=True, eq=False)
class ExactLine:
    """A seam as it runs.

    Attributes
    ----------
    points : (k, 3) float
        No rows where no line runs.
    beside_mm : float
        How far it lies from the line that is cut, at most.
    """

    points: FloatArray
    beside_mm: float = 0.0


class ScanUnder:
    """The tidied scan under the surface that is cut; set up when first asked.

    Attributes
    ----------
    mesh : TriMesh
        The scan, mm.

    Parameters
    ----------
    mesh : TriMesh
    guessed : (m,) bool
        Faces of the surface that is cut where nothing was scanned.
    """

    def __init__(self, mesh: TriMesh, guessed: BoolArray) -> None:
        self.mesh, self._guessed = mesh, guessed
        self._tree: cKDTree | None = None
        self._kept: OrderedDict[bytes, ExactLine] = OrderedDict()

    def under(self, path: SurfacePath) -> ExactLine:
        """Return the line on the scan that belongs to a path over the surface that is cut, mm."""
        ends = np.unique([0, *path.corners.tolist(), len(path.points) - 1])
        legs = [
            self._leg(path.points[a : b + 1], self._guessed[path.faces[a:b]])
            for a, b in pairwise(ends.tolist())
        ]
        points = [legs[0].points, *(leg.points[1:] for leg in legs[1:])]
        return ExactLine(np.concatenate(points), max(leg.beside_mm for leg in legs))

    def _leg(self, line: FloatArray, guessed: BoolArray) -> ExactLine:
        key = line.tobytes()
        known = self._kept.get(key)
        if known is None:
            known = self._kept[key] = self._new_leg(line, guessed)
            while len(self._kept) > _MOST_KEPT:
                self._kept.popitem(last=False)
        return known

    def _new_leg(self, line: FloatArray, guessed: BoolArray) -> ExactLine:
        """Return a leg in runs that were scanned, laid on the scan, and runs over fillings."""
        turns = np.flatnonzero(np.diff(guessed)) + 1
        laid, most = [line[:1]], 0.0
        for a, b in pairwise([0, *turns.tolist(), len(guessed)]):
            run = line[a : b + 1]
            if not guessed[a] and lengths_along(run)[-1] >= _LEAST_MM:
                run = self._laid(run)
            most = max(most, float(_off(run, line).max()))
            laid.append(run if len(laid) == 1 else run[1:])
        return ExactLine(np.concatenate(laid[1:]), most)

    def _laid(self, run: FloatArray) -> FloatArray:
        """Return a run laid on the scan; as it is where the scan has no way there."""
        for attempt in range(_TRIES):
            strip = self._strip(run, GUIDE_MM + (attempt + 1) * _WIDER_MM)
            if strip is None:
                return run
            try:
                return _shortest_through(strip, _places(run, GUIDE_MM), run)
            except NonManifoldError:  # a strip pinched at its edge: a wider one need not be
                continue
            except GeometryError:
                return run
        return run

    def _strip(self, run: FloatArray, radius_mm: float) -> TriMesh | None:
        """Return the scan about a line, None where there is none."""
        if self._tree is None:
            self._tree = cKDTree(self.mesh.vertices, balanced_tree=False, compact_nodes=False)
        about = self._tree.query_ball_point(
            _places(run, _AROUND_EVERY_MM), radius_mm, return_sorted=False
        )
        inside = np.zeros(len(self.mesh.vertices), bool)
        inside[np.concatenate(about).astype(np.int64)] = True
        faces: IntArray = np.flatnonzero(inside[self.mesh.faces].any(axis=1))
        if not len(faces):
            return None
        used, corner = np.unique(self.mesh.faces[faces], return_inverse=True)
        return TriMesh(self.mesh.vertices[used], corner.reshape(-1, 3))


def _shortest_through(strip: TriMesh, places: FloatArray, run: FloatArray) -> FloatArray:
    """Return the line over a strip of the scan, shortest from place to place; else the run."""
    near = nearest_points(strip, places)
    if near.distances.max() > OFF_GROUND_MM or not np.ptp(near.points, axis=0).any():
        return run
    stops = [SurfacePoint(int(f), w) for f, w in zip(near.faces, near.barycentric, strict=True)]
    return PathFinder(strip).through(stops).points


def _places(line: FloatArray, spacing_mm: float) -> FloatArray:
    """Return even places along a line, no farther apart than asked, both ends among them."""
    return in_pieces(line, max(1, int(np.ceil(line_length(line) / spacing_mm))))


def _off(points: FloatArray, line: FloatArray) -> FloatArray:
    """Return how far points lie from a line joined straight."""
    start, step = line[:-1], np.diff(line, axis=0)
    square = np.maximum((step * step).sum(axis=1), 1e-300)
    along = (points @ step.T - (start * step).sum(axis=1)) / square
    nearest = start + np.clip(along, 0.0, 1.0)[:, :, None] * step
    return np.asarray(np.linalg.norm(nearest - points[:, None], axis=2).min(axis=1))
