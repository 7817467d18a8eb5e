"""What was taped on the real tank: where a tape lay, and what the mesh says of the same line.

Points and lengths in the mesh's own unit, but for what the tape said, which is in mm.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Literal

import numpy as np

from geometry.arrays import FloatArray, IntArray, locked
from geometry.datum.girth import girth_of, plane_through
from geometry.datum.point import Point3
from geometry.datum.smooth_line import smooth_line
from geometry.datum.tight_line import tight_stops
from geometry.errors import GeometryError
from geometry.mesh import (
    Nearest,
    NearestPoint,
    PathFinder,
    SurfacePoint,
    TriMesh,
    typical_edge_length,
)
from geometry.polyline import line_length
from geometry.progress import Report, silent

TapeKind = Literal["straight", "over", "girth", "along"]
TAPE_KINDS: tuple[TapeKind, ...] = ("straight", "over", "girth", "along")

OFF_SURFACE_RATIO = 0.01
"""A tape's point may lie this far off the surface, of the scan's size from corner to corner: a
point clicked lies on it, one typed is a little off, one in another unit is far off. Own choice."""

STOPS_APART = 3.0
"""A tape over the surface is drawn tight at places at least so many of the scan's spacings apart:
a dimple of its noise then holds none of them."""


@dataclass(frozen=True)
class Tape:
    """A length taped on the real tank, and where on the file's surface the tape lay.

    Attributes
    ----------
    start, end : three floats, the file's unit
    length_mm : float
        What the tape said.
    over : bool
        The tape lay on the surface the shortest way; the same as `kind` "over".
    kind : str
        straight: pulled straight from start to end. over: the shortest way on the surface.
        girth: round the tank in one plane, pulled tight. along: from point to point on the
        surface, through all of them.
    points : tuple of points
        Where a girth or a line along the surface passes, start first and end last; none for the
        other kinds.
    towards : three floats, optional
        A direction the tape of a girth kept to, where only two of its points were marked.
    """

    start: Point3
    end: Point3
    length_mm: float
    over: bool = False
    kind: TapeKind = "straight"
    points: tuple[Point3, ...] = ()
    towards: Point3 | None = None

    def __post_init__(self) -> None:
        if self.kind not in TAPE_KINDS:
            raise ValueError(f"a tape is one of {', '.join(TAPE_KINDS)}, not {self.kind!r}")
        if self.over and self.kind == "straight":
            object.__setattr__(self, "kind", "over")
        object.__setattr__(self, "over", self.kind == "over")
        if self.points and (self.points[0] != self.start or self.points[-1] != self.end):
            raise ValueError("a tape starts at the first of its points and ends at the last")
        if len(self.points) > 2 and self.kind not in ("girth", "along"):
            raise ValueError(f"a tape {self.kind} runs between two points")
        if self.kind == "girth" and len(self.picks) != (3 if self.towards is None else 2):
            raise ValueError("a girth's plane is told by three points, or two and a direction")

    @property
    def picks(self) -> tuple[Point3, ...]:
        """Every point marked, start first."""
        return self.points or (self.start, self.end)


def tape_through(
    points: Sequence[Point3],
    length_mm: float,
    kind: TapeKind = "straight",
    towards: Point3 | None = None,
) -> Tape:
    """Return a tape of any kind from the points marked, start first.

    >>> tape_through([(0.0, 0.0, 0.0), (9.0, 0.0, 0.0)], 9.0, "over").over
    True
    """
    between = tuple(points) if kind in ("girth", "along") else ()
    return Tape(points[0], points[-1], length_mm, kind == "over", kind, between, towards)


class TapeTooShortError(GeometryError):
    """A tape joins a point to itself, or its length is not above nothing.

    Attributes
    ----------
    tape : Tape
    """

    def __init__(self, tape: Tape) -> None:
        self.tape = tape
        super().__init__(f"a tape of {tape.length_mm} mm from {tape.start} to {tape.end}")


class TapeOffSurfaceError(GeometryError):
    """A point of a tape lies off the surface, so the tape was not laid on this scan.

    Attributes
    ----------
    number : int
        Which tape, counted from 1.
    tape : Tape
    point : (3,) float, the file's unit
        Its point farthest off.
    distance, allowed : float, the file's unit
    factor : float
        All tapes' points times this lie on the surface: they are in another unit than the file.
        0 where no unit explains it.
    """

    def __init__(
        self,
        number: int,
        tape: Tape,
        point: FloatArray,
        *,
        distance: float,
        allowed: float,
        factor: float,
    ) -> None:
        self.number, self.tape, self.point = number, tape, point
        self.distance, self.allowed, self.factor = distance, allowed, factor
        super().__init__(f"tape {number} leaves the surface by {distance} at {point}")


@dataclass(frozen=True, eq=False)
class LaidTape:
    """What the mesh says of a tape: the mesh's unit.

    Attributes
    ----------
    length : float
        Of the tape as it was laid.
    followed : float
        The same line down into every hollow, where a tight tape bridges some; else the length.
    gap : float
        The longest gap in the scan, or hole, that a girth spans straight across; 0 without.
    is_closed : bool
        A girth right round; otherwise the tape has two ends.
    spread : (3, 3) float
        Mean of u uT over the tape, u its direction: what a stretch of the scan does to it.
    """

    length: float
    followed: float
    gap: float
    is_closed: bool
    spread: FloatArray

    def __post_init__(self) -> None:
        locked(self.spread)


class TapeLayer:
    """Lays tapes on one mesh, its set-up kept from one to the next.

    Straight tapes run between the points as given. A tape on the surface follows it; a smooth
    curve is laid through that line first, because a tape does not follow the grain of the scan,
    which would make it too long.
    """

    def __init__(self, mesh: TriMesh) -> None:
        self.mesh = mesh

    @cached_property
    def _finder(self) -> PathFinder:
        return PathFinder(self.mesh)

    @cached_property
    def allowed_off(self) -> float:
        """How far off the surface a tape's point may be, the mesh's unit."""
        return OFF_SURFACE_RATIO * size_of(self.mesh)

    def check_points(self, tapes: Sequence[Tape]) -> None:
        """Raise TapeOffSurfaceError where a tape was not laid on this surface."""
        for number, tape in enumerate(tapes, start=1):
            picks = np.array(tape.picks)
            off = nearest_of_few(self.mesh, picks).distances
            worst = int(off.argmax())
            if off[worst] > self.allowed_off:
                raise TapeOffSurfaceError(
                    number,
                    tape,
                    picks[worst],
                    distance=float(off[worst]),
                    allowed=self.allowed_off,
                    factor=self._factor_that_fits(tapes),
                )

    def _factor_that_fits(self, tapes: Sequence[Tape]) -> float:
        """Return by how much all points have to be multiplied to lie on the surface, or 0."""
        picks = np.concatenate([np.array(tape.picks) for tape in tapes])
        for factor in _UNIT_FACTORS:
            moved = picks * factor
            if np.ptp(moved, axis=0).max() < 10.0 * self.allowed_off:
                continue
            if (nearest_of_few(self.mesh, moved).distances <= self.allowed_off).all():
                return factor
        return 0.0

    def lay(self, tape: Tape, *, report: Report = silent) -> LaidTape:
        """Return what the mesh says of a tape."""
        picks = np.array(tape.picks)
        if tape.kind == "girth":
            report(0.0, "lay the tape round")
            girth = girth_of(self.mesh, plane_through(picks, tape.towards), picks)
            report(1.0, "lay the tape round")
            return LaidTape(
                line_length(girth.line), girth.followed, girth.gap, girth.is_closed,
                spread_of([girth.line]),
            )  # fmt: skip
        if tape.kind == "straight" or (picks == picks[0]).all():
            lines: list[FloatArray] = [picks]
        else:
            lines = self._over(picks, report)
        length = sum(line_length(line) for line in lines)
        return LaidTape(length, length, 0.0, False, spread_of(lines))

    def _over(self, picks: FloatArray, report: Report) -> list[FloatArray]:
        """Return the smooth line over the surface from each point to the next."""
        report(0.0, "find the ends of the tape")
        near = nearest_of_few(self.mesh, picks)
        ends = [
            SurfacePoint(int(face), weights)
            for face, weights in zip(near.faces, near.barycentric, strict=True)
        ]
        lines = []
        for done, (start, end) in enumerate(pairwise(ends)):
            report(0.3 + 0.7 * done / len(ends), "lay the tape over the surface")
            if np.linalg.norm(near.points[done + 1] - near.points[done]) > 0.0:
                lines.append(self._laid_over(start, end))
        report(1.0, "lay the tape over the surface")
        return lines

    def _laid_over(self, start: SurfacePoint, end: SurfacePoint) -> FloatArray:
        """Return the line of a tape from place to place, drawn tight, without the scan's grain."""
        path = self._finder.path(start, end)
        stops = tight_stops(self.mesh, path.points, least=STOPS_APART * self._spacing)
        if stops:
            path = self._finder.through([start, *stops, end])
        return smooth_line(path.points)

    @cached_property
    def _spacing(self) -> float:
        return typical_edge_length(self.mesh)


