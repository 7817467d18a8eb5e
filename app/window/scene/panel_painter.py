"""The working surface: plain before it is cut, then panel by panel in tints with names.

The panel that is chosen can carry its map of change; what is a guess the hatch painter marks.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from app.window.look import METAL, PANEL_TINTS, SHRINK_TO_STRETCH
from app.window.scene.hatch_painter import PaintedMarks
from app.window.scene.painters import Painter, facing_parts, stripe_texture, striped
from app.window.scene.surface_pick import poly_data
from geometry.arrays import FloatArray, IntArray

_METAL: dict[str, Any] = {"specular": 0.2, "specular_power": 12, "ambient": 0.2, "diffuse": 0.82}


@dataclass(frozen=True, eq=False)
class PaintedSurface:
    """What is drawn of the working surface, file coordinates.

    Attributes
    ----------
    vertices : (n, 3) float
    faces : (m, 3) int
    panel_of_face : (m,) int, or None before it is cut
    marks : PaintedMarks or None
        What of it is hatched.
    """

    vertices: FloatArray
    faces: IntArray
    panel_of_face: IntArray | None
    marks: PaintedMarks | None = None


@dataclass(frozen=True, eq=False)
class PaintedChange:
    """A panel's map of change: `values` (n,) signed at its vertices, `limit` the scale's end."""

    vertices: FloatArray
    faces: IntArray
    values: FloatArray
    limit: float
    levels: FloatArray
    stripe: float


class PanelPainter(Painter):
    """Draws the working surface."""

    def draw(self, surface: PaintedSurface, chosen: int, change: PaintedChange | None) -> None:
        """Draw a surface; the chosen panel strong, and with its change when there is one."""
        if self.is_drawn(surface, _small(chosen), change):
            return
        for panel in self._panels(surface):
            if panel == chosen and change is not None:
                continue
            faces = surface.faces
            if surface.panel_of_face is not None:
                faces = faces[surface.panel_of_face == panel]
            if len(faces):
                self._draw_panel(surface, faces, panel, faded=chosen >= 0 and panel != chosen)
        if change is not None:
            self._draw_change(change)

    @staticmethod
    def _panels(surface: PaintedSurface) -> list[int]:
        if surface.panel_of_face is None:
            return [-1]
        return [int(panel) for panel in np.unique(surface.panel_of_face)]

    def _draw_panel(
        self, surface: PaintedSurface, faces: IntArray, panel: int, *, faded: bool
    ) -> None:
        colour = METAL if panel < 0 else PANEL_TINTS[panel % len(PANEL_TINTS)]
        shape = poly_data(surface.vertices, faces).clean()
        if faded:
            colour = "#d9d8d2"
        self.add(shape, color=colour, smooth_shading=True, **_METAL)

    def _draw_change(self, change: PaintedChange) -> None:
        shape = poly_data(change.vertices, change.faces)
        shape.point_data["change"] = change.values
        self.add(
            shape, scalars="change", cmap=change_colours(), clim=(-change.limit, change.limit),
            show_scalar_bar=False, smooth_shading=True, specular=0.05, ambient=0.35, diffuse=0.68,
        )  # fmt: skip
        for sign, width in ((1, 2.0), (-1, 1.2)):
            levels = [float(level) for level in change.levels if sign * level > 0.0]
            found = shape.contour(levels, scalars="change") if levels else None
            if found is not None and found.n_points:
                self.add(found, color="#23282b", line_width=width, lighting=False, opacity=0.75)
        shrinking = change.values[change.faces].mean(axis=1) < -0.005
        if shrinking.any():
            for part, ways in facing_parts(change.vertices, change.faces[shrinking]):
                self.add(
                    striped(part, change.stripe, ways[0]), lighting=False, opacity=0.5,
                    texture=stripe_texture((28, 64, 125), 0.1),
                )  # fmt: skip


def _small(number: int) -> int:
    """Return a whole number that is always the same object for the same value."""
    return number if -5 <= number <= 256 else -5


def change_colours() -> list[str]:
    """Return the scale from shrink to stretch in 129 steps."""
    places = [place for place, _ in SHRINK_TO_STRETCH]
    channels = np.array([colour for _, colour in SHRINK_TO_STRETCH], np.float64)
    even = np.linspace(-1.0, 1.0, 129)
    mixed = np.stack([np.interp(even, places, channels[:, k]) for k in range(3)], axis=1)
    return [f"#{r:02x}{g:02x}{b:02x}" for r, g, b in np.round(mixed).astype(int)]
