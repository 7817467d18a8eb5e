"""The tools in the shaper's hand: what every tool does; drawing a seam; laying a tape. No Qt.

They hold what is being drawn until it is done; only then it becomes an edit of the job. The tools
that set the tank up stand in `picture_tools` and `skin_tools`.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import ClassVar, Protocol

import numpy as np
from scipy.spatial import cKDTree

from app.job import SeamLine, Surface
from app.window.scene import Drawn, Hit
from geometry.arrays import FloatArray
from geometry.datum import Point3, Tape, TapeKind, tape_through
from geometry.mesh import NearestPoint, PathFinder, SurfacePoint, TriMesh, rims

NOTHING = np.empty((0, 3))
CATCH_PX = 11.0
"""How near the pointer must be to a rim, a seam or the first point to catch on it."""

RIM_ABOUT = 8.0
"""How far off in space, in catching distances, a rim may be that is drawn under the pointer: at the
tank's outline the skin runs away from the eye."""

AWAY = 3.0
"""How far from its start, in catching distances, a seam must be to end on what it began on."""

Gap = Callable[[FloatArray], float]
"""How far from the pointer a point of space is drawn."""


class Tool(Protocol):
    """What the hand asks of a tool.

    Attributes
    ----------
    key : str
        Its name on the desk.
    on_picture : bool
        Its points lie on the picture, before the tank, and a held button draws.
    """

    key: ClassVar[str]
    on_picture: ClassVar[bool]

    def follow(self, hit: Hit | None, reach: float, gap: Gap) -> None:
        """Follow the pointer; it catches on what lies within `reach`."""

    def put(self, hit: Hit | None) -> str:
        """Put a point down; return "end" or "close" when that was the last."""

    def pull(self, hit: Hit, step: float) -> None:
        """Draw on with the button held; points nearer than `step` add nothing."""

    def end_pull(self) -> str:
        """Take what was drawn with the button held."""

    def asked_to(self, how: str) -> str:
        """Return how it ends when its key asks for it; "" when it goes on."""

    def take_back(self) -> None:
        """Take the last point back."""

    def begin_anew(self) -> None:
        """Forget what was drawn: the picture it was drawn on has turned."""

    def words(self) -> str:
        """Return what to do next."""

    def drawn(self) -> Drawn:
        """Return what there is to see of it."""

    @property
    def has_begun(self) -> bool:
        """Whether a point is down."""

    @property
    def can_end(self) -> bool:
        """Whether it can be ended where it is."""

    @property
    def can_close(self) -> bool:
        """Whether it can be joined to a ring."""

    @property
    def is_laid(self) -> bool:
        """Whether it is drawn whole and only a word about it is missing."""


class PlainTool:
    """What most tools do the same way."""

    key: ClassVar[str] = ""
    on_picture: ClassVar[bool] = False
    is_laid: bool = False
    can_close: bool = False

    def pull(self, hit: Hit, step: float) -> None:
        """Draw nothing with the button held."""

    def end_pull(self) -> str:
        """Take nothing."""
        return ""

    def asked_to(self, how: str) -> str:
        """End as asked."""
        return how

    def begin_anew(self) -> None:
        """Keep what was drawn: it lies on the tank and turns with it."""


@dataclass(frozen=True, eq=False)
class Placed:
    """A point of a seam: its place in file coordinates, and on the surface; what it caught on."""

    point: FloatArray
    on: SurfacePoint
    caught: str = ""


class Ground:
    """The surface seams are drawn on, file coordinates, with what a seam can end on."""

    def __init__(self, surface: Surface, mm_per_unit: float) -> None:
        working = surface.working
        self.mesh = TriMesh(working.outside / mm_per_unit, working.mesh.faces)
        self._finder: PathFinder | None = None
        self._nearest: NearestPoint | None = None
        loops = rims(self.mesh)
        self._rim = np.concatenate(loops) if loops else np.empty(0, np.int64)
        self._rim_tree = cKDTree(self.mesh.vertices[self._rim]) if len(self._rim) else None
        face = np.zeros(len(self.mesh.vertices), np.int64)
        face[self.mesh.faces.ravel()] = np.repeat(np.arange(len(self.mesh.faces)), 3)
        self._face_of_vertex = face

    @property
    def finder(self) -> PathFinder:
        """The path finder, its set-up kept."""
        if self._finder is None:
            self._finder = PathFinder(self.mesh)
        return self._finder

    def placed(self, hit: Hit) -> Placed:
        """Return the place of a hit on this surface."""
        if hit.on == "surface":
            return Placed(hit.point, SurfacePoint(hit.face, hit.barycentric))
        return self.nearest(hit.point)

    def nearest(self, point: FloatArray, caught: str = "") -> Placed:
        """Return the place of the surface nearest a point."""
        if self._nearest is None:
            self._nearest = NearestPoint(self.mesh)
        found = self._nearest.find(point[None])
        return Placed(
            found.points[0], SurfacePoint(int(found.faces[0]), found.barycentric[0]), caught
        )

    def rim_near(self, point: FloatArray, reach: float, gap: Gap) -> Placed | None:
        """Return the rim's vertex that is drawn nearest the pointer, if it catches there.

        Only the rim about the place pointed at counts, not one on the tank's far side.
        """
        if self._rim_tree is None:
            return None
        about = self._rim_tree.query_ball_point(point, RIM_ABOUT * reach)
        gaps = [gap(self.mesh.vertices[self._rim[at]]) for at in about]
        if not gaps or min(gaps) > CATCH_PX:
            return None
        vertex = int(self._rim[about[int(np.argmin(gaps))]])
        face = int(self._face_of_vertex[vertex])
        weights = (self.mesh.faces[face] == vertex).astype(np.float64)
        return Placed(self.mesh.vertices[vertex], SurfacePoint(face, weights), "rim")

    def path(self, start: Placed, end: Placed) -> FloatArray:
        """Return the line over the surface between two places."""
        if np.allclose(start.point, end.point, atol=0.0, rtol=1e-12):
            return np.stack([start.point, end.point])
        return self.finder.path(start.on, end.on).points


