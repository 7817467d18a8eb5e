"""The tools in the shaper's hand: what every tool does; laying a tape. No Qt.

They hold what is being drawn until it is done; only then it becomes an edit of the job. The tools
that set the tank up stand in `picture_tools` and `skin_tools`, those for seams in `seam_hand`.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import ClassVar, Protocol

import numpy as np

from app.window.scene import Drawn, Hit
from geometry.arrays import FloatArray
from geometry.datum import Tape, TapeKind, point3, tape_through

NOTHING = np.empty((0, 3))
CATCH_PX = 11.0
"""How near the pointer must be to a line or the first point to catch on it."""

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
    carries : bool
        A held button takes along what is in the hand.
    is_free : bool
        Whether the key is held with which nothing is caught on.
    """

    key: ClassVar[str]
    on_picture: ClassVar[bool]
    carries: ClassVar[bool]
    is_free: bool

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
    carries: ClassVar[bool] = False
    is_free: bool = False
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
