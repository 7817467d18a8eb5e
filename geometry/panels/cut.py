"""Cutting the whole surface along seams: where they run, and which panel each face is in."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple, Protocol

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.mesh import SurfacePoint, TriMesh, edge_table, face_areas
from geometry.panels.growing import Growing, with_seam
from geometry.panels.holes import along_holes, holes_at, led_over_holes
from geometry.panels.on_surface import check_on_surface
from geometry.panels.overshoot import without_overshoots
from geometry.panels.seam import (
    Seam,
    SeamCrossesItselfError,
    SeamDoesNotPartError,
    SeamDoublesBackError,
    SeamError,
    SeamLeavesSliverError,
    SeamPath,
    SeamTooShortError,
)
from geometry.panels.slivers import check_wide_enough
from geometry.panels.tidying import tidied
from geometry.progress import Report, silent
from geometry.seams import self_meetings
from geometry.surface import Opening

END_TOLERANCE_MM = 6.0
LEAST_STEP = 0.4
"""Of a face's width: seam points nearer together than this add nothing but needles."""
NEAR_EDGE = 0.08
"""Weight of a corner below which a point in a face moves to the opposite edge, to spare needles."""


class Surface(Protocol):
    """What cutting needs of a working surface; see `geometry.surface.WorkingSurface`."""

    @property
    def mesh(self) -> TriMesh: ...  # noqa: D102
    @property
    def outside(self) -> FloatArray: ...  # noqa: D102
    @property
    def filled(self) -> BoolArray: ...  # noqa: D102
    @property
    def copied(self) -> BoolArray: ...  # noqa: D102
    @property
    def openings(self) -> tuple[Opening, ...]: ...  # noqa: D102
    @property
    def scan_face(self) -> IntArray: ...  # noqa: D102
    @property
    def lines(self) -> tuple[IntArray, ...]: ...  # noqa: D102


@dataclass(frozen=True, eq=False)
class CutSurface:
    """The surface with every seam made edges, and the panels they part.

    Attributes
    ----------
    mesh : TriMesh
        Middle of the metal.
    outside : (n, 3) float, mm
    filled : (m,) bool
        Not scanned: a guess.
    copied : (m,) bool
        Made from the tank's other side.
    scan_face_of_face : (m,) int
        The face of the scan under each face.
    seam_paths : tuple of SeamPath
        In the order the seams were given.
    panel_of_face : (m,) int
        0 for the panel of largest area, and so on.
    openings : tuple of Opening
    lines : tuple of (k, 3) float, mm
        The locked lines, on the middle of the metal.
    """

    mesh: TriMesh
    outside: FloatArray
    filled: BoolArray
    copied: BoolArray
    scan_face_of_face: IntArray
    seam_paths: tuple[SeamPath, ...]
    panel_of_face: IntArray
    openings: tuple[Opening, ...]
    lines: tuple[FloatArray, ...] = ()

    def joints(self, path: SeamPath) -> tuple[IntArray, ...]:
        """Return the runs of vertices of a seam that have metal on both sides.

        One, unless it passes an open hole: along the hole's edge there is nothing to join. A
        closed run repeats its first vertex.
        """
        key = np.sort(path.edges, axis=1) @ np.array([len(self.mesh.vertices), 1])
        table = edge_table(self.mesh.faces)
        rim = table.edges[table.face_count == 1] @ np.array([len(self.mesh.vertices), 1])
        joined = ~np.isin(key, rim)
        run = np.append(path.vertices, path.vertices[0]) if path.closed else path.vertices
        if joined.all():
            return (run,)
        if path.closed:  # begin after an edge that joins nothing
            first = int(np.flatnonzero(~joined)[0]) + 1
            run = np.append(np.roll(path.vertices, -first), path.vertices[first % len(joined)])
            joined = np.roll(joined, -first)
        change = np.flatnonzero(np.diff(joined.astype(np.int8), prepend=0, append=0))
        return tuple(run[a : b + 1] for a, b in change.reshape(-1, 2).tolist())


