"""`TankSide`: the tank with its caption, the box of ways to look at it, and the legend under it."""

import numpy as np
from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from app.job import JobState, Scanned, latest
from app.window.caption import Caption
from app.window.legend import Legend
from app.window.picture import Pictures
from app.window.scene import TankPicture, TankView
from app.window.skin_keeper import SkinKeeper
from app.window.skins import PLAIN, SKINS
from app.window.standpoint import Side, axes_of, eye_direction
from app.window.steps import Desk, NarrowBox

_EMPTY_TANK = (
    "Open a scan, or drop its file here.\n\n"
    "No scan at hand? Try the sample tank:\nJob, Open the sample tank."
)
_FAR_OUT = 1.25
"""What stands round the tank makes the whole larger by more than this: it is brought into view."""


class TankSide(QWidget):
    """Shows the tank as the step, the desk and the way of looking want it."""

    skin_requested = Signal(str)

    def __init__(self, tank: TankView, pictures: Pictures, skins: SkinKeeper) -> None:
        super().__init__()
        self._tank, self._pictures, self._keeper = tank, pictures, skins
        self._looked_at: object = None
        self._stands_out = False
        self._step = ""
        self.caption, self.legend = Caption(), Legend()
        self.box = NarrowBox()
        self.box.setMinimumWidth(170)
        self.box.setAccessibleName("How the tank is shown")
        self.box.setToolTip("How the tank is shown")
        self.box.addItem("Plain", PLAIN)
        for skin in SKINS:
            self.box.addItem(skin.words, skin.key)
        self.box.activated.connect(self._ask)
        self.box.setVisible(bool(SKINS))
        top = QWidget()
        top.setProperty("role", "caption")
        row = QHBoxLayout(top)
        row.setContentsMargins(0, 0, 6, 0)
        row.addWidget(self.caption, 1)
        row.addWidget(self.box)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(top)
        column.addWidget(tank, 1)
        column.addWidget(self.legend)

    def refresh(self, state: JobState, step: str, desk: Desk) -> None:
        """Show the tank as it stands."""
        self._map_at_sides(step)
        picture = self._pictures.tank(state, step, desk, self._keeper.shown(state, desk.show))
        if picture.pick is None:
            self._tank.forget_picks()
        else:
            self._tank.set_pick(*picture.pick)
        self._tank.show_picture(picture)
        self._tank.say(_EMPTY_TANK if state.scan is None else "")
        self._tank.show_cross(bool(desk.tool) and not self._tank.underMouse())
        self.caption.say(*_caption(picture, desk.tool_words))
        self.legend.show_swatches(picture.legend)
        self.box.setCurrentIndex(max(0, self.box.findData(self._keeper.chosen)))
        scanned: Scanned | None = latest(state, "Scan")
        if scanned is not None:
            is_new = self._looked_at is not scanned
            self._looked_at = scanned
            stands_out = self._take_extent(scanned, picture)
            if is_new:
                self.look(state, "corner")
            elif stands_out != self._stands_out:
                self._tank.fit()
            self._stands_out = stands_out

    def _take_extent(self, scanned: Scanned, picture: TankPicture) -> bool:
        """Take the tank and what stands round it as the whole; return whether that is far out."""
        vertices = scanned.sound.mesh.vertices
        low, high = vertices.min(axis=0), vertices.max(axis=0)
        around = [body.vertices for body in picture.bodies if len(body.vertices)]
        lower = np.min([low, *(each.min(axis=0) for each in around)], axis=0)
        higher = np.max([high, *(each.max(axis=0) for each in around)], axis=0)
        self._tank.set_extent(lower, higher)
        return bool(np.linalg.norm(higher - lower) > _FAR_OUT * np.linalg.norm(high - low))

    def say_tool_words(self, words: str) -> None:
        """Say what the tool in the hand asks for now."""
        self.caption.say(words, "")

    def _map_at_sides(self, step: str) -> None:
        """Show the left-right map while its step is shown, unless another way was chosen."""
        if step == self._step:
            return
        if step == "Sides" and self._keeper.chosen == PLAIN:
            self._keeper.chosen = "sides"
        elif self._step == "Sides" and self._keeper.chosen == "sides":
            self._keeper.chosen = PLAIN
        self._step = step

    def look(self, state: JobState, side: Side) -> None:
        """Look at the tank from a standard side."""
        scanned: Scanned | None = latest(state, "Scan")
        if scanned is not None:
            self._tank.look_from(*eye_direction(axes_of(state, scanned.sound.mesh), side))

    def _ask(self, row: int) -> None:
        self.skin_requested.emit(f"skin_{self.box.itemData(row)}")


def _caption(picture: TankPicture, tool_words: str) -> tuple[str, str]:
    """Return what is shown, or asked for, and how the view is handled."""
    if tool_words:
        return tool_words, ""
    what = picture.what or ("The smooth surface" if picture.surface is not None else "The scan")
    return what, "drag turns, wheel zooms, F fits"
