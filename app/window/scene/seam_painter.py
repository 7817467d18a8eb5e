"""Seams on the tank: lines, the points of the chosen one to be gripped, what is being drawn."""

from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pyvista as pv

from app.window.look import ASK, DRAWN, INK, PAPER, SEAM
from app.window.scene.mark_painter import NOTHING, Drawn
from app.window.scene.painters import Painter, lines
from geometry.arrays import FloatArray

CAUGHT = "#0a7a3c"
WIDTH = 3.0
MANY_GRIPS = 30
"""More points than these are drawn small: they would hide their line."""

WORDS_PX = (14.0, 12.0)
"""How far to the right of the mark and above it words stand."""


@dataclass(frozen=True, eq=False)
class PaintedSeams:
    """What is drawn of the seams, file coordinates.

    Attributes
    ----------
    paths : tuple of (k, 3)
    names : tuple of str
    chosen, linked : int
        The chosen one, and its mirror image that moves along; -1 for none.
    grips : (k, 3) float
        The chosen one's points.
    held : (k,) bool
        Which of them are snapped to something: those are drawn as rings.
    chosen_grip : int
    grip_words : str
        What the chosen point is on.
    """

    paths: tuple[FloatArray, ...] = ()
    names: tuple[str, ...] = ()
    chosen: int = -1
    linked: int = -1
    grips: FloatArray = field(default_factory=lambda: NOTHING)
    held: tuple[bool, ...] = ()
    chosen_grip: int = -1
    grip_words: str = ""


class SeamPainter(Painter):
    """Draws seams as lines over the surface, the chosen one thick, with its points."""

    def draw(self, seams: PaintedSeams) -> None:
        """Draw seams."""
        if self.is_drawn(seams):
            return
        strong = {seams.chosen, seams.linked}
        plain = [p for at, p in enumerate(seams.paths) if at not in strong and len(p) > 1]
        if plain:
            self.add(lines(plain), color=SEAM, line_width=WIDTH, lighting=False)
        told = []
        each_one = ((seams.chosen, 2.2, "", 2), (seams.linked, 1.6, " moves along", 4))
        for at, width, words, part in each_one:  # seen from the side, names do not hide each other
            if 0 <= at < len(seams.paths) and len(seams.paths[at]) > 1:
                path = seams.paths[at]
                self.add(lines([path]), color=SEAM, line_width=width * WIDTH, lighting=False)
                if words or seams.chosen_grip < 0:  # a chosen point says where it is, alone
                    told.append((path[len(path) // part], seams.names[at] + words))
        for place, words in told:
            self.add_words(place, words, above=True)  # beside the line, not over it
        self._draw_grips(seams)

    def _draw_grips(self, seams: PaintedSeams) -> None:
        if not len(seams.grips):
            return
        held = np.array(seams.held, bool)
        size = 13.0 if len(seams.grips) <= MANY_GRIPS else 7.0
        self._dots(seams.grips, INK, size)
        if held.any():
            self._dots(seams.grips[held], PAPER, 0.55 * size, nearer=True)
        if 0 <= seams.chosen_grip < len(seams.grips):
            place = seams.grips[seams.chosen_grip][None]
            self._dots(place, DRAWN, 19.0)
            words = f"point {seams.chosen_grip + 1} {seams.grip_words}".rstrip()
            self.add_labels(place, [words], bold=True)

    def _dots(self, places: FloatArray, colour: str, size: float, *, nearer: bool = False) -> None:
        self.add(
            pv.PolyData(places), color=colour, point_size=size, render_points_as_spheres=True,
            lighting=False, on_top=nearer,
        )  # fmt: skip


class DrawnPainter(Painter):
    """Draws what is being drawn; what was made once is only moved, so that it follows the hand."""

    def __init__(self, plotter: Any) -> None:
        super().__init__(plotter)
        self._kept: dict[tuple[str, bool], tuple[pv.PolyData, Any]] = {}
        self._words: Any = None

    def draw(self, drawn: Drawn) -> None:
        """Draw the points, the fixed path, the path ahead, and where and on what it catches."""
        top = drawn.on_top
        caught = NOTHING if drawn.caught is None else drawn.caught[None]
        self._line("lit", drawn.caught_line, top, color=CAUGHT, line_width=7, opacity=0.55)
        self._line("path", drawn.path, top, color=DRAWN, line_width=4)
        self._line("ahead", drawn.ahead, top, color=DRAWN, line_width=2, opacity=0.7)
        self._dots("points", drawn.points, top, color=DRAWN, point_size=11)
        self._dots("caught", caught, False, color=CAUGHT, point_size=21)
        self._dots("caught middle", caught, True, color=PAPER, point_size=11)
        self._squares("warned", drawn.warned, color=ASK, point_size=19)
        self._squares("warned middle", drawn.warned, color=PAPER, point_size=11)
        marks = drawn.warned if drawn.caught is None else caught
        beside = self._beside(marks[0]) if len(marks) else NOTHING
        self._say(drawn.words, beside)

    def _line(self, name: str, points: FloatArray, top: bool, **how: Any) -> None:
        self._show(name, lines([points]) if len(points) > 1 else None, top, how)

    def _dots(self, name: str, points: FloatArray, top: bool, **how: Any) -> None:
        shape = pv.PolyData(points) if len(points) else None
        self._show(name, shape, top, how | {"render_points_as_spheres": True})

    def _squares(self, name: str, points: FloatArray, **how: Any) -> None:
        """Mark places by squares, seen through the skin: round marks are points of the line."""
        self._show(name, pv.PolyData(points) if len(points) else None, True, how)

    def _show(self, name: str, shape: pv.PolyData | None, top: bool, how: dict[str, Any]) -> None:
        """Put a shape in place of the one of that name; None hides it."""
        for other in (top, not top):
            known = self._kept.get((name, other))
            if known is not None:
                known[1].SetVisibility(shape is not None and other == top)
        if shape is None:
            return
        known = self._kept.get((name, top))
        if known is None:
            actor = self.add(shape, lighting=False, on_top=top, **how)
            self._kept[name, top] = (shape, actor)
        else:
            known[0].copy_from(shape)

    def _beside(self, place: FloatArray) -> FloatArray:
        """Return what leads from a place to where words beside its mark stand."""
        camera = self.plotter.camera
        eye, up = np.array(camera.position) - np.array(camera.focal_point), np.array(camera.up)
        away = float(np.linalg.norm(np.array(camera.position) - place))
        half = np.tan(np.deg2rad(camera.view_angle) / 2.0)
        high = camera.parallel_scale if camera.parallel_projection else away * half
        pixel = 2.0 * high / max(1, self.plotter.window_size[1])
        right = np.cross(up, eye)
        across = WORDS_PX[0] * right / np.linalg.norm(right)
        return np.asarray(pixel * (across + WORDS_PX[1] * up / np.linalg.norm(up)))

    def _say(self, words: tuple[tuple[FloatArray, str], ...], off: FloatArray) -> None:
        """Put words at their places, or so far off them."""
        if self._words is not None:
            self.plotter.remove_actor(self._words, render=False)
            self._actors.remove(self._words)
            self._words = None
        if words:
            places = np.stack([place for place, _ in words]) + (off if off.ndim == 1 else 0.0)
            self.add_labels(places, [each for _, each in words], bold=True)
            self._words = self._actors[-1]
