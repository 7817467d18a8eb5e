"""Folds: lines along which the formed panel turns sharply, found from the angles at its edges."""

from dataclasses import dataclass

import numpy as np
import shapely
from scipy.sparse import coo_array, csr_array
from scipy.sparse.csgraph import connected_components

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.mesh import edge_lengths, edge_table, face_areas, face_normals
from geometry.pattern.sources import FlatSheet

SHEETS = 3.0
"""A bend whose radius is below this many sheets is a fold."""

_LEAST_TURN = np.radians(10.0)
_LEAST_ALONE = 0.2
_LEAST_TIGHT = 0.1
_ALONE = 3.0
"""An edge stands alone if it turns this many times as far as any beside it."""
_SAME_WAY = np.cos(np.radians(35.0))
_SHORTEST_MM = 15.0
_MOST_CHANGE = 0.005
_BESIDE_MM = 20.0


@dataclass(frozen=True, eq=False)
class Fold:
    """A sharp bend.

    Attributes
    ----------
    points : (k, 2) float, mm
        On the blank; two where it is straight.
    turn_rad : float
        The angle bent; above 0 hollow seen from outside.
    radius_mm : float
        Of the bend, as wide as the mesh shows it; 0 where the mesh shows a sharp edge.
    vertices : (j,) int
        On it.
    edge_mm : float
        How long the mesh's edges along it are.
    """

    points: FloatArray
    turn_rad: float
    radius_mm: float
    vertices: IntArray
    edge_mm: float

    @property
    def barrier(self) -> FloatArray:
        """Return the (k, 2) line drawn out by an edge at either end."""
        first, last = self.points[0] - self.points[1], self.points[-1] - self.points[-2]
        first = self.edge_mm * first / np.linalg.norm(first)
        last = self.edge_mm * last / np.linalg.norm(last)
        return np.concatenate(
            [[self.points[0] + first], self.points[1:-1], [self.points[-1] + last]]
        )


@dataclass(frozen=True, eq=False)
class EdgeTurns:
    """Edges with a face on either side, and how far the formed panel turns at them.

    Attributes
    ----------
    edges : (e, 2) int
    faces : (e, 2) int
        On the left and on the right.
    turn : (e,) float, rad
        Above 0 hollow seen from outside.
    length : (e,) float, mm
    width : (e,) float, mm
        Half the heights of the two faces over the edge, together.
    along : (e, 2) float
        Unit, on the blank.
    middle : (e, 2) float, mm
        On the blank.
    """

    edges: IntArray
    faces: IntArray
    turn: FloatArray
    length: FloatArray
    width: FloatArray
    along: FloatArray
    middle: FloatArray


def edge_turns(flat: FlatSheet) -> EdgeTurns:
    """Return how far the formed panel turns at every inner edge."""
    table = edge_table(flat.faces)
    sides = np.full((len(table.edges), 2), -1, np.int64)
    face_of_side = np.broadcast_to(np.arange(len(flat.faces))[:, None], (len(flat.faces), 3))
    forward = table.side_runs_forward
    sides[table.edge_of_side[forward], 0] = face_of_side[forward]
    sides[table.edge_of_side[~forward], 1] = face_of_side[~forward]
    inner = (sides >= 0).all(axis=1)
    edges, faces = table.edges[inner], sides[inner]
    length = edge_lengths(flat.vertices, edges)
    direction = (flat.vertices[edges[:, 1]] - flat.vertices[edges[:, 0]]) / length[:, None]
    left, right = face_normals(flat.vertices, flat.faces)[faces].transpose(1, 0, 2)
    sine = (np.cross(left, right) * direction).sum(axis=1)
    turn = -np.arctan2(sine, (left * right).sum(axis=1))
    start, end = flat.flat_vertices[edges[:, 0]], flat.flat_vertices[edges[:, 1]]
    return EdgeTurns(
        edges=edges,
        faces=faces,
        turn=turn,
        length=length,
        width=face_areas(flat.vertices, flat.faces)[faces].sum(axis=1) / length,
        along=(end - start) / np.linalg.norm(end - start, axis=1)[:, None],
        middle=(start + end) / 2.0,
    )


