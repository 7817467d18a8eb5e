"""`Hand`: the one tool in the shaper's hand, followed over the tank until done or put down."""

from collections.abc import Callable

import numpy as np
from PySide6.QtCore import QObject, Signal

from app.window.hands import CATCH_PX, Tool
from app.window.scene import NOTHING_DRAWN, Hit, TankView
from geometry.arrays import FloatArray

Ended = Callable[[str], None]
"""Told how a tool ended: "end" or "close"."""

CROSS_STEP_PX = 14.0
"""How far one press of an arrow key moves the cross, while a tool draws on the picture."""


class Hand(QObject):
    """Holds one tool or none; draws what it draws."""

    changed = Signal()
    reworded = Signal(str)
    """The tool in the hand asks for something else now, as the pointer lies."""

    def __init__(self, tank: TankView) -> None:
        super().__init__(tank)
        self._tank = tank
        self.tool: Tool | None = None
        self._ended: Ended | None = None
        tank.pulled.connect(self.pull)
        tank.pull_ended.connect(self.end_pull)
        tank.turned.connect(self._begin_anew)
        tank.freed.connect(self._follow_again)

    @property
    def held(self) -> str:
        """The tool's key, "" for none."""
        return "" if self.tool is None else self.tool.key

    def take(self, tool: Tool, ended: Ended) -> None:
        """Take a tool; `ended` is told when it is done."""
        self.tool, self._ended = tool, ended
        self._tank.draw_on_picture(tool.on_picture)
        self.show()
        self.changed.emit()

    def put_down(self) -> None:
        """Hold nothing."""
        self.tool, self._ended = None, None
        self._tank.draw_on_picture(False)
        self.show()
        self.changed.emit()

    def drop(self) -> None:
        """Hold nothing, and say so to nobody: another job was opened."""
        self.tool, self._ended = None, None
        self._tank.draw_on_picture(False)
        self.show()

    # ---- what the mouse and the keys do with it

    def follow(self, hit: Hit | None) -> None:
        """Follow the pointer."""
        if self.tool is not None:
            before = self.tool.words()
            reach = 0.0 if hit is None else CATCH_PX * self._tank.pixel_size(hit.point)
            self.tool.is_free = self._tank.is_free
            self.tool.follow(hit, reach, self._gap)
            self.show()
            if self.tool.words() != before:
                self.reworded.emit(self.tool.words())

    def _follow_again(self) -> None:
        """Catch anew: the key was pressed or let go with which nothing is caught on."""
        if self.tool is not None and (self.tool.has_begun or self._tank.underMouse()):
            self.follow(self._tank.hit_at_pointer())

    def put(self, hit: Hit | None) -> None:
        """Put a point down."""
        if self.tool is None:
            return
        self.follow(hit)
        self._see(self.tool.put(hit))

    def pull(self, x: float, y: float) -> None:
        """Draw while the button is held down."""
        hit = self._tank.hit_at(x, y)
        if self.tool is None or hit is None:
            return
        if self.tool.carries:
            self.follow(hit)
        else:
            self.tool.pull(hit, 3.0 * self._tank.pixel_size(hit.point))
            self.show()

    def end_pull(self) -> None:
        """Take what was drawn with the button held down."""
        if self.tool is not None:
            self._see(self.tool.end_pull())

    def end(self, how: str) -> None:
        """End it by its key, where it can be ended so."""
        tool = self.tool
        if tool is not None and (tool.can_close if how == "close" else tool.can_end):
            self._see(tool.asked_to(how))

    def take_back(self) -> None:
        """Take the last point back."""
        if self.tool is not None:
            self.tool.take_back()
            self.show()
            self.changed.emit()

    def nudge(self, sideways: float, upward: float) -> bool:
        """Move the cross by a step, where the tool draws on the picture; say whether it did."""
        if self.tool is None or not self.tool.on_picture or self.tool.is_laid:
            return False
        across, down = np.sign(sideways), -np.sign(upward)
        self._tank.move_pointer(-CROSS_STEP_PX * across, CROSS_STEP_PX * down)
        self.follow(self._tank.hit_at_pointer())
        return True

    def show(self) -> None:
        """Show what is being drawn."""
        self._tank.show_drawn(NOTHING_DRAWN if self.tool is None else self.tool.drawn())

    def _see(self, how: str) -> None:
        """Tell whoever gave the tool that it is done, or show how far it is."""
        ended = self._ended
        if how and ended is not None:
            ended(how)
        else:
            self.show()
            self.changed.emit()

    def _begin_anew(self) -> None:
        """Forget what was drawn on a picture that has turned."""
        tool = self.tool
        if tool is not None and tool.on_picture and tool.has_begun and not tool.is_laid:
            tool.begin_anew()
            self.show()
            self.changed.emit()

    def _gap(self, point: FloatArray) -> float:
        """Return how far from the pointer a point of space is drawn."""
        return float(np.hypot(*np.subtract(self._tank.picture_point(point), self._tank.pointer)))