def cut_along(
    surface: Surface,
    seams: Sequence[Seam],
    *,
    end_tolerance_mm: float = END_TOLERANCE_MM,
    report: Report = silent,
) -> CutSurface:
    """Return the surface cut along seams.

    Each seam is joined over the surface by shortest lines from point to point, its ends drawn to
    the rim or the other seam they lie near, and cut back to it where they go a hair across it
    (how far that is, `geometry.panels.overshoot` says). A seam waits until what it ends on is
    there; where seams wait for each other, one is laid and the next is led through its free end.

    Parameters
    ----------
    surface : WorkingSurface
    seams : sequence of Seam
    end_tolerance_mm : float
        How far an end may be from the rim or seam it is meant to meet.
    report : Report

    Raises
    ------
    SeamOffSurfaceError, SeamNotScannedError, SeamTooShortError, SeamCrossesItselfError,
    SeamDoesNotPartError, SeamLeavesSliverError, SeamDoublesBackError
    NoPathError
        Seam points on pieces that do not hang together.
    """
    return Cutter(surface).cut(seams, end_tolerance_mm=end_tolerance_mm, report=report)


class Cutter:
    """One surface cut along seams again and again, the set-up and what was laid last kept.

    Seams are laid one after another: as far as they come as they did the last time, the surface
    with them laid is there. What comes out is what `cut_along` gives.

    Parameters
    ----------
    surface : WorkingSurface
    """

    def __init__(self, surface: Surface) -> None:
        mesh = surface.mesh
        self._surface = surface
        self._spacing = _spacing(mesh)
        self._bare = Growing(mesh.vertices, surface.outside, mesh.faces, np.arange(len(mesh.faces)))
        self._laid: list[tuple[Seam, Growing]] = []
        self._tolerance_mm = END_TOLERANCE_MM

    def cut(
        self,
        seams: Sequence[Seam],
        *,
        end_tolerance_mm: float = END_TOLERANCE_MM,
        report: Report = silent,
    ) -> CutSurface:
        """Return the surface cut along seams; see `cut_along`."""
        try:
            return self._cut(seams, end_tolerance_mm, report)
        except SeamError as error:
            raise _told_truly(error, seams) from error

    def _cut(self, seams: Sequence[Seam], end_tolerance_mm: float, report: Report) -> CutSurface:
        mesh, surface = self._surface.mesh, self._surface
        outside = TriMesh(surface.outside, mesh.faces)
        seams = [led_over_holes(self._bare, outside, seam) for seam in seams]
        check_on_surface(outside, self._bare.skin, surface.filled, seams, end_tolerance_mm)
        grown = self._all_laid(seams, end_tolerance_mm, report)
        _check_ends_meet(grown)
        report(0.8, "even out the triangles")
        grown = tidied(grown)
        report(0.9, "tell the panels apart")
        paths = {path.name: path for path in grown.seams}
        labels = _labels(grown)
        for path in grown.seams:
            _check_parts(grown, path, labels)
        check_wide_enough(grown, labels)
        report(1.0, "tell the panels apart")
        return CutSurface(
            mesh=grown.mesh,
            outside=locked(grown.outside),
            filled=locked(surface.filled[grown.parent]),
            copied=locked(surface.copied[grown.parent]),
            scan_face_of_face=locked(surface.scan_face[mesh.faces[grown.parent, 0]]),
            seam_paths=tuple(paths[seam.name] for seam in seams),
            panel_of_face=locked(labels),
            openings=surface.openings,
            lines=tuple(locked(mesh.vertices[line]) for line in surface.lines),
        )

    def _all_laid(self, seams: Sequence[Seam], tolerance_mm: float, report: Report) -> Growing:
        """Return the surface with all seams laid, each as soon as what it ends on is there."""
        before = self._laid if tolerance_mm == self._tolerance_mm else []
        self._laid, self._tolerance_mm = [], tolerance_mm
        grown, waiting = self._bare, list(seams)
        while waiting:
            report(0.8 * len(self._laid) / len(seams), "cut along the seams")
            seam = waiting.pop(_next_ready(grown, waiting, tolerance_mm))
            at = len(self._laid)
            if at < len(before) and _is_same(seam, before[at][0]):
                grown = before[at][1]
            else:
                before = []
                grown = _laid(grown, seam, self._spacing, tolerance_mm)
            self._laid.append((seam, grown))
        return grown


