"""`SeamGround`, the surface seams are drawn on: a line for the eye at once, the exact one after.

The line for the eye runs over the coarse mesh of the cells (`cells`). The exact line is the
tightest inside a corridor cut out of the surface about it (`corridor`).
"""

from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import Generic, TypeVar

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.errors import GeometryError
from geometry.mesh import (
    Nearest,
    NearestPoint,
    NoPathError,
    SurfacePath,
    SurfacePoint,
    TriMesh,
    joined_paths,
    nearest_points,
    vertex_normals,
)
from geometry.progress import Report, silent
from geometry.progress import part_of as span_of
from geometry.seams.cells import cells_of, mesh_edges, part_of
from geometry.seams.corridor import Corridors
from geometry.seams.eye_copy import EyeCopy
from geometry.seams.routes import Routes

OFF_GROUND_MM = 3.0
"""A point farther off the surface than this is not on it."""

_POINTS_AT_ONCE = 1000
_ON_SIDE = 1e-9
_MOST_KEPT = 1024
_FINE_BELOW = 3.0  # coarse edges: a shorter leg is drawn on the surface itself at once
_FAR_ABOVE = 20.0  # coarse edges: a longer leg is drawn on the coarser of the two copies


LegT = TypeVar("LegT")


class PointOffGroundError(GeometryError):
    """A point of a line lies too far from the surface to be on it.

    Attributes
    ----------
    point : (3,) float, mm
    distance_mm : float
        From the surface; infinite where the point is no number.
    """

    def __init__(self, point: FloatArray, distance_mm: float) -> None:
        self.point, self.distance_mm = point, distance_mm
        super().__init__(f"a point lies {distance_mm:.1f} mm off the surface")


class LineHasNoLengthError(GeometryError):
    """All points of a line lie in one place, or there are too few of them.

    Attributes
    ----------
    points : (k, 3) float, mm
    """

    def __init__(self, points: FloatArray) -> None:
        self.points = points
        super().__init__(f"{len(points)} points make no line")


