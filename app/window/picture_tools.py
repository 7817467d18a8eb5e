"""The tools drawn on the picture before the tank: a lasso, and a plane seen edge-on. No Qt.

What they leave is plain points in file coordinates; what is done with them their giver knows.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import ClassVar

import numpy as np

from app.window.hands import CATCH_PX, NOTHING, Gap, PlainTool
from app.window.scene import Drawn, Hit
from geometry.arrays import FloatArray

Eye = Callable[[], FloatArray]
"""Returns the unit direction from the tank to the eye."""

LEAST_CORNERS = 3


@dataclass
class LassoTool(PlainTool):
    """An outline round what is looked at: drawn with the button held, or corner by corner.

    Attributes
    ----------
    eye : function
    corners : list of (3,)
        On the plane of the picture.
    closed : bool
    along : (3,) or None
        From the eye into the picture, once it is closed.
    """

    key: ClassVar[str] = "lasso"
    on_picture: ClassVar[bool] = True

    eye: Eye
    corners: list[FloatArray] = field(default_factory=list)
    closed: bool = False
    along: FloatArray | None = None
    _ahead: FloatArray | None = None
    _near_first: bool = False

    def follow(self, hit: Hit | None, reach: float, gap: Gap) -> None:
        """Follow the pointer; catch on the first corner."""
        self._ahead = None if hit is None or self.closed else hit.point
        self._near_first = (
            self._ahead is not None and self.can_close and gap(self.corners[0]) <= CATCH_PX
        )

    def put(self, hit: Hit | None) -> str:
        """Put a corner down; on the first one the outline is closed."""
        if hit is not None and self._near_first:
            self._close()
        elif hit is not None and not self.closed:
            self.corners.append(hit.point)
        return ""

    def pull(self, hit: Hit, step: float) -> None:
        """Draw on with the button held."""
        far = not self.corners or float(np.linalg.norm(hit.point - self.corners[-1])) >= step
        if far and not self.closed:
            self.corners.append(hit.point)

    def end_pull(self) -> str:
        """Close what was drawn with the button held."""
        if self.can_close:
            self._close()
        else:
            self.begin_anew()
        return ""

    def asked_to(self, how: str) -> str:
        """Close it; what is to become of it is asked then."""
        self._close()
        return ""

    def _close(self) -> None:
        self.closed, self._near_first, self._ahead = True, False, None
        self.along = -self.eye()

    def take_back(self) -> None:
        """Open it again, or take the last corner back."""
        if self.closed:
            self.closed, self.along = False, None
        elif self.corners:
            self.corners.pop()

    def begin_anew(self) -> None:
        """Forget what was drawn."""
        self.corners, self._ahead = [], None

    @property
    def has_begun(self) -> bool:
        """Whether a corner is down."""
        return bool(self.corners)

    @property
    def can_close(self) -> bool:  # type: ignore[override]
        """Whether there are enough corners."""
        return len(self.corners) >= LEAST_CORNERS and not self.closed

    @property
    def can_end(self) -> bool:
        """Whether there are enough corners: ending closes."""
        return self.can_close

    @property
    def is_laid(self) -> bool:  # type: ignore[override]
        """Whether it is closed."""
        return self.closed

    def drawn(self) -> Drawn:
        """Return what there is to see of it."""
        line = np.array([*self.corners, *(self.corners[:1] if self.closed else [])])
        ahead = NOTHING
        if self.corners and self._ahead is not None:
            ahead = np.stack([self.corners[-1], self._ahead])
        caught = self.corners[0] if self._near_first else None
        points = line if 0 < len(line) <= 12 else NOTHING
        return Drawn(points, line if len(line) else NOTHING, ahead, caught, on_top=True)

    def words(self) -> str:
        """Return what to do next."""
        if self.closed:
            return "Say at the right what is to become of it."
        if not self.corners:
            return "Draw round it with the button held down, or click corner by corner."
        if self._near_first:
            return "Click to close the outline."
        return "Go on round it. C or Enter closes it, Backspace takes one back."


@dataclass
class PlaneTool(PlainTool):
    """A plane seen edge-on: a line drawn across the picture; the side of the middle stays."""

    key: ClassVar[str] = "plane"
    on_picture: ClassVar[bool] = True

    eye: Eye
    middle: FloatArray
    ends: list[FloatArray] = field(default_factory=list)
    flipped: bool = False
    along: FloatArray | None = None
    _ahead: FloatArray | None = None

    def follow(self, hit: Hit | None, reach: float, gap: Gap) -> None:
        """Follow the pointer."""
        self._ahead = None if hit is None or self.is_laid else hit.point

    def put(self, hit: Hit | None) -> str:
        """Put an end down."""
        if hit is not None and not self.is_laid and self._is_new(hit.point):
            self.ends.append(hit.point)
            self.along = -self.eye()
        return ""

    def _is_new(self, point: FloatArray) -> bool:
        return not self.ends or float(np.linalg.norm(point - self.ends[0])) > 0.0

    def pull(self, hit: Hit, step: float) -> None:
        """Begin with the first place, follow to the last."""
        if not self.ends:
            self.ends.append(hit.point)
        self._ahead = hit.point

    def end_pull(self) -> str:
        """Take the line drawn with the button held."""
        if len(self.ends) == 1 and self._ahead is not None and self._is_new(self._ahead):
            self.ends.append(self._ahead)
            self.along, self._ahead = -self.eye(), None
        return ""

    def flip(self) -> None:
        """Keep the other side."""
        self.flipped = not self.flipped

    def take_back(self) -> None:
        """Take the last end back."""
        if self.ends:
            self.ends.pop()

    def begin_anew(self) -> None:
        """Forget what was drawn."""
        self.ends, self._ahead = [], None

    @property
    def has_begun(self) -> bool:
        """Whether an end is down."""
        return bool(self.ends)

    @property
    def can_end(self) -> bool:
        """Whether its key ends it: the word at the right does."""
        return False

    @property
    def is_laid(self) -> bool:  # type: ignore[override]
        """Whether both ends are down."""
        return len(self.ends) == 2

    @property
    def normal(self) -> FloatArray:
        """The unit direction to the side that stays."""
        along = self.along if self.along is not None else -self.eye()
        across = np.cross(self.ends[1] - self.ends[0], along)
        across /= np.linalg.norm(across)
        if (self.middle - self.ends[0]) @ across < 0.0:
            across = -across
        return np.asarray(-across if self.flipped else across, np.float64)

    def drawn(self) -> Drawn:
        """Return what there is to see of it."""
        if not self.is_laid:
            ahead = NOTHING
            if self.ends and self._ahead is not None:
                ahead = np.stack([self.ends[0], self._ahead])
            points = np.array(self.ends) if self.ends else NOTHING
            return Drawn(points, NOTHING, ahead, on_top=True)
        a, b = self.ends
        way, middle = b - a, (a + b) / 2.0
        reach = 0.22 * float(np.linalg.norm(way)) * self.normal
        line = np.stack([a - 3.0 * way, b + 3.0 * way])
        words = ((middle + reach, "this side stays"), (middle - reach, "this side goes"))
        return Drawn(np.array(self.ends), line, NOTHING, None, words, on_top=True)

    def words(self) -> str:
        """Return what to do next."""
        if self.is_laid:
            return "Say at the right which side stays."
        if self.ends:
            return "Click the other end of the line."
        return "Draw a line across the tank: the plane is seen edge-on."