_UNIT_FACTORS = (0.1, 10.0, 1 / 25.4, 25.4, 0.001, 1000.0, 0.01, 100.0, 1 / 2.54, 2.54,
                 0.0254, 1 / 0.0254)  # fmt: skip


def taped_length(mesh: TriMesh, tape: Tape, *, report: Report = silent) -> float:
    """Return the distance a tape was laid along, in the mesh's unit."""
    return TapeLayer(mesh).lay(tape, report=report).length


def spread_of(lines: Iterable[FloatArray]) -> FloatArray:
    """Return the mean of u uT along lines, u their direction; all nought without a length.

    >>> spread_of([np.array([[0.0, 0, 0], [3, 0, 0], [3, 1, 0]])]).diagonal().tolist()
    [0.75, 0.25, 0.0]
    """
    steps = np.concatenate([np.diff(line, axis=0) for line in lines] or [np.zeros((0, 3))])
    lengths = np.linalg.norm(steps, axis=1)
    steps, lengths = steps[lengths > 0.0], lengths[lengths > 0.0]
    if not len(steps):
        return np.zeros((3, 3))
    return np.asarray((steps / lengths[:, None]).T @ steps / lengths.sum())


def size_of(mesh: TriMesh) -> float:
    """Return a mesh's size from corner to corner; a few stray vertices do not count."""
    low, high = np.percentile(mesh.vertices, [1.0, 99.0], axis=0)
    return float(np.linalg.norm(high - low))


