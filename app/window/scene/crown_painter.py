"""The crown map: the skin in one colour for each kind of crown."""

from dataclasses import dataclass

from app.window.scene.painters import facing_parts, stripe_texture, striped
from app.window.scene.skin_painter import SKIN_PAINTERS, SkinPainter
from app.window.scene.surface_pick import poly_data
from geometry.arrays import BoolArray, FloatArray, IntArray


@dataclass(frozen=True, eq=False)
class PaintedCrown:
    """A skin and the kind of each of its faces, file coordinates.

    Attributes
    ----------
    vertices : (n, 3) float
    faces : (m, 3) int
    normals : (n, 3) float
    kind : (m,) int
        Which of `colours`.
    colours : tuple of str
    striped : (m,) bool
        Faces that go inward one way at least: told by stripes as well as by colour.
    pitch : float
        Distance of the stripes.
    """

    vertices: FloatArray
    faces: IntArray
    normals: FloatArray
    kind: IntArray
    colours: tuple[str, ...]
    striped: BoolArray
    pitch: float


class CrownPainter(SkinPainter):
    """Draws each kind in its colour, stripes over what goes inward."""

    def draw(self, painted: PaintedCrown) -> None:
        """Draw a map."""
        if self.is_drawn(painted):
            return
        shape = poly_data(painted.vertices, painted.faces)
        shape.point_data.active_normals = painted.normals
        shape.cell_data["kind"] = painted.kind
        self.add(
            shape, scalars="kind", cmap=list(painted.colours), n_colors=len(painted.colours),
            clim=(-0.5, len(painted.colours) - 0.5), show_scalar_bar=False, smooth_shading=True,
            specular=0.05, ambient=0.42, diffuse=0.6,
        )  # fmt: skip
        if painted.striped.any():
            for part, ways in facing_parts(painted.vertices, painted.faces[painted.striped]):
                self.add(
                    striped(part, painted.pitch, ways[0]), lighting=False, opacity=0.65,
                    texture=stripe_texture((20, 40, 80), 0.16),
                )  # fmt: skip


SKIN_PAINTERS["crown"] = CrownPainter
