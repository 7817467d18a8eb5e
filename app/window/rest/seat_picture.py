"""What the tank shows at Seat face: how the skin lies to the plane in tenths, edge and line."""

import numpy as np

from app.job import SEAT_FACE, JobState, Seat, made
from app.window.legend import Swatch
from app.window.look import SHRINK_TO_STRETCH
from app.window.rest.rest_step import RestPicture, in_file
from app.window.scene import Body, Curve
from app.window.steps import Desk
from geometry.arrays import FloatArray

_BAND_MM = 0.1
_MOST = 5
_LIFT_MM = 0.3
_CORNER, _EDGE, _LINE = "#23282b", "#61686b", "#7a4fa3"


def seat_picture(state: JobState, desk: Desk) -> RestPicture:
    """Return the face in bands of 0.1 mm, its outlines and the line ahead of it."""
    seat: Seat | None = made(state, SEAT_FACE)
    if seat is None:
        return RestPicture()
    curves = [
        Curve(_placed(state, seat, seat.plane.corner), colour=_CORNER, width=3.0, on_top=True),
        Curve(_placed(state, seat, seat.plane.edge), colour=_EDGE, style="dash", on_top=True),
        Curve(_placed(state, seat, _line(seat)), colour=_LINE, width=3.0),
    ]
    bodies, swatches = _bands(state, seat)
    legend = (
        *swatches,
        Swatch("solid", _CORNER, "where face and wall meet, unrounded"),
        Swatch("dash", _EDGE, "where the flat ends"),
        Swatch("solid", _LINE, "the line the lip follows"),
    )
    return RestPicture(bodies, tuple(curves), legend)


def _bands(state: JobState, seat: Seat) -> tuple[tuple[Body, ...], list[Swatch]]:
    """Return the skin within the edge, a body a band; striped where more shows than may."""
    face = seat.face
    if face is None:
        return (), []
    band = np.clip(np.round(face.off_mm / _BAND_MM), -_MOST, _MOST).astype(int)
    vertices = _placed(state, seat, face.skin.vertices + _LIFT_MM * seat.plane.normal)
    wide = float(np.ptp(vertices, axis=0).max())
    bodies, swatches = [], []
    for step in np.unique(band).tolist():
        is_wrong = abs(step) * _BAND_MM > seat.choice.gap_mm
        colour = band_colour(step / _MOST)
        faces = face.skin.faces[band == step]
        bodies.append(Body(vertices, faces, colour, pitch=wide / 20.0 if is_wrong else 0.0))
        swatches.append(Swatch("striped" if is_wrong else "plain", colour, _band_words(step)))
    return tuple(bodies), swatches


def band_colour(share: float) -> str:
    """Return the colour of a height, -1 the farthest in to 1 the farthest out.

    >>> band_colour(0.0)
    '#f7f6f1'
    """
    at = [stop for stop, _ in SHRINK_TO_STRETCH]
    tones = np.array([tone for _, tone in SHRINK_TO_STRETCH], float)
    red, green, blue = (round(float(np.interp(share, at, tones[:, k]))) for k in range(3))
    return f"#{red:02x}{green:02x}{blue:02x}"


def _band_words(step: int) -> str:
    if step == 0:
        return "in the plane, within 0.05 mm"
    more = " or more" if abs(step) == _MOST else ""
    return f"{abs(step) * _BAND_MM:.1f} mm{more} {'out' if step > 0 else 'in'}"


def _line(seat: Seat) -> FloatArray:
    return seat.plane.in_space(seat.line) - seat.choice.line_ahead_mm * seat.plane.normal


def _placed(state: JobState, seat: Seat, points: FloatArray) -> FloatArray:
    return in_file(state, seat.axes.from_tank(points))
