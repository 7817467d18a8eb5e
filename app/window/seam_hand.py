"""The tools that draw and change a seam: the pencil, and a point carried elsewhere. No Qt.

They hold what is being drawn until it is done; only then it becomes an edit of the job.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import ClassVar

import numpy as np

from app.job import SeamLine
from app.window.hands import CATCH_PX, NOTHING, Gap, PlainTool
from app.window.scene import Drawn, Hit
from app.window.seam_ground import Ground
from app.window.seam_meets import Met, met_along, met_words
from app.window.seam_snaps import Catch, Snaps
from geometry.arrays import FloatArray
from geometry.datum import point3
from geometry.seams import SnapKind

SEAM_POINT = "seam point"
"""What is chosen when a point of the chosen seam is, and the tool that carries it."""

AWAY = 3.0
"""How far from its start, in catching distances, a seam must be to end on what it began on."""

_FREE = "Shift catches on nothing."
_NO_WAY = "No line runs there over the skin: it is another piece, or the same place."


@dataclass(frozen=True, eq=False)
class Placed:
    """A point of a seam, file coordinates; what it caught on: "first" is the seam's own first."""

    point: FloatArray
    on: str = ""
    kind: str = ""
    line: FloatArray = field(default_factory=lambda: NOTHING)
    said: str = ""


def placed_at(ground: Ground, hit: Hit, catch: Catch | None) -> Placed:
    """Return a point where the pointer is, or where it caught."""
    if catch is None:
        return Placed(ground.nearest(hit.point))
    return Placed(catch.point, catch.on, catch.kind, catch.line, catch.words())


