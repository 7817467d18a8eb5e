"""The scan as it was read, and the rims of its holes."""

import numpy as np

from app.window.look import ASK, METAL
from app.window.scene.painters import Painter, lines
from app.window.scene.surface_pick import poly_data
from geometry.arrays import FloatArray, IntArray


class ScanPainter(Painter):
    """Draws a scan, or its proxy, plain; rims as lines."""

    def draw(self, vertices: FloatArray, faces: IntArray, rims: tuple[FloatArray, ...]) -> None:
        """Draw a scan and its rims."""
        if self.is_drawn(vertices, faces, rims):
            return
        self.add(
            poly_data(vertices, faces), color=METAL, smooth_shading=True, specular=0.25,
            specular_power=12, ambient=0.18, diffuse=0.85,
        )  # fmt: skip
        if rims:
            closed = [np.concatenate([rim, rim[:1]]) for rim in rims]
            self.add(lines(closed), color=ASK, line_width=2.5, lighting=False)
