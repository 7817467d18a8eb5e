"""From a break-up under study to seams as the maker draws them, mirrored pairs exact."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import FloatArray, locked
from geometry.breakups.courses import Leaf
from geometry.breakups.measured import Cutter, Measured
from geometry.breakups.piece import MIRROR, Line, Piece, rim_edges_of
from geometry.breakups.study_ground import StudyGround
from geometry.gauges import TankAxes
from geometry.mesh import NearestPoint, TriMesh, rims
from geometry.panels import Seam, Surface
from geometry.polyline import in_pieces, line_length

CALM_EDGES = 0.6
"""Over how many of the ground's edges a level line is calmed: what its triangles make of it."""

SPACING_EDGES = 1.0
"""How far apart a drawn seam's points are, in edges of the ground."""

ENDS_REACH_EDGES = 0.8
"""How far a seam's end may be drawn to the rim or seam it ends on."""


@dataclass(frozen=True, eq=False)
class DrawnSeam:
    """A seam of a break-up as the maker would have drawn it.

    Attributes
    ----------
    seam : Seam
        In the axes of the surface.
    mirror_of : str
        The seam on the left that it is the mirror image of, or "".
    course : int
        Which of the break-up's seam lines it comes from.
    """

    seam: Seam
    mirror_of: str
    course: int


class Board:
    """What seams are drawn on: the surface's scanned face, in the tank's axes.

    Parameters
    ----------
    surface : WorkingSurface
    axes : TankAxes
    """

    def __init__(self, surface: Surface, axes: TankAxes) -> None:
        self.axes = axes
        self.skin = TriMesh(axes.to_tank(surface.outside), surface.mesh.faces)
        self._nearest = NearestPoint(self.skin)
        self.rims = tuple(self.skin.vertices[np.append(rim, rim[0])] for rim in rims(surface.mesh))

    def on_skin(self, points: FloatArray) -> FloatArray:
        """Return the places of the skin nearest to points."""
        return self._nearest.find(points).points


def drawn_seams(ground: StudyGround, board: Board, found: Measured) -> tuple[DrawnSeam, ...]:
    """Return the seams of a break-up, those that others end on first."""
    drawn: list[DrawnSeam] = []
    taken: dict[str, int] = {}
    for index, lines in enumerate(found.seams):
        for line in lines.lines:
            base = _name(line, lines.course is None, ground.has_plane)
            taken[base] = taken.get(base, 0) + 1
            name = base if taken[base] == 1 else f"{base} {taken[base]}"
            points, closed = _shaped(ground, board, line, drawn)
            paired = ground.has_plane and not any(line.on_plane)
            for each, mirror_of, at in _hands(name, points, paired=paired):
                seam = Seam(each, locked(board.axes.from_tank(at)), closed)
                drawn.append(DrawnSeam(seam, mirror_of, index))
    return tuple(drawn)


def panel_places(
    ground: StudyGround, board: Board, found: Measured
) -> tuple[tuple[str, FloatArray], ...]:
    """Return a name for every panel and a place well inside it, on the scanned face."""
    cutter = Cutter(ground)
    placed: list[tuple[str, FloatArray]] = []
    taken: dict[str, int] = {}
    for leaf in found.leaves:
        piece = cutter.piece(leaf.cuts)
        if piece is None:
            raise ValueError("a leaf whose cuts part nothing")
        base = _panel_word(piece, leaf)
        taken[base] = taken.get(base, 0) + 1
        word = base if taken[base] == 1 else f"{base} {taken[base]}"
        middle = board.on_skin(_inside(piece, joined=leaf.joined)[None])
        hands = (("left ", 1.0), ("right ", MIRROR)) if leaf.count == 2 else (("", 1.0),)
        for hand, turned in hands:
            place = board.axes.from_tank(middle * turned)[0]
            placed.append((f"{hand}{word}" if ground.has_plane else word, locked(place)))
    return tuple(placed)


def _hands(name: str, points: FloatArray, *, paired: bool) -> list[tuple[str, str, FloatArray]]:
    """Return a line's name, the one it mirrors, and its points; two where it comes in a pair."""
    if not paired:
        return [(name, "", points)]
    return [(f"left {name}", "", points), (f"right {name}", f"left {name}", points * MIRROR)]


def _shaped(
    ground: StudyGround, board: Board, line: Line, before: list[DrawnSeam]
) -> tuple[FloatArray, bool]:
    """Return a line calmed, with even points on the skin, its ends on what they meet.

    Where it meets the centre plane it is led on over the other hand, as its mirror image.
    """
    points = line.points
    on_centre = all(line.on_plane) and bool((points[:, 1] == 0.0).all())
    crosses = any(line.on_plane) and not on_centre
    closed = line.is_ring or (crosses and all(line.on_plane))
    if crosses:
        points = points if line.on_plane[0] else points[::-1]
        other = (points * MIRROR)[::-1]
        points = np.concatenate([other[:-1], points])
    points = evenly(points, SPACING_EDGES * ground.edge_mm, even=not closed)
    points = calmed(points, CALM_EDGES / SPACING_EDGES, closed=closed)
    points = board.on_skin(points)
    if not closed:
        points = _ends_met(board, points, ENDS_REACH_EDGES * ground.edge_mm, before)
    if on_centre:
        points[:, 1] = 0.0
    if crosses:
        points = _mirrored_exactly(points, closed=closed)
    return (points[:-1] if closed else points), closed


