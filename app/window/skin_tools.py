"""The tools that pick on the skin to set the tank up: points, round zones, lines by hand. No Qt.

What they leave is plain points in file coordinates; what is done with them their giver knows.
"""

from dataclasses import dataclass, field
from typing import ClassVar

import numpy as np

from app.window.hands import NOTHING, Gap, PlainTool, nearest_on_line
from app.window.scene import Drawn, Hit
from geometry.arrays import FloatArray

LEAST_FOR_A_RING = 3


@dataclass
class PicksTool(PlainTool):
    """Points picked on the skin, one after another.

    Attributes
    ----------
    asks : str
        What to click.
    least, most : int
        Ends by itself at `most`; its key ends it from `least` on. In steps of `by`.
    """

    key: ClassVar[str] = "picks"

    asks: str
    least: int
    most: int = 1000
    by: int = 1
    names: tuple[str, ...] = ()
    picked: list[FloatArray] = field(default_factory=list)

    def follow(self, hit: Hit | None, reach: float, gap: Gap) -> None:
        """Follow the pointer: nothing to be seen of that."""

    def put(self, hit: Hit | None) -> str:
        """Pick a point."""
        if hit is not None:
            self.picked.append(hit.point)
        return "end" if len(self.picked) >= self.most else ""

    def take_back(self) -> None:
        """Take the last point back."""
        if self.picked:
            self.picked.pop()

    @property
    def has_begun(self) -> bool:
        """Whether a point is picked."""
        return bool(self.picked)

    @property
    def can_end(self) -> bool:
        """Whether there are enough, in whole groups."""
        return len(self.picked) >= self.least and len(self.picked) % self.by == 0

    def drawn(self) -> Drawn:
        """Return what there is to see of it."""
        if not self.picked:
            return Drawn()
        words = tuple((point, self._name(at)) for at, point in enumerate(self.picked))
        return Drawn(np.stack(self.picked), words=words, on_top=True)

    def _name(self, at: int) -> str:
        number = str(at // self.by + 1)
        return f"{self.names[at % self.by]} {number}" if self.names else number

    def words(self) -> str:
        """Return what to do next."""
        asks = self.asks
        if self.names:
            asks = f"{asks} Now: {self.names[len(self.picked) % self.by]}."
        if self.can_end:
            return f"{asks} Enter takes {len(self.picked) // self.by}."
        return asks


@dataclass
class ZoneTool(PlainTool):
    """A round place on the skin: its middle, then how far it reaches."""

    key: ClassVar[str] = "zone"

    asks: str
    centre: FloatArray | None = None
    edge: FloatArray | None = None
    _ahead: FloatArray | None = None

    def follow(self, hit: Hit | None, reach: float, gap: Gap) -> None:
        """Follow the pointer."""
        self._ahead = None if hit is None else hit.point

    def put(self, hit: Hit | None) -> str:
        """Put the middle, then the edge down."""
        if hit is None:
            return ""
        if self.centre is None:
            self.centre = hit.point
        elif float(np.linalg.norm(hit.point - self.centre)) > 0.0:
            self.edge = hit.point
            return "end"
        return ""

    def take_back(self) -> None:
        """Take the middle back."""
        self.centre = None

    @property
    def has_begun(self) -> bool:
        """Whether the middle is down."""
        return self.centre is not None

    @property
    def can_end(self) -> bool:
        """Whether its key ends it: no, its edge does."""
        return False

    @property
    def radius(self) -> float:
        """How far it reaches, in the file's unit."""
        end = self.edge if self.edge is not None else self._ahead
        if self.centre is None or end is None:
            return 0.0
        return float(np.linalg.norm(end - self.centre))

    def drawn(self) -> Drawn:
        """Return what there is to see of it."""
        if self.centre is None:
            return Drawn()
        rings = ball_rings(self.centre, self.radius) if self.radius > 0.0 else NOTHING
        ahead = NOTHING if self._ahead is None else np.stack([self.centre, self._ahead])
        return Drawn(self.centre[None], rings, ahead, on_top=True)

    def words(self) -> str:
        """Return what to do next."""
        if self.centre is None:
            return f"{self.asks} Click its middle."
        return "Click where it ends."


@dataclass
class LineTool(PlainTool):
    """A character line drawn by hand: points along it, caught on lines that were found."""

    key: ClassVar[str] = "line"

    others: tuple[FloatArray, ...] = ()
    asks: str = "Click points along the line; it is drawn to the ridge near them."
    least: int = 2
    picked: list[FloatArray] = field(default_factory=list)
    _ahead: FloatArray | None = None
    _caught: FloatArray | None = None

    def follow(self, hit: Hit | None, reach: float, gap: Gap) -> None:
        """Follow the pointer; catch on a line that is there, or on the first point."""
        self._ahead = self._caught = None
        if hit is None:
            return
        self._ahead = hit.point
        first = self.picked[:1] if self.can_close else []
        places = [nearest_on_line(other, hit.point) for other in self.others if len(other) > 1]
        for near in (first, places):  # the first point before any line
            far = [float(np.linalg.norm(place - hit.point)) for place in near]
            if far and min(far) <= reach:
                self._ahead = self._caught = near[int(np.argmin(far))]
                return

    def put(self, hit: Hit | None) -> str:
        """Put a point down; on the first one the line is closed."""
        ahead = self._ahead
        if ahead is None or (self.picked and np.array_equal(ahead, self.picked[-1])):
            return ""
        if self.can_close and np.array_equal(ahead, self.picked[0]):
            return "close"
        self.picked.append(ahead)
        return ""

    def take_back(self) -> None:
        """Take the last point back."""
        if self.picked:
            self.picked.pop()

    @property
    def has_begun(self) -> bool:
        """Whether a point is down."""
        return bool(self.picked)

    @property
    def can_end(self) -> bool:
        """Whether there are enough points for a line."""
        return len(self.picked) >= self.least

    @property
    def can_close(self) -> bool:  # type: ignore[override]
        """Whether there are enough points for a ring."""
        return len(self.picked) >= LEAST_FOR_A_RING

    def drawn(self) -> Drawn:
        """Return what there is to see of it."""
        points = np.stack(self.picked) if self.picked else NOTHING
        ahead = NOTHING
        if self.picked and self._ahead is not None:
            ahead = np.stack([self.picked[-1], self._ahead])
        return Drawn(points, points, ahead, self._caught, on_top=True)

    def words(self) -> str:
        """Return what to do next."""
        if not self.can_end:
            return self.asks
        close = " C closes it to a ring." if self.can_close else ""
        return f"Click on along it. Enter ends it, Backspace takes one back.{close}"


def ball_rings(centre: FloatArray, radius: float) -> FloatArray:
    """Return one line round a ball three ways: what a round zone looks like.

    >>> rings = ball_rings(np.zeros(3), 2.0)
    >>> bool(np.allclose(np.linalg.norm(rings, axis=1), 2.0))
    True
    """
    turn = np.linspace(0.0, 2.0 * np.pi, 49)
    round_, zero = np.stack([np.cos(turn), np.sin(turn)]), np.zeros_like(turn)
    first = np.stack([round_[0], round_[1], zero], axis=1)
    second = np.stack([round_[0], zero, round_[1]], axis=1)
    quarter = first[:13]  # to where the third ring passes
    third = np.stack([zero, round_[0], round_[1]], axis=1)
    return np.asarray(centre + radius * np.concatenate([first, second, quarter, third]), np.float64)
