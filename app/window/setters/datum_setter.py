"""`DatumSetter`: how the centre plane, the level, FRONT and TOP are found."""

from collections.abc import Callable
from typing import Any

import numpy as np

from app.job import (
    Directions,
    HowDatum,
    made,
    with_datum_found,
    with_directions,
    with_level,
    with_on_centre,
    with_pairs,
    with_plane,
    without_on_centre,
    without_pair,
)
from app.window.setters.setter import Setter
from app.window.skin_tools import PicksTool
from geometry.datum import Datum, point3


class DatumSetter(Setter):
    """Decides where the tank stands."""

    step = "Datum"

    def set_how(self, how: HowDatum) -> None:
        """Find the centre plane another way."""
        self._edit(with_datum_found(self.state, how), "how the centre plane is found")

    # ---- picks

    def pick_centre(self) -> None:
        """Pick points on the centre line."""
        asks = "Click points on the centre line, well apart."
        self._pick(PicksTool(asks, least=1), self._take_centre)

    def pick_pairs(self) -> None:
        """Pick the same place on both sides."""
        asks = "Click the same place on both sides."
        tool = PicksTool(asks, least=2, by=2, names=("left", "right"))
        self._pick(tool, self._take_pairs)

    def pick_level(self) -> None:
        """Pick points that stand equally high."""
        asks = "Click points that stand equally high, well apart from front to rear."
        self._pick(PicksTool(asks, least=2), self._take_level)

    def pick_front(self) -> None:
        """Click the front end."""
        tool = PicksTool("Click the front end of the tank.", least=1, most=1)
        self._pick(tool, self._take_front)

    def _pick(self, tool: PicksTool, take: Callable[[str], None]) -> None:
        if self._to_step():
            self._foreman.hand.take(tool, take)

    def _picked(self) -> list[Any]:
        tool = self._foreman.hand.tool
        picked = tool.picked if isinstance(tool, PicksTool) else []
        self._foreman.hand.put_down()
        return [point3(point) for point in picked]

    def _take_centre(self, how: str) -> None:
        points = self._picked()
        self._edit(with_on_centre(self.state, *points), "points on the centre line")

    def _take_pairs(self, how: str) -> None:
        points = self._picked()
        pairs = tuple(zip(points[0::2], points[1::2], strict=False))
        self._edit(with_pairs(self.state, *pairs), "places on both sides")

    def _take_level(self, how: str) -> None:
        points = self._picked()
        self._edit(with_level(self.state, "picks", tuple(points)), "level")

    def _take_front(self, how: str) -> None:
        points = self._picked()
        middle = self._tank.middle
        way = np.array(points[0]) - middle
        datum: Datum | None = made(self.state, "Datum")
        if datum is not None:  # along the tank, whatever the height clicked at
            way = datum.front * np.sign(way @ datum.front)
        top = self.state.directions.top
        if top is not None:
            way = way - (way @ np.array(top)) / (np.array(top) @ np.array(top)) * np.array(top)
        said = Directions(point3(way / np.linalg.norm(way)), top)
        self._edit(with_directions(self.state, said), "front")

    def delete(self, kind: str, number: int) -> None:
        """Take a pick back."""
        datum = self.state.datum
        if kind != "pick":
            return
        self._let_go()
        if 0 <= number < len(datum.on_centre):
            self._edit(without_on_centre(self.state, number), "taking a pick back")
        elif 0 <= number - len(datum.on_centre) < len(datum.pairs):
            after = without_pair(self.state, number - len(datum.on_centre))
            self._edit(after, "taking a pair back")

    # ---- level

    def level_by_edge(self) -> None:
        """Level by the flat bottom edge."""
        self._edit(with_level(self.state, "auto"), "level")

    def tilt(self, nose_up_rad: float) -> None:
        """Level by a typed angle: from how it stands now, the nose up by so much."""
        datum: Datum | None = made(self.state, "Datum")
        if datum is not None:
            up = np.cos(nose_up_rad) * datum.up + np.sin(nose_up_rad) * datum.front
            self._edit(with_level(self.state, "given", up=point3(up)), "level")

    def take_other_plane(self) -> None:
        """Take the next plane about which the scan is alike."""
        datum: Datum | None = made(self.state, "Datum")
        size = made(self.state, "Size")
        if datum is not None and datum.plane.others and size is not None:
            other = datum.plane.others[0]
            point = point3(other.point / size.mm_per_unit)
            self._edit(with_plane(self.state, point, point3(other.normal)), "centre plane")

    def reactions(self) -> dict[str, Callable[[], Any]]:
        """Return what answers each action of the table that is this setter's."""
        return {
            "pick_centre": self.pick_centre,
            "pick_pairs": self.pick_pairs,
            "pick_level": self.pick_level,
            "pick_front": self.pick_front,
        }
