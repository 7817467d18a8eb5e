"""Where a line on its way to being drawn comes back to itself: quick, and before anything is cut.

`meetings` tells the same of an exact line, to the last digit. Here a line is joined straight, so
nearness counts: two of its places closer than a hair, with more of the line between them than a
corner needs, are one place.
"""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.seams.meetings import Meeting

_PIECE = 4.0  # of the hair: pieces the line is looked at in
_BETWEEN = 12.0  # hairs of line between two places, or they lie beside one corner
_ALONG = np.cos(np.radians(10.0))  # a corner that sharp, or pieces so nearly one way, double back


def self_meetings(
    line: FloatArray, *, closed: bool = False, within_mm: float = 0.5
) -> tuple[Meeting, ...]:
    """Return where a drawn line meets itself, in order along it; one for each crossing or way back.

    Of a way back the place told is where the line turns; of a line that runs a second time the
    way it went, where it begins to.

    Parameters
    ----------
    line : (k, 3) float, mm
        Joined straight: best the line over the surface (`SeamGround.quick`), as straight pieces
        between points far apart on a curved surface pass each other by.
    closed : bool
        Whether the last point is joined to the first.
    within_mm : float
        Places of the line so near to each other are one.

    >>> bow = np.array([[0.0, 0, 0], [40, 0, 0], [40, 30, 0], [20, -30, 0]])
    >>> [(each.kind, each.point.tolist()) for each in self_meetings(bow)]
    [('crosses', [30.0, 0.0, 0.0])]
    """
    points = np.asarray(line, np.float64).reshape(-1, 3)
    if closed and len(points) > 1 and (points[0] != points[-1]).any():
        points = np.concatenate([points, points[:1]])
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    points = points[np.concatenate([[True], steps > 0.0])[: len(points)]]
    if len(points) < 3 or not np.isfinite(points).all():
        return ()
    pieces = _Pieces.of(points, _PIECE * within_mm)
    found = [*_turned_back(points, closed, within_mm), *_met(pieces, closed, within_mm)]
    kept: list[Meeting] = []
    for meeting in found:
        near = (
            np.linalg.norm(meeting.point - other.point) < _BETWEEN * within_mm
            for other in kept
            if "doubles back" in (meeting.kind, other.kind)
        )
        if not any(near):
            kept.append(meeting)
    return tuple(sorted(kept, key=lambda each: each.along_mm))


@dataclass(frozen=True, eq=False)
class _Pieces:
    """A line in short straight pieces.

    Attributes
    ----------
    start, step : (j, 3) float, mm
    gone, length : (j,) float, mm
        How far along the line each begins, and how long it is.
    """

    start: FloatArray
    step: FloatArray
    gone: FloatArray
    length: FloatArray

    @classmethod
    def of(cls, points: FloatArray, most_mm: float) -> "_Pieces":
        """Return the pieces of a line, none longer than asked."""
        step = np.diff(points, axis=0)
        length = np.linalg.norm(step, axis=1)
        count = np.maximum(np.ceil(length / most_mm), 1).astype(np.int64)
        of_leg = np.repeat(np.arange(len(step)), count)
        nth = np.arange(len(of_leg)) - np.repeat(np.cumsum(count) - count, count)
        short = step[of_leg] / count[of_leg, None]
        start = points[of_leg] + nth[:, None] * short
        lengths = length[of_leg] / count[of_leg]
        gone = np.cumsum(lengths) - lengths
        return cls(start, short, gone, lengths)

    @property
    def total(self) -> float:
        """Return the length of the line."""
        return float(self.gone[-1] + self.length[-1])

    def at(self, along_mm: float) -> FloatArray:
        """Return the place so far along the line."""
        k = int(np.searchsorted(self.gone, along_mm, side="right")) - 1
        share = (along_mm - self.gone[k]) / self.length[k]
        return np.asarray(self.start[k] + min(max(share, 0.0), 1.0) * self.step[k])


def _turned_back(points: FloatArray, closed: bool, within_mm: float) -> list[Meeting]:
    """Return the corners at which a line turns round and runs back."""
    steps = np.diff(points, axis=0)
    length = np.linalg.norm(steps, axis=1)
    if closed:
        steps, length = np.concatenate([steps, steps[:1]]), np.append(length, length[0])
    cosine = (steps[1:] * steps[:-1]).sum(axis=1) / (length[1:] * length[:-1])
    back = (cosine < -_ALONG) & (np.minimum(length[1:], length[:-1]) > within_mm)
    gone = np.cumsum(length).tolist()
    return [
        Meeting("doubles back", locked(points[k + 1].copy()), (gone[k], gone[k]))
        for k in np.flatnonzero(back).tolist()
    ]