@dataclass
class SeamTool(PlainTool):
    """A seam being drawn.

    Attributes
    ----------
    ground : Ground
    snaps : Snaps
        What its points catch on.
    placed : list of Placed
    ahead : Placed or None
        Where a click would put the next point.
    is_free : bool
        Whether the key is held with which nothing is caught on.
    met : tuple of Met
        Where the line drawn, with the leg to the pointer, meets itself.
    """

    key: ClassVar[str] = "seam"

    ground: Ground
    snaps: Snaps = field(default_factory=Snaps)
    placed: list[Placed] = field(default_factory=list)
    ahead: Placed | None = None
    ahead_leg: FloatArray = field(default_factory=lambda: NOTHING)
    is_free: bool = False
    met: tuple[Met, ...] = ()

    def follow(self, hit: Hit | None, reach: float, gap: Gap) -> None:
        """Follow the pointer; it catches on what lies within the reach set."""
        self.ahead, self.ahead_leg = None, NOTHING
        if hit is not None:
            self.ahead = self._caught(hit, reach / CATCH_PX, gap)
            if self.placed:
                ends = np.stack([self.placed[-1].point, self.ahead.point])
                self.ahead_leg = self.ground.quick(ends)
        self._look()

    def _look(self) -> None:
        """See whether the line meets itself."""
        parts = [part for part in (self.path, self.ahead_leg) if len(part)]
        closes = self.ahead is not None and self.ahead.kind == "first"
        line = np.concatenate(parts) if parts else NOTHING
        self.met = met_along(line, self.ground, closed=closes)

    def _caught(self, hit: Hit, pixel: float, gap: Gap) -> Placed:
        reach = self.snaps.reach(pixel)
        first = self.placed[0] if self.placed else None
        if self.is_free:
            return placed_at(self.ground, hit, None)
        far = np.inf if first is None else float(np.linalg.norm(hit.point - first.point))
        if first is not None and len(self.placed) >= 3 and far <= reach:
            return Placed(first.point, first.on, "first", said="the first point")
        left_out: tuple[SnapKind, ...] = ()
        catch = self.snaps.caught(hit.point, pixel, gap)
        if catch is not None and self._is_start(catch, reach):
            left_out = (catch.kind,)
            catch = self.snaps.caught(hit.point, pixel, gap, without=left_out)
        return placed_at(self.ground, hit, catch)

    def _is_start(self, catch: Catch, reach: float) -> bool:
        """Return whether a place on a rim or seam is hardly away from where the seam began on it.

        A seam that ended there would part nothing.
        """
        if catch.kind not in ("rim", "seam") or not self.placed or self.placed[0].on != catch.on:
            return False
        return float(np.linalg.norm(catch.point - self.placed[0].point)) <= AWAY * reach

    def put(self, hit: Hit | None = None) -> str:
        """Put a point down where the pointer is; return "end" or "close" when that is the last."""
        ahead = self.ahead
        if ahead is None:
            return ""
        if ahead.kind == "first":
            return "close"
        if self.placed and not len(self.ahead_leg):
            return ""
        self.placed.append(ahead)
        self.ahead_leg = NOTHING
        self._look()
        return "end" if ahead.kind in ("rim", "seam") and len(self.placed) > 1 else ""

    def take_back(self) -> None:
        """Take the last point back."""
        if self.placed:
            self.placed.pop()
        self.ahead_leg = NOTHING
        self._look()

    @property
    def has_begun(self) -> bool:
        """Whether a point is down."""
        return bool(self.placed)

    @property
    def can_end(self) -> bool:
        """Whether there are enough points for a seam."""
        return len(self.placed) > 1

    @property
    def can_close(self) -> bool:  # type: ignore[override]
        """Whether enough points are there for a ring."""
        return len(self.placed) >= 3

    def drawn(self) -> Drawn:
        """Return what there is to see of it."""
        return drawn_of(self.points, self.path, self.ahead_leg, self.ahead, self.met)

    def seam(self, name: str, *, closed: bool) -> SeamLine:
        """Return the seam drawn."""
        points = tuple(point3(placed.point) for placed in self.placed)
        on = tuple(placed.on for placed in self.placed)
        return SeamLine(name, points, closed, on if any(on) else ())

    @property
    def path(self) -> FloatArray:
        """The line drawn so far."""
        return self.ground.quick(self.points) if len(self.placed) > 1 else NOTHING

    @property
    def points(self) -> FloatArray:
        """The points put down."""
        return np.stack([placed.point for placed in self.placed]) if self.placed else NOTHING

    def words(self) -> str:
        """Return what to do next."""
        ahead = self.ahead
        if not self.placed:
            return "Click where the seam begins: on a rim, on another seam, or anywhere for a ring."
        if ahead is not None and not len(self.ahead_leg) and ahead.kind != "first":
            far = float(np.linalg.norm(ahead.point - self.placed[-1].point))
            if far > 0.0:
                return _NO_WAY
        if self.met:
            return met_words(self.met)
        if ahead is not None and ahead.kind == "first":
            return "Click to close the ring."
        if ahead is not None and ahead.kind in ("rim", "seam"):
            return f"Click to end the seam {ahead.said}."
        close = "  C closes it." if self.can_close else ""
        return f"Click the next point, or end on a rim or a seam.  Backspace takes one back.{close}"


Changed = Callable[[SeamLine], None]


