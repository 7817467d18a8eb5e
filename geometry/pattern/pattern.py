"""`Pattern`, the blank with everything drawn on it.

`bare_pattern` draws what hangs on panel and blank alone, `marked_out` the rest by the maker's unit
and least; `dress` does both.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np
import shapely

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.mesh import NearestPoint, TriMesh, section
from geometry.pattern.allowance import IN_A_FORM_MM, EdgeAllowance, EdgeCut, check_blank
from geometry.pattern.allowance_easing import led_past_nicks
from geometry.pattern.allowance_folds import (
    USUAL_STOCK,
    BendLine,
    BendStock,
    bend_lines,
    edge_cuts,
    strips_of,
)
from geometry.pattern.allowance_outline import CutCorner, Relief, cut_outline
from geometry.pattern.contours import PER_HUNDRED, Contour, ShapeField, contour_levels
from geometry.pattern.edges import PatternEdge, first_letters, rim_edges
from geometry.pattern.gather import Gather, GatherTape, GridSquares
from geometry.pattern.grid import centre_of, grid_lines
from geometry.pattern.outlines import Region, patches
from geometry.pattern.roll_ends import run_to_edge
from geometry.pattern.roll_lines import ROUND_REACH_MM, RollLine, roll_lines
from geometry.pattern.sources import FlatSheet, FormedPanel, OpeningOnPanel, SeamHalf
from geometry.pattern.thinning import ThinMark, thin_regions, thinnest_place
from geometry.pattern.witness import WitnessMark, witness_marks
from geometry.polyline import line_length
from geometry.progress import Report, silent

_USUAL: Mapping[str, EdgeAllowance] = MappingProxyType({})
"""No edge has an allowance of its own."""

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
        The trim line, the outline to cut: round notches and the relief holes they run into; None
        where the net crosses itself.
    trim_mm : float
        How far it lies outside the net along the narrowest of the edges that are trimmed; the usual
        trim where none is. Edge by edge: `allowance_of_edge`.
    trim_closes_over : bool
        Whether it bridges a gap in the net.
    trim_passes_nicks : bool
        Whether it is led past a nick in the net, farther outside it than its width.
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
        What each edge's pieces form to, along the net line and along the trim line, each edge at
        its own width; the latter empty without a trim line.
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
    allowance_of_edge : tuple of EdgeCut
        In the order of the edges: what is left outside the net line along each.
    bend_lines : tuple of BendLine
        Lines that hems, joggles and flanges are folded along.
    reliefs : tuple of Relief
        Holes to drill where folds cross.
    cut_corners : tuple of CutCorner
        Where edges meet, and how the cut line goes round.
    fitting_lines : tuple of (k, 2) float
        Ring and flange of a fitting set anew: closed, scribed, not cut; see `with_fitting_lines`.
    lip_edges : tuple of str
        Letters of edges with a flange though the scan shows a lip there: its metal is in already.
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
    allowance_of_edge: tuple[EdgeCut, ...] = ()
    bend_lines: tuple[BendLine, ...] = ()
    reliefs: tuple[Relief, ...] = ()
    cut_corners: tuple[CutCorner, ...] = ()
    trim_passes_nicks: bool = False
    fitting_lines: tuple[FloatArray, ...] = ()
    lip_edges: tuple[str, ...] = ()

    @property
    def widest_mm(self) -> float:
        """Return how far outside the net the cut line lies at most."""
        return max((cut.cut_mm for cut in self.allowance_of_edge), default=self.trim_mm)


def dress(
    flat: FlatSheet,
    panel: FormedPanel | None = None,
    *,
    letters: Sequence[str] | None = None,
    trim_mm: float = IN_A_FORM_MM,
    allowances: Mapping[str, EdgeAllowance] = _USUAL,
    growth: FloatArray | None = None,
    stock: BendStock = USUAL_STOCK,
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
        allowances=allowances,
        growth=growth,
        stock=stock,
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
    trim_mm: float = IN_A_FORM_MM,
    allowances: Mapping[str, EdgeAllowance] = _USUAL,
    growth: FloatArray | None = None,
    stock: BendStock = USUAL_STOCK,
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
        Metal left outside the net line along edges without an allowance of their own.
    allowances : mapping
        By edge key: see `edge_key`.
    growth : (k,) float, mm, optional
        How far outside the net the cut has to stand at every vertex of the rim because the size is
        not sure; the most along each edge comes on top of its allowance.
    stock : BendStock
        The sheet, and the radius it is bent over where that is known.
    mark_spacing_mm, mark_inward_mm : float
    report : Report

    Raises
    ------
    BlankTooSmallError, NoSuchEdgeError, BadAllowanceError, AllowanceTooWideError
    """
    halves = () if panel is None else tuple(panel.seam_halves)
    names = first_letters(len(halves)) if letters is None else tuple(letters)
    net, edges = _net(flat), rim_edges(flat, halves, names)
    cuts = edge_cuts(edges, allowances, trim_mm=trim_mm, growth=growth, rim=flat.rim, stock=stock)
    report(0.0, "marks")
    reach = zip(halves, names, _mark_reaches(cuts, names, mark_inward_mm), strict=True)
    marks = _marks(flat, reach, mark_spacing_mm)
    report(0.3, "stretch and shrink")
    field = ShapeField(flat.flat_vertices, flat.faces, flat.stretches)
    report(0.6, "openings")
    filled, copied = _marked_faces(flat, panel)
    lines = _carried_lines(flat, () if panel is None else panel.lines)
    pattern = Pattern(
        net=locked(np.ascontiguousarray(net)),
        trim=None,
        trim_mm=_least_trim(cuts, trim_mm),
        trim_closes_over=False,
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
        rolls=_to_roll(flat, filled, lines),
        thinnest=thinnest_place(flat),
        character_lines=lines,
        allowance_of_edge=cuts,
    )
    report(0.9, "trim line")
    pattern = _with_cut_line(pattern, flat, stock)
    report(1.0, "pattern")
    return pattern