def _told_truly(error: SeamError, seams: Sequence[Seam]) -> SeamError:
    """Return the error, or that the seam doubles back where that is what is behind it.

    A tail that lies on its own way ends on nothing, meets itself or leaves slivers.
    """
    behind = (SeamDoesNotPartError, SeamCrossesItselfError, SeamLeavesSliverError)
    (seam,) = [seam for seam in seams if seam.name == error.seam][:1]
    if not isinstance(error, behind) or (isinstance(error, SeamLeavesSliverError) and error.other):
        return error
    for meeting in self_meetings(seam.points, closed=seam.closed):
        if meeting.kind == "doubles back":
            return SeamDoublesBackError(seam.name, meeting.point)
    return error


def _is_same(seam: Seam, other: Seam) -> bool:
    """Return whether two seams are drawn alike to the last digit, and named alike."""
    return (
        seam.name == other.name
        and seam.closed == other.closed
        and np.array_equal(seam.points, other.points)
    )


def _spacing(mesh: TriMesh) -> FloatArray:
    """Return how wide each face is: the side of the even triangle as large."""
    return np.asarray(np.sqrt(4.0 / np.sqrt(3.0) * face_areas(mesh.vertices, mesh.faces)))


def _next_ready(grown: Growing, waiting: Sequence[Seam], tolerance_mm: float) -> int:
    """Return the first waiting seam whose ends meet a rim or a seam that is there.

    Failing that, the first whose ends meet those or other waiting seams.
    """
    short: list[tuple[float, int, FloatArray]] = []
    for index, seam in enumerate(waiting):
        if seam.closed:
            return index
        if (_off_lines(grown, seam.points[[0, -1]]).off <= tolerance_mm).all():
            return index
    for index, seam in enumerate(waiting):
        ends = seam.points[[0, -1]]
        gap = _off_lines(grown, ends).off
        others = [other for other in waiting if other is not seam]
        for other in others:
            gap = np.minimum(gap, [_along_drawn(other, end)[1] for end in ends])
        if (gap <= tolerance_mm).all():
            return index
        worst = int(np.argmax(gap))
        short.append((float(gap[worst]), index, ends[worst]))
    gap_mm, index, place = min(short, key=lambda entry: entry[0])
    raise SeamDoesNotPartError(waiting[index].name, place, gap_mm)


def _along_drawn(seam: Seam, point: FloatArray) -> tuple[int, float]:
    """Return after which of a seam's points the point lies, and how far off the drawn line."""
    ends = np.concatenate([seam.points, seam.points[:1]]) if seam.closed else seam.points
    start, run = ends[:-1], np.diff(ends, axis=0)
    square = np.maximum((run * run).sum(axis=1), 1e-300)
    t = np.clip(((point - start) * run).sum(axis=1) / square, 0.0, 1.0)
    gap = np.linalg.norm(point - start - t[:, None] * run, axis=1)
    best = int(np.argmin(gap))
    return best, float(gap[best])


class _OffLines(NamedTuple):
    """How far places are from the nearest rim or seam, (k,) mm, and where that is."""

    off: FloatArray
    edges: IntArray  # (k, 2)
    along: FloatArray  # (k,) of the edge


def _off_lines(grown: Growing, points: FloatArray) -> _OffLines:
    """Return how far (k, 3) points are from rims and seams, outside."""
    edges = grown.line_edges
    count = len(points)
    if not len(edges):  # a closed surface before its first seam
        return _OffLines(np.full(count, np.inf), np.full((count, 2), -1), np.zeros(count))
    start, run = grown.outside[edges[:, 0]], grown.outside[edges[:, 1]] - grown.outside[edges[:, 0]]
    square = np.maximum((run * run).sum(axis=1), 1e-300)
    best, along, off = np.empty(count, np.int64), np.empty(count), np.empty(count)
    for k, point in enumerate(points):
        t = np.clip(((point - start) * run).sum(axis=1) / square, 0.0, 1.0)
        gap = np.linalg.norm(point - start - t[:, None] * run, axis=1)
        best[k] = np.argmin(gap)
        along[k], off[k] = t[best[k]], gap[best[k]]
    return _OffLines(off, edges[best], along)