@dataclass
class SeamTool(PlainTool):
    """A seam being drawn.

    Attributes
    ----------
    ground : Ground
    others : tuple of (k, 3)
        Seams there are already, as they run.
    placed : list of Placed
    legs : list of (k, 3)
        The line between each point and the next.
    ahead : Placed or None
        Where a click would put the next point.
    """

    key: ClassVar[str] = "seam"

    ground: Ground
    others: tuple[FloatArray, ...] = ()
    placed: list[Placed] = field(default_factory=list)
    legs: list[FloatArray] = field(default_factory=list)
    ahead: Placed | None = None
    ahead_leg: FloatArray = field(default_factory=lambda: NOTHING)

    def follow(self, hit: Hit | None, reach: float, gap: Gap) -> None:
        """Follow the pointer: catch on a rim, a seam or the first point within `reach`."""
        if hit is None:
            self.ahead, self.ahead_leg = None, NOTHING
            return
        self.ahead = self._caught(hit, reach, gap)
        self.ahead_leg = self.ground.path(self.placed[-1], self.ahead) if self.placed else NOTHING

    def _caught(self, hit: Hit, reach: float, gap: Gap) -> Placed:
        near_first = (
            len(self.placed) >= 3
            and float(np.linalg.norm(hit.point - self.placed[0].point)) <= reach
        )
        if near_first:
            return Placed(self.placed[0].point, self.placed[0].on, "first")
        on_rim = self.ground.rim_near(hit.point, reach, gap)
        if on_rim is not None and not self._is_start(on_rim.point, "rim", reach):
            return on_rim
        for other in self.others:
            place = nearest_on_line(other, hit.point)
            if float(np.linalg.norm(place - hit.point)) > reach:
                continue
            if not self._is_start(place, "seam", reach):
                return self.ground.nearest(place, "seam")
        return self.ground.placed(hit)

    def _is_start(self, place: FloatArray, on: str, reach: float) -> bool:
        """Return whether a place on a rim or seam is hardly away from where the seam began on it.

        A seam that ended there would part nothing.
        """
        if not self.placed or self.placed[0].caught != on:
            return False
        return float(np.linalg.norm(place - self.placed[0].point)) <= AWAY * reach

    def put(self, hit: Hit | None = None) -> str:
        """Put a point down where the pointer is; return "end" or "close" when that is the last."""
        ahead = self.ahead
        if ahead is None:
            return ""
        if ahead.caught == "first":
            return "close"
        if self.placed and np.array_equal(ahead.point, self.placed[-1].point):
            return ""
        if self.placed:
            self.legs.append(self.ground.path(self.placed[-1], ahead))
        self.placed.append(ahead)
        self.ahead_leg = NOTHING
        return "end" if ahead.caught in ("rim", "seam") and len(self.placed) > 1 else ""

    def take_back(self) -> None:
        """Take the last point back."""
        if self.placed:
            self.placed.pop()
        if self.legs:
            self.legs.pop()
        self.ahead_leg = NOTHING

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
        caught = self.ahead.point if self.ahead is not None and self.ahead.caught else None
        return Drawn(self.points, self.path, self.ahead_leg, caught)

    def seam(self, name: str, *, closed: bool) -> SeamLine:
        """Return the seam drawn."""
        points = tuple(point3(placed.point) for placed in self.placed)
        return SeamLine(name, points, closed)

    @property
    def path(self) -> FloatArray:
        """The line drawn so far."""
        return np.concatenate(self.legs) if self.legs else NOTHING

    @property
    def points(self) -> FloatArray:
        """The points put down."""
        return np.stack([placed.point for placed in self.placed]) if self.placed else NOTHING

    def words(self) -> str:
        """Return what to do next."""
        if not self.placed:
            return "Click where the seam begins: on a rim, on another seam, or anywhere for a ring."
        if self.ahead is not None and self.ahead.caught == "first":
            return "Click to close the ring."
        if self.ahead is not None and self.ahead.caught == "rim":
            return "Click to end the seam on the rim."
        if self.ahead is not None and self.ahead.caught == "seam":
            return "Click to end the seam on the other seam."
        close = "  C closes it." if self.can_close else ""
        return f"Click the next point, or end on a rim or a seam.  Backspace takes one back.{close}"


