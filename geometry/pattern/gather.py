"""Gather: what each piece of an edge, of the margin beside it and of the grid forms to.

Numbers a soft tape proves: so much along the flat edge becomes so much along the finished one.
"""

from dataclasses import dataclass

import numpy as np
import shapely
from scipy.spatial import cKDTree

from geometry.arrays import FloatArray, locked
from geometry.mesh import NearestPoint, TriMesh, angles_around, face_areas
from geometry.pattern.edges import PatternEdge
from geometry.pattern.sources import FlatSheet

BESIDE_MM = 20.0
"""How far from an edge the surface tells how it would go on past the edge."""

STEPS_ACROSS = 12
"""Pieces in which a line across a grid square is measured on the formed panel."""


@dataclass(frozen=True, eq=False)
class Gather:
    """One edge of a blank, piece by piece between ticks.

    Attributes
    ----------
    letter : str
        The edge's.
    outside_mm : float
        How far outside the net line it is measured: 0 on the net, the allowance on the cut line.
    places : (t, 2) float, mm
        The ticks on the blank, from the edge's first corner on; t - 1 pieces lie between.
    outward : (t, 2) float
        Unit, square to the edge, away from the blank.
    flat_mm : (t - 1,) float
        Each piece's length on the blank: the spacing, and what is left over at the end.
    formed_mm : (t - 1,) float
        What it forms to.
    """

    letter: str
    outside_mm: float
    places: FloatArray
    outward: FloatArray
    flat_mm: FloatArray
    formed_mm: FloatArray

    @property
    def change_mm(self) -> FloatArray:
        """Return (t - 1,): formed less flat; below 0 the edge is to be shrunk."""
        return self.formed_mm - self.flat_mm

    @property
    def total_mm(self) -> tuple[float, float, float]:
        """Return the whole edge: flat, formed, and formed less flat."""
        flat, formed = float(self.flat_mm.sum()), float(self.formed_mm.sum())
        return flat, formed, formed - flat


@dataclass(frozen=True, eq=False)
class GridSquares:
    """Whole squares of the grid, and what they should measure when the panel is done.

    Attributes
    ----------
    side_mm : float
    middles : (k, 2) float, mm
        On the blank.
    formed_mm : (k, 2) float
        Lengths of the lines through each square's middle, along u and along v.
    """

    side_mm: float
    middles: FloatArray
    formed_mm: FloatArray


