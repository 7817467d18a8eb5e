"""Which side of which face meets which: sorted once, and what follows from it.

Made for whole scans of millions of faces, sound or not; `geometry.mesh.topology` answers the same
questions for the meshes that come out. Side 3 f + k of face f runs from corner k to corner k + 1.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from geometry.arrays import BoolArray, FloatArray, IntArray

SideArray = NDArray[np.int32]
OPEN = -1
CROWDED = -2
_LARGEST_CROWD = 8


def next_side(side: NDArray[np.signedinteger]) -> NDArray[np.signedinteger]:
    """Return the side after each, around its face."""
    return np.where(side % 3 == 2, side - 2, side + 1).astype(side.dtype)


def partners(faces: IntArray) -> SideArray:
    """Return (3m,) the side that shares each side's edge: `OPEN` if none, `CROWDED` if several.

    >>> partners(np.array([[0, 1, 2], [2, 1, 3]])).tolist()
    [-1, 3, -1, 1, -1, -1]
    """
    order, starts, counts = _sides_by_edge(faces)
    partner = np.full(faces.size, OPEN, np.int32)
    pair = starts[counts == 2]
    one, other = order[pair], order[pair + 1]
    partner[one] = other
    partner[other] = one
    crowd = counts > 2
    if crowd.any():
        partner[order[np.repeat(crowd, counts)]] = CROWDED
    return partner


def partners_kept(partner: SideArray, kept: BoolArray) -> SideArray:
    """Return the partners of sides after all but some faces were taken out.

    Crowded edges stay so: they are to be resolved before, or go whole.

    >>> two = partners(np.array([[0, 1, 2], [2, 1, 3]]))
    >>> partners_kept(two, np.array([False, True])).tolist()
    [-1, -1, -1]
    """
    of_side = np.repeat(kept, 3)
    new_side = np.cumsum(of_side, dtype=np.int32) - np.int32(1)
    new_side[~of_side] = OPEN
    old = partner[of_side]
    return np.where(old >= 0, new_side[np.maximum(old, 0)], old)


def _sides_by_edge(faces: IntArray) -> tuple[SideArray, IntArray, IntArray]:
    """Return sides sorted by edge, where each edge starts in that order, and its sides."""
    span = int(faces.max(initial=0)) + 1
    start, end = faces, np.roll(faces, -1, axis=1)
    keys = np.minimum(start, end).ravel()
    keys *= span
    keys += np.maximum(start, end).ravel()
    order = np.argsort(keys).astype(np.int32)
    keys = keys[order]
    starts = np.flatnonzero(np.concatenate([[True], keys[1:] != keys[:-1]]))
    return order, starts, np.diff(np.append(starts, len(order)))


def crowded_edges(faces: IntArray, partner: SideArray) -> IntArray:
    """Return the (k, 2) edges, smaller vertex first, at which three or more faces meet."""
    side = np.flatnonzero(partner == CROWDED)
    edge = np.stack([faces.ravel()[side], faces.ravel()[next_side(side)]], axis=1)
    return np.unique(np.sort(edge, axis=1), axis=0)


def uncrowded(vertices: FloatArray, faces: IntArray, partner: SideArray) -> SideArray:
    """Return partners with every crowded edge resolved: the flattest pairs go on, the rest end.

    Two sides go on into each other if they run in opposite directions and their faces lie within
    60 degrees of flat; where more than eight faces meet, all end there.
    """
    crowd = np.flatnonzero(partner == CROWDED)
    resolved = partner.copy()
    resolved[crowd] = OPEN
    start, end = faces.ravel()[crowd], faces.ravel()[next_side(crowd)]
    edge = np.sort(np.stack([start, end], axis=1), axis=1)
    _, group, counts = np.unique(edge, axis=0, return_inverse=True, return_counts=True)
    group = group.ravel()
    away = _away_from_edge(vertices, faces, crowd)
    forward = start < end
    order = np.argsort(group, kind="stable")
    starts = np.cumsum(counts) - counts
    for size in range(3, _LARGEST_CROWD + 1):
        rows = order[starts[counts == size][:, None] + np.arange(size)]  # (g, size)
        bend = np.einsum("gid,gjd->gij", away[rows], away[rows])  # -1 where flat
        bend[forward[rows][:, :, None] == forward[rows][:, None, :]] = np.inf
        for _ in range(size // 2):
            flattest = bend.reshape(len(rows), size * size).argmin(axis=1)
            one, other = flattest // size, flattest % size
            at = np.arange(len(rows))
            good = bend[at, one, other] < -0.5
            at, one, other = at[good], one[good], other[good]
            a, b = crowd[rows[at, one]], crowd[rows[at, other]]
            resolved[a], resolved[b] = b, a
            for taken in (one, other):
                bend[at, taken] = np.inf
                bend[at, :, taken] = np.inf
    return resolved


def _away_from_edge(vertices: FloatArray, faces: IntArray, side: IntArray) -> FloatArray:
    """Return unit vectors in the face of each side, square to the side, pointing into the face."""
    corners = faces.ravel()
    start, end = vertices[corners[side]], vertices[corners[next_side(side)]]
    apex = vertices[corners[next_side(next_side(side))]]
    along = end - start
    along /= np.maximum(np.linalg.norm(along, axis=1, keepdims=True), np.finfo(float).tiny)
    into = apex - start
    into -= along * np.einsum("ij,ij->i", into, along)[:, None]
    length = np.maximum(np.linalg.norm(into, axis=1, keepdims=True), np.finfo(float).tiny)
    return np.asarray(into / length)


def piece_of_each_face(partner: SideArray) -> IntArray:
    """Return (m,) labels of pieces joined through partners, 0 for the one with most faces."""
    count = len(partner) // 3
    side = np.flatnonzero(partner > np.arange(len(partner), dtype=np.int32))
    graph = coo_array(
        (np.ones(len(side), np.int8), ((side // 3).astype(np.int32), partner[side] // 3)),
        shape=(count, count),
    )
    pieces, label = connected_components(graph, directed=False)
    rank = np.empty(pieces, np.int64)
    rank[np.argsort(-np.bincount(label, minlength=pieces), kind="stable")] = np.arange(pieces)
    return rank[label]


def faces_to_turn(faces: IntArray, partner: SideArray) -> tuple[BoolArray, BoolArray]:
    """Return which faces must turn for all of a piece to face one way, and which cannot be made to.

    Returns
    -------
    (m,) bool
        Faces to turn; the smaller part of each piece.
    (m,) bool
        Faces of one-sided pieces.

    Source: own derivation: every face twice, as it is and turned; agreeing neighbours are joined
    like to like, clashing ones crosswise; a piece is one-sided if its two copies hang together.
    """
    count = len(faces)
    side = np.flatnonzero(partner > np.arange(len(partner), dtype=np.int32))
    one, other = side // 3, partner[side].astype(np.int64) // 3
    clash = faces.ravel()[side] == faces.ravel()[partner[side]]
    if not clash.any():
        return np.zeros(count, bool), np.zeros(count, bool)
    row = np.concatenate([one, one + count])
    col = np.concatenate([other + count * clash, other + count * ~clash])
    graph = coo_array((np.ones(len(row), np.int8), (row, col)), shape=(2 * count, 2 * count))
    copies, label = connected_components(graph, directed=False)
    as_is, turned = label[:count], label[count:]
    one_sided = as_is == turned
    kept = np.bincount(as_is, minlength=copies)  # faces each copy keeps as they are
    turn = kept[as_is] < kept[turned]
    tie = (kept[as_is] == kept[turned]) & (as_is > turned)
    return (turn | tie) & ~one_sided, one_sided


def turned_faces(
    faces: IntArray, partner: SideArray, turn: BoolArray
) -> tuple[IntArray, SideArray]:
    """Return faces with some of them turned, and the partners of their sides as they now count."""
    if not turn.any():
        return faces, partner
    turned = faces.copy()
    turned[turn] = turned[turn][:, [0, 2, 1]]  # side 0 <-> side 2, side 1 stays
    moved = np.arange(len(partner), dtype=np.int32).reshape(-1, 3)
    moved[turn] = moved[turn][:, [2, 1, 0]]
    flat = moved.ravel()
    old = partner[flat]
    return turned, np.where(old >= 0, flat[np.maximum(old, 0)], old).astype(np.int32)


def split_fans(
    vertices: FloatArray, faces: IntArray, partner: SideArray
) -> tuple[FloatArray, IntArray, int]:
    """Return vertices and faces with every vertex given out once per fan of faces around it.

    The faces of each piece must face one way.

    Returns
    -------
    vertices : (n + k, 3) float
        Vertices split off follow the old ones.
    faces : (m, 3) int
    int
        How many old vertices were split.
    """
    fan = _fan_of_corner(faces, partner)
    corners = faces.ravel()
    first_corner = np.full(len(vertices), faces.size, np.int64)
    roots = np.flatnonzero(fan == np.arange(len(fan), dtype=np.int32))
    np.minimum.at(first_corner, corners[roots], roots)
    extra = roots[first_corner[corners[roots]] != roots]
    if not len(extra):
        return vertices, faces, 0
    new_vertex = np.full(faces.size, -1, np.int64)
    new_vertex[extra] = len(vertices) + np.arange(len(extra))
    of_corner = new_vertex[fan]
    split = np.where(of_corner >= 0, of_corner, corners).reshape(-1, 3)
    return (
        np.concatenate([vertices, vertices[corners[extra]]]),
        split,
        len(np.unique(corners[extra])),
    )


def _fan_of_corner(faces: IntArray, partner: SideArray) -> SideArray:
    """Return for each corner one corner that stands for its fan, the same for the whole fan.

    From the corner at the start of a side, the fan goes on to the corner after the side's partner;
    doubling the stride reaches all of it in as many rounds as the fan's size has binary digits.
    """
    own = np.arange(faces.size, dtype=np.int32)
    ahead = np.where(partner >= 0, next_side(np.maximum(partner, 0)), own).astype(np.int32)
    ends = ahead == own
    smallest = np.minimum(own, ahead)
    most = int(np.bincount(faces.ravel()).max(initial=1))
    for _ in range(most.bit_length()):
        smallest = np.minimum(smallest, smallest[ahead])
        ahead = ahead[ahead]
    return np.where(ends[ahead], ahead, smallest).astype(np.int32)
