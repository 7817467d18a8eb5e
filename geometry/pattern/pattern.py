"""`Pattern`, the blank with everything drawn on it.

`bare_pattern` draws what hangs on panel and blank alone, `marked_out` the rest by the maker's unit
and least; `dress` does both.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.mesh import NearestPoint, TriMesh, section
from geometry.pattern.contours import PER_HUNDRED, Contour, ShapeField, contour_levels
from geometry.pattern.edges import (
    PatternEdge,
    WitnessMark,
    first_letters,
    polyline_length,
    rim_edges,
    witness_marks,
)
from geometry.pattern.gather import Gather, GatherTape, GridSquares
from geometry.pattern.grid import centre_of, grid_lines
from geometry.pattern.outlines import Region, closes_over, patches, trim_outline
from geometry.pattern.roll_lines import RollLine, roll_lines
from geometry.pattern.sources import FlatSheet, FormedPanel, OpeningOnPanel, SeamHalf
from geometry.pattern.thinning import ThinMark, thin_regions, thinnest_place
from geometry.progress import Report, silent

_LEAST_LINE_MM = 10.0
_ALONG_RIM_MM = 1.5
"""A line that keeps nearer to the rim than this runs along it."""

_WHOLE_EDGE_MM = 1e9
"""No edge is so long that a tick falls within it."""


@dataclass(frozen=True, eq=False)
class PatternOpening:
    """An opening of the tank on the solid blank: cut after forming.

    Attributes
    ----------
    outline : (k, 2) float, mm
        Closed, the first point not repeated.
    centre : (2,) float, mm
    diameter_mm : float
        Across the opening on the finished panel.
    is_round : bool
    """

    outline: FloatArray
    centre: FloatArray
    diameter_mm: float
    is_round: bool


@dataclass(frozen=True, eq=False)
class Pattern:
    """A blank dressed: every line in the blank's u, v seen from outside, mm.

    Attributes
    ----------
    net : (k, 2) float
        The net line, counter-clockwise, the first point not repeated.
    trim : (j, 2) float, or None
        The trim line; None where the net crosses itself.
    trim_mm : float
        How far the trim line lies outside the net.
    trim_closes_over : bool
        Whether it bridges a gap in the net.
    openings : tuple of PatternOpening
    no_data : tuple of Region
        Patches nobody scanned.
    grid : tuple of (2, 2) float
    grid_mm : float
    centre : (2,) float
        Where the grid hangs.
    edges : tuple of PatternEdge
    marks : tuple of WitnessMark
    contours : tuple of Contour
    shape : ShapeField
        What contours and bands are drawn from.
    levels : (l,) float
        Values of the contours.
    gathers, cut_gathers : tuple of Gather
        What each edge's pieces form to, along the net line and along the trim line; the latter
        empty without a trim line.
    rolls : tuple of RollLine
        Lines to roll or fold along, where the panel is only bent.
    squares : GridSquares or None
        What every whole square of the grid should measure when the panel is done.
    thinnest : ThinMark or None
        Where the finished panel is thinnest; None where nothing gets thinner than the sheet.
    thin_regions : tuple of Region
        Where it is thinner than the maker's least, largest first; see `marked_out`.
    copied : tuple of Region
        Patches made from the tank's other side.
    character_lines : tuple of (k, 2) float
        The locked lines of the tank.
    centre_lines : tuple of (k, 2) float
        Where the tank's centre plane crosses; see `with_centre_lines`.
    """

    net: FloatArray
    trim: FloatArray | None
    trim_mm: float
    trim_closes_over: bool
    openings: tuple[PatternOpening, ...]
    no_data: tuple[Region, ...]
    grid: tuple[FloatArray, ...]
    grid_mm: float
    centre: FloatArray
    edges: tuple[PatternEdge, ...]
    marks: tuple[WitnessMark, ...]
    contours: tuple[Contour, ...]
    shape: ShapeField
    levels: FloatArray
    gathers: tuple[Gather, ...] = ()
    cut_gathers: tuple[Gather, ...] = ()
    rolls: tuple[RollLine, ...] = ()
    squares: GridSquares | None = None
    thinnest: ThinMark | None = None
    thin_regions: tuple[Region, ...] = ()
    copied: tuple[Region, ...] = ()
    character_lines: tuple[FloatArray, ...] = ()
    centre_lines: tuple[FloatArray, ...] = ()


def dress(
    flat: FlatSheet,
    panel: FormedPanel | None = None,
    *,
    letters: Sequence[str] | None = None,
    trim_mm: float = 12.7,
    grid_mm: float = 25.0,
    mark_spacing_mm: float = 50.0,
    mark_inward_mm: float = 15.0,
    tick_mm: float = 100.0,
    report: Report = silent,
) -> Pattern:
    """Return the whole pattern of a flat panel: `bare_pattern`, and `marked_out` on it."""
    bare = bare_pattern(
        flat,
        panel,
        letters=letters,
        trim_mm=trim_mm,
        mark_spacing_mm=mark_spacing_mm,
        mark_inward_mm=mark_inward_mm,
        report=report,
    )
    return marked_out(bare, flat, tick_mm=tick_mm, grid_mm=grid_mm)


def bare_pattern(
    flat: FlatSheet,
    panel: FormedPanel | None = None,
    *,
    letters: Sequence[str] | None = None,
    trim_mm: float = 12.7,
    mark_spacing_mm: float = 50.0,
    mark_inward_mm: float = 15.0,
    report: Report = silent,
) -> Pattern:
    """Return the pattern of a flat panel without ticks, grid, contours and thin regions.

    Each edge's gather is one piece: what the whole of it forms to.

    Parameters
    ----------
    flat : FlatSheet
        The blank; its vertices and faces numbered as the panel's.
    panel : FormedPanel, optional
        Gives openings, marked faces, lines and seams; without it the whole rim is one free edge.
    letters : sequence of str, optional
        One for each of the panel's seam halves, from `edge_letters`, so that both panels of a
        seam agree. Without it, A, B, C in the order of the halves.
    trim_mm : float
        Metal left outside the net line, everywhere.
    mark_spacing_mm, mark_inward_mm : float
    report : Report
    """
    halves = () if panel is None else tuple(panel.seam_halves)
    names = first_letters(len(halves)) if letters is None else tuple(letters)
    net = flat.flat_vertices[flat.rim]
    report(0.0, "trim line")
    trim = trim_outline(net, trim_mm)
    report(0.3, "marks")
    reach = (mark_inward_mm, min(4.0, trim_mm / 3.0))
    marks = _marks(flat, zip(halves, names, strict=True), mark_spacing_mm, reach)
    report(0.6, "stretch and shrink")
    field = ShapeField(flat.flat_vertices, flat.faces, flat.stretches)
    report(0.9, "openings")
    filled, copied = _marked_faces(flat, panel)
    edges = rim_edges(flat, halves, names)
    gathers = _gathers(
        GatherTape(flat), edges, None if trim is None else trim_mm, spacing_mm=_WHOLE_EDGE_MM
    )
    pattern = Pattern(
        net=locked(np.ascontiguousarray(net)),
        trim=trim,
        trim_mm=trim_mm,
        trim_closes_over=trim is not None and closes_over(net, trim, trim_mm),
        openings=() if panel is None else _carried(flat, panel.openings),
        no_data=patches(flat.flat_vertices, flat.faces, filled),
        copied=patches(flat.flat_vertices, flat.faces, copied),
        grid=(),
        grid_mm=0.0,
        centre=centre_of(net),
        edges=edges,
        marks=marks,
        contours=(),
        shape=field,
        levels=np.empty(0),
        rolls=_long_enough(roll_lines(flat, filled=filled), net),
        gathers=gathers[0],
        cut_gathers=gathers[1],
        thinnest=thinnest_place(flat),
        character_lines=() if panel is None else _carried_lines(flat, panel.lines),
    )
    report(1.0, "pattern")
    return pattern


def marked_out(
    pattern: Pattern,
    flat: FlatSheet,
    *,
    tick_mm: float = 100.0,
    grid_mm: float = 25.0,
    least_ratio: float = 0.0,
    level_steps: Sequence[float] = PER_HUNDRED,
) -> Pattern:
    """Return the pattern with ticks, grid, contours and thin regions by the maker's unit and least.

    Parameters
    ----------
    pattern : Pattern
    flat : FlatSheet
        What it was dressed from.
    tick_mm : float
        From tick to tick along the edges, for a soft tape.
    grid_mm : float
        Side of the grid's squares.
    least_ratio : float
        The least thickness the maker wants over the sheet's; 0 outlines no thin regions.
    level_steps : sequence of float
        Steps between contours to choose from, rising.
    """
    levels = contour_levels(pattern.shape.change, steps=level_steps)
    tape = GatherTape(flat)
    margin_mm = None if pattern.trim is None else pattern.trim_mm
    net, cut = _gathers(tape, pattern.edges, margin_mm, spacing_mm=tick_mm)
    return replace(
        pattern,
        grid=grid_lines(pattern.net, pattern.centre, grid_mm),
        grid_mm=grid_mm,
        gathers=net,
        cut_gathers=cut,
        squares=tape.squares(pattern.net, pattern.centre, grid_mm),
        levels=locked(levels),
        contours=tuple(line for level in levels for line in pattern.shape.contours(float(level))),
        thin_regions=thin_regions(flat, least_ratio),
    )


def _marked_faces(flat: FlatSheet, panel: FormedPanel | None) -> tuple[BoolArray, BoolArray]:
    """Return the faces nobody scanned, and those made from the other side."""
    filled, copied = (np.zeros(len(flat.faces), bool) for _ in range(2))
    if panel is not None:
        filled[:] = panel.filled
        copied[: len(panel.copied)] = panel.copied
    return filled, copied


def _gathers(
    tape: GatherTape,
    edges: Sequence[PatternEdge],
    margin_mm: float | None,
    *,
    spacing_mm: float,
) -> tuple[tuple[Gather, ...], tuple[Gather, ...]]:
    """Return what each edge's pieces form to along the net line, and along the trim line."""
    net, cut = (
        tuple(tape.along(edge, outside_mm=outside, spacing_mm=spacing_mm) for edge in edges)
        for outside in (0.0, margin_mm or 0.0)
    )
    return net, () if margin_mm is None else cut