def folds(flat: FlatSheet, sheet_mm: float) -> tuple[Fold, ...]:
    """Return the folds of a panel, longest first.

    An edge is sharp if it turns by 0.1 rad within three sheets' radius, or by 0.2 rad and thrice
    as far as any edge beside it. Sharp edges that follow each other within 35 degrees are one
    fold, if they turn one way, by 10 degrees at least, over 15 mm and four edges, no wider than
    three sheets' radius, and half the metal within 20 mm changes in length by 0.005 at most.
    """
    at = edge_turns(flat)
    tight = at.width < SHEETS * sheet_mm * np.abs(at.turn)
    sharp = np.flatnonzero(
        (tight & (np.abs(at.turn) >= _LEAST_TIGHT))
        | ((np.abs(at.turn) >= _LEAST_ALONE) & _stands_alone(at, len(flat.faces)))
    )
    if not len(sharp):
        return ()
    label = _joined(at, sharp, len(flat.vertices))
    found = (
        _fold_of(flat, at, sharp[label == group], sheet_mm) for group in range(label.max() + 1)
    )
    whole = [fold for fold in found if fold is not None]
    return tuple(sorted(whole, key=lambda fold: -float(np.linalg.norm(np.ptp(fold.points, 0)))))


def _stands_alone(at: EdgeTurns, faces: int) -> BoolArray:
    """Return (e,): whether an edge turns far more than any beside it that does not touch it."""
    count = len(at.edges)
    row = np.repeat(np.arange(count), 2)
    touches = csr_array((np.ones(2 * count), (row, at.faces.ravel())), shape=(count, faces))
    beside = (touches @ (touches.T @ touches) @ touches.T).tocoo()
    one, other = beside.coords
    apart = (at.edges[one][:, :, None] != at.edges[other][:, None, :]).all(axis=(1, 2))
    most = np.zeros(count)
    np.maximum.at(most, one[apart], np.abs(at.turn[other[apart]]))
    return np.asarray(np.abs(at.turn) >= _ALONE * most)


def _joined(at: EdgeTurns, sharp: IntArray, vertices: int) -> IntArray:
    """Return a label for each sharp edge: the same where they follow each other one way."""
    count = len(sharp)
    row = np.repeat(np.arange(count), 2)
    on = csr_array((np.ones(2 * count), (row, at.edges[sharp].ravel())), shape=(count, vertices))
    along = at.along[sharp]
    size = np.abs(at.turn[sharp]) * at.length[sharp]
    parts = size[:, None] * np.column_stack(
        [along[:, 0] ** 2 - along[:, 1] ** 2, 2.0 * along[:, 0] * along[:, 1]]
    )
    parts = np.asarray((on @ on.T > 0).astype(np.float64) @ parts)  # of edges that touch
    angle = np.arctan2(parts[:, 1], parts[:, 0]) / 2.0
    ends = at.edges.T
    mesh = coo_array((np.ones(len(at.edges)), (ends[0], ends[1])), shape=(vertices, vertices))
    near = (mesh + mesh.T).tocsr() @ on.T + on.T
    one, other = (on @ near).tocoo().coords
    same_way = np.abs(np.cos(angle[one] - angle[other])) > _SAME_WAY
    same_sign = at.turn[sharp[one]] * at.turn[sharp[other]] > 0.0
    keep = same_way & same_sign
    links = coo_array((np.ones(keep.sum()), (one[keep], other[keep])), shape=(count, count))
    return np.asarray(connected_components(links, directed=False)[1])


