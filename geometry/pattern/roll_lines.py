"""Roll lines: where a panel that bends one way only is rolled, and how tightly; and its folds.

On a surface that bends without stretch the lines of least bend are straight, on the panel and on
the blank. The panel's normal is the same all along such a line, so the turn from one line to its
neighbour is too, while their distance changes evenly: so does the radius, their quotient.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import breadth_first_order, minimum_spanning_tree
from scipy.sparse.linalg import spsolve

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.mesh import NearestPoint, TriMesh, edge_table, face_areas, piece_of_face, section
from geometry.pattern.bending import bending, principal_bending
from geometry.pattern.folds import Fold, folds
from geometry.pattern.sources import FlatSheet
from geometry.polyline import in_pieces, line_length
from geometry.progress import Report, part_of, silent

FLATTEST = 10.0
"""A bend counts as flat if its radius is more than this times the blank's length."""

ONE_WAY = 0.1
"""The lesser curvature of a bend that is clearly one-way, over the greater."""

FLAT_ENOUGH = 30.0
"""A lesser bend of a radius more than this times the blank's length counts as none."""

MOST_CHANGE = 0.005
"""Change of length, as a logarithm, up to which metal counts as only bent."""

_EVENINGS = 4
_SHORTEST_MM = 20.0
_STRAIGHT = 0.02
"""How far off its chord a line may lie, over its length, to be drawn straight."""
_CURVED = 0.06
"""Lines that lie farther off their chord are no lines of a roll."""
_DRAWN = 2.0 / 3.0
_POINTS_EVERY_MM = 10.0
_MOST_POINTS = 200
ROUND_REACH_MM = 20.0
"""So far beside a character line its own round bends the metal: lines tell radii up to 18 mm."""

_BARRIER_MM = 0.5
"""A crisp line is followed so closely when nothing is fitted across it."""

_CLEAR_OF_ENDS = 0.35
"""Of a line's length from its middle: what lies nearer its ends was fitted from one side."""


@dataclass(frozen=True, eq=False)
class RollLine:
    """A line along which a panel is rolled or folded.

    Attributes
    ----------
    points : (k, 2) float, mm
        On the blank, seen from outside.
    formed : (k, 3) float, mm
        The same points on the formed panel.
    radii : (k,) float, mm
        Sweep radius across the line at each point; for a fold the bend's, 0 where it is sharp.
    is_fold : bool
        A bend with a radius below three sheets.
    turn_rad : float
        Of a fold, the angle bent; of a roll line, the turn it stands for. Above 0.
    towards_outside : bool
        Whether the metal beside it comes towards the outside face: hollow seen from outside.
    """

    points: FloatArray
    formed: FloatArray
    radii: FloatArray
    is_fold: bool
    turn_rad: float
    towards_outside: bool


def roll_lines(
    flat: FlatSheet,
    *,
    sheet_mm: float = 1.6,
    filled: BoolArray | None = None,
    crisp: Sequence[FloatArray] = (),
    turn_rad: float = float(np.radians(12.0)),
    report: Report = silent,
) -> tuple[RollLine, ...]:
    """Return the lines along which a panel is folded, then those along which it is rolled.

    A place is rolled where the panel's tighter radius is below ten times the blank's length, the
    other at least ten times the tighter (or thirty times that length), and lengths change by 0.005
    at most. Curvature is fitted about each vertex, the wider the gentler the bend, and, to judge
    this, evened over its neighbours. Over such places the turn is summed into one height, by least
    squares, whose level lines, evenly spaced, are the roll lines; what the lines do not cross is
    flat, folded, or shaped both ways. A line is drawn straight where it lies within a fiftieth of
    its length of its chord, and left out beyond thrice that.

    Parameters
    ----------
    flat : FlatSheet
    sheet_mm : float
        Thickness of the sheet: a bend tighter than three of them is a fold.
    filled : (m,) bool, optional
        Faces that are a guess: their own curvature is not looked at.
    crisp : sequence of (k, 2) float, mm
        Locked lines on the blank. The metal within `ROUND_REACH_MM` bends round them: it says
        nothing of how the panel is rolled, nor does anything across them.
    turn_rad : float
        Turn between neighbouring roll lines, nearly; spread evenly over each rolled part.
    report : Report

    Returns
    -------
    tuple of RollLine
        None where the panel is flat or shaped both ways.
    """
    report(0.0, "folds")
    sharp = folds(flat, sheet_mm)
    on_fold = np.zeros(len(flat.vertices), bool)
    for fold in sharp:
        on_fold[fold.vertices] = True
    lines_off = _Crisp(flat, crisp)
    on_fold |= lines_off.on_line
    guessed = lines_off.beside_line
    if filled is not None and filled.any():
        guessed[flat.faces[filled]] = True
    fitted = bending(
        flat,
        left_out=on_fold | guessed,
        looked_at=_only_bent(flat),
        barriers=[*(fold.barrier for fold in sharp), *lines_off.barriers],
        report=part_of(report, 0.1, 0.6),
    )
    told = fitted.known & ~on_fold & ~guessed
    evened = _evened(flat.faces, fitted.curvature, told, on_fold)
    curvature = np.where(told[:, None], fitted.curvature, evened)
    report(0.7, "roll lines")
    panel = _OnPanel(flat, curvature)
    lines: list[RollLine | None] = [panel.fold(fold) for fold in sharp]
    for part in _rolled_parts(flat, evened, on_fold):
        for pieces, turn in _levels(flat, part, curvature, turn_rad):
            lines += [panel.rolled(piece, turn) for piece in panel.joined(pieces)]
    report(1.0, "roll lines")
    return tuple(line for line in lines if line is not None)