class GatherTape:
    """A soft tape laid along a blank's edges and along the finished panel's.

    Parameters
    ----------
    flat : FlatSheet
    """

    def __init__(self, flat: FlatSheet) -> None:
        self._flat = flat
        around = angles_around(flat.vertices, flat.faces)
        third = np.repeat(face_areas(flat.vertices, flat.faces) / 3.0, 3)
        area: FloatArray = np.bincount(
            flat.faces.ravel(), third, minlength=len(flat.vertices)
        ).astype(np.float64, copy=False)
        self._bulge = _crown_beside(flat, around, area)
        # Of the formed rim at its vertices; the crown of the area they stand for is not turning.
        self._turning = np.pi - around - self._bulge * area

    def along(self, edge: PatternEdge, *, outside_mm: float = 0.0, spacing_mm: float) -> Gather:
        """Return an edge's pieces between ticks.

        A line at a distance d outside the edge is dl + d * turning long on the blank. On the
        finished panel the sheet is thought to go on past its edge with the crown K it has there;
        lines square to the edge then spread as f'' = -K f (Jacobi), so that the line is
        dl * cos(d root K) + turning * sin(d root K) / root K long, the turning being the formed
        edge's own within the surface. Own derivation; exact on a sphere, a cone and flat sheet.

        Parameters
        ----------
        edge : PatternEdge
        outside_mm : float
            0 for the net line, the allowance for the cut line.
        spacing_mm : float
            From tick to tick along the line on the blank.
        """
        closed = edge.vertices[0] == edge.vertices[-1]
        direction, flat_turning = _course(edge.points, closed=closed)
        turning = self._turning[edge.vertices].copy()
        if not closed:
            turning[[0, -1]] = 0.0  # the corner belongs to neither edge
        flat_step = _lengths(edge.points) + outside_mm * _means(flat_turning)
        across, along = _spread(self._bulge[edge.vertices], outside_mm)
        formed_step = _lengths(self._flat.vertices[edge.vertices]) * _means(along)
        formed_step = formed_step + _means(turning * across)
        flat_at = np.concatenate([[0.0], np.cumsum(np.maximum(flat_step, 0.0))])
        formed_at = np.concatenate([[0.0], np.cumsum(np.maximum(formed_step, 0.0))])
        ticks = _ticks(float(flat_at[-1]), spacing_mm)
        outward = np.stack([direction[:, 1], -direction[:, 0]], axis=1)
        at = [np.interp(ticks, flat_at, column) for column in (*edge.points.T, *outward.T)]
        normal = np.stack(at[2:], axis=1)
        normal /= np.linalg.norm(normal, axis=1, keepdims=True)
        return Gather(
            edge.letter,
            outside_mm,
            locked(np.stack(at[:2], axis=1) + outside_mm * normal),
            locked(normal),
            locked(np.diff(ticks)),
            locked(np.diff(np.interp(ticks, flat_at, formed_at))),
        )

    def squares(self, net: FloatArray, centre: FloatArray, side_mm: float) -> GridSquares:
        """Return every whole grid square within the net line.

        Parameters
        ----------
        net : (k, 2) float, mm
            Closed, the first point not repeated.
        centre : (2,) float, mm
            A crossing of grid lines.
        side_mm : float
        """
        middles = _square_middles(net, centre, side_mm)
        sheet = self._flat
        flat_mesh = TriMesh(np.pad(sheet.flat_vertices, ((0, 0), (0, 1))), sheet.faces)
        finder = NearestPoint(flat_mesh)
        lengths = []
        for axis in (0, 1):
            line = np.zeros((STEPS_ACROSS + 1, 3))
            line[:, axis] = side_mm * np.linspace(-0.5, 0.5, STEPS_ACROSS + 1)
            points = np.pad(middles, ((0, 0), (0, 1)))[:, None] + line
            found = finder.find(points.reshape(-1, 3))
            corners = sheet.vertices[sheet.faces[found.faces]]
            formed = (corners * found.barycentric[:, :, None]).sum(axis=1)
            steps = np.diff(formed.reshape(-1, STEPS_ACROSS + 1, 3), axis=1)
            lengths.append(np.linalg.norm(steps, axis=2).sum(axis=1))
        return GridSquares(side_mm, locked(middles), locked(np.stack(lengths, axis=1)))


def stretch_from_readings(
    side_mm: float,
    along_mm: FloatArray,
    across_mm: FloatArray,
    diagonals_mm: tuple[FloatArray, FloatArray] | None = None,
) -> FloatArray:
    """Return the (k, 2) stretches, larger first, that tape readings of grid squares tell.

    Parameters
    ----------
    side_mm : float
        Of the squares as drawn on the blank.
    along_mm, across_mm : (k,) float
        The two lines through each square's middle, read on the formed panel.
    diagonals_mm : two of (k,) float, optional
        The rising and the falling diagonal; without them the squares are taken to have kept their
        right angles.

    Own derivation: the readings squared are the square's metric; its principal values are the
    stretches squared.

    >>> stretch_from_readings(25.0, np.array([27.0]), np.array([24.0])).tolist()
    [[1.08, 0.96]]
    """
    along, across = (np.asarray(reading) / side_mm for reading in (along_mm, across_mm))
    slant = np.zeros_like(along)
    if diagonals_mm is not None:
        rising, falling = (np.asarray(reading) / side_mm for reading in diagonals_mm)
        slant = (rising**2 - falling**2) / 4.0
    half_sum, half_gap = (along**2 + across**2) / 2.0, (along**2 - across**2) / 2.0
    root = np.hypot(half_gap, slant)
    return np.sqrt(np.stack([half_sum + root, half_sum - root], axis=1))


