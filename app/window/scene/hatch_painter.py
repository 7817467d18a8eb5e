"""What on the skin was not scanned, and what was made from the other hand: hatched, always."""

from dataclasses import dataclass

import numpy as np
import pyvista as pv

from app.window.look import HELD, MIRRORED
from app.window.scene.painters import Painter, facing_parts, stripe_texture, striped
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


@dataclass(frozen=True, eq=False)
class PaintedHeld:
    """What a form locks, file coordinates.

    Attributes
    ----------
    vertices : (n, 3) float
    faces : (m, 3) int
        Those locked.
    pitch : float
        Distance between stripes.
    """

    vertices: FloatArray
    faces: IntArray
    pitch: float


class HeldPainter(Painter):
    """Draws broad stripes, the other way than those of a guess, over what is locked."""

    def draw(self, held: PaintedHeld | None) -> None:
        """Draw what is locked."""
        if self.is_drawn(held) or held is None:
            return
        for part, ways in facing_parts(held.vertices, held.faces):
            self.add(striped(part, held.pitch, ways[1]), lighting=False,
                     texture=stripe_texture(_channels(HELD), 0.5))  # fmt: skip


class HatchPainter(Painter):
    """Draws stripes over what is a guess, and a net of lines over what was mirrored."""

    def draw(self, marks: PaintedMarks | None) -> None:
        """Draw marks, whatever colours the skin has."""
        if self.is_drawn(marks) or marks is None:
            return
        guessed = marks.faces[marks.guessed]
        for part, ways in facing_parts(marks.vertices, guessed) if len(guessed) else ():
            self.add(striped(part, marks.pitch, ways[0]), texture=stripe_texture(_GUESS, 0.3),
                     lighting=False)  # fmt: skip
        copied = marks.faces[marks.copied & ~marks.guessed]
        for part, ways in facing_parts(marks.vertices, copied) if len(copied) else ():
            part.active_texture_coordinates = part.points @ ways.T / (1.6 * marks.pitch)
            self.add(part, texture=_net(_channels(MIRRORED)), lighting=False)


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