class _Crisp:
    """Locked lines, and the vertices whose place they settle.

    Attributes
    ----------
    on_line, beside_line : (n,) bool
        Vertices within half an edge of a line, and within reach of its round.
    barriers : list of (k, 2) float
    """

    def __init__(self, flat: FlatSheet, crisp: Sequence[FloatArray]) -> None:
        n = len(flat.vertices)
        self.on_line, self.beside_line = np.zeros(n, bool), np.zeros(n, bool)
        courses = [shapely.LineString(line) for line in crisp if len(line) > 1]
        self.barriers = [shapely.get_coordinates(line.simplify(_BARRIER_MM)) for line in courses]
        if courses:
            edge = np.sqrt(2.0 * np.median(face_areas(flat.vertices, flat.faces)))
            off = shapely.distance(shapely.points(flat.flat_vertices), shapely.union_all(courses))
            self.on_line = np.asarray(off <= edge / 2.0)
            self.beside_line = np.asarray(off < ROUND_REACH_MM)


def _change(flat: FlatSheet) -> FloatArray:
    """Return the (m,) change of length of each face, as a logarithm, without sign."""
    return np.asarray(np.abs(np.log(flat.stretches)).max(axis=1))


def _only_bent(flat: FlatSheet) -> BoolArray:
    """Return the (n,) vertices with a face beside them that is only bent."""
    bent = np.zeros(len(flat.vertices), bool)
    bent[flat.faces[_change(flat) <= MOST_CHANGE]] = True
    return bent


def _evened(
    faces: IntArray, curvature: FloatArray, known: BoolArray, barred: BoolArray
) -> FloatArray:
    """Return (n, 3) curvature averaged over neighbours; what is not known is filled in by them.

    Nothing passes through `barred` vertices.
    """
    edges = edge_table(faces).edges
    edges = edges[~barred[edges].any(axis=1)]
    n = len(curvature)
    ones = np.ones(len(edges))
    mesh = coo_array((ones, (edges[:, 0], edges[:, 1])), shape=(n, n))
    beside = (mesh + mesh.T).tocsr()
    values, weight = np.where(known[:, None], curvature, 0.0), known.astype(np.float64)
    for turn in range(4 * _EVENINGS):
        if turn >= _EVENINGS and weight.all():
            break
        total = weight + beside @ weight
        summed = values * weight[:, None] + beside @ (values * weight[:, None])
        told = total > 0.0
        fresh = np.where(told[:, None], summed / np.where(told, total, 1.0)[:, None], 0.0)
        values = fresh if turn < _EVENINGS else np.where(weight[:, None] > 0.0, values, fresh)
        weight = told.astype(np.float64)
    return np.asarray(values)


def _rolled_parts(flat: FlatSheet, curvature: FloatArray, on_fold: BoolArray) -> Iterator[IntArray]:
    """Yield the faces of each part that bends one way only, the largest first."""
    bend = principal_bending(curvature)
    length = _length(flat)
    greater, lesser = np.abs(bend.greater), np.abs(bend.lesser)
    one_way = lesser <= np.maximum(ONE_WAY * greater, 1.0 / (FLAT_ENOUGH * length))
    rolled = one_way & (greater >= 1.0 / (FLATTEST * length))
    faces = np.flatnonzero(
        (rolled[flat.faces].sum(axis=1) >= 2)
        & ~on_fold[flat.faces].any(axis=1)
        & (_change(flat) <= MOST_CHANGE)
    )
    if len(faces):
        piece = piece_of_face(flat.faces[faces])
        for number in range(int(piece.max()) + 1):
            yield faces[piece == number]


