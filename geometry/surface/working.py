"""The working surface: what the scan shows, fit to be cut into panels and laid out flat."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.mesh import (
    Nearest,
    NearestPoint,
    TriMesh,
    face_areas,
    loop_length,
    piece_of_face,
    rims,
    typical_edge_length,
    vertex_normals,
)
from geometry.progress import Report, part_of, silent
from geometry.surface.bays import bays_filled
from geometry.surface.clean import CleanScan, cleaned
from geometry.surface.error import errors_of
from geometry.surface.fill import rims_filled
from geometry.surface.flip import with_edges_flipped
from geometry.surface.follow import Follower
from geometry.surface.lines import line_table
from geometry.surface.net import FIXED, FREE, ON_LINE, Net, compacted, edges_of, with_lines
from geometry.surface.offset import offset_inward, without_offset_folds
from geometry.surface.opening import Opening, opening_within
from geometry.surface.pool import pooled
from geometry.surface.relax import relaxed, without_new_folds
from geometry.surface.remesh import evened
from geometry.surface.rim import SmoothRim, smoothed_rim, spikes
from geometry.surface.size import wanted_size
from geometry.surface.smooth import PointSurface
from geometry.surface.untangle import outside_of, untangled

_PINHOLE = 5.0
_BAY = 5.0
_LARGEST_FILLED_SHARE = 0.2
_LIKE_NORMALS = 0.25
_REACH = 2.4
_RIM_WINDOW = 1.5
_NOISE_SAMPLE = 4000
_FINEST_OF_SCAN = 0.6
_LEAST_LEFT = 0.1
_CELL = 2.0 / 3.0
_CELL_TURN = 0.18


@dataclass(frozen=True, eq=False)
class WorkingSurface:
    """The whole skin, noise out, triangles even, on the middle of the metal.

    Attributes
    ----------
    mesh : TriMesh
        On the middle of the metal.
    outside : (n, 3) float, mm
        The same vertices on the scanned face.
    filled : (m,) bool
        Faces over holes of the scan: a guess.
    openings : tuple of Opening
        The holes filled, as they lie on the mesh, longest rim first.
    scan_face : (n,) int
        The face of the scan nearest to each vertex's outside place.
    scan_barycentric : (n, 3) float
        Where on that face.
    noise_mm : float
        Standard deviation of the scan's points about the surface fitted to them.
    error_mm : (n,) float, mm
        Standard error of each vertex along the normal: the scan's noise, averaged over the points
        fitted there. Over holes, where nothing was scanned, that of the nearest scanned vertex: how
        good a guess is nobody knows. What a scanner gets wrong over a wider place is not in it.
    rim_error_mm : (n,) float, mm
        Standard error of each rim vertex across the rim, within the surface; elsewhere 0.
    correlation_mm : float
        How far apart the errors of two vertices go half together.
    """

    mesh: TriMesh
    outside: FloatArray
    filled: BoolArray
    openings: tuple[Opening, ...]
    scan_face: IntArray
    scan_barycentric: FloatArray
    noise_mm: float
    error_mm: FloatArray
    rim_error_mm: FloatArray
    correlation_mm: float
    _scan_vertices: FloatArray

    def working_point_of_scan_vertex(self) -> Nearest:
        """Return, for every vertex of the scan, the nearest point of the surface's outside."""
        return NearestPoint(TriMesh(self.outside, self.mesh.faces)).find(self._scan_vertices)


