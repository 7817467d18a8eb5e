"""The working surface: what the scan shows, fit to be cut into panels and laid out flat."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.mesh import (
    Nearest,
    NearestPoint,
    TriMesh,
    loop_length,
    rims,
    typical_edge_length,
    vertex_normals,
)
from geometry.progress import Report, part_of, silent
from geometry.surface.bays import bays_filled
from geometry.surface.clean import CleanScan, cleaned
from geometry.surface.difference import Difference, difference_of
from geometry.surface.error import errors_of
from geometry.surface.even_net import EvenNet, even_net
from geometry.surface.fill import rims_filled
from geometry.surface.flip import with_edges_flipped, without_ears
from geometry.surface.holes_chosen import (
    FILLED_BELOW_MM,
    ChosenHoles,
    Places,
    chosen_holes,
    usual_holes,
)
from geometry.surface.locked import (
    Crest,
    Lined,
    Sides,
    crest_of,
    is_closed,
    lines_on,
    near_crests,
    over_surface,
    with_line,
)
from geometry.surface.marks import faces_on, faces_touching
from geometry.surface.net import FIXED, FREE, ON_LINE, Net, edges_of, with_lines
from geometry.surface.offset import offset_inward, without_offset_folds
from geometry.surface.opening import Opening, opening_within
from geometry.surface.pool import pooled
from geometry.surface.relax import without_new_folds
from geometry.surface.rim import spikes
from geometry.surface.sag import sag_of_bend, sharpest_bend
from geometry.surface.smooth import PointSurface
from geometry.surface.untangle import outside_of, untangled

_PINHOLE = 5.0
_BAY = 5.0
_LIKE_NORMALS = 0.25
_REACH = 2.4
_NOISE_SAMPLE = 4000
_FINEST_OF_SCAN = 0.6
_LEAST_LEFT = 0.1
_CELL = 2.0 / 3.0
_CELL_TURN = 0.18
_CELLS_APART = 1.8
_SIDES_SHARE = 1.5
_CALM_MM, _NOISES = 0.1, 4.0
"""A vertex farther off the scan than this and so many times its noise is not borne out by it."""
_CLEANED, _LINES_DONE = 0.2, 0.3


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
        Faces over holes of the scan, or over its faces that are a guess themselves: a guess.
    copied : (m,) bool
        Faces over those of the scan that were made from the tank's other side.
    openings : tuple of Opening
        The holes filled, as they lie on the mesh, longest rim first.
    scan_face : (n,) int
        The face of the scan nearest to each vertex's outside place.
    scan_barycentric : (n, 3) float
        Where on that face.
    off_scan_mm : (n,) float, mm
        How far off it lies.
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
    lines : tuple of (k,) int
        The vertices along each locked line, in its order, joined by edges of the mesh; a closed
        one repeats its first.
    """

    mesh: TriMesh
    outside: FloatArray
    filled: BoolArray
    copied: BoolArray
    openings: tuple[Opening, ...]
    scan_face: IntArray
    scan_barycentric: FloatArray
    off_scan_mm: FloatArray
    noise_mm: float
    error_mm: FloatArray
    rim_error_mm: FloatArray
    correlation_mm: float
    lines: tuple[IntArray, ...]
    _scan_vertices: FloatArray

    def borne_out(self) -> BoolArray:
        """Return which vertices (n,) the scan bears out, and those over holes.

        At a sharp edge that is no locked line the surface is calm, not true: it may stand off the
        scan there by more than its noise explains.
        """
        over_holes = np.zeros(len(self.outside), bool)
        over_holes[self.mesh.faces[self.filled]] = True
        return over_holes | (self.off_scan_mm <= _CALM_MM + _NOISES * self.noise_mm)

    def working_point_of_scan_vertex(self) -> Nearest:
        """Return, for every vertex of the scan, the nearest point of the surface's outside."""
        return NearestPoint(TriMesh(self.outside, self.mesh.faces)).find(self._scan_vertices)

    def difference(self) -> Difference:
        """Return how far the scan's points lie off the surface's outside; worked out once."""
        return self._difference

    def sag_between_points(self, spacing_mm: float) -> FloatArray:
        """Return how far each vertex may be off because points are so far apart, (n,) mm."""
        return sag_of_bend(self._sharpest_bend, spacing_mm)

    @cached_property
    def _difference(self) -> Difference:
        outside = TriMesh(self.outside, self.mesh.faces)
        return difference_of(self._scan_vertices, outside, self.filled)

    @cached_property
    def _sharpest_bend(self) -> FloatArray:
        return locked(sharpest_bend(TriMesh(self.outside, self.mesh.faces)))