def _length(flat: FlatSheet) -> float:
    """Return about how long the blank is, whichever way it lies, mm."""
    net = flat.flat_vertices[flat.rim]
    return 2.0 * float(np.linalg.norm(net - net.mean(axis=0), axis=1).max())


def _levels(
    flat: FlatSheet, part: IntArray, curvature: FloatArray, turn_rad: float
) -> Iterator[tuple[list[FloatArray], float]]:
    """Yield (pieces (k, 2) of the line, turn it stands for) for every level over a part."""
    used, corner = np.unique(flat.faces[part], return_inverse=True)
    faces = corner.reshape(-1, 3).astype(np.int64)
    places = flat.flat_vertices[used]
    turned = _turn_over(places, faces, curvature[used])
    total = float(np.ptp(turned))
    count = round(total / turn_rad)
    sheet = TriMesh(np.column_stack([places, turned]), faces)
    for index in range(count):
        level = np.array([0.0, 0.0, turned.min() + (index + 0.5) * total / count])
        pieces = section(sheet, level, np.array([0.0, 0.0, 1.0]))
        yield [piece[:, :2] for piece in pieces], total / count


def _turn_over(places: FloatArray, faces: IntArray, curvature: FloatArray) -> FloatArray:
    """Return the (n,) turn, rad, whose slope is nearest to the greater curvature across it.

    Least squares over the faces' areas; own derivation. The part hangs together over edges.
    """
    bend = principal_bending(curvature[faces].mean(axis=1))
    wanted = np.abs(bend.greater)[:, None] * _one_way(faces, bend.across)
    corners = places[faces]
    side = np.roll(corners, -2, axis=1) - np.roll(corners, -1, axis=1)  # opposite each corner
    twice = side[:, 0, 0] * side[:, 1, 1] - side[:, 0, 1] * side[:, 1, 0]  # twice the area
    slopes = np.stack([-side[:, :, 1], side[:, :, 0]], axis=2) / twice[:, None, None]
    area = twice[:, None] / 2.0
    stiff = np.einsum("mak,mbk->mab", slopes, slopes) * area[:, :, None]
    load = np.einsum("mak,mk->ma", slopes, wanted) * area
    n = len(places)
    rows, columns = np.broadcast_arrays(faces[:, :, None], faces[:, None, :])
    matrix = coo_array((stiff.ravel(), (rows.ravel(), columns.ravel())), shape=(n, n)).tocsc()
    right = np.bincount(faces.ravel(), weights=load.ravel(), minlength=n)
    turned = np.zeros(n)
    turned[1:] = spsolve(matrix[1:, 1:], right[1:])
    return turned


def _one_way(faces: IntArray, across: FloatArray) -> FloatArray:
    """Return (m, 2) directions with signs that agree over edges, the surest agreements first."""
    table = edge_table(faces)
    pairs = table.faces_of_edge[table.face_count == 2]
    agree = (across[pairs[:, 0]] * across[pairs[:, 1]]).sum(axis=1)
    count = len(faces)
    links = coo_array((2.0 - np.abs(agree), (pairs[:, 0], pairs[:, 1])), shape=(count, count))
    tree = minimum_spanning_tree(links.tocsr())
    order, parent = breadth_first_order(tree, 0, directed=False)
    signed = across.copy()
    for face, before in zip(order[1:].tolist(), parent[order[1:]].tolist(), strict=True):
        if signed[face] @ signed[before] < 0.0:
            signed[face] = -signed[face]
    return signed