def _marks(
    flat: FlatSheet,
    edges: Iterable[tuple[SeamHalf, str]],
    spacing_mm: float,
    reach_mm: tuple[float, float],
) -> tuple[WitnessMark, ...]:
    """Return the witness marks of every seam half, each with its letter."""
    return tuple(
        mark
        for half, letter in edges
        for mark in witness_marks(flat, half, letter, spacing_mm=spacing_mm, reach_mm=reach_mm)
    )


def _long_enough(rolls: tuple[RollLine, ...], net: FloatArray) -> tuple[RollLine, ...]:
    """Return the lines that reach at least half across the blank: shorter ones guide no roller."""
    least = 0.5 * float(np.ptp(net, axis=0).min())
    return tuple(roll for roll in rolls if polyline_length(roll.points) >= least)


def with_centre_lines(
    pattern: Pattern, flat: FlatSheet, point: FloatArray, normal: FloatArray
) -> Pattern:
    """Return the pattern with the lines along which the tank's centre plane crosses the panel.

    Where the panel ends at the plane its rim says so already and nothing is drawn.

    Parameters
    ----------
    pattern : Pattern
    flat : FlatSheet
    point, normal : (3,) float, mm
        The plane, where the formed panel stands.
    """
    lines = _carried_lines(flat, section(TriMesh(flat.vertices, flat.faces), point, normal))
    rim = shapely.LinearRing(pattern.net)
    inner = tuple(
        line
        for line in lines
        if polyline_length(line) >= _LEAST_LINE_MM
        and shapely.distance(shapely.points(line), rim).max() > _ALONG_RIM_MM
    )
    return replace(pattern, centre_lines=inner)


