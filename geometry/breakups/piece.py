"""A piece of the tank under study, with the fields it can be parted along, and parting it.

The study needs thousands of partings and not one of them to be saved: a piece is cut along the
level line of a field by splitting the faces it crosses, and nothing is evened out afterwards. A
break-up that is taken is cut anew, along its seams, by `geometry.panels`.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.mesh import TriMesh, face_areas

SNAP = 0.12
"""Of the field's rise along an edge: a corner nearer than this to the line lies on it."""

MIRROR = np.array([1.0, -1.0, 1.0])
"""What takes ahead, left and up to the other hand."""


@dataclass(frozen=True, eq=False)
class Piece:
    """A piece of the surface, in the tank's own axes: ahead, left, up.

    Attributes
    ----------
    vertices : (n, 3) float, mm
        On the middle of the metal.
    outside : (n, 3) float, mm
        The same on the scanned face.
    normals : (n, 3) float
        Of the skin, outward.
    faces : (m, 3) int
    fields : (n, f) float, mm
        One column for each field, as long as the way along the surface on average.
    on_plane : (n,) bool
        On the centre plane, where its mirror image joins it.
    """

    vertices: FloatArray
    outside: FloatArray
    normals: FloatArray
    faces: IntArray
    fields: FloatArray
    on_plane: BoolArray

    def __post_init__(self) -> None:
        for array in (self.vertices, self.outside, self.normals, self.fields):
            locked(array)
        locked(self.faces)
        locked(self.on_plane)

    @property
    def area(self) -> float:
        """Return its area, mm2."""
        return float(face_areas(self.vertices, self.faces).sum())

    @property
    def mesh(self) -> TriMesh:
        """Return it as a mesh, middle of the metal."""
        return TriMesh(self.vertices, self.faces)

    @property
    def plane_edges(self) -> IntArray:
        """Return its (k, 2) edges on the centre plane that one face holds, as that face runs."""
        edges = rim_edges_of(self.faces)
        return np.asarray(edges[self.on_plane[edges].all(axis=1)])

    def part(self, kept: BoolArray) -> "Piece":
        """Return the piece of some of its faces."""
        used, faces = np.unique(self.faces[kept], return_inverse=True)
        return Piece(
            self.vertices[used],
            self.outside[used],
            self.normals[used],
            faces.reshape(-1, 3),
            self.fields[used],
            self.on_plane[used],
        )


@dataclass(frozen=True, eq=False)
class Line:
    """A line over the scanned face, with the skin's normals along it.

    Attributes
    ----------
    points : (k, 3) float, mm
        A ring repeats its first.
    normals : (k, 3) float
    on_plane : (bool, bool)
        Whether its first and last points lie on the centre plane.
    """

    points: FloatArray
    normals: FloatArray
    on_plane: tuple[bool, bool]

    @property
    def is_ring(self) -> bool:
        """Return whether it comes back to its start."""
        return bool((self.points[0] == self.points[-1]).all())


@dataclass(frozen=True, eq=False)
class Parting:
    """A piece parted in two.

    Attributes
    ----------
    low, high : Piece
        Where the field is below and above the level.
    lines : tuple of Line
        The seam between them; several where the level is met several times.
    """

    low: Piece
    high: Piece
    lines: tuple[Line, ...]


def parted(piece: Piece, heights: FloatArray, *, snap: float = SNAP) -> Parting | None:
    """Return a piece parted where a field passes zero, or None unless that makes two pieces.

    Parameters
    ----------
    piece : Piece
    heights : (n,) float
        The field less its level.
    snap : float
        Of the field's rise along an edge: corners nearer than that are taken to lie on the line.
        It spares needles, and makes the line longer by some thousandths.
    """
    heights = _snapped(piece.faces, heights, snap)
    finer, heights = _split_faces(piece, heights)
    above = heights[finer.faces].max(axis=1) > 0.0
    if not above.any() or above.all():
        return None
    lines = _lines_between(finer, above)
    if lines is None:
        return None
    low, high = finer.part(~above), finer.part(above)
    if not (_hangs_together(low.faces) and _hangs_together(high.faces)):
        return None
    return Parting(low, high, lines)


def level_lines(piece: Piece, heights: FloatArray) -> tuple[Line, ...] | None:
    """Return the true lines along which a field passes zero; None where they meet."""
    finer, heights = _split_faces(piece, heights)
    above = heights[finer.faces].max(axis=1) > 0.0
    return _lines_between(finer, above)


