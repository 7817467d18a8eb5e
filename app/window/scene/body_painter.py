"""Bodies beside the tank's skin: a tunnel, frame tubes; striped where something is wrong."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import pyvista as pv

from app.window.look import METAL
from app.window.scene.painters import Painter, stripe_texture, striped
from app.window.scene.panel_painter import PaintedSurface
from geometry.arrays import FloatArray, IntArray

_STRIPE = (154, 74, 0)
_STRIPE_SHARE = 0.4
_VEIL = 0.35


@dataclass(frozen=True, eq=False)
class Body:
    """One body, file coordinates.

    Attributes
    ----------
    vertices : (n, 3) float
    faces : (m, 3) int
    colour : str
    words : str
        At its middle; "" for none.
    pitch : float
        Of the stripes that mark what is wrong with it; 0 for none: never by colour alone.
    opacity : float
    """

    vertices: FloatArray
    faces: IntArray
    colour: str = METAL
    words: str = ""
    pitch: float = 0.0
    opacity: float = 1.0


class BodyPainter(Painter):
    """Draws bodies, those with stripes over their colour."""

    def draw(self, bodies: tuple[Body, ...]) -> None:
        """Draw these."""
        if self.is_drawn(bodies):
            return
        for body in bodies:
            if not len(body.faces):
                continue
            made: Any = pv.PolyData
            whole = made.from_regular_faces(np.ascontiguousarray(body.vertices), body.faces)
            self.add(whole, color=body.colour, opacity=body.opacity, smooth_shading=False)
            if body.pitch > 0.0:
                over = striped(whole.copy(), body.pitch)
                self.add(over, texture=stripe_texture(_STRIPE, _STRIPE_SHARE), lighting=False)
        told = [body for body in bodies if body.words and len(body.vertices)]
        if told:
            middles = np.stack([body.vertices.mean(axis=0) for body in told])
            self.add_labels(middles, [body.words for body in told])


class VeilPainter(Painter):
    """Draws the skin so that what stands inside is seen through it."""

    def draw(self, surface: PaintedSurface | None) -> None:
        """Draw it, or nothing."""
        if self.is_drawn(surface) or surface is None:
            return
        made: Any = pv.PolyData
        whole = made.from_regular_faces(np.ascontiguousarray(surface.vertices), surface.faces)
        self.add(whole, color=METAL, opacity=_VEIL, smooth_shading=False, ambient=0.4)