def _met(pieces: _Pieces, closed: bool, within_mm: float) -> list[Meeting]:
    """Return the meetings of pieces apart along the line."""
    one, other = _near_pairs(pieces, closed, within_mm)
    gap, share, part = _nearest_places(pieces, one, other)
    close = gap <= within_mm
    one, other, gap = one[close], other[close], gap[close]
    if not len(one):
        return []
    first = pieces.gone[one] + share[close] * pieces.length[one]
    second = pieces.gone[other] + part[close] * pieces.length[other]
    cosine = (pieces.step[one] * pieces.step[other]).sum(axis=1) / (
        pieces.length[one] * pieces.length[other]
    )
    group = _groups(np.stack([first, second], axis=1), 3.0 * _PIECE * within_mm)
    found = []
    for label in range(int(group.max()) + 1):
        rows = np.flatnonzero(group == label)
        found.append(_told(pieces, first[rows], second[rows], gap[rows], cosine[rows]))
    return found


def _near_pairs(pieces: _Pieces, closed: bool, within_mm: float) -> tuple[IntArray, IntArray]:
    """Return pieces that may be close to each other, with enough of the line between them."""
    middle = pieces.start + pieces.step / 2.0
    reach = float(pieces.length.max()) + within_mm
    pairs = cKDTree(middle).query_pairs(reach, output_type="ndarray").astype(np.int64)
    one, other = pairs.min(axis=1), pairs.max(axis=1)
    between = pieces.gone[other] - (pieces.gone[one] + pieces.length[one])
    far: BoolArray = between >= _BETWEEN * within_mm
    if closed:
        round_it = pieces.total - pieces.gone[other] - pieces.length[other] + pieces.gone[one]
        far &= round_it >= _BETWEEN * within_mm
    return one[far], other[far]


def _nearest_places(
    pieces: _Pieces, one: IntArray, other: IntArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return how near straight pieces come to each other, and where on either, 0 to 1.

    Least distance of two lines, then of each end to the other piece. Own derivation.
    """
    u, v = pieces.step[one], pieces.step[other]
    w = pieces.start[one] - pieces.start[other]
    uu, vv, uv = (u * u).sum(axis=1), (v * v).sum(axis=1), (u * v).sum(axis=1)
    uw, vw = (u * w).sum(axis=1), (v * w).sum(axis=1)
    spread = np.maximum(uu * vv - uv * uv, 1e-12 * uu * vv)
    share = np.clip((uv * vw - vv * uw) / spread, 0.0, 1.0)
    part = np.clip((uv * share + vw) / vv, 0.0, 1.0)
    share = np.clip((uv * part - uw) / uu, 0.0, 1.0)
    gap = np.linalg.norm(w + share[:, None] * u - part[:, None] * v, axis=1)
    return gap, share, part


def _groups(places: FloatArray, reach: float) -> IntArray:
    """Return which places along the line, (k, 2), hang together."""
    pairs = cKDTree(places).query_pairs(reach, output_type="ndarray")
    count = len(places)
    graph = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(count, count))
    return np.asarray(connected_components(graph, directed=False)[1], np.int64)


def _told(
    pieces: _Pieces, first: FloatArray, second: FloatArray, gap: FloatArray, cosine: FloatArray
) -> Meeting:
    """Return one meeting for pieces that hang together."""
    if np.median(np.abs(cosine)) < _ALONG:
        best = int(gap.argmin())
        at = float(first[best]), float(second[best])
        return Meeting("crosses", locked((pieces.at(at[0]) + pieces.at(at[1])) / 2.0), at)
    if np.median(cosine) < 0.0:  # and back: it turned halfway between the two
        nearest = int((second - first).argmin())
        turn = float(first[nearest] + second[nearest]) / 2.0
        return Meeting("doubles back", locked(pieces.at(turn)), (turn, turn))
    begin = int(second.argmin())
    at = float(first[begin]), float(second[begin])
    return Meeting("doubles back", locked(pieces.at(at[1])), at)
