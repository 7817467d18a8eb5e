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
    """Draws stripes over what is a guess, and a net of lines over what was mirrored."""

    def draw(self, marks: PaintedMarks | None) -> None:
        """Draw marks, whatever colours the skin has."""
        if self.is_drawn(marks) or marks is None:
            return
        if marks.guessed.any():
            shape = poly_data(marks.vertices, marks.faces[marks.guessed]).clean()
            self.add(striped(shape, marks.pitch), texture=stripe_texture(_GUESS, 0.3),
                     lighting=False)  # fmt: skip
        copied = marks.copied & ~marks.guessed
        if copied.any():
            shape = poly_data(marks.vertices, marks.faces[copied]).clean()
            self.add(_netted(shape, 1.6 * marks.pitch), texture=_net(_channels(MIRRORED)),
                     lighting=False)  # fmt: skip


def _netted(shape: pv.PolyData, pitch: float) -> pv.PolyData:
    """Return a shape with places for the net's texture: two directions across each other."""
    ways = np.array([[0.62, 0.55, 0.56], [0.62, -0.55, -0.56]])
    shape.active_texture_coordinates = shape.points @ ways.T / pitch
    return shape


def _net(colour: tuple[int, int, int]) -> pv.Texture:
    """Return a texture with thin lines both ways, the rest clear."""
    picture = np.zeros((64, 64, 4), np.uint8)
    picture[:9, :] = picture[:, :9] = (*colour, 255)
    texture: pv.Texture = pv.Texture(picture)  # type: ignore[no-untyped-call]
    texture.repeat = True
    texture.interpolate = True
    texture.mipmap = True
    return texture


def _channels(colour: str) -> tuple[int, int, int]:
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)
