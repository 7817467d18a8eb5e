"""The left-right map: how far the skin stands out over the other hand, in bands."""

from dataclasses import dataclass

import numpy as np

from app.window.look import VIEW_LOW
from app.window.scene.painters import facing_parts, stripe_texture, striped
from app.window.scene.skin_painter import SKIN_PAINTERS, SkinPainter
from app.window.scene.surface_pick import poly_data
from geometry.arrays import BoolArray, FloatArray, IntArray


@dataclass(frozen=True, eq=False)
class PaintedBands:
    """A signed map in bands, file coordinates.

    Attributes
    ----------
    vertices : (n, 3) float
    faces : (m, 3) int
    values : (n,) float, mm
        Nan where nothing is known.
    edges : (b + 1,) float, mm
        Evenly apart, from the lowest band's end to the highest's; beyond them the outermost counts.
    colours : tuple of str
        One a band, the lowest first.
    pitch : float
        Distance of the stripes over what stands lower.
    """

    vertices: FloatArray
    faces: IntArray
    values: FloatArray
    edges: FloatArray
    colours: tuple[str, ...]
    pitch: float


class SidesPainter(SkinPainter):
    """Draws the bands; stripes where the skin stands lower, lines where one band meets the next."""

    def draw(self, painted: PaintedBands) -> None:
        """Draw a map."""
        if self.is_drawn(painted):
            return
        known: BoolArray = np.asarray(np.isfinite(painted.values)[painted.faces].all(axis=1))
        if (~known).any():
            rest = poly_data(painted.vertices, painted.faces[~known]).clean()
            self.add(rest, color=VIEW_LOW, smooth_shading=True, specular=0.1, ambient=0.3)
        if not known.any():
            return
        shape = poly_data(painted.vertices, painted.faces[known])
        least, most = float(painted.edges[0]), float(painted.edges[-1])
        shape.point_data["apart"] = np.clip(np.nan_to_num(painted.values), least, most)
        shape = shape.clean()
        self.add(
            shape, scalars="apart", cmap=list(painted.colours), clim=(least, most),
            n_colors=len(painted.colours), interpolate_before_map=True, show_scalar_bar=False,
            smooth_shading=True, specular=0.05, ambient=0.4, diffuse=0.62,
        )  # fmt: skip
        self._draw_lower(painted, known)

    def _draw_lower(self, painted: PaintedBands, known: BoolArray) -> None:
        inner = painted.edges[painted.edges < 0.0]
        if not len(inner):
            return
        least_low = float(inner[-1])
        lower = known & (np.nan_to_num(painted.values)[painted.faces].mean(axis=1) < least_low)
        if lower.any():
            for part, ways in facing_parts(painted.vertices, painted.faces[lower]):
                self.add(
                    striped(part, painted.pitch, ways[0]), lighting=False, opacity=0.6,
                    texture=stripe_texture((20, 45, 95), 0.12),
                )  # fmt: skip


SKIN_PAINTERS["sides"] = SidesPainter
