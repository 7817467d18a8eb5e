"""The rim of the blank run by run between seam corners."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.pattern.sources import FlatSheet, FormedPanel, SeamHalf
from geometry.polyline import lengths_along, line_length

_SAME_PLACE_MM = 0.01
_LOOK_MM = 4.0
"""How far along the rim its direction at a corner is taken."""

_CORNER_RAD = np.deg2rad(35.0)
"""A free edge ends where the net line turns by more than this."""


@dataclass(frozen=True, eq=False)
class PatternEdge:
    """A run of the net line between seam corners.

    Attributes
    ----------
    letter : str
        The same on both panels of a seam; "F1", "F2" ... where the edge stays free.
    seam, other : str
        The seam's name and the panel on the other side; empty where free.
    points : (k, 2) float, mm
        Along the net line, counter-clockwise; first and last are the corners.
    vertices : (k,) int
        The panel's vertices there; the first again at the end where the edge is the whole rim.
    flat_mm, formed_mm : float
        Its length on the blank and on the finished panel.
    """

    letter: str
    seam: str
    other: str
    points: FloatArray
    vertices: IntArray
    flat_mm: float
    formed_mm: float


def edge_letters(
    panels: Sequence[tuple[FormedPanel, FloatArray]],
) -> dict[str, tuple[str, ...]]:
    """Return a letter for every seam half of every panel, the same on both sides of a seam.

    Parameters
    ----------
    panels : sequence of (panel, (n, 3) float, mm)
        Each panel with the formed places of its vertices, all in one frame.

    Returns
    -------
    dict
        From panel name to letters, in the order of its `seam_halves`.
    """
    known: list[tuple[str, frozenset[str], FloatArray, str]] = []
    letters: dict[str, tuple[str, ...]] = {}
    for panel, vertices in panels:
        mine: list[str] = []
        for half in panel.seam_halves:
            middle = vertices[np.unique(half.vertices)].mean(axis=0)
            pair = frozenset((panel.name, half.other))
            found = next(
                (
                    letter
                    for seam, between, place, letter in known
                    if seam == half.seam
                    and between == pair
                    and np.linalg.norm(place - middle) < _SAME_PLACE_MM
                ),
                None,
            )
            if found is None:
                found = _letter(len(known))
                known.append((half.seam, pair, middle, found))
            mine.append(found)
        letters[panel.name] = tuple(mine)
    return letters


def rim_edges(
    flat: FlatSheet, halves: Sequence[SeamHalf], letters: Sequence[str]
) -> tuple[PatternEdge, ...]:
    """Return the runs of the rim, seam by seam and then what is left over, in rim order.

    Parameters
    ----------
    flat : FlatSheet
    halves : sequence of SeamHalf
    letters : sequence of str
        One for each half.
    """
    owner = _owner_of_rim_side(flat.rim, halves)
    corner = _sharp_corners(flat.flat_vertices[flat.rim])
    edges: list[PatternEdge] = []
    free = 0
    for run in _runs(owner, corner):
        half = int(owner[run[0]])
        if half < 0:
            free += 1
        letter = letters[half] if half >= 0 else f"F{free}"
        seam, other = (halves[half].seam, halves[half].other) if half >= 0 else ("", "")
        loop = np.append(flat.rim[run], flat.rim[(run[-1] + 1) % len(flat.rim)])
        points = flat.flat_vertices[loop]
        edges.append(
            PatternEdge(
                letter,
                seam,
                other,
                locked(points),
                locked(loop),
                line_length(points),
                line_length(flat.vertices[loop]),
            )
        )
    return tuple(edges)


def first_letters(count: int) -> tuple[str, ...]:
    """Return letters for so many edges.

    >>> first_letters(7)
    ('A', 'B', 'C', 'D', 'E', 'G', 'H')
    """
    return tuple(_letter(index) for index in range(count))


def closed_up(half: SeamHalf, rim: IntArray) -> IntArray:
    """Return a half's vertices, the first again at the end where it runs round the whole rim."""
    loop = half.vertices
    if len(loop) == len(rim) and loop[0] != loop[-1]:
        return np.append(loop, loop[0])
    return loop


def _letter(index: int) -> str:
    """Return A, B ... Z, AA, AB ...; F is left out, it marks free edges."""
    alphabet = "ABCDEGHJKLMNPQRSTUVWXYZ"
    head, tail = divmod(index, len(alphabet))
    return (alphabet[head - 1] if head else "") + alphabet[tail]


def _owner_of_rim_side(rim: IntArray, halves: Sequence[SeamHalf]) -> IntArray:
    """Return (k,) which half each side of the rim belongs to, -1 where free."""
    place = {vertex: at for at, vertex in enumerate(rim.tolist())}
    owner = np.full(len(rim), -1, np.int64)
    for index, half in enumerate(halves):
        for a, b in pairwise(closed_up(half, rim).tolist()):
            if a in place and b in place:
                first = place[a] if rim[(place[a] + 1) % len(rim)] == b else place[b]
                owner[first] = index
    return owner


def _sharp_corners(net: FloatArray) -> BoolArray:
    """Return (k,) the vertices of the net line at which it turns sharply, one for each corner."""
    ring = np.concatenate([net, net[:1]])
    along = lengths_along(ring)
    total = float(along[-1])
    reach = min(_LOOK_MM, total / 8.0)

    def at(distance: FloatArray) -> FloatArray:
        wrapped = np.mod(distance, total)
        return np.stack([np.interp(wrapped, along, ring[:, axis]) for axis in range(2)], axis=1)

    into = net - at(along[:-1] - reach)
    out = at(along[:-1] + reach) - net
    cross = into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0]
    turn = np.abs(np.arctan2(cross, (into * out).sum(axis=1)))
    sharp = turn > _CORNER_RAD
    for index in np.flatnonzero(sharp):
        gap = np.abs(along[:-1] - along[index])
        near = np.minimum(gap, total - gap) < 2.0 * reach
        best = int(np.flatnonzero(near)[np.argmax(turn[near])])
        sharp[index] = index == best
    return np.asarray(sharp)


def _runs(owner: IntArray, corner: BoolArray) -> list[IntArray]:
    """Return the sides of each run of equal owners, free ones parted at corners too."""
    count = len(owner)
    before = np.roll(owner, 1)
    breaks = np.flatnonzero((owner != before) | (corner & (owner < 0) & (before < 0)))
    if not len(breaks):
        return [np.arange(count)]
    ends = [*breaks[1:].tolist(), int(breaks[0]) + count]
    return [np.arange(first, end) % count for first, end in zip(breaks.tolist(), ends, strict=True)]