def slope_along(piece: Piece, heights: FloatArray) -> float:
    """Return how steep a field is, on average over the faces on which it passes zero."""
    corner = heights[piece.faces]
    crossed = (corner.min(axis=1) < 0.0) & (corner.max(axis=1) >= 0.0)
    if not crossed.any():
        return 1.0
    a, b, c = np.moveaxis(piece.outside[piece.faces[crossed]], 1, 0)
    one, other = b - a, c - a
    rise = np.diff(corner[crossed], axis=1)
    over_one, over_other = rise[:, 0], rise[:, 0] + rise[:, 1]
    aa, ab, bb = (one * one).sum(1), (one * other).sum(1), (other * other).sum(1)
    square = aa * bb - ab**2
    steep = bb * over_one**2 - 2.0 * ab * over_one * over_other + aa * over_other**2
    return float(np.sqrt(np.maximum(steep, 0.0) / np.maximum(square, 1e-300)).mean())


def halved(piece: Piece) -> Piece | None:
    """Return the half on the left of the plane y = 0, what lies nearly on the plane moved onto it.

    None where the plane does not part the surface in two.
    """
    on_plane = _snapped(piece.faces, piece.vertices[:, 1], SNAP) == 0.0
    moved = []
    for places in (piece.vertices, piece.outside):
        kept = places.copy()
        kept[on_plane, 1] = 0.0
        moved.append(kept)
    even = Piece(moved[0], moved[1], piece.normals, piece.faces, piece.fields, on_plane)
    both = parted(even, moved[0][:, 1])
    if both is None:
        return None
    left = both.high
    flags = np.zeros(len(left.vertices), bool)
    flags[rim_edges_of(left.faces)] = True
    flags &= np.abs(left.vertices[:, 1]) < 1e-9
    on_it = [places.copy() for places in (left.vertices, left.outside)]
    for places in on_it:
        places[flags, 1] = 0.0
    return Piece(on_it[0], on_it[1], left.normals, left.faces, left.fields, flags)


def joined_mesh(piece: Piece) -> TriMesh:
    """Return a half piece with its mirror image, joined where it lies on the plane y = 0."""
    rest = np.flatnonzero(~piece.on_plane)
    twin = np.arange(len(piece.vertices))
    twin[rest] = len(twin) + np.arange(len(rest))
    faces = np.concatenate([piece.faces, twin[piece.faces][:, ::-1]])
    return TriMesh(np.concatenate([piece.vertices, piece.vertices[rest] * MIRROR]), faces)


def rim_edges_of(faces: IntArray) -> IntArray:
    """Return the (k, 2) edges one face holds, as that face runs.

    >>> rim_edges_of(np.array([[0, 1, 2], [0, 2, 3]])).tolist()
    [[0, 1], [3, 0], [1, 2], [2, 3]]
    """
    edges = _directed(faces)
    low, high = edges.min(axis=1), edges.max(axis=1)
    key = low * (faces.max() + 1) + high
    _, first, count = np.unique(key, return_index=True, return_counts=True)
    return np.asarray(edges[first[count == 1]])


def chains_of(edges: IntArray) -> list[IntArray] | None:
    """Return (k, 2) directed edges as chains, rings repeating their first; None where they meet."""
    following = dict(zip(edges[:, 0].tolist(), edges[:, 1].tolist(), strict=True))
    after = set(following.values())
    if len(following) != len(edges) or len(after) != len(edges):
        return None
    chains = []
    starts = sorted(set(following) - after)
    while following:
        start = starts.pop(0) if starts else min(following)
        chain = [start]
        while chain[-1] in following:
            chain.append(following.pop(chain[-1]))
        chains.append(np.array(chain, np.int64))
    return chains


def _snapped(faces: IntArray, heights: FloatArray, snap: float) -> FloatArray:
    """Return the heights with corners nearly on the line put on it, to spare needles."""
    corner = heights[faces]
    rise = np.zeros(len(heights))
    for k in range(3):
        step = np.maximum(
            abs(corner[:, k] - corner[:, k - 1]), abs(corner[:, k] - corner[:, k - 2])
        )
        np.maximum.at(rise, faces[:, k], step)
    return np.where(np.abs(heights) < snap * rise, 0.0, heights)