def working_surface(
    scan: TriMesh,
    *,
    inward_mm: float = 0.0,
    spacing_mm: float = 3.0,
    fill_rim_below_mm: float = 400.0,
    report: Report = silent,
) -> WorkingSurface:
    """Return the working surface of a scan.

    Parameters
    ----------
    scan : TriMesh
        Sound, oriented outward, mm.
    inward_mm : float
        From the face scanned to the middle of the metal.
    spacing_mm : float
        Edge length wanted; edges are shorter at creases and round small holes. A scan that is much
        coarser gets triangles of 0.6 of its own edges: smaller ones would only pretend to more.
    fill_rim_below_mm : float
        Holes with shorter rims are filled and marked, unless the patch would be more than a fifth
        of the piece: then the rim is the piece's own edge.
    """
    typical = typical_edge_length(scan)
    spacing_mm = max(spacing_mm, _FINEST_OF_SCAN * typical)
    whole, bay = bays_filled(_without_rim_spikes(scan), _BAY * spacing_mm)
    base, pinhole = _without_pinholes(whole, _PINHOLE * spacing_mm)
    pinhole = pinhole.copy()
    pinhole[: len(bay)] |= bay
    clean = cleaned(base, report=part_of(report, 0.0, 0.2))
    surface = _surface_of(base, clean, len(scan.vertices), spacing_mm)
    net, smooth_rims = _even_net(base, clean, pinhole, spacing_mm, part_of(report, 0.2, 0.6))
    net = _fitted(net, surface, part_of(report, 0.6, 0.9))
    noise = _noise(scan, clean.vertex_normals, surface)
    report(0.92, "fill the holes")
    mesh = TriMesh(net.vertices, net.faces)
    loops = _fillable(mesh, fill_rim_below_mm)
    closed, patch, _ = rims_filled(mesh, loops)
    patch = patch.copy()
    patch[: len(net.faces)] |= net.guessed
    report(0.96, "move to the middle of the metal")
    inner = offset_inward(closed, inward_mm)
    openings = tuple(opening_within(inner[loop[::-1]]) for loop in loops)
    tidy = _tidied(closed, inner, patch, inward_mm, spacing_mm)
    outside = outside_of(tidy, closed, inward_mm)
    found = NearestPoint(scan).find(outside)
    sure = errors_of(tidy, outside, surface, smooth_rims, noise)
    report(1.0, "move to the middle of the metal")
    return WorkingSurface(
        mesh=TriMesh(tidy.vertices, tidy.faces),
        outside=locked(outside),
        filled=locked(tidy.guessed),
        openings=openings,
        scan_face=found.faces,
        scan_barycentric=found.barycentric,
        noise_mm=noise,
        error_mm=locked(sure.normal_mm),
        rim_error_mm=locked(sure.rim_mm),
        correlation_mm=sure.correlation_mm,
        _scan_vertices=scan.vertices,
    )


def _surface_of(base: TriMesh, clean: CleanScan, measured: int, spacing_mm: float) -> PointSurface:
    """Return what the first, measured vertices of a mesh say about where the surface is."""
    points = pooled(
        base.vertices[:measured],
        clean.vertex_normals[:measured],
        cell_mm=_CELL * spacing_mm,
        turn_rad=_CELL_TURN * clean.spread,
    )
    reach = _REACH * max(spacing_mm, typical_edge_length(base))
    return PointSurface(points.points, points.normals, points.counts, reach, _LIKE_NORMALS)


def _without_rim_spikes(scan: TriMesh) -> TriMesh:
    """Return the scan with lone points that stand far out of a rim put back between the next."""
    vertices = scan.vertices.copy()
    for loop in rims(scan):
        points = scan.vertices[loop]
        between = (np.roll(points, 1, axis=0) + np.roll(points, -1, axis=0)) / 2.0
        spike = spikes(points)
        vertices[loop[spike]] = between[spike]
    return TriMesh(vertices, scan.faces)


def _without_pinholes(scan: TriMesh, below_mm: float) -> tuple[TriMesh, BoolArray]:
    """Return the scan with its smallest holes filled, and which faces do so."""
    loops = [
        loop for loop in _fillable(scan, below_mm) if loop_length(scan.vertices, loop) < below_mm
    ]
    closed, filled, _ = rims_filled(scan, loops)
    return closed, filled


def _fillable(mesh: TriMesh, below_mm: float) -> list[IntArray]:
    """Return the rims that are holes to fill: short, and small beside their piece."""
    loops = [loop for loop in rims(mesh) if loop_length(mesh.vertices, loop) < below_mm]
    if not loops:
        return []
    piece = piece_of_face(mesh.faces)
    area = np.bincount(piece, face_areas(mesh.vertices, mesh.faces))
    piece_of_vertex = np.zeros(len(mesh.vertices), np.int64)
    piece_of_vertex[mesh.faces] = piece[:, None]
    share = [
        loop_length(mesh.vertices, loop) ** 2 / (4.0 * np.pi) / area[piece_of_vertex[loop[0]]]
        for loop in loops
    ]
    return [loop for loop, part in zip(loops, share, strict=True) if part < _LARGEST_FILLED_SHARE]