def nearest_of_few(mesh: TriMesh, points: FloatArray) -> Nearest:
    """Return the nearest points of the surface to a few points, without a search tree of it all.

    No face is nearer than its first corner less its longest side, so few have to be looked at.
    """
    corners = mesh.vertices[mesh.faces]
    reach = np.sqrt(
        np.maximum(
            ((corners[:, 1] - corners[:, 0]) ** 2).sum(axis=1),
            ((corners[:, 2] - corners[:, 0]) ** 2).sum(axis=1),
        )
    )
    found = [_nearest_of_one(mesh, corners[:, 0], reach, point) for point in points]
    return Nearest(
        np.concatenate([each.points for each in found]),
        np.concatenate([each.faces for each in found]),
        np.concatenate([each.barycentric for each in found]),
        np.concatenate([each.distances for each in found]),
    )


def _nearest_of_one(
    mesh: TriMesh, first: FloatArray, reach: FloatArray, point: FloatArray
) -> Nearest:
    gap = np.linalg.norm(first - point, axis=1)
    candidates: IntArray = np.flatnonzero(gap - reach <= gap.min())
    near = NearestPoint(TriMesh(mesh.vertices, mesh.faces[candidates])).find(point)
    return Nearest(near.points, candidates[near.faces], near.barycentric, near.distances)
