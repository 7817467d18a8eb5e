"""What the tank shows at Frame fit: every body where it is nearest, what goes through lit."""

import numpy as np

from app.job import FRAME_FIT, FrameFit, FrameGap, JobState, made
from app.window.legend import Swatch
from app.window.look import ASK, LIT, METAL, TAPE
from app.window.rest.rest_step import RestPicture, in_file
from app.window.scene import Body, Curve
from app.window.steps import Desk
from geometry.arrays import FloatArray

_CHOSEN = "#8fb9c2"
_STRIPES = 14.0


def frame_picture(state: JobState, desk: Desk) -> RestPicture:
    """Return the bodies; the row chosen in the position that row tells of."""
    fit: FrameFit | None = made(state, FRAME_FIT)
    if fit is None:
        return RestPicture()
    kind, number = desk.chosen
    chosen = number if kind == "gap" and 0 <= number < len(fit.gaps) else -1
    bodies: list[Body] = []
    curves: list[Curve] = []
    rows: list[tuple[str, int, FloatArray]] = []
    for at in rows_shown(fit, chosen):
        bodies += _bodies(state, fit, fit.gaps[at], is_chosen=at == chosen)
        words = f"{at + 1} {fit.gaps[at].body.name}"
        curves.append(_gap_line(state, fit, fit.gaps[at], words))
        rows.append(("gap", at, curves[-1].points))
    legend = [
        Swatch("plain", METAL, "bodies, each where it is nearest"),
        Swatch("solid", TAPE, "the least gap, by its number in the list"),
    ]
    if any(fit.gaps[at].is_wrong for at in rows_shown(fit, chosen)):
        legend.append(Swatch("striped", METAL, "too near, or through the skin"))
    if any(fit.gaps[at].gap.through.any() for at in rows_shown(fit, chosen)):
        legend.append(Swatch("plain", LIT, "what reaches through"))
    return RestPicture(
        tuple(bodies), tuple(curves), tuple(legend), see_through=True, rows=tuple(rows)
    )


def rows_shown(fit: FrameFit, chosen: int) -> list[int]:
    """Return a row for every body and hand: the chosen one, else where it is nearest."""
    shown: dict[tuple[str, str], int] = {}
    for at, each in enumerate(fit.gaps):
        shown.setdefault((each.body.name, each.hand), at)
    if chosen >= 0:
        each = fit.gaps[chosen]
        shown[each.body.name, each.hand] = chosen
    return sorted(shown.values())


def _bodies(state: JobState, fit: FrameFit, each: FrameGap, *, is_chosen: bool) -> list[Body]:
    if not len(each.mesh.faces):  # a second scan of which nothing is near
        return []
    vertices = in_file(state, fit.axes.from_tank(each.mesh.vertices))
    per_mm = float(np.linalg.norm(np.ptp(vertices, axis=0))) / max(
        float(np.linalg.norm(np.ptp(each.mesh.vertices, axis=0))), 1e-9
    )
    colour = _CHOSEN if is_chosen else METAL
    through = each.gap.through
    if len(through) != len(each.mesh.faces) or not through.any():
        pitch = _STRIPES * per_mm if each.is_wrong else 0.0
        return [Body(vertices, each.mesh.faces, colour, pitch=pitch)]
    rest = Body(vertices, each.mesh.faces[~through], colour, pitch=_STRIPES * per_mm)
    return [rest, Body(vertices, each.mesh.faces[through], LIT)]


def _gap_line(state: JobState, fit: FrameFit, each: FrameGap, words: str) -> Curve:
    """Return the line of the least gap, or a spot where a body goes through."""

    def placed(points: FloatArray) -> FloatArray:
        return in_file(state, fit.axes.from_tank(points))

    if each.gap.side == "through":
        spot = placed(each.gap.on_body[None])
        return Curve(spot, colour=ASK, width=5.0, words=words, dots=True, on_top=True)
    ends = placed(np.stack([each.gap.on_skin, each.gap.on_body]))
    return Curve(ends, colour=TAPE, width=4.0, words=words, on_top=True)
