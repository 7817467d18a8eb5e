"""What on the skin was not scanned, and what was made from the other hand: hatched, always."""

from dataclasses import dataclass

import numpy as np
import pyvista as pv

from app.window.look import MIRRORED
from app.window.scene.painters import Painter, stripe_texture, striped
from app.window.scene.surface_pick import poly_data
from geometry.arrays import BoolArray, FloatArray, IntArray

_GUESS = (60, 60, 60)


@dataclass(frozen=True, eq=False)
class PaintedMarks:
    """Which faces carry a mark, file coordinates.

    Attributes
    ----------
    vertices : (n, 3) float
    faces : (m, 3) int
    guessed : (m,) bool
        Not scanned, filled by guess.
    copied : (m,) bool
        Made from the other hand.
    pitch : float
        Distance between stripes.
    """

    vertices: FloatArray
    faces: IntArray
    guessed: BoolArray
    copied: BoolArray
    pitch: float


class HatchPainter(Painter):
    """Draws stripes over what is a guess, and a net of thin lines over what was mirrored."""

    def draw(self, marks: PaintedMarks | None) -> None:
        """Draw marks, whatever colours the skin has."""
        if self.is_drawn(marks) or marks is None:
            return
        for which, colour, share, angles in (
            (marks.guessed, _GUESS, 0.3, (0.0,)),
            (marks.copied & ~marks.guessed, _channels(MIRRORED), 0.1, (0.0, 90.0)),
        ):
            if which.any():
                shape = poly_data(marks.vertices, marks.faces[which]).clean()
                for angle in angles:
                    self._stripe(shape.copy(), marks.pitch, colour, share, angle)

    def _stripe(
        self,
        shape: pv.PolyData,
        pitch: float,
        colour: tuple[int, int, int],
        share: float,
        angle: float,
    ) -> None:
        if angle:
            direction = np.array([0.62, -0.55, 0.56])
            along = shape.points @ direction / pitch
            shape.active_texture_coordinates = np.stack([along, np.zeros(len(along))], axis=1)
        else:
            shape = striped(shape, pitch)
        self.add(shape, texture=stripe_texture(colour, share), lighting=False)


def _channels(colour: str) -> tuple[int, int, int]:
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)