def _on_lines(grown: Growing, point: FloatArray) -> tuple[SurfacePoint, float]:
    """Return the nearest place on a rim or seam for a point, and how far it is outside."""
    (off,), (edge,), (t,) = _off_lines(grown, point[None])
    if edge[0] < 0:
        return SurfacePoint(0, np.full(3, 1 / 3)), float(off)
    along = 0.0 if t < NEAR_EDGE else 1.0 if t > 1.0 - NEAR_EDGE else float(t)
    return _on_edge(grown.faces, edge, along), float(off)


def _on_edge(faces: IntArray, edge: IntArray, along: float) -> SurfacePoint:
    face = int(np.flatnonzero(np.isin(faces, edge).sum(axis=1) == 2)[0])
    share = np.where(faces[face] == edge[0], 1.0 - along, 0.0)
    share = share + np.where(faces[face] == edge[1], along, 0.0)
    return SurfacePoint(face, share)


def _laid(grown: Growing, seam: Seam, spacing: FloatArray, tolerance_mm: float) -> Growing:
    """Return the surface with one more seam."""
    seam = _ended_where_met(grown, seam, spacing)
    seam = _through_free_ends(grown, seam, tolerance_mm)
    found = grown.skin.find(seam.points)
    places = [
        SurfacePoint(int(face), _off_needles(share))
        for face, share in zip(found.faces, found.barycentric, strict=True)
    ]
    beside_ends = np.zeros(len(places), bool)
    at_hole = holes_at(grown, seam.points) >= 0
    if not seam.closed:
        for k in (0, -1):
            places[k], gap = _end_place(grown, seam.points[k], places[k], tolerance_mm)
            place = places[k].barycentric @ grown.outside[grown.faces[places[k].face]]
            beside_ends |= np.linalg.norm(seam.points - place, axis=1) < gap
        beside_ends[[0, -1]] = False
    kept = np.flatnonzero(~beside_ends)
    places = [places[k] for k in kept.tolist()]
    places = _apart(grown, places, spacing, at_hole[kept], closed=seam.closed)
    if len(places) < (3 if seam.closed else 2):
        raise SeamTooShortError(seam.name, seam.points[0])
    path = along_holes(grown, grown.finder.through(places, closed=seam.closed))
    if not seam.closed:
        path = without_overshoots(grown, path, tolerance_mm)
        if len(path.points) < 2:
            raise SeamTooShortError(seam.name, seam.points[0])
    return with_seam(grown, seam.name, path, closed=seam.closed)


def _ended_where_met(grown: Growing, seam: Seam, spacing: FloatArray) -> Seam:
    """Return an open seam without what runs along a rim or seam before it ends there."""
    if seam.closed or len(seam.points) < 3:
        return seam
    away = np.flatnonzero(
        _off_lines(grown, seam.points).off > LEAST_STEP * float(np.median(spacing))
    )
    if not len(away):
        return seam
    first, last = max(int(away[0]) - 1, 0), int(away[-1]) + 2
    return Seam(seam.name, seam.points[first:last])


def _end_place(
    grown: Growing, point: FloatArray, nearest: SurfacePoint, tolerance_mm: float
) -> tuple[SurfacePoint, float]:
    """Return where a seam's end goes, and how far it was drawn, outside.

    To a free end of another seam within reach, else to the nearest rim or seam, else, free for now
    and waiting for a later seam to be led through it, to a corner of its face.
    """
    free = np.array(grown.free_ends(), np.int64)
    off = np.linalg.norm(grown.outside[free] - point, axis=1)
    if len(free) and off.min() <= tolerance_mm:
        vertex = free[off.argmin()]
        face = int(np.flatnonzero((grown.faces == vertex).any(axis=1))[0])
        return SurfacePoint(face, (grown.faces[face] == vertex).astype(np.float64)), float(
            off.min()
        )
    end, gap = _on_lines(grown, point)
    if gap <= tolerance_mm:
        return end, gap
    return SurfacePoint(nearest.face, np.eye(3)[nearest.barycentric.argmax()]), 0.0