class _OnPanel:
    """Puts lines of the blank on the formed panel, and reads the bend across them."""

    def __init__(self, flat: FlatSheet, curvature: FloatArray) -> None:
        self._flat, self._curvature = flat, curvature
        raised = np.column_stack([flat.flat_vertices, np.zeros(len(flat.flat_vertices))])
        self._nearest = NearestPoint(TriMesh(raised, flat.faces))

    def fold(self, fold: Fold) -> RollLine:
        """Return a fold as a line."""
        points = points_along(fold.points)
        (formed,) = self._read(points, self._flat.vertices)
        return RollLine(
            points=locked(points),
            formed=locked(formed),
            radii=locked(np.full(len(points), fold.radius_mm)),
            is_fold=True,
            turn_rad=abs(fold.turn_rad),
            towards_outside=fold.turn_rad > 0.0,
        )

    def joined(self, pieces: list[FloatArray]) -> list[FloatArray]:
        """Return the pieces of a line; all as one where that is straight, over metal, nearly whole.

        Gaps may be a third of it: places bent a little both ways.
        """
        if len(pieces) < 2:
            return pieces
        together = np.concatenate(pieces)
        straight, off = _straightened(together)
        length = float(np.linalg.norm(straight[1] - straight[0]))
        drawn = sum(float(np.linalg.norm(piece[-1] - piece[0])) for piece in pieces)
        if off > _STRAIGHT * length or drawn < _DRAWN * length:
            return pieces
        points = points_along(straight)
        raised = np.column_stack([points, np.zeros(len(points))])
        off_metal = self._nearest.find(raised).distances.max() > _STRAIGHT * length
        return pieces if off_metal else [straight]

    def rolled(self, found: FloatArray, turn_rad: float) -> RollLine | None:
        """Return a level line of the turn as a roll line, if it is long and straight enough."""
        length = float(np.linalg.norm(found[-1] - found[0]))
        if length < _SHORTEST_MM:
            return None
        straight, off = _straightened(found)
        if off > _CURVED * length:
            return None
        is_straight = off <= _STRAIGHT * length
        found = straight if is_straight else found
        points = points_along(found)
        formed, forms = self._read(points, self._flat.vertices, self._curvature)
        bend = _bend_across(points, forms)
        return RollLine(
            points=locked(points),
            formed=locked(formed),
            radii=locked(_radii(points, bend, 2.0 * FLATTEST * _length(self._flat), is_straight)),
            is_fold=False,
            turn_rad=turn_rad,
            towards_outside=bool(np.median(bend) > 0.0),
        )

    def _read(self, points: FloatArray, *values: FloatArray) -> list[FloatArray]:
        raised = np.column_stack([points, np.zeros(len(points))])
        at = self._nearest.find(raised)
        corners = self._flat.faces[at.faces]
        return [np.einsum("kc,kcd->kd", at.barycentric, value[corners]) for value in values]


def _straightened(line: FloatArray) -> tuple[FloatArray, float]:
    """Return the (2, 2) straight line nearest to points, as long as they, and the farthest off."""
    centre = line.mean(axis=0)
    direction = np.linalg.svd(line - centre, full_matrices=False)[2][0]
    reach = (line - centre) @ direction
    off = np.abs((line - centre) @ np.array([-direction[1], direction[0]])).max()
    ends = np.array([reach.min(), reach.max()])
    ends = ends if reach[0] <= reach[-1] else ends[::-1]
    return centre + ends[:, None] * direction, float(off)


def _bend_across(points: FloatArray, forms: FloatArray) -> FloatArray:
    """Return the (k,) signed curvature across a line at its points, 1/mm."""
    along = np.gradient(points, axis=0)
    along /= np.linalg.norm(along, axis=1)[:, None]
    x, y = -along[:, 1], along[:, 0]
    return np.asarray(forms[:, 0] * x * x + 2.0 * forms[:, 1] * x * y + forms[:, 2] * y * y)


def _radii(points: FloatArray, bend: FloatArray, largest: float, is_straight: bool) -> FloatArray:
    """Return the (k,) radii along a line; evenly changing along a straight one, as they must."""
    size = np.maximum(np.abs(bend), 1.0 / largest)
    if not is_straight or len(points) < 3:
        return np.asarray(1.0 / size)
    place = np.linalg.norm(points - points[0], axis=1)
    inner = np.abs(place / place[-1] - 0.5) <= _CLEAR_OF_ENDS if len(points) > 8 else place >= 0.0
    slope, start = np.polyfit(place[inner], 1.0 / size[inner], 1, w=size[inner])
    return np.asarray(np.maximum(start + slope * place, float((1.0 / size).min()) / 2.0))


def points_along(line: FloatArray) -> FloatArray:
    """Return (k, 2) points along a line, about 10 mm apart, 200 at most, with its ends."""
    pieces = int(np.ceil(line_length(line) / _POINTS_EVERY_MM))
    return in_pieces(line, min(pieces, _MOST_POINTS - 1))
