"""Straight light tubes as they are seen in the skin; they stay with the eye while the tank turns.

The picture's processor works the reflection out for every picture point, by the same rule as
`geometry.surface.highlights`, so that it follows every turn at once.
"""

from dataclasses import dataclass

from app.window.scene.skin_painter import SKIN_PAINTERS, SkinPainter
from app.window.scene.surface_pick import poly_data
from geometry.arrays import FloatArray, IntArray
from geometry.surface import LIT_SHARE, LightTubes

_REFLECTION = """//VTK::Light::Impl
  vec3 sight = cameraParallel != 0 ? vec3(0.0, 0.0, -1.0) : normalize(vertexVC.xyz);
  vec3 back = reflect(sight, normalVCVSOutput);
  float seen = atan(back.z, back.y) * %(per_turn).9f;
  float from_middle = abs(fract(seen + 0.5) - 0.5);
  vec2 turn = normalize(back.yz);
  float step_px = length(fwidth(turn)) * %(per_turn).9f;
  float blur = clamp(step_px, 0.0005, 0.25);
  float lit = 1.0 - smoothstep(-blur, blur, from_middle - %(half_lit).9f);
  lit = mix(lit, %(half_lit).9f * 2.0, smoothstep(0.3, 0.8, step_px));
  float facing = abs(dot(sight, normalVCVSOutput));
  vec3 light = mix(vec3(%(dark)s), vec3(%(light)s), lit) * mix(0.62, 1.0, facing);
  gl_FragData[0] = vec4(light, 1.0);
"""
"""View coordinates: x to the right, y up, z to the eye; tubes run along x, tube 0 above.

Where tubes follow each other faster than picture points, their mean is shown.
"""

LIT, UNLIT = "#f7f5ec", "#34424a"


@dataclass(frozen=True, eq=False)
class PaintedLights:
    """A skin with normals free of noise, file coordinates.

    Attributes
    ----------
    vertices, normals : (n, 3) float
    faces : (m, 3) int
    tubes : int
        All round.
    """

    vertices: FloatArray
    faces: IntArray
    normals: FloatArray
    tubes: int = LightTubes.count


class LightPainter(SkinPainter):
    """Draws the reflections."""

    def draw(self, painted: PaintedLights) -> None:
        """Draw a skin."""
        if self.is_drawn(painted):
            return
        shape = poly_data(painted.vertices, painted.faces)
        shape.point_data.active_normals = painted.normals
        actor = self.add(shape, color=LIT, smooth_shading=True)
        rule = _REFLECTION % {
            "per_turn": painted.tubes / 6.283185307179586,
            "half_lit": LIT_SHARE / 2.0,
            "dark": _parts(UNLIT),
            "light": _parts(LIT),
        }
        shader = actor.GetShaderProperty()
        shader.AddFragmentShaderReplacement("//VTK::Light::Impl", True, rule, False)


def _parts(colour: str) -> str:
    """Return a colour's three parts as the picture's processor reads them.

    >>> _parts("#ff0000")
    '1.000, 0.000, 0.000'
    """
    return ", ".join(f"{int(colour[at : at + 2], 16) / 255.0:.3f}" for at in (1, 3, 5))


SKIN_PAINTERS["highlights"] = LightPainter
