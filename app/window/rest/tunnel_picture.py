"""What the tank shows at the tunnel: the folded tunnel, the tube, where it is cut and scribed."""

from app.job import LEAST_GAP_MM, JobState, TunnelLaid, made
from app.window.legend import Swatch
from app.window.rest.rest_step import RestPicture, in_file
from app.window.scene import Body, Curve
from app.window.steps import Desk
from geometry.arrays import FloatArray
from geometry.tank import cut_off_lines, shown_body

_TUNNEL, _TUBE, _CUT_OFF, _SCRIBE, _TIGHT = "#8fa3ad", "#5d6b58", "#23282b", "#1f6f8b", "#c2410c"
_STRIPE_MM = 6.0


def tunnel_picture(state: JobState, desk: Desk) -> RestPicture:
    """Return the tunnel in the tank; what fouls or comes too near once welded is striped."""
    laid: TunnelLaid | None = made(state, "Tunnel")
    if laid is None or laid.axes is None:
        return RestPicture()
    axes, tunnel, size = laid.axes, laid.tunnel, made(state, "Size")

    def placed(points: FloatArray) -> FloatArray:
        return in_file(state, axes.from_tank(points))

    bodies = [Body(placed(laid.mesh.vertices), laid.mesh.faces, _TUNNEL)]
    legend = [Swatch("plain", _TUNNEL, "tunnel"), Swatch("solid", _CUT_OFF, "cut-off line")]
    near = {gap.body for gap in tunnel.gaps if gap.after_mm < LEAST_GAP_MM}
    spec = tunnel.spec
    for body in (*([spec.tube] if spec.tube else []), *spec.others):
        mesh = shown_body(tunnel, body)
        pitch = _STRIPE_MM / size.mm_per_unit if body.name in near else 0.0
        colour = _TIGHT if body.name in near else _TUBE
        bodies.append(Body(placed(mesh.vertices), mesh.faces, colour, body.name, pitch))
        legend.append(Swatch("striped" if pitch else "plain", colour, body.name))
    curves = [Curve(placed(line), colour=_CUT_OFF, on_top=True) for line in cut_off_lines(tunnel)]
    for scribe in tunnel.scribes:
        words = f"{scribe.end} end"
        curves += [
            Curve(placed(line), colour=_SCRIBE, words=words, on_top=True) for line in scribe.on_skin
        ]
    if tunnel.scribes:
        legend.append(Swatch("solid", _SCRIBE, "ends at the skin"))
    return RestPicture(tuple(bodies), tuple(curves), tuple(legend), see_through=True)