def _fold_of(flat: FlatSheet, at: EdgeTurns, sharp: IntArray, sheet_mm: float) -> Fold | None:
    """Return the fold that some sharp edges make up, if they do."""
    vertices = np.unique(at.edges[sharp])
    size = np.abs(at.turn[sharp]) * at.length[sharp]
    edge_mm = float(np.median(at.length[sharp]))
    centre = np.average(at.middle[sharp], axis=0, weights=size)
    away = flat.flat_vertices[vertices] - centre
    direction = np.linalg.svd(away, full_matrices=False)[2][0]
    reach = np.array([(away @ direction).min(), (away @ direction).max()])
    extent = float(reach[1] - reach[0])
    if extent < max(_SHORTEST_MM, 4.0 * edge_mm):
        return None
    line = centre + _line_through(at.middle[sharp] - centre, size, direction, reach, edge_mm / 2.0)
    turn = _turned(flat, at, vertices, line)
    off = shapely.distance(shapely.LineString(line), shapely.points(at.middle[sharp]))
    width = float(np.sqrt(12.0 * np.average(off**2, weights=size)))
    radius = width / max(abs(turn), 1e-9) if width > 1e-3 * edge_mm else 0.0
    if abs(turn) < _LEAST_TURN or radius > SHEETS * sheet_mm:
        return None
    if _change_beside(flat, line, max(_BESIDE_MM, 2.0 * edge_mm)) > _MOST_CHANGE:
        return None
    return Fold(line, turn, radius, vertices, edge_mm)


def _change_beside(flat: FlatSheet, line: FloatArray, reach_mm: float) -> float:
    """Return the change of length, as a logarithm, that half the metal near a line stays below."""
    middle = flat.flat_vertices[flat.faces].mean(axis=1)
    near = shapely.distance(shapely.LineString(line), shapely.points(middle)) <= reach_mm
    change = np.abs(np.log(flat.stretches[near])).max(axis=1)
    order = np.argsort(change)
    area = np.cumsum(face_areas(flat.vertices, flat.faces)[near][order])
    return float(change[order][np.searchsorted(area, area[-1] / 2.0)])


def _turned(flat: FlatSheet, at: EdgeTurns, vertices: IntArray, line: FloatArray) -> float:
    """Return the mean turn about a line, rad, of the edges on and next to a fold."""
    ring = np.unique(flat.faces[np.isin(flat.faces, vertices).any(axis=1)])
    beside = np.flatnonzero(np.isin(at.edges, ring).all(axis=1))
    steps = np.diff(line, axis=0)
    length = np.linalg.norm(steps, axis=1)
    place = np.concatenate([[0.0], np.cumsum(length)])
    at_mm = np.asarray(
        shapely.line_locate_point(shapely.LineString(line), shapely.points(at.middle[beside]))
    )
    within = (at_mm > 0.0) & (at_mm < place[-1])  # others lie beyond an end
    beside, at_mm = beside[within], at_mm[within]
    piece = np.clip(np.searchsorted(place, at_mm, side="right") - 1, 0, len(length) - 1)
    way = steps[piece] / length[piece][:, None]
    along = (at.along[beside] * way).sum(axis=1)
    return float((at.turn[beside] * at.length[beside] * along**2).sum() / place[-1])


def _line_through(
    middle: FloatArray, size: FloatArray, direction: FloatArray, reach: FloatArray, off_mm: float
) -> FloatArray:
    """Return the (k, 2) line of a fold, from its centre.

    Straight where the averages of edges along it stay within `off_mm` of the axis.
    """
    square = np.array([-direction[1], direction[0]])
    s, t = middle @ direction, middle @ square
    bins = max(int((reach[1] - reach[0]) / (6.0 * off_mm)), 1)
    into = np.clip(((s - reach[0]) / (reach[1] - reach[0]) * bins).astype(np.int64), 0, bins - 1)
    total = np.bincount(into, weights=size, minlength=bins)
    filled = total > 0.0
    along = np.bincount(into, weights=size * s, minlength=bins)[filled] / total[filled]
    beside = np.bincount(into, weights=size * t, minlength=bins)[filled] / total[filled]
    if np.abs(beside).max() <= off_mm or len(along) < 3:
        along, beside = reach, np.zeros(2)
    else:
        slope = np.diff(beside)[[0, -1]] / np.diff(along)[[0, -1]]
        ends = beside[[0, -1]] + slope * (reach - along[[0, -1]])
        along = np.concatenate([reach[:1], along, reach[1:]])
        beside = np.concatenate([ends[:1], beside, ends[1:]])
    return np.asarray(along[:, None] * direction + beside[:, None] * square)