class SeamGround:
    """A surface lines are drawn on, its set-up kept.

    What is kept may be used and added to by several threads at once.

    Attributes
    ----------
    mesh : TriMesh

    Parameters
    ----------
    mesh : TriMesh
        Manifold, its faces all facing one way out; any number of pieces.
    coarse_edge_mm : float
        How long edges of the copy are, about.
    """

    def __init__(
        self, mesh: TriMesh, *, coarse_edge_mm: float = 6.0, report: Report = silent
    ) -> None:
        if not len(mesh.faces):
            raise ValueError("there is no surface to draw on")
        self.mesh = mesh
        self._edge_mm = coarse_edge_mm
        report(0.0, "edges of the surface")
        edges = mesh_edges(mesh)
        self._piece = edges.piece_of_vertex
        self._rim = np.zeros(len(mesh.vertices), bool)
        self._rim[np.concatenate(np.divmod(edges.rim_key, len(mesh.vertices)))] = True
        self._cells = cells_of(mesh, edges, coarse_edge_mm, report=span_of(report, 0.4, 0.9))
        self._middles = mesh.vertices[self._cells.middle]
        self._tree = cKDTree(self._middles)
        self._widest = float(self._cells.radius.max())
        self._corridors = Corridors(mesh, edges, self._cells)
        report(0.9, "coarse copy")
        self._copies = (self._near_copy(), self._far_copy())
        centres = self._mean_of_cells(mesh.vertices)
        self._cell_normals = self._mean_of_cells(vertex_normals(mesh.vertices, mesh.faces))
        self._routes = Routes(self._cells, self._middles, self._cell_normals)
        coarse = self._cells.coarse.faces
        self._between_cells = NearestPoint(TriMesh(centres, coarse)) if len(coarse) else None
        self._placed: _Kept[tuple[SurfacePoint, float]] = _Kept()
        self._quick_legs: _Kept[tuple[FloatArray, IntArray]] = _Kept()
        self._exact_legs: _Kept[SurfacePath] = _Kept()
        report(1.0, "coarse copy")

    def nearest(self, points: FloatArray) -> Nearest:
        """Return the nearest places of the surface to (k, 3) points, however far.

        The middles of cells bound how far the surface is; cells that reach no nearer are passed
        over.
        """
        points = np.asarray(points, np.float64).reshape(-1, 3)
        if len(points) > _POINTS_AT_ONCE:
            parts = np.array_split(points, -(-len(points) // _POINTS_AT_ONCE))
            found = [self.nearest(part) for part in parts]
            return Nearest(
                np.concatenate([each.points for each in found]),
                np.concatenate([each.faces for each in found]),
                np.concatenate([each.barycentric for each in found]),
                np.concatenate([each.distances for each in found]),
            )
        middle, bound = self._bound(points)
        about = self._tree.query_ball_point(points, bound + self._widest, return_sorted=False)
        cells = np.concatenate(about).astype(np.int64)
        asked = np.repeat(np.arange(len(points)), [len(each) for each in about])
        gap = np.linalg.norm(self._middles[cells] - points[asked], axis=1)
        reached = cells[gap - self._cells.radius[cells] <= bound[asked]]
        faces = self._cells.faces_of(np.unique(np.append(reached, middle)))
        part, _ = part_of(self.mesh, faces)
        near = nearest_points(part, points)
        return Nearest(near.points.copy(), faces[near.faces], near.barycentric, near.distances)

    def _bound(self, points: FloatArray) -> tuple[IntArray, FloatArray]:
        """Return the nearest cell to each point, and how far its nearest vertex is."""
        middle = np.asarray(self._tree.query(points)[1], np.int64)
        size = self._cells.vertex_counts(middle)
        vertices = self.mesh.vertices[self._cells.vertices_of(middle)]
        off = np.linalg.norm(vertices - np.repeat(points, size, axis=0), axis=1)
        return middle, np.minimum.reduceat(off, np.cumsum(size) - size) * (1 + 1e-12)

    def is_on_rim(self, near: Nearest) -> BoolArray:
        """Return (k,) whether places lie on the surface's edge."""
        bears = near.barycentric > _ON_SIDE
        return np.asarray(
            (self._rim[self.mesh.faces[near.faces]] | ~bears).all(axis=1) & ~bears.all(axis=1)
        )

    def normals(self, points: FloatArray) -> FloatArray:
        """Return the (k, 3) outward unit normals of the surface near points, smoothed.

        Those of the cells, about one coarse edge across, blended over the coarse copy: noise of a
        scan is not in them.
        """
        near = self.nearest(points)
        about = self._cells.cell_of_vertex[self.mesh.faces[near.faces]]
        normals = self._cell_normals[about[:, 0]]
        if self._between_cells is not None:
            blend = self._between_cells.find(near.points)
            cells = self._cells.coarse.faces[blend.faces]
            same_skin = (cells[:, :, None] == about[:, None, :]).any(axis=(1, 2))
            blended = np.einsum("kc,kcx->kx", blend.barycentric, self._cell_normals[cells])
            normals = np.where(same_skin[:, None], blended, normals)
        return np.asarray(normals / np.maximum(np.linalg.norm(normals, axis=1), 1e-300)[:, None])

    def place(self, point: FloatArray, *, within_mm: float = OFF_GROUND_MM) -> SurfacePoint:
        """Return the place of the surface nearest to a point.

        Raises
        ------
        PointOffGroundError
            It is farther off than `within_mm`.
        """
        return self.places(np.reshape(point, (1, 3)), within_mm=within_mm)[0]

    def places(
        self, points: FloatArray, *, within_mm: float = OFF_GROUND_MM
    ) -> tuple[SurfacePoint, ...]:
        """Return the places of the surface nearest to points; see `place`."""
        points = np.asarray(points, np.float64).reshape(-1, 3)
        if not len(points):
            return ()
        lost = np.flatnonzero(~np.isfinite(points).all(axis=1))
        if len(lost):
            raise PointOffGroundError(points[lost[0]], np.inf)
        keys = [point.tobytes() for point in points]
        held = [self._placed.get(key) for key in keys]  # looked up once: others may draw here too
        new = [at for at, place in enumerate(held) if place is None]
        fresh: dict[bytes, tuple[SurfacePoint, float]] = {}
        if new:
            near = self.nearest(points[new])
            found = zip(new, near.faces.tolist(), near.barycentric, near.distances, strict=True)
            for at, face, weights, distance in found:
                fresh[keys[at]] = SurfacePoint(face, weights), float(distance)
        placed = [place or fresh[key] for key, place in zip(keys, held, strict=True)]
        self._placed.add(fresh)
        distances = [distance for _, distance in placed]
        worst = int(np.argmax(distances))
        if distances[worst] > within_mm:
            raise PointOffGroundError(points[worst], distances[worst])
        return tuple(place for place, _ in placed)

    def point_at(self, place: SurfacePoint) -> FloatArray:
        """Return where a place lies, mm."""
        return np.asarray(place.barycentric @ self.mesh.vertices[self.mesh.faces[place.face]])

    def quick(self, points: FloatArray, *, closed: bool = False) -> FloatArray:
        """Return a line through points of the surface for the eye, at once.

        It lies within about a millimetre of a shortest line and is never saved. Legs that stay
        between two points are kept, so that dragging a point costs the two beside it.

        Raises
        ------
        PointOffGroundError, NoPathError, LineHasNoLengthError
        """
        legs = [self._quick_leg(a, b)[0] for a, b in self._stops(points, closed)]
        return np.concatenate([legs[0], *(leg[1:] for leg in legs[1:])])

    def exact(
        self, points: FloatArray, *, closed: bool = False, report: Report = silent
    ) -> SurfacePath:
        """Return the line through points of the surface, locally shortest between them.

        Raises
        ------
        PointOffGroundError, NoPathError, LineHasNoLengthError
        """
        stops = self._stops(points, closed)
        legs = []
        for done, (a, b) in enumerate(stops):
            report(done / len(stops), "line over the surface")
            legs.append(self._exact_leg(a, b))
        report(1.0, "line over the surface")
        return joined_paths(legs)

    def _stops(self, points: FloatArray, closed: bool) -> list[tuple[SurfacePoint, SurfacePoint]]:
        """Return from where to where each leg runs; repeats of a point are passed over."""
        points = np.asarray(points, np.float64).reshape(-1, 3)
        places = self.places(points)
        kept: list[SurfacePoint] = []
        for place in [*places, *(places[:1] if closed else ())]:
            if not kept or np.linalg.norm(self.point_at(kept[-1]) - self.point_at(place)) > 0:
                kept.append(place)
        if len(kept) < 2:
            raise LineHasNoLengthError(points)
        return list(pairwise(kept))

    def _quick_leg(self, start: SurfacePoint, end: SurfacePoint) -> tuple[FloatArray, IntArray]:
        """Return a leg for the eye and the cells it runs through."""
        return _remembered(self._quick_legs, start, end, self._new_quick_leg)

    def _new_quick_leg(self, start: SurfacePoint, end: SurfacePoint) -> tuple[FloatArray, IntArray]:
        far = np.linalg.norm(self.point_at(end) - self.point_at(start)) > _FAR_ABOVE * self._edge_mm
        return self._copied_leg(start, end, self._copies[int(far)])

    def _copied_leg(
        self, start: SurfacePoint, end: SurfacePoint, copy: EyeCopy
    ) -> tuple[FloatArray, IntArray]:
        """Return a leg over a copy, and the cells it runs through."""
        ends = np.stack([self.point_at(start), self.point_at(end)])
        corners = self.mesh.faces[[start.face, end.face]]
        about = self._cells.cell_of_vertex[corners]
        if self._piece[corners[0, 0]] != self._piece[corners[1, 0]]:
            raise NoPathError(ends[0], ends[1])
        straight = float(np.linalg.norm(ends[1] - ends[0]))
        if straight < _FINE_BELOW * self._edge_mm:
            cells = np.unique(about)
            return self._corridors.tightest(start, end, cells).points, cells
        line = copy.line(ends, (about[0], about[1]))
        if line is not None:
            return line
        cells = self._routes.walk(int(about[0, 0]), int(about[1, 0]))
        return np.concatenate([ends[:1], self._middles[cells[1:-1]], ends[1:]]), cells

    def _mean_of_cells(self, of_vertices: FloatArray) -> FloatArray:
        """Return the (c, 3) means over the vertices of each cell."""
        used = np.flatnonzero(self._cells.cell_of_vertex >= 0)
        cell, count = self._cells.cell_of_vertex[used], len(self._middles)
        size = np.bincount(cell, minlength=count)
        total = [np.bincount(cell, of_vertices[used, axis], count) / size for axis in range(3)]
        return np.stack(total, axis=1)

    def _near_copy(self) -> EyeCopy:
        cells = np.arange(len(self._middles))[:, None]
        return EyeCopy(self._cells.coarse, tuple(cells))

    def _far_copy(self) -> EyeCopy:
        """Return a copy of the coarse mesh with edges twice as long."""
        near = self._cells.coarse
        far = cells_of(near, mesh_edges(near), 2.0 * self._edge_mm)
        order = np.argsort(far.cell_of_vertex, kind="stable")
        bounds = np.searchsorted(far.cell_of_vertex[order], np.arange(len(far.middle) + 1))
        cells = [order[a:b] for a, b in pairwise(bounds.tolist())]
        return EyeCopy(far.coarse, cells)

    def _exact_leg(self, start: SurfacePoint, end: SurfacePoint) -> SurfacePath:
        return _remembered(self._exact_legs, start, end, self._new_exact_leg)

    def _new_exact_leg(self, start: SurfacePoint, end: SurfacePoint) -> SurfacePath:
        about = self._cells.cell_of_vertex[self.mesh.faces[[start.face, end.face]]]
        cells = self._routes.walk(int(about[0, 0]), int(about[1, 0]))
        if not len(cells):
            raise NoPathError(self.point_at(start), self.point_at(end))
        cells = np.unique(np.concatenate([cells, about.ravel()]))
        return self._corridors.shortest(start, end, cells)


def _remembered(
    kept: "_Kept[LegT]",
    start: SurfacePoint,
    end: SurfacePoint,
    make: Callable[[SurfacePoint, SurfacePoint], LegT],
) -> LegT:
    """Return a leg kept from before, or a new one."""
    key = b"".join(
        np.append(place.barycentric, float(place.face)).tobytes() for place in (start, end)
    )
    known = kept.get(key)
    if known is not None:
        return known
    leg = make(start, end)
    kept.add({key: leg})
    return leg


class _Kept(Generic[LegT]):
    """What was worked out before, the oldest forgotten; several may ask and add at once.

    What is held is never changed, only put in place of what was held before: whoever looks sees
    the one or the other whole. Of two who add at the same moment one may be forgotten, and then
    is worked out again.
    """

    def __init__(self) -> None:
        self._held: dict[bytes, LegT] = {}

    def __iter__(self) -> Iterator[bytes]:
        """Walk over the keys held now."""
        return iter(self._held)

    def get(self, key: bytes) -> LegT | None:
        """Return what is held, None if nothing is."""
        return self._held.get(key)

    def add(self, new: dict[bytes, LegT]) -> None:
        """Hold more."""
        if new:
            held = {**self._held, **new}
            oldest = list(held)[: max(0, len(held) - _MOST_KEPT)]
            for key in oldest:
                del held[key]
            self._held = held