def _carried_lines(flat: FlatSheet, lines: Sequence[FloatArray]) -> tuple[FloatArray, ...]:
    """Return lines of the formed panel on the blank."""
    if not lines:
        return ()
    places = carried_points(flat, np.concatenate(list(lines)))
    ends = np.cumsum([len(line) for line in lines])[:-1]
    return tuple(locked(part.copy()) for part in np.split(places, ends))


def carried_points(flat: FlatSheet, points: FloatArray) -> FloatArray:
    """Return where points of the formed panel lie on the blank.

    Parameters
    ----------
    flat : FlatSheet
    points : (k, 3) float, mm
        On or near the formed panel; each goes by the nearest place on it.

    Returns
    -------
    (k, 2) float, mm
    """
    nearest = NearestPoint(TriMesh(flat.vertices, flat.faces)).find(points)
    return on_blank(flat, nearest.faces, nearest.barycentric)


def on_blank(flat: FlatSheet, faces: IntArray, barycentric: FloatArray) -> FloatArray:
    """Return the (k, 2) places on the blank of points given by face and barycentric weights."""
    corners = flat.flat_vertices[flat.faces[faces]]  # (k, 3, 2)
    return np.asarray((corners * barycentric[:, :, None]).sum(axis=1))


def _carried(flat: FlatSheet, openings: Sequence[OpeningOnPanel]) -> tuple[PatternOpening, ...]:
    carried = []
    for opening in openings:
        outline = opening.outline
        if len(outline) > 1 and np.array_equal(outline[0], outline[-1]):
            outline = outline[:-1]
        places = carried_points(flat, np.concatenate([outline, opening.centre[None]]))
        carried.append(
            PatternOpening(
                locked(places[:-1].copy()),
                locked(places[-1].copy()),
                float(opening.diameter_mm),
                bool(opening.is_round),
            )
        )
    return tuple(carried)