def _net(flat: FlatSheet) -> FloatArray:
    """Return the net line, of a blank that is something at all."""
    net = flat.flat_vertices[flat.rim]
    check_blank(net)
    return net


def _with_cut_line(pattern: Pattern, flat: FlatSheet, stock: BendStock) -> Pattern:
    """Return the pattern with its outline to cut, what its edges form to, and where they fold."""
    edges, cuts, tape = pattern.edges, pattern.allowance_of_edge, GatherTape(flat)
    strips = strips_of(edges, cuts, stock)
    outline = cut_outline(pattern.net, strips)
    if outline is None:
        return replace(pattern, gathers=_gathers(tape, edges, (), spacing_mm=_WHOLE_EDGE_MM)[0])
    outline = led_past_nicks(outline, strips)
    gathers, cut_gathers = _gathers(tape, edges, cuts, spacing_mm=_WHOLE_EDGE_MM)
    return replace(
        pattern,
        trim=outline.points,
        trim_closes_over=outline.closes_over,
        trim_passes_nicks=outline.passes_nicks,
        gathers=gathers,
        cut_gathers=cut_gathers,
        bend_lines=bend_lines(edges, cuts, stock, outline.points),
        reliefs=outline.reliefs,
        cut_corners=outline.corners,
    )


def _mark_reaches(
    cuts: Sequence[EdgeCut], letters: Sequence[str], inward_mm: float
) -> list[tuple[float, float]]:
    """Return how far inward and outward the marks of every seam half reach: not off the metal."""
    metal = {cut.letter: cut.cut_mm for cut in sorted(cuts, key=lambda cut: -cut.cut_mm)}
    return [(inward_mm, min(4.0, metal.get(letter, 0.0) / 3.0)) for letter in letters]


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
    cuts = () if pattern.trim is None else pattern.allowance_of_edge
    net, cut = _gathers(tape, pattern.edges, cuts, spacing_mm=tick_mm)
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


def _least_trim(cuts: Sequence[EdgeCut], usual_mm: float) -> float:
    """Return the narrowest trim there is, or the usual one where nothing is trimmed."""
    trims = [cut.cut_mm for cut in cuts if cut.allowance.kind == "trim"]
    return min(trims, default=usual_mm)


def _gathers(
    tape: GatherTape,
    edges: Sequence[PatternEdge],
    cuts: Sequence[EdgeCut],
    *,
    spacing_mm: float,
) -> tuple[tuple[Gather, ...], tuple[Gather, ...]]:
    """Return what each edge's pieces form to along the net line, and along the trim line."""
    net = tuple(tape.along(edge, spacing_mm=spacing_mm) for edge in edges)
    cut = tuple(
        tape.along(edge, outside_mm=cut.cut_mm, spacing_mm=spacing_mm)
        for edge, cut in zip(edges, cuts, strict=False)
    )
    return net, cut


def _marks(
    flat: FlatSheet,
    edges: Iterable[tuple[SeamHalf, str, tuple[float, float]]],
    spacing_mm: float,
) -> tuple[WitnessMark, ...]:
    """Return the witness marks of every seam half, each with its letter and its reach."""
    return tuple(
        mark
        for half, letter, reach in edges
        for mark in witness_marks(flat, half, letter, spacing_mm=spacing_mm, reach_mm=reach)
    )


def _to_roll(
    flat: FlatSheet, filled: BoolArray, lines: Sequence[FloatArray]
) -> tuple[RollLine, ...]:
    """Return the lines a roller is guided by, run on to the edge, and folds.

    A line found over less than half of the blank's width guides no roller; one that runs along a
    locked line tells of the line's own round, which is worked by hand and drawn already.
    """
    least = 0.5 * float(np.ptp(flat.flat_vertices[flat.rim], axis=0).min())
    crisp = shapely.MultiLineString([line for line in lines if len(line) > 1])
    kept = [
        roll
        for roll in roll_lines(flat, filled=filled, crisp=lines)
        if line_length(roll.points) >= least
        and (crisp.is_empty or not _runs_along(roll.points, crisp))
    ]
    return run_to_edge(flat, kept, stop_at=lines)


def _runs_along(points: FloatArray, lines: shapely.MultiLineString) -> bool:
    """Return whether most of a line's points lie within the reach of a character line's round."""
    return bool(np.median(shapely.distance(shapely.points(points), lines)) < ROUND_REACH_MM)


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
        if line_length(line) >= _LEAST_LINE_MM
        and shapely.distance(shapely.points(line), rim).max() > _ALONG_RIM_MM
    )
    return replace(pattern, centre_lines=inner)


def with_fitting_lines(pattern: Pattern, flat: FlatSheet, lines: Sequence[FloatArray]) -> Pattern:
    """Return the pattern with closed lines round its fittings, given on the formed panel."""
    return replace(pattern, fitting_lines=_carried_lines(flat, lines))


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