def _through_free_ends(grown: Growing, seam: Seam, tolerance_mm: float) -> Seam:
    """Return the seam led through ends of laid seams that lie beside it and meet nothing yet."""
    for vertex in grown.free_ends():
        place = grown.outside[vertex]
        at, gap = _along_drawn(seam, place)
        if gap > tolerance_mm:
            continue
        off = np.linalg.norm(seam.points - place, axis=1)
        if not seam.closed and off[[0, -1]].min() <= tolerance_mm:
            continue  # this seam's own end is drawn to it
        near = off <= tolerance_mm
        before = int((~near[: at + 1]).sum())
        points = np.insert(seam.points[~near], before, place, axis=0)
        seam = Seam(seam.name, points, seam.closed)
    return seam


def _check_ends_meet(grown: Growing) -> None:
    """Raise if a seam ends in the middle of the surface."""
    for path in grown.seams:
        for vertex in (path.vertices[0], path.vertices[-1]):
            if not path.closed and int(vertex) in grown.free_ends():
                others = replace(grown, seams=tuple(p for p in grown.seams if p is not path))
                (gap,) = _off_lines(others, grown.outside[[vertex]]).off
                raise SeamDoesNotPartError(path.name, grown.outside[vertex], float(gap))


def _off_needles(share: FloatArray) -> FloatArray:
    """Return corner weights with the small ones given up."""
    kept = np.where(share < NEAR_EDGE, 0.0, share)
    return np.asarray(kept / kept.sum())


def _apart(
    grown: Growing,
    places: list[SurfacePoint],
    spacing: FloatArray,
    stays: BoolArray,
    *,
    closed: bool,
) -> list[SurfacePoint]:
    """Return the places without those the mesh is too coarse to tell from the one before.

    Ends stay, and of two places the one at a hole's edge.
    """
    points = [place.barycentric @ grown.vertices[grown.faces[place.face]] for place in places]
    least = [LEAST_STEP * spacing[grown.parent[place.face]] for place in places]

    def are_apart(j: int, k: int) -> bool:
        return bool(np.linalg.norm(points[k] - points[j]) > min(least[j], least[k]))

    kept = [0]
    for k in range(1, len(places)):
        both_stay = stays[k] and stays[kept[-1]]
        if both_stay or are_apart(kept[-1], k):
            kept.append(k)
        elif len(kept) > 1 and (stays[k] or (k == len(places) - 1 and not closed)):
            kept[-1] = k
    if closed and len(kept) > 1 and not are_apart(0, kept[-1]):
        kept.pop()
    if not closed and len(places) > 1 and kept == [0] and (points[0] != points[-1]).any():
        kept.append(len(places) - 1)
    return [places[k] for k in kept]


def _labels(grown: Growing) -> IntArray:
    """Return the panel of every face, 0 for the largest area."""
    table = grown.table
    span = np.array([len(grown.vertices), 1])
    seam_edges = [np.sort(seam.edges, axis=1) for seam in grown.seams]
    barred = np.concatenate([np.empty((0, 2), np.int64), *seam_edges]) @ span
    open_edge = (table.face_count == 2) & ~np.isin(table.edges @ span, barred)
    pair = table.faces_of_edge[open_edge]
    size = len(grown.faces)
    graph = coo_array((np.ones(len(pair)), (pair[:, 0], pair[:, 1])), shape=(size, size))
    count, label = connected_components(graph, directed=False)
    area = np.bincount(label, face_areas(grown.vertices, grown.faces), minlength=count)
    rank = np.empty(count, np.int64)
    rank[np.argsort(-area, kind="stable")] = np.arange(count)
    return rank[label]


def _check_parts(grown: Growing, path: SeamPath, labels: IntArray) -> None:
    """Raise unless somewhere along the seam its two sides are different panels."""
    sides = grown.faces_beside(path.edges)
    inner = (sides >= 0).all(axis=1)
    parts = labels[sides[inner, 0]] != labels[sides[inner, 1]]
    if not parts.any():
        middle = path.vertices[len(path.vertices) // 2]
        raise SeamDoesNotPartError(path.name, grown.outside[middle])
