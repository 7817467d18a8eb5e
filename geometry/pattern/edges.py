"""The rim of the blank run by run between seam corners, and the witness marks across it."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.pattern.sources import FlatSheet, FormedPanel, SeamHalf

_SAME_PLACE_MM = 0.01
_LOOK_MM = 4.0
"""How far along the rim its direction at a mark or a corner is taken."""

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


@dataclass(frozen=True, eq=False)
class WitnessMark:
    """A numbered line across the net line that meets the same number on the other panel.

    Attributes
    ----------
    letter : str
        Which edge.
    number : int
        From 1, in an order both panels share.
    line : (2, 2) float, mm
        From its outer end to its inner end, square to the net line.
    place : (2,) float, mm
        Where it crosses the net line.
    along_mm : float
        How far along the formed seam, from the end both panels start at.
    """

    letter: str
    number: int
    line: FloatArray
    place: FloatArray
    along_mm: float

    @property
    def label(self) -> str:
        """Letter and number: "A3"."""
        return f"{self.letter}{self.number}"


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
                polyline_length(points),
                polyline_length(flat.vertices[loop]),
            )
        )
    return tuple(edges)


def witness_marks(
    flat: FlatSheet,
    half: SeamHalf,
    letter: str,
    *,
    spacing_mm: float = 50.0,
    reach_mm: tuple[float, float] = (15.0, 4.0),
) -> tuple[WitnessMark, ...]:
    """Return marks evenly spaced along the formed seam, so that both panels carry the same ones.

    The count comes from the seam's formed length, which both panels share; places are measured
    from the end (of a closed seam: the point) that both agree on.

    Parameters
    ----------
    flat : FlatSheet
    half : SeamHalf
    letter : str
    spacing_mm : float
        Wanted along the formed seam.
    reach_mm : (float, float)
        How far a mark reaches inward and outward from the net line.
    """
    loop = _as_both_panels_run(flat.vertices, _closed_up(half, flat.rim))
    formed = flat.vertices[loop]
    along = _distances(formed)
    closed = loop[0] == loop[-1]
    fewest = 3 if closed else 2
    if along[-1] < 20.0:
        return ()
    pieces = max(fewest, round(along[-1] / spacing_mm))
    wanted = along[-1] * np.arange(0 if closed else 1, pieces) / pieces
    forward = _runs_with_rim(flat.rim, loop)
    flat_points = flat.flat_vertices[loop]
    marks = []
    for number, distance in enumerate(wanted, start=1):
        place = _point_at(flat_points, along, distance, closed)
        ahead = _point_at(flat_points, along, distance + _LOOK_MM, closed)
        behind = _point_at(flat_points, along, distance - _LOOK_MM, closed)
        direction = (ahead - behind) / np.linalg.norm(ahead - behind)
        inward = np.array([-direction[1], direction[0]]) * (1.0 if forward else -1.0)
        line = np.stack([place - reach_mm[1] * inward, place + reach_mm[0] * inward])
        marks.append(WitnessMark(letter, number, locked(line), locked(place), float(distance)))
    return tuple(marks)


def polyline_length(points: FloatArray) -> float:
    """Return the length of an open line.

    >>> polyline_length(np.array([[0.0, 0], [3, 4], [3, 5]]))
    6.0
    """
    return float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())


def first_letters(count: int) -> tuple[str, ...]:
    """Return letters for so many edges.

    >>> first_letters(7)
    ('A', 'B', 'C', 'D', 'E', 'G', 'H')
    """
    return tuple(_letter(index) for index in range(count))


def _closed_up(half: SeamHalf, rim: IntArray) -> IntArray:
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


def _as_both_panels_run(vertices: FloatArray, loop: IntArray) -> IntArray:
    """Return a half's vertices in the direction, and from the point, both its panels agree on."""
    points = vertices[loop]
    if loop[0] != loop[-1]:
        gap = points[-1] - points[0]
        return loop if gap[int(np.abs(gap).argmax())] > 0 else loop[::-1]
    ring, corners = loop[:-1], points[:-1]
    ahead = np.roll(corners, -1, axis=0)
    turning = np.cross(corners - corners.mean(axis=0), ahead - corners.mean(axis=0)).sum(axis=0)
    if turning[int(np.abs(turning).argmax())] < 0:
        ring, corners = ring[::-1], corners[::-1]
    rounded = np.round(corners, 6)
    first = int(np.lexsort((rounded[:, 2], rounded[:, 1], rounded[:, 0]))[-1])
    ring = np.roll(ring, -first)
    return np.append(ring, ring[0])


def _runs_with_rim(rim: IntArray, loop: IntArray) -> bool:
    at = int(np.flatnonzero(rim == loop[0])[0])
    return bool(rim[(at + 1) % len(rim)] == loop[1])


def _owner_of_rim_side(rim: IntArray, halves: Sequence[SeamHalf]) -> IntArray:
    """Return (k,) which half each side of the rim belongs to, -1 where free."""
    place = {vertex: at for at, vertex in enumerate(rim.tolist())}
    owner = np.full(len(rim), -1, np.int64)
    for index, half in enumerate(halves):
        for a, b in pairwise(_closed_up(half, rim).tolist()):
            if a in place and b in place:
                first = place[a] if rim[(place[a] + 1) % len(rim)] == b else place[b]
                owner[first] = index
    return owner


def _sharp_corners(net: FloatArray) -> BoolArray:
    """Return (k,) the vertices of the net line at which it turns sharply, one for each corner."""
    ring = np.concatenate([net, net[:1]])
    along = _distances(ring)
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


def _distances(points: FloatArray) -> FloatArray:
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    return np.concatenate([[0.0], np.cumsum(steps)])


def _point_at(points: FloatArray, along: FloatArray, distance: float, closed: bool) -> FloatArray:
    total = float(along[-1])
    reach = distance % total if closed else min(max(distance, 0.0), total)
    return np.stack([np.interp(reach, along, points[:, axis]) for axis in range(2)])