def working_surface(
    scan: TriMesh,
    *,
    inward_mm: float = 0.0,
    spacing_mm: float = 3.0,
    fill_rim_below_mm: float = FILLED_BELOW_MM,
    fill: Places = (),
    leave: Places = (),
    guessed: BoolArray | None = None,
    copied: BoolArray | None = None,
    lines: Sequence[FloatArray] = (),
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
    fill, leave : (k, 3) float, mm
        Places in or at holes to fill or to leave open, whatever the rule above says; the nearest
        rim is meant. A hole said both ways is left.
    guessed, copied : (m,) bool, optional
        Faces of the scan that were not scanned but guessed (the strip between joined shells), or
        made from the other side. They shape the surface like the rest, and keep their mark.
    lines : sequence of (k, 3) float, mm
        Lines the maker locked, each near the scanned face, in order; a closed one repeats its
        first point. They are drawn to where the scan turns beside them, triangles run along them,
        and the skin on one side says nothing of the other, so that a sharp line stays sharp and a
        round one as round as it was scanned.

    Raises
    ------
    NoHoleNearError
        A place of `fill` or `leave` with no rim near.
    LineOffSurfaceError, LineTooShortError
        Of a locked line: a point more than two spacings off, less than three spacings long.
    NoPathError
        A locked line leads from one piece of the scan to another.
    """
    chosen = chosen_holes(scan, fill, leave)
    spacing_mm = max(spacing_mm, _FINEST_OF_SCAN * typical_edge_length(scan))
    ready = _ready(scan, chosen, spacing_mm, part_of(report, 0.0, _CLEANED))
    fitted = _LINES_DONE if lines else _CLEANED
    lining = part_of(report, _CLEANED, fitted)
    crests, surface = _crests_and_surface(ready, lines, spacing_mm, lining)
    courses = [crest.line() for crest in crests]
    even = _evened(ready, courses, spacing_mm, part_of(report, fitted, 0.6))
    net = _fitted(even.net, surface, crests, spacing_mm, part_of(report, 0.6, 0.9))
    noise = _noise(scan, ready.clean.vertex_normals, surface)
    report(0.92, "fill the holes")
    closed, patch, loops = _closed_over(net, fill_rim_below_mm, chosen)
    report(0.96, "move to the middle of the metal")
    inner = offset_inward(closed, inward_mm)
    tidy = _tidied(closed, inner, patch, _held_in(net), (inward_mm, spacing_mm))
    outside = outside_of(tidy, closed, inward_mm)
    found = NearestPoint(scan).find(outside)
    sure = errors_of(tidy, outside, replace(surface, parting=None), even.rims, noise)
    filled = tidy.guessed | faces_touching(scan, guessed, outside, tidy.faces)
    report(1.0, "move to the middle of the metal")
    return WorkingSurface(
        mesh=TriMesh(tidy.vertices, tidy.faces),
        outside=locked(outside),
        filled=locked(filled),
        copied=locked(faces_on(scan, copied, outside, tidy.faces)),
        openings=tuple(opening_within(inner[loop[::-1]]) for loop in loops),
        scan_face=found.faces,
        scan_barycentric=found.barycentric,
        off_scan_mm=found.distances,
        noise_mm=noise,
        error_mm=locked(sure.normal_mm),
        rim_error_mm=locked(sure.rim_mm),
        correlation_mm=sure.correlation_mm,
        lines=tuple(locked(run) for run in lines_on(replace(tidy, vertices=outside), courses)),
        _scan_vertices=scan.vertices,
    )


@dataclass(frozen=True, eq=False)
class _Ready:
    """A scan ready to be evened.

    Attributes
    ----------
    base : TriMesh
        Pinholes and bays filled; the scan's own vertices come first.
    clean : CleanScan
        The same, cleaned.
    guessed : (m,) bool
        Faces that fill.
    measured : int
        How many vertices are the scan's.
    typical_mm : float
        Edge length.
    """

    base: TriMesh
    clean: CleanScan
    guessed: BoolArray
    measured: int
    typical_mm: float


def _ready(scan: TriMesh, chosen: ChosenHoles | None, spacing_mm: float, report: Report) -> _Ready:
    whole, bay = bays_filled(_without_rim_spikes(scan), _BAY * spacing_mm)
    base, pinhole = _without_pinholes(whole, _PINHOLE * spacing_mm, chosen)
    guessed = pinhole.copy()
    guessed[: len(bay)] |= bay
    clean = cleaned(base, report=report)
    return _Ready(base, clean, guessed, len(scan.vertices), typical_edge_length(base))


def _crests_and_surface(
    ready: _Ready, lines: Sequence[FloatArray], spacing_mm: float, report: Report
) -> tuple[tuple[Crest, ...], PointSurface]:
    """Return the crests near locked lines, and the surface with its sides told apart there."""
    surface = _surface_of(ready, spacing_mm)
    if not lines:
        return (), surface
    over = over_surface(lines, ready.base, spacing_mm)
    crests = tuple(
        crest_of(
            line,
            ready.base.vertices[: ready.measured],
            ready.clean.vertex_normals[: ready.measured],
            surface,
            spacing_mm=max(spacing_mm, ready.typical_mm),
            closed=is_closed(line),
            report=part_of(report, number / len(over), (number + 1) / len(over)),
        )
        for number, line in enumerate(over)
    )
    return crests, _surface_of(ready, spacing_mm, crests)


def _surface_of(ready: _Ready, spacing_mm: float, crests: Sequence[Crest] = ()) -> PointSurface:
    """Return what the scan's own points say about where the surface is."""
    scanned = ready.base.vertices[: ready.measured]
    cell = _CELL * spacing_mm
    points = pooled(
        scanned,
        ready.clean.vertex_normals[: ready.measured],
        cell_mm=cell,
        turn_rad=_CELL_TURN * ready.clean.spread,
        alone=near_crests(crests, scanned, _CELLS_APART * cell) if crests else None,
    )
    reach = _REACH * max(spacing_mm, ready.typical_mm)
    sides = Sides(crests, points.points, _SIDES_SHARE * reach) if crests else None
    return PointSurface(
        points.points, points.normals, points.counts, reach, _LIKE_NORMALS, parting=sides
    )


def _without_rim_spikes(scan: TriMesh) -> TriMesh:
    """Return the scan with lone points that stand far out of a rim put back between the next."""
    vertices = scan.vertices.copy()
    for loop in rims(scan):
        points = scan.vertices[loop]
        between = (np.roll(points, 1, axis=0) + np.roll(points, -1, axis=0)) / 2.0
        spike = spikes(points)
        vertices[loop[spike]] = between[spike]
    return TriMesh(vertices, scan.faces)


def _without_pinholes(
    scan: TriMesh, below_mm: float, chosen: ChosenHoles | None
) -> tuple[TriMesh, BoolArray]:
    """Return the scan with its smallest holes filled, and which faces do so."""
    loops = [
        loop
        for loop in _fillable(scan, below_mm, chosen)
        if loop_length(scan.vertices, loop) < below_mm
    ]
    closed, filled, _ = rims_filled(scan, loops)
    return closed, filled


def _fillable(mesh: TriMesh, below_mm: float, chosen: ChosenHoles | None) -> list[IntArray]:
    """Return the rims that are holes to fill: short, and small beside their piece; or chosen."""
    loops = rims(mesh)
    said = [chosen.sorted_out(mesh.vertices, loop) if chosen else None for loop in loops]
    usual = usual_holes(mesh, loops, below_mm)
    return [
        loop
        for loop, rule, word in zip(loops, usual, said, strict=True)
        if (rule if word is None else word)
    ]


def _fitted(
    net: Net, surface: PointSurface, crests: Sequence[Crest], spacing_mm: float, report: Report
) -> Net:
    """Return the net put on the surface fitted to the scan's points, its lines on their crests."""
    places, normals = surface.project(net.vertices, net.normals, rounds=2, report=report)
    for crest in crests:
        places, normals = crest.drawn_to(net.vertices, places, normals, spacing_mm)
    held = np.unique(net.line_edges[net.line_of_edge > 0])
    places[held] = net.vertices[held]
    moved = replace(without_ears(net) if crests else net, normals=normals)
    moved = with_edges_flipped(without_new_folds(moved, places))
    return without_ears(moved) if crests else moved


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


def _evened(
    ready: _Ready, courses: Sequence[FloatArray], spacing_mm: float, report: Report
) -> EvenNet:
    """Return the cleaned scan as an even net with lines held along their courses."""
    return even_net(
        _with_lines(ready, courses),
        courses,
        spacing_mm=spacing_mm,
        typical_mm=ready.typical_mm,
        report=report,
    )


def _with_lines(ready: _Ready, courses: Sequence[FloatArray]) -> Lined:
    """Return the cleaned scan with lines led along edges of its triangles."""
    clean = ready.clean
    lined = Lined(clean.vertices, clean.vertex_normals, clean.faces, ready.guessed, ())
    for course in courses:
        lined = with_line(lined, course)
    return lined


def _closed_over(
    net: Net, below_mm: float, chosen: ChosenHoles | None
) -> tuple[TriMesh, BoolArray, list[IntArray]]:
    """Return the net with its holes filled, which faces are a guess, and the holes' rims."""
    mesh = TriMesh(net.vertices, net.faces)
    loops = _fillable(mesh, below_mm, chosen)
    closed, patch, _ = rims_filled(mesh, loops)
    guessed = patch.copy()
    guessed[: len(net.faces)] |= net.guessed
    return closed, guessed, loops


@dataclass(frozen=True, eq=False)
class _HeldEdges:
    """Edges of held lines, which each is of, and the vertices that stay."""

    edges: IntArray
    line: IntArray
    fixed: IntArray


def _held_in(net: Net) -> _HeldEdges:
    held = net.line_of_edge > 0
    on_line = np.unique(net.line_edges[held])
    return _HeldEdges(
        net.line_edges[held], net.line_of_edge[held], on_line[net.kind[on_line] == FIXED]
    )


def _tidied(
    closed: TriMesh,
    inner: FloatArray,
    patch: BoolArray,
    held: _HeldEdges,
    inward_and_spacing_mm: tuple[float, float],
) -> Net:
    """Return the surface moved inward as a net, folds out and needles drawn together."""
    inward_mm, spacing_mm = inward_and_spacing_mm
    table = edges_of(closed.faces)
    rim = table.ends[table.is_rim]
    kind = np.full(len(inner), FREE, np.int64)
    kind[rim] = ON_LINE
    kind[held.edges] = ON_LINE
    kind[held.fixed] = FIXED
    net = Net(
        vertices=inner,
        faces=closed.faces,
        normals=vertex_normals(closed.vertices, closed.faces),
        size=np.full(len(inner), 1.5 * spacing_mm),
        kind=kind,
        line_edges=np.empty((0, 2), np.int64),
        line_of_edge=np.empty(0, np.int64),
        came_from=np.arange(len(inner)),
        guessed=patch,
    )
    edges = np.concatenate([rim, held.edges])
    net = with_lines(net, edges, np.concatenate([np.zeros(len(rim), np.int64), held.line]))
    net = without_offset_folds(net, closed.vertices, inward_mm)
    return untangled(net, closed.vertices)