def _even_net(
    base: TriMesh, clean: CleanScan, pinhole: BoolArray, spacing_mm: float, report: Report
) -> tuple[Net, list[SmoothRim]]:
    """Return the cleaned scan as an even net, its rims smooth, and those rims."""
    loops = rims(base)
    mesh = TriMesh(clean.vertices, clean.faces)
    size = wanted_size(
        clean.vertices, clean.faces, clean.vertex_normals, loops, spacing_mm=spacing_mm
    )
    net = Net(
        vertices=clean.vertices,
        faces=clean.faces,
        normals=clean.vertex_normals,
        size=size,
        kind=np.full(len(clean.vertices), FREE, np.int64),
        line_edges=np.empty((0, 2), np.int64),
        line_of_edge=np.empty(0, np.int64),
        came_from=np.arange(len(clean.vertices)),
        guessed=pinhole,
    )
    window = _RIM_WINDOW * max(spacing_mm, typical_edge_length(base))
    smoothed = [smoothed_rim(net.vertices[loop], window_mm=window) for loop in loops]
    net, smooth_place, runs = _with_rims(net, list(zip(loops, smoothed, strict=True)))
    follow = Follower(mesh, clean.vertex_normals, size)
    raw = tuple(clean.vertices[run] for run in runs)
    net = evened(compacted(net), follow, raw, rounds=2, polish=0, report=part_of(report, 0.0, 0.5))
    smooth = tuple(smooth_place[run] for run in runs)
    net = _on_smooth_rims(net, smooth_place, smooth)
    net = evened(net, follow, smooth, rounds=3, polish=3, report=part_of(report, 0.5, 1.0))
    return net, smoothed


def _with_rims(
    net: Net, rims_smoothed: Sequence[tuple[IntArray, SmoothRim]]
) -> tuple[Net, FloatArray, list[IntArray]]:
    """Return the net with its rims as lines between corners, smooth places for all, the runs."""
    smooth = net.vertices.copy()
    kind = net.kind.copy()
    runs: list[IntArray] = []
    for loop, rim in rims_smoothed:
        smooth[loop] = rim.points
        kind[loop] = ON_LINE
        kind[loop[rim.corners]] = FIXED
        start = int(rim.corners[0]) if len(rim.corners) else 0
        lap = np.roll(loop, -start)
        firsts = (rim.corners - start).tolist() if len(rim.corners) else [0]
        lap = np.append(lap, lap[0])
        runs += [lap[a : b + 1] for a, b in itertools.pairwise([*firsts, len(loop)])]
    return with_lines(replace(net, kind=kind), *line_table(runs)), smooth, runs


def _on_smooth_rims(net: Net, smooth_place: FloatArray, smooth: Sequence[FloatArray]) -> Net:
    """Return the net with corners, then lines, drawn to their smooth places in small steps."""
    fixed = np.flatnonzero(net.kind == FIXED)
    for _ in range(4):
        goal = net.vertices.copy()
        goal[fixed] = smooth_place[net.came_from[fixed]]
        net = relaxed(without_new_folds(net, goal), smooth)
    return net


def _fitted(net: Net, surface: PointSurface, report: Report) -> Net:
    """Return the net put on the surface fitted to the scan's points."""
    places, normals = surface.project(net.vertices, net.normals, rounds=2, report=report)
    moved = replace(net, normals=normals)
    moved = without_new_folds(moved, places)
    return with_edges_flipped(moved)


def _noise(scan: TriMesh, normals: FloatArray, surface: PointSurface) -> float:
    """Return how far the scan's points scatter about the surface, from some of them evenly taken.

    Half of a normal distribution lies within 0.6745 of its standard deviation. A fit takes some of
    a point's own error along; what is left of it is known from what each point counts.
    """
    some = np.unique(np.linspace(0, len(scan.vertices) - 1, _NOISE_SAMPLE).astype(np.int64))
    points = scan.vertices[some]
    fitted, up = surface.project(points, normals[some], rounds=1)
    shares = surface.shares(fitted, up)
    left = np.maximum(1.0 - 2.0 * shares.own + shares.variance, _LEAST_LEFT)
    off = np.linalg.norm(fitted - points, axis=1) / np.sqrt(left)
    return float(np.median(off) / 0.6745)


def _tidied(
    closed: TriMesh, inner: FloatArray, patch: BoolArray, inward_mm: float, spacing_mm: float
) -> Net:
    """Return the surface moved inward as a net, folds out and needles drawn together."""
    table = edges_of(closed.faces)
    rim = table.ends[table.is_rim]
    kind = np.full(len(inner), FREE, np.int64)
    kind[rim] = ON_LINE
    net = Net(
        vertices=inner,
        faces=closed.faces,
        normals=vertex_normals(closed.vertices, closed.faces),
        size=np.full(len(inner), 1.5 * spacing_mm),
        kind=kind,
        line_edges=rim,
        line_of_edge=np.zeros(len(rim), np.int64),
        came_from=np.arange(len(inner)),
        guessed=patch,
    )
    net = without_offset_folds(net, closed.vertices, inward_mm)
    return untangled(net, closed.vertices)