def _crown_beside(flat: FlatSheet, around: FloatArray, area: FloatArray) -> FloatArray:
    """Return (n,), 1/mm2: crown near each rim vertex, from the inner vertices beside it; else 0.

    Angles short of a full turn over the area they stand for. Source: Gauss-Bonnet.
    """
    inner = np.ones(len(flat.vertices), bool)
    inner[flat.rim] = False
    at = np.flatnonzero(inner & (area > 0.0))
    bulge = np.zeros(len(flat.vertices))
    if not len(at):
        return bulge
    beside = cKDTree(flat.vertices[at]).query_ball_point(flat.vertices[flat.rim], BESIDE_MM)
    for vertex, near in zip(flat.rim, beside, strict=True):
        members = at[near]
        if len(members):
            bulge[vertex] = (2.0 * np.pi - around[members]).sum() / area[members].sum()
    return bulge


def _spread(bulge: FloatArray, distance: float) -> tuple[FloatArray, FloatArray]:
    """Return sin(d root K) / root K and cos(d root K), hyperbolic where K is below 0."""
    root = np.sqrt(np.abs(bulge))
    angle = np.maximum(root * distance, 1e-12)
    along = np.where(bulge >= 0.0, np.cos(angle), np.cosh(angle))
    ratio = np.where(bulge >= 0.0, np.sin(angle), np.sinh(angle)) / angle
    return distance * ratio, along


def _course(points: FloatArray, *, closed: bool) -> tuple[FloatArray, FloatArray]:
    """Return the (k, 2) unit directions at a line's points and how far it turns left at each."""
    step = np.diff(points, axis=0)
    step /= np.linalg.norm(step, axis=1, keepdims=True)
    into = np.concatenate([step[-1:] if closed else step[:1], step])
    out = np.concatenate([step, step[:1] if closed else step[-1:]])
    turning = np.arctan2(into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0], (into * out).sum(axis=1))
    mean = into + out
    return mean / np.linalg.norm(mean, axis=1, keepdims=True), turning


def _lengths(points: FloatArray) -> FloatArray:
    return np.asarray(np.linalg.norm(np.diff(points, axis=0), axis=1))


def _means(at_points: FloatArray) -> FloatArray:
    """Return what lies at points, shared out to the pieces between them, half to either side."""
    return np.asarray((at_points[:-1] + at_points[1:]) / 2.0)


def _ticks(length: float, spacing: float) -> FloatArray:
    """Return places from 0 to a length, spaced; no piece shorter than a tenth of the spacing."""
    count = int(np.floor(length / spacing))
    ticks = spacing * np.arange(count + 1)
    if length - ticks[-1] > 0.1 * spacing or count == 0:
        return np.append(ticks, length)
    ticks[-1] = length
    return np.asarray(ticks)


def _square_middles(net: FloatArray, centre: FloatArray, side: float) -> FloatArray:
    """Return the middles of the whole squares of a grid within a closed line, row by row."""
    low = np.floor((net.min(axis=0) - centre) / side).astype(int)
    high = np.ceil((net.max(axis=0) - centre) / side).astype(int)
    columns, rows = np.arange(low[0], high[0]), np.arange(low[1], high[1])
    v, u = np.meshgrid(rows, columns, indexing="ij")
    middles = centre + side * (np.stack([u.ravel(), v.ravel()], axis=1) + 0.5)
    corner = side / 2.0
    boxes = shapely.box(*(middles - corner).T, *(middles + corner).T)
    shape = shapely.make_valid(shapely.Polygon(net))
    shapely.prepare(shape)
    return np.ascontiguousarray(middles[np.asarray(shapely.contains(shape, boxes))])