_TAPE_WORDS: dict[TapeKind, str] = {
    "straight": "Click one end of the tape on the tank.",
    "over": "Click one end of the tape on the tank.",
    "girth": "Click three points the tape passes on its way round, not on one line.",
    "along": "Click points along the line the tape followed; Enter ends it.",
}
_POINTS: dict[TapeKind, int] = {"straight": 2, "over": 2, "girth": 3}


@dataclass
class TapeTool(PlainTool):
    """A tape being laid: its ends, three points round the tank, or all along a line."""

    key: ClassVar[str] = "tape"

    kind: TapeKind = "straight"
    picked: list[FloatArray] = field(default_factory=list)
    is_ended: bool = False
    _ahead: FloatArray | None = None

    def follow(self, hit: Hit | None, reach: float, gap: Gap) -> None:
        """Follow the pointer."""
        self._ahead = None if hit is None or self.is_laid else hit.point

    def put(self, hit: Hit | None) -> str:
        """Put a point down."""
        new = hit is not None and not any(np.array_equal(hit.point, it) for it in self.picked)
        if hit is not None and new and not self.is_laid:
            self.picked.append(hit.point)
        return ""

    def asked_to(self, how: str) -> str:
        """End a line; its length is asked for then."""
        self.is_ended = True
        return ""

    @property
    def start(self) -> FloatArray | None:
        """The first point put down."""
        return self.picked[0] if self.picked else None

    @property
    def has_begun(self) -> bool:
        """Whether a point is down."""
        return bool(self.picked)

    @property
    def can_end(self) -> bool:
        """Whether a line has enough points; the other kinds end by themselves."""
        return self.kind == "along" and len(self.picked) >= 2 and not self.is_ended

    @property
    def is_laid(self) -> bool:  # type: ignore[override]
        """Whether all its points are down."""
        if self.kind == "along":
            return self.is_ended
        return len(self.picked) >= _POINTS[self.kind]

    def take_back(self) -> None:
        """Take the last point back."""
        if self.is_ended:
            self.is_ended = False
        elif self.picked:
            self.picked.pop()

    @property
    def points(self) -> FloatArray:
        """The points put down."""
        return np.stack(self.picked) if self.picked else NOTHING

    def tape(self, length_mm: float) -> Tape:
        """Return the tape laid, with what it said."""
        return tape_through([point3(point) for point in self.picked], length_mm, self.kind)

    def drawn(self) -> Drawn:
        """Return what there is to see of it."""
        points = self.points
        line = points[[*range(len(points)), 0]] if self.kind == "girth" and self.is_laid else points
        ahead = NOTHING
        if self.picked and self._ahead is not None:
            ahead = np.stack([self.picked[-1], self._ahead])
        return Drawn(points, line if len(line) > 1 else NOTHING, ahead, on_top=True)

    def words(self) -> str:
        """Return what to do next."""
        if self.is_laid:
            return "Now type what the tape said, at the right."
        if not self.picked:
            return _TAPE_WORDS[self.kind]
        if self.kind == "girth":
            left = _POINTS["girth"] - len(self.picked)
            return f"Click {'two more points' if left == 2 else 'one more point'} it passes."
        return (
            "Click on along it; Enter ends it."
            if self.kind == "along"
            else ("Click the other end of the tape.")
        )


def nearest_on_line(line: FloatArray, point: FloatArray) -> FloatArray:
    """Return the place of a (k, 3) line nearest a point.

    >>> nearest_on_line(np.array([[0.0, 0, 0], [2, 0, 0]]), np.array([1.0, 3, 0])).tolist()
    [1.0, 0.0, 0.0]
    """
    starts, ways = line[:-1], np.diff(line, axis=0)
    lengths = np.maximum((ways * ways).sum(axis=1), 1e-300)
    along = np.clip(((point - starts) * ways).sum(axis=1) / lengths, 0.0, 1.0)
    places = starts + along[:, None] * ways
    return np.asarray(places[int(np.argmin(((places - point) ** 2).sum(axis=1)))], np.float64)


def point3(point: FloatArray) -> Point3:
    """Return a point as plain numbers."""
    return float(point[0]), float(point[1]), float(point[2])