@dataclass
class MovePointTool(PlainTool):
    """A point of a drawn seam, carried over the surface with the line to its neighbours.

    Attributes
    ----------
    seam : SeamLine
    at : int
        Which of its points.
    ground : Ground
    snaps : Snaps
    changed : function of SeamLine
        Told what the seam would be, at every move.
    is_dragged : bool
        By a button held; else it follows the pointer until it is put down.
    beside : (k, 3) float
        The linked mirror image as it would run.
    met : tuple of Met
        Where the seam would meet itself.
    """

    key: ClassVar[str] = SEAM_POINT
    carries: ClassVar[bool] = True

    seam: SeamLine
    at: int
    ground: Ground
    snaps: Snaps
    changed: Changed | None = None
    is_dragged: bool = False
    ahead: Placed | None = None
    line: FloatArray = field(default_factory=lambda: NOTHING)
    beside: FloatArray = field(default_factory=lambda: NOTHING)
    is_free: bool = False
    met: tuple[Met, ...] = ()

    def __post_init__(self) -> None:
        self.line = self.ground.quick(np.array(self.seam.points), closed=self.seam.closed)
        self.met = met_along(self.line, self.ground, closed=self.seam.closed)

    def follow(self, hit: Hit | None, reach: float, gap: Gap) -> None:
        """Take the point along; off the tank it stays where it was last on it."""
        if hit is None:
            return
        catch = None if self.is_free else self.snaps.caught(hit.point, reach / CATCH_PX, gap)
        ahead = placed_at(self.ground, hit, catch)
        points = np.array(self.seam.points)
        points[self.at] = ahead.point
        line = self.ground.quick(points, closed=self.seam.closed)
        if len(line):
            self.ahead, self.line = ahead, line
            self.met = met_along(line, self.ground, closed=self.seam.closed)
            if self.changed is not None:
                self.changed(self.moved())

    def moved(self) -> SeamLine:
        """Return the seam as it would be."""
        if self.ahead is None:
            return self.seam
        return with_point_moved(self.seam, self.at, self.ahead.point, self.ahead.on)

    def put(self, hit: Hit | None = None) -> str:
        """Put the point down."""
        return "end" if self.ahead is not None else ""

    def end_pull(self) -> str:
        """Put the point down where the button was let go."""
        return "end"

    def take_back(self) -> None:
        """Bring the point back to where it was."""
        self.ahead, self.beside = None, NOTHING
        self.__post_init__()

    @property
    def has_begun(self) -> bool:
        """Whether the point was moved."""
        return self.ahead is not None

    @property
    def can_end(self) -> bool:
        """Whether it lies where it can be left."""
        return self.ahead is not None

    def drawn(self) -> Drawn:
        """Return what there is to see of it."""
        points = np.array(self.moved().points)
        return drawn_of(points, self.line, self.beside, self.ahead, self.met)

    def words(self) -> str:
        """Return what to do next."""
        how = "Let go" if self.is_dragged else "Click or press Space"
        where = f" {self.ahead.said}" if self.ahead is not None and self.ahead.said else ""
        if self.met:
            return f"{met_words(self.met)}  Esc puts it back."
        return f"{how} to leave the point{where}.  Esc puts it back.  {_FREE}"


def drawn_of(
    points: FloatArray, path: FloatArray, leg: FloatArray, ahead: Placed | None,
    met: tuple[Met, ...],
) -> Drawn:  # fmt: skip
    """Return what there is to see: the mark where the pointer has caught, and on what, in words.

    Where the line meets itself that is marked and said as well.
    """
    caught = ahead.point if ahead is not None and ahead.kind else None
    words = ((ahead.point, ahead.said),) if ahead is not None and ahead.said else ()
    line = ahead.line if ahead is not None else NOTHING
    places = np.stack([each.point for each in met]) if met else NOTHING
    said = (*words, *((each.point, each.words()) for each in met))
    return Drawn(points, path, leg, caught, said, caught_line=line, warned=places)


def with_point_moved(seam: SeamLine, at: int, point: FloatArray, on: str) -> SeamLine:
    """Return a seam with a point elsewhere.

    >>> seam = SeamLine("s", ((0.0, 0.0, 0.0), (1.0, 0.0, 0.0)))
    >>> with_point_moved(seam, 1, np.array([2.0, 0, 0]), "rim").on
    ('', 'rim')
    """
    points = (*seam.points[:at], point3(point), *seam.points[at + 1 :])
    were = all_on(seam)
    return _with(seam, points, (*were[:at], on, *were[at + 1 :]))


def with_point_inserted(seam: SeamLine, before: int, point: FloatArray) -> SeamLine:
    """Return a seam with one more point, before the one numbered `before`."""
    were = all_on(seam)
    points = (*seam.points[:before], point3(point), *seam.points[before:])
    return _with(seam, points, (*were[:before], "", *were[before:]))


def without_point(seam: SeamLine, at: int) -> SeamLine | None:
    """Return a seam without a point; None where too few would be left for a line or a ring."""
    if len(seam.points) <= (3 if seam.closed else 2):
        return None
    were = all_on(seam)
    points = (*seam.points[:at], *seam.points[at + 1 :])
    return _with(seam, points, (*were[:at], *were[at + 1 :]))


def all_on(seam: SeamLine) -> tuple[str, ...]:
    """Return what each point of a seam is on, "" where it lies free."""
    return seam.on if seam.on else ("",) * len(seam.points)


def _with(
    seam: SeamLine, points: tuple[tuple[float, float, float], ...], on: tuple[str, ...]
) -> SeamLine:
    return SeamLine(seam.name, points, seam.closed, on if any(on) else (), seam.mirror_of)
