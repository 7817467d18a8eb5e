"""The scan as it was read, and the rims of its holes."""

import numpy as np

from app.window.look import ASK, METAL
from app.window.scene.painters import Painter, lines
from app.window.scene.surface_pick import poly_data
from geometry.arrays import FloatArray, IntArray
from geometry.mesh import vertex_normals


class ScanPainter(Painter):
    """Draws a scan, or its proxy, plain; rims as lines."""

    def draw(self, vertices: FloatArray, faces: IntArray, rims: tuple[FloatArray, ...]) -> None:
        """Draw a scan and its rims."""
        if self.is_drawn(vertices, faces, rims):
            return
        shape = poly_data(vertices, faces)
        # ours, as VTK turns faces about where more than two meet in an edge, as in a proxy
        shape.point_data.active_normals = vertex_normals(vertices, faces)
        self.add(
            shape, color=METAL, smooth_shading=True, specular=0.25,
            specular_power=12, ambient=0.18, diffuse=0.85,
        )  # fmt: skip
        if rims:
            closed = [np.concatenate([rim, rim[:1]]) for rim in rims]
            self.add(lines(closed), color=ASK, line_width=2.5, lighting=False)


class RemovedPainter(Painter):
    """Draws what of a scan is left out: faint, and seen through."""

    def draw(self, removed: tuple[FloatArray, IntArray] | None) -> None:
        """Draw what is left out, or nothing."""
        if self.is_drawn(removed) or removed is None or not len(removed[1]):
            return
        self.add(poly_data(*removed), color=ASK, opacity=0.28, smooth_shading=False, ambient=0.5)
