"""Where a piece is parted: along the level of a field, moved by a few smooth parameters."""

from dataclasses import dataclass, replace

import numpy as np

from geometry.arrays import FloatArray
from geometry.breakups.piece import Line, Piece
from geometry.datum import point3

FARTHEST = 1.25
"""Of a seam's half length: beyond, what it is moved by stays the same, so that no new line rises
far away."""

STEEPEST = (0.5, 0.5, 0.25)
"""Of a seam's half length: the most its tilt, its bow and its sway may come to."""

PARAMETERS = 4
"""How many a course is moved by: shift, tilt, bow and sway."""


@dataclass(frozen=True)
class Bend:
    """By how much a course departs from its field's level, along itself.

    Attributes
    ----------
    middle, along : (3,) tuple of float
        The seam's middle, mm, and the direction from its one end to the other.
    half_mm : float
        Half its length that way.
    wide_mm : float
        For a seam that meets the centre plane: y^2 / wide_mm stands for y, so that both hands
        stay mirror images and the seam crosses the plane square. 0 for others.
    tilt_mm, bow_mm, sway_mm : float
        What the ends are moved by against each other, against the middle, and the one way while
        what lies before them goes the other, as in an S.
    """

    middle: tuple[float, float, float]
    along: tuple[float, float, float]
    half_mm: float
    wide_mm: float
    tilt_mm: float = 0.0
    bow_mm: float = 0.0
    sway_mm: float = 0.0

    def moved_by(self, places: FloatArray) -> FloatArray:
        """Return (n,) mm that the level is moved by at (n, 3) places."""
        off = _evened(places, self.wide_mm) - np.array(self.middle)
        along = np.clip(off @ np.array(self.along) / self.half_mm, -FARTHEST, FARTHEST)
        bow = self.bow_mm * (along**2 - 1.0 / 3.0)
        sway = self.sway_mm * (2.5 * along**3 - 1.5 * along)
        return np.asarray(self.tilt_mm * along + bow + sway)


@dataclass(frozen=True)
class Course:
    """Where a piece is parted.

    Attributes
    ----------
    field : int
    level : float, mm
    bend : Bend, optional
    """

    field: int
    level: float
    bend: Bend | None = None

    def heights(self, piece: Piece) -> FloatArray:
        """Return (n,) by how much the field stands over the course, mm."""
        heights = piece.fields[:, self.field] - self.level
        return heights if self.bend is None else heights - self.bend.moved_by(piece.outside)

    @property
    def half_mm(self) -> float:
        """Return half the length of its seam; 0 for one that cannot be moved along itself."""
        return 0.0 if self.bend is None else self.bend.half_mm

    def with_bend_along(self, lines: tuple[Line, ...], wide_mm: float) -> "Course":
        """Return the same course, ready to be moved along the longest of its lines."""
        line = max(lines, key=lambda each: len(each.points))
        points = _evened(line.points, wide_mm if any(line.on_plane) else 0.0)
        middle = points.mean(axis=0)
        _, _, ways = np.linalg.svd(points - middle, full_matrices=False)
        way = ways[0] * (1.0 if ways[0][np.argmax(np.abs(ways[0]))] > 0.0 else -1.0)
        reach = (points - middle) @ way
        middle = middle + way * (reach.max() + reach.min()) / 2.0
        half = max(float(np.ptp(reach)) / 2.0, 1.0)
        bend = Bend(point3(middle), point3(way), half, wide_mm if any(line.on_plane) else 0.0)
        return replace(self, bend=bend)

    def moved(self, by: FloatArray) -> "Course":
        """Return the course moved by (shift, tilt, bow, sway), mm of its field."""
        if self.bend is None:
            raise ValueError("a course without a bend is moved by its level alone")
        most = np.array(STEEPEST) * self.bend.half_mm
        now = np.array([self.bend.tilt_mm, self.bend.bow_mm, self.bend.sway_mm])
        tilt, bow, sway = np.clip(now + by[1:], -most, most).tolist()
        bend = replace(self.bend, tilt_mm=tilt, bow_mm=bow, sway_mm=sway)
        return Course(self.field, self.level + float(by[0]), bend)


@dataclass(frozen=True)
class Cut:
    """One side of a course."""

    course: Course
    above: bool


@dataclass(frozen=True)
class Leaf:
    """A piece as it came about.

    Attributes
    ----------
    cuts : tuple of Cut
    joined : bool
        With its mirror image over the centre plane.
    count : int
        How many pieces of the whole tank it stands for.
    """

    cuts: tuple[Cut, ...]
    joined: bool
    count: int


def courses_of(leaves: tuple[Leaf, ...]) -> dict[tuple[Cut, ...], Course]:
    """Return the courses that make these leaves, by the cuts of the piece each one parts."""
    found: dict[tuple[Cut, ...], Course] = {}
    for leaf in sorted(leaves, key=lambda each: len(each.cuts)):
        for k, cut in enumerate(leaf.cuts):
            found.setdefault(leaf.cuts[:k], cut.course)
    return dict(sorted(found.items(), key=lambda entry: len(entry[0])))


def with_courses(
    leaves: tuple[Leaf, ...], changed: dict[tuple[Cut, ...], Course]
) -> tuple[Leaf, ...]:
    """Return the leaves with the courses that part some pieces replaced by others."""

    def led(leaf: Leaf) -> Leaf:
        cuts = tuple(
            Cut(changed.get(leaf.cuts[:k], cut.course), cut.above)
            for k, cut in enumerate(leaf.cuts)
        )
        return replace(leaf, cuts=cuts)

    return tuple(led(leaf) for leaf in leaves)


def _evened(places: FloatArray, wide_mm: float) -> FloatArray:
    if not wide_mm:
        return places
    ahead, left, up = places.T
    return np.stack([ahead, left**2 / wide_mm, up], axis=1)
