"""Cutting the whole surface along seams: where they run, and which panel each face is in."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.mesh import (
    NearestPoint,
    PathFinder,
    SurfacePoint,
    TriMesh,
    edge_table,
    face_areas,
)
from geometry.panels.growing import Growing, with_seam
from geometry.panels.relaxing import with_better_diagonals
from geometry.panels.seam import (
    Seam,
    SeamDoesNotPartError,
    SeamOffSurfaceError,
    SeamPath,
    SeamTooShortError,
)
from geometry.progress import Report, silent
from geometry.surface import Opening

END_TOLERANCE_MM = 6.0
OFF_SURFACE_MM = 3.0
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
    def openings(self) -> tuple[Opening, ...]: ...  # noqa: D102
    @property
    def scan_face(self) -> IntArray: ...  # noqa: D102


@dataclass(frozen=True, eq=False)
class CutSurface:
    """The surface with every seam made edges, and the panels they part.

    Attributes
    ----------
    mesh : TriMesh
        Middle of the metal.
    outside : (n, 3) float, mm
    filled : (m,) bool
    scan_face_of_face : (m,) int
        The face of the scan under each face.
    seam_paths : tuple of SeamPath
        In the order the seams were given.
    panel_of_face : (m,) int
        0 for the panel of largest area, and so on.
    openings : tuple of Opening
    """

    mesh: TriMesh
    outside: FloatArray
    filled: BoolArray
    scan_face_of_face: IntArray
    seam_paths: tuple[SeamPath, ...]
    panel_of_face: IntArray
    openings: tuple[Opening, ...]


def cut_along(
    surface: Surface,
    seams: Sequence[Seam],
    *,
    end_tolerance_mm: float = END_TOLERANCE_MM,
    report: Report = silent,
) -> CutSurface:
    """Return the surface cut along seams.

    Each seam is joined over the surface by shortest lines from point to point, its ends drawn to
    the rim or the other seam they lie near. A seam waits until what it ends on is there.

    Parameters
    ----------
    surface : WorkingSurface
    seams : sequence of Seam
    end_tolerance_mm : float
        How far an end may be from the rim or seam it is meant to meet.
    report : Report

    Raises
    ------
    SeamOffSurfaceError, SeamTooShortError, SeamCrossesItselfError, SeamDoesNotPartError
    NoPathError
        Seam points on pieces that do not hang together.
    """
    mesh = surface.mesh
    grown = Growing(mesh.vertices, surface.outside, mesh.faces, np.arange(len(mesh.faces)))
    waiting = list(seams)
    for seam in waiting:
        _check_on_surface(surface, seam, end_tolerance_mm)
    while waiting:
        report(0.9 * (len(seams) - len(waiting)) / len(seams), "cut along the seams")
        index = _next_ready(grown, waiting, end_tolerance_mm)
        grown = _laid(grown, waiting.pop(index), end_tolerance_mm)
    report(0.9, "tell the panels apart")
    grown = with_better_diagonals(grown)
    paths = {path.name: path for path in grown.seams}
    labels = _labels(grown)
    for path in grown.seams:
        _check_parts(grown, path, labels)
    report(1.0, "tell the panels apart")
    return CutSurface(
        mesh=grown.mesh,
        outside=locked(grown.outside),
        filled=locked(surface.filled[grown.parent]),
        scan_face_of_face=locked(surface.scan_face[mesh.faces[grown.parent, 0]]),
        seam_paths=tuple(paths[seam.name] for seam in seams),
        panel_of_face=locked(labels),
        openings=surface.openings,
    )


def _check_on_surface(surface: Surface, seam: Seam, end_tolerance_mm: float) -> None:
    if len(seam.points) < (3 if seam.closed else 2):
        raise SeamTooShortError(seam.name, seam.points[0] if len(seam.points) else np.zeros(3))
    found = NearestPoint(TriMesh(surface.outside, surface.mesh.faces)).find(seam.points)
    allowed = np.full(len(seam.points), OFF_SURFACE_MM)
    if not seam.closed:
        allowed[[0, -1]] = max(end_tolerance_mm, OFF_SURFACE_MM)
    off = np.flatnonzero(found.distances > allowed)
    if len(off):
        worst = off[int(np.argmax(found.distances[off]))]
        raise SeamOffSurfaceError(
            seam.name, seam.points[worst], float(found.distances[worst]), float(allowed[worst])
        )


def _next_ready(grown: Growing, waiting: Sequence[Seam], tolerance_mm: float) -> int:
    """Return the first waiting seam whose ends meet a rim or a seam that is there."""
    gaps: list[tuple[float, int, FloatArray]] = []
    for index, seam in enumerate(waiting):
        if seam.closed:
            return index
        ends = seam.points[[0, -1]]
        _, gap = _on_lines(grown, ends)
        if (gap <= tolerance_mm).all():
            return index
        worst = int(np.argmax(gap))
        gaps.append((float(gap[worst]), index, ends[worst]))
    gap_mm, index, place = min(gaps, key=lambda entry: entry[0])
    raise SeamDoesNotPartError(waiting[index].name, place, gap_mm)


def _on_lines(grown: Growing, points: FloatArray) -> tuple[list[SurfacePoint], FloatArray]:
    """Return the nearest place on a rim or seam for each point, and how far it is outside."""
    edges = grown.line_edges()
    start, run = grown.outside[edges[:, 0]], grown.outside[edges[:, 1]] - grown.outside[edges[:, 0]]
    square = np.maximum((run * run).sum(axis=1), 1e-300)
    places, gaps = [], []
    for point in points:
        t = np.clip(((point - start) * run).sum(axis=1) / square, 0.0, 1.0)
        gap = np.linalg.norm(point - start - t[:, None] * run, axis=1)
        best = int(np.argmin(gap))
        along = float(t[best])
        along = 0.0 if along < NEAR_EDGE else 1.0 if along > 1.0 - NEAR_EDGE else along
        places.append(_on_edge(grown.faces, edges[best], along))
        gaps.append(float(gap[best]))
    return places, np.array(gaps)


def _on_edge(faces: IntArray, edge: IntArray, along: float) -> SurfacePoint:
    face = int(np.flatnonzero(np.isin(faces, edge).sum(axis=1) == 2)[0])
    share = np.where(faces[face] == edge[0], 1.0 - along, 0.0)
    share = share + np.where(faces[face] == edge[1], along, 0.0)
    return SurfacePoint(face, share)


def _laid(grown: Growing, seam: Seam, tolerance_mm: float) -> Growing:
    """Return the surface with one more seam."""
    found = NearestPoint(TriMesh(grown.outside, grown.faces)).find(seam.points)
    places = [
        SurfacePoint(int(face), _off_needles(share))
        for face, share in zip(found.faces, found.barycentric, strict=True)
    ]
    if not seam.closed:
        ends, _ = _on_lines(grown, seam.points[[0, -1]])
        places[0], places[-1] = ends
    places = _apart(grown, places)
    if len(places) < (3 if seam.closed else 2):
        raise SeamTooShortError(seam.name, seam.points[0])
    path = PathFinder(grown.mesh).through(places, closed=seam.closed)
    return with_seam(grown, seam.name, path, closed=seam.closed)


def _off_needles(share: FloatArray) -> FloatArray:
    """Return corner weights with the small ones given up."""
    kept = np.where(share < NEAR_EDGE, 0.0, share)
    return np.asarray(kept / kept.sum())


def _apart(grown: Growing, places: list[SurfacePoint]) -> list[SurfacePoint]:
    """Return the places without those that fall within 0.1 mm of the one before; ends stay."""
    points = [place.barycentric @ grown.vertices[grown.faces[place.face]] for place in places]
    kept = [0]
    for k in range(1, len(places)):
        if np.linalg.norm(points[k] - points[kept[-1]]) > 0.1:
            kept.append(k)
        elif k == len(places) - 1 and len(kept) > 1:
            kept[-1] = k
    return [places[k] for k in kept]


def _labels(grown: Growing) -> IntArray:
    """Return the panel of every face, 0 for the largest area."""
    table = edge_table(grown.faces)
    seam_edges = [np.sort(seam.edges, axis=1) for seam in grown.seams]
    span = int(grown.faces.max()) + 1
    barred = np.concatenate([np.empty((0, 2), np.int64), *seam_edges]) @ np.array([span, 1])
    open_edge = (table.face_count == 2) & ~np.isin(table.edges @ np.array([span, 1]), barred)
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
    table = edge_table(grown.faces)
    span = int(grown.faces.max()) + 1
    keys = table.edges @ np.array([span, 1])
    wanted = np.sort(path.edges, axis=1) @ np.array([span, 1])
    sides = table.faces_of_edge[np.searchsorted(keys, wanted)]
    inner = (sides >= 0).all(axis=1)
    parts = labels[sides[inner, 0]] != labels[sides[inner, 1]]
    if not parts.any():
        middle = path.vertices[len(path.vertices) // 2]
        raise SeamDoesNotPartError(path.name, grown.outside[middle])