def _split_faces(piece: Piece, heights: FloatArray) -> tuple[Piece, FloatArray]:
    """Return the piece with every face the line crosses split along it."""
    sign = np.sign(heights).astype(np.int64)[piece.faces]  # (m, 3)
    crossed = (sign.min(axis=1) < 0) & (sign.max(axis=1) > 0)
    if not crossed.any():
        return piece, heights
    faces = piece.faces[crossed]
    sign = sign[crossed]
    edges = np.stack([faces, np.roll(faces, -1, axis=1)], axis=2)  # (c, 3, 2): side k from corner k
    cut = sign * np.roll(sign, -1, axis=1) < 0
    low, high = edges.min(axis=2)[cut], edges.max(axis=2)[cut]
    size = len(piece.vertices)
    keys, place = np.unique(low * size + high, return_inverse=True)
    low, high = keys // size, keys % size
    between = _between(low, high, heights[low] / (heights[low] - heights[high]))
    new = np.full(cut.shape, -1, np.int64)
    new[cut] = size + place
    finer = Piece(
        between(piece.vertices),
        between(piece.outside),
        between(piece.normals),
        np.concatenate([piece.faces[~crossed], _split_corners(faces, sign, cut, new)]),
        between(piece.fields),
        np.concatenate([piece.on_plane, piece.on_plane[low] & piece.on_plane[high]]),
    )
    return finer, np.concatenate([heights, np.zeros(len(low))])


def _between(
    low: IntArray, high: IntArray, along: FloatArray
) -> Callable[[FloatArray], FloatArray]:
    """Return what adds values part of the way between two rows to an array."""

    def grown(values: FloatArray) -> FloatArray:
        fresh = values[low] + along[:, None] * (values[high] - values[low])
        return np.concatenate([values, fresh])

    return grown


def _split_corners(faces: IntArray, sign: IntArray, cut: BoolArray, new: IntArray) -> IntArray:
    """Return the faces crossed ones are split into: two at a corner on the line, else three."""
    through = (sign == 0).any(axis=1)
    pieces = []
    if through.any():
        first = np.argmax(sign[through] == 0, axis=1)
        a, b, c = _turned(faces[through], first)
        middle = new[through][np.arange(len(first)), (first + 1) % 3]
        pieces += [np.stack([a, b, middle], axis=1), np.stack([a, middle, c], axis=1)]
    if (~through).any():
        rest = ~through
        both = cut[rest] & np.roll(cut[rest], 1, axis=1)  # the corner alone on its side
        first = np.argmax(both, axis=1)
        a, b, c = _turned(faces[rest], first)
        rows = np.arange(len(first))
        ab, ca = new[rest][rows, first], new[rest][rows, (first + 2) % 3]
        pieces += [
            np.stack([a, ab, ca], axis=1),
            np.stack([ab, b, c], axis=1),
            np.stack([ab, c, ca], axis=1),
        ]
    return np.concatenate(pieces)


def _turned(faces: IntArray, first: IntArray) -> tuple[IntArray, IntArray, IntArray]:
    rows = np.arange(len(faces))
    return faces[rows, first], faces[rows, (first + 1) % 3], faces[rows, (first + 2) % 3]


def _hangs_together(faces: IntArray) -> bool:
    size = int(faces.max()) + 1
    used = np.zeros(size, bool)
    used[faces] = True
    rows, columns = faces.ravel(), np.roll(faces, -1, axis=1).ravel()
    graph = coo_array((np.ones(len(rows)), (rows, columns)), shape=(size, size))
    _, label = connected_components(graph, directed=False)
    return len(np.unique(label[used])) == 1


def _lines_between(piece: Piece, above: BoolArray) -> tuple[Line, ...] | None:
    """Return the edges between two sets of faces as lines, or None where they meet."""
    side = _directed(piece.faces[above])
    other = _directed(piece.faces[~above])[:, ::-1]
    weigh = np.array([len(piece.vertices), 1])
    shared = side[np.isin(side @ weigh, other @ weigh)]
    chains = chains_of(shared) if len(shared) else None
    if chains is None:
        return None
    return tuple(
        Line(
            piece.outside[chain],
            piece.normals[chain],
            (bool(piece.on_plane[chain[0]]), bool(piece.on_plane[chain[-1]])),
        )
        for chain in chains
    )


def _directed(faces: IntArray) -> IntArray:
    return np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