def _mirrored_exactly(points: FloatArray, *, closed: bool) -> FloatArray:
    """Return an odd number of points whose second half is the first's mirror image."""
    half = points[len(points) // 2 :].copy()
    half[0, 1] = 0.0
    if closed:
        half[-1, 1] = 0.0
    return np.concatenate([(half[1:] * MIRROR)[::-1], half])


def evenly(points: FloatArray, spacing: float, *, even: bool = True) -> FloatArray:
    """Return an odd number of points along a line at about a spacing, its ends kept.

    >>> evenly(np.array([[0.0, 0, 0], [8.0, 0, 0]]), 3.0)[:, 0].tolist()
    [0.0, 2.0, 4.0, 6.0, 8.0]
    """
    half = max(int(np.ceil(line_length(points) / spacing / 2.0)), 1 if even else 2)
    return in_pieces(points, 2 * half)


def calmed(points: FloatArray, width: float, *, closed: bool) -> FloatArray:
    """Return a line of even points with waves shorter than a few steps taken out, ends kept.

    Parameters
    ----------
    points : (k, 3) float
        A closed line repeats its first.
    width : float
        Of the bell that neighbours are weighted by, in steps.
    closed : bool
    """
    reach = int(np.ceil(3.0 * width))
    weights = np.exp(-0.5 * (np.arange(-reach, reach + 1) / width) ** 2)
    weights /= weights.sum()
    if closed:
        ring = points[:-1]
        rows = (np.arange(-reach, len(ring) + reach)) % len(ring)
        longer = ring[rows]
    else:
        reach = min(reach, len(points) - 1)
        weights = weights[len(weights) // 2 - reach : len(weights) // 2 + reach + 1]
        weights /= weights.sum()
        before = 2.0 * points[0] - points[reach:0:-1]
        after = 2.0 * points[-1] - points[-2 : -reach - 2 : -1]
        longer = np.concatenate([before, points, after])
    calm = np.stack([np.convolve(each, weights, "valid") for each in longer.T], axis=1)
    return np.concatenate([calm, calm[:1]]) if closed else calm


def _ends_met(
    board: Board, points: FloatArray, reach: float, before: list[DrawnSeam]
) -> FloatArray:
    """Return a line whose ends were moved onto the rim or seam that they are near."""
    met = points.copy()
    others = list(board.rims)
    for each in before:
        line = board.axes.to_tank(each.seam.points)
        others.append(np.concatenate([line, line[:1]]) if each.seam.closed else line)
    for end in (0, -1):
        places = [_nearest_along(other, points[end]) for other in others]
        gaps = [float(np.linalg.norm(place - points[end])) for place in places]
        if gaps and min(gaps) < reach:
            met[end] = places[int(np.argmin(gaps))]
    return met


def _nearest_along(line: FloatArray, point: FloatArray) -> FloatArray:
    start, run = line[:-1], np.diff(line, axis=0)
    square = np.maximum((run * run).sum(axis=1), 1e-300)
    share = np.clip(((point - start) * run).sum(axis=1) / square, 0.0, 1.0)
    places = start + share[:, None] * run
    return np.asarray(places[np.argmin(np.linalg.norm(places - point, axis=1))])


def _name(line: Line, on_plane: bool, has_plane: bool) -> str:
    """Return what to call a seam by which way most of it runs."""
    if on_plane:
        return "centre seam"
    ahead, left, up = np.ptp(line.points, axis=0)
    across = 2.0 * left if any(line.on_plane) else left
    runs = "side" if ahead > max(across, up) else "cross"
    return f"{runs} seam" if has_plane or not line.is_ring else "ring seam"


def _panel_word(piece: Piece, leaf: Leaf) -> str:
    """Return what to call a panel by where most of it faces."""
    facing = piece.normals[piece.faces].mean(axis=(0, 1))
    if not leaf.joined and leaf.count == 2:
        return "side"
    ahead, _, up = facing
    if abs(ahead) > abs(up):
        return "front" if ahead > 0.0 else "rear"
    return "top" if up > 0.0 else "underside"


def _inside(piece: Piece, *, joined: bool) -> FloatArray:
    """Return the middle of the face that lies farthest from the piece's rim."""
    rim = rim_edges_of(piece.faces)
    if joined:
        rim = rim[~piece.on_plane[rim].all(axis=1)]
    middles = piece.outside[piece.faces].mean(axis=1)
    if not len(rim):
        return np.asarray(middles[0])
    off, _ = cKDTree(piece.outside[np.unique(rim)]).query(middles)
    return np.asarray(middles[int(np.argmax(off))])
