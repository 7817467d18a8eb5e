"""Marks on the tank: names of panels, tapes, what a tool draws, the linked spot."""

from dataclasses import dataclass, field

import numpy as np
import pyvista as pv

from app.window.look import ASK, DRAWN, TAPE
from app.window.scene.painters import Painter, lines
from geometry.arrays import FloatArray

NOTHING = np.empty((0, 3))


class NamePainter(Painter):
    """Writes the panels' names on them."""

    def draw(self, places: FloatArray, names: tuple[str, ...], chosen: str) -> None:
        """Write names; the chosen one alone when there is one."""
        if self.is_drawn(places, names, chosen):
            return
        shown = [at for at, name in enumerate(names) if not chosen or name == chosen]
        if shown:
            self.add_labels(
                places[shown], [names[at] for at in shown], bold=True, always_visible=False
            )


class TapePainter(Painter):
    """Draws tapes from point to point with their lengths."""

    def draw(self, tapes: tuple[FloatArray, ...], words: tuple[str, ...], chosen: int) -> None:
        """Draw tapes, each through (k, 3) points."""
        self.clear()
        for at, points in enumerate(tapes):
            width = 5.0 if at == chosen else 2.5
            self.add(lines([points]), color=TAPE, line_width=width, lighting=False, on_top=True)
            self.add(
                pv.PolyData(points), color=TAPE, point_size=12,
                render_points_as_spheres=True, lighting=False, on_top=True,
            )  # fmt: skip
            self.add_words((points[0] + points[1]) / 2.0, words[at], above=True)


class WarningPainter(Painter):
    """Marks places of the tank that have to be looked at, each with its words."""

    def draw(self, places: FloatArray, words: tuple[str, ...]) -> None:
        """Mark places."""
        if self.is_drawn(places, words):
            return
        if len(places):
            self.add(
                pv.PolyData(places), color=ASK, point_size=20, render_points_as_spheres=True,
                lighting=False, on_top=True,
            )  # fmt: skip
            self.add_labels(places, words, bold=True, text_color=ASK)


@dataclass(frozen=True, eq=False)
class Drawn:
    """What there is to see of a tool: file coordinates.

    Attributes
    ----------
    points : (k, 3) float
        Put down.
    path : (k, 3) float
        The line drawn so far.
    ahead : (k, 3) float
        The line to the pointer.
    caught : (3,) float or None
        What the pointer catches on.
    words : tuple of (place, str)
    on_top : bool
        Shown through the skin as well.
    caught_line : (k, 3) float
        The line the pointer catches on, about that place.
    warned : (k, 3) float
        Places where something is wrong with the line: squares.
    """

    points: FloatArray = field(default_factory=lambda: NOTHING)
    path: FloatArray = field(default_factory=lambda: NOTHING)
    ahead: FloatArray = field(default_factory=lambda: NOTHING)
    caught: FloatArray | None = None
    words: tuple[tuple[FloatArray, str], ...] = ()
    on_top: bool = False
    caught_line: FloatArray = field(default_factory=lambda: NOTHING)
    warned: FloatArray = field(default_factory=lambda: NOTHING)


NOTHING_DRAWN = Drawn()


class SpotPainter(Painter):
    """Shows the place that is pointed at on the blank."""

    def draw(self, point: FloatArray | None) -> None:
        """Show a place, or none."""
        self.clear()
        if point is not None:
            self.add(
                pv.PolyData(point[None]), color=DRAWN, point_size=18,
                render_points_as_spheres=True, lighting=False, on_top=True,
            )  # fmt: skip
