"""`SidesSetter`: which side is copied, where another rule holds, and what stays as scanned."""

from collections.abc import Callable
from typing import Any, Literal

from app.job import (
    CopiedHand,
    Zone,
    made,
    with_odd_part,
    with_side_copied,
    with_zone,
    without_odd_part,
    without_zone,
)
from app.window.setters.setter import Setter
from app.window.skin_tools import ZoneTool
from geometry.datum import point3

Hand = Literal["left", "right"]
ZoneKind = Literal["left", "right", "odd"]

_ASKS: dict[ZoneKind, str] = {
    "left": "A place where the left side is copied.",
    "right": "A place where the right side is copied.",
    "odd": "A place that stays as scanned.",
}


class SidesSetter(Setter):
    """Decides which side is copied to the other."""

    step = "Sides"

    def set_copy(self, copy: CopiedHand) -> None:
        """Copy a side to the other, or neither."""
        self._edit(with_side_copied(self.state, copy), "side to copy")

    def draw_zone(self, kind: ZoneKind) -> None:
        """Draw a round place with its own rule."""
        if self._to_step():
            self._foreman.hand.take(ZoneTool(_ASKS[kind]), _ZoneEnd(self, kind))

    def take_zone(self, kind: ZoneKind) -> None:
        """Take the place drawn."""
        tool, size = self._foreman.hand.tool, made(self.state, "Size")
        if not isinstance(tool, ZoneTool) or tool.centre is None or size is None:
            return
        side: Hand = "right" if kind == "right" else "left"
        zone = Zone(point3(tool.centre), tool.radius * size.mm_per_unit, side)
        self._foreman.hand.put_down()
        edit = with_odd_part if kind == "odd" else with_zone
        self._edit(edit(self.state, zone), "a place with its own rule")

    def delete(self, kind: str, number: int) -> None:
        """Delete a place."""
        sides = self.state.sides
        if kind != "zone":
            return
        self._let_go()
        if 0 <= number < len(sides.zones):
            self._edit(without_zone(self.state, number), "deleting a place")
        elif 0 <= number - len(sides.zones) < len(sides.odd):
            after = without_odd_part(self.state, number - len(sides.zones))
            self._edit(after, "deleting a place")

    def zone_left(self) -> None:
        """Draw a place where the left is copied."""
        self.draw_zone("left")

    def zone_right(self) -> None:
        """Draw a place where the right is copied."""
        self.draw_zone("right")

    def zone_odd(self) -> None:
        """Draw a place that stays as scanned."""
        self.draw_zone("odd")

    def reactions(self) -> dict[str, Callable[[], Any]]:
        """Return what answers each action of the table that is this setter's."""
        return {
            "zone_left": self.zone_left,
            "zone_right": self.zone_right,
            "zone_odd": self.zone_odd,
        }


class _ZoneEnd:
    """Takes the place drawn, for one kind."""

    def __init__(self, setter: SidesSetter, kind: ZoneKind) -> None:
        self._setter, self._kind = setter, kind

    def __call__(self, how: str) -> None:
        self._setter.take_zone(self._kind)
