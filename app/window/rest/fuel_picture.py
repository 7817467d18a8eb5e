"""What the tank shows at Capacity and Fittings: low points, taps, stick; filler, bosses, patch."""

from collections.abc import Callable

import numpy as np

from app.job import Fitted, Fuel, JobState, StoodTank, made, told_air, vent_helps
from app.units import volume_text
from app.window.legend import Swatch
from app.window.rest.rest_step import RestPicture, in_file
from app.window.scene import Body, Curve
from app.window.steps import Desk
from geometry.arrays import FloatArray

_SURFACE, _VENT = "#c2410c", "#7a4fa3"
_FUEL, _LOW, _TAP, _HOLE, _OLD, _CHOSEN = (
    "#b58a2a",
    "#1f6f8b",
    "#23282b",
    "#1f6f8b",
    "#7a4fa3",
    "#c2410c",
)
_SEEN_THROUGH = 0.35


def capacity_picture(state: JobState, desk: Desk) -> RestPicture:
    """Return the room inside, its low points on the level, taps and stick."""
    found: Fuel | None = made(state, "Capacity")
    stood: StoodTank | None = made(state, "Stood")
    if found is None or stood is None:
        return RestPicture()

    def placed(points: FloatArray) -> FloatArray:
        return in_file(state, stood.axes.from_tank(points))

    space = found.space.mesh
    body = Body(placed(space.vertices), space.faces, _FUEL, opacity=_SEEN_THROUGH)
    curves = [
        _spot(placed(point.place[None]), _LOW, f"low {number}")
        for number, point in enumerate(found.stances[0].points, start=1)
    ]
    curves += [_spot(placed(tap.place[None]), _TAP, tap.spec.name) for tap in found.taps]
    foot = found.chart.foot
    top = foot + [0.0, 0.0, float(found.chart.depth_mm[-1])]
    stick = Curve(placed(np.stack([foot, top])), colour=_TAP, words="stick", on_top=True)
    legend = [
        Swatch("plain", _FUEL, "room for fuel"),
        Swatch("ring", _LOW, "low point on the level"),
        Swatch("solid", _TAP, "dip stick"),
    ]
    if found.taps:
        legend.append(Swatch("ring", _TAP, "tap"))
    vents = [
        _spot(placed(pocket.place[None]), _VENT, "vent here")
        for pocket in told_air(found.stances[0])
        if vent_helps(pocket)
    ]
    if vents:
        legend.append(Swatch("ring", _VENT, "air stays: a vent belongs here"))
    shores = _shores(found, placed)
    if shores:
        legend.append(Swatch("solid", _SURFACE, "where some fuel meets the metal"))
    drawn = (*curves, *vents, *shores, stick)
    return RestPicture((body,), drawn, tuple(legend), see_through=True)


def _shores(found: Fuel, placed: Callable[[FloatArray], FloatArray]) -> list[Curve]:
    """Return the lines in which the part filling's surfaces meet the metal."""
    if found.part is None:
        return []
    return [
        Curve(
            placed(shore),
            colour=_SURFACE,
            width=3.0,
            words=volume_text(pool.volume_mm3).partition(" (")[0],
            on_top=True,
        )
        for pool in found.part.standing.pools
        for shore in pool.shores
    ]


def _spot(points: FloatArray, colour: str, words: str) -> Curve:
    return Curve(points, colour=colour, width=4.0, words=words, dots=True, on_top=True)


def fittings_picture(state: JobState, desk: Desk) -> RestPicture:
    """Return the lines of filler and bosses on the skin, and the old filler's hole."""
    found: Fitted | None = made(state, "Fittings")
    stood: StoodTank | None = made(state, "Stood")
    if found is None or stood is None:
        return RestPicture()

    def ring(points: FloatArray, colour: str, words: str) -> Curve:
        closed = np.concatenate([points, points[:1]])
        places = in_file(state, stood.axes.from_tank(closed))
        return Curve(places, colour=colour, width=3.0, words=words)

    curves, legend, rows = [], [], []
    if found.filler is not None:
        curves += [ring(line.points, _HOLE, line.what) for line in found.filler.lines]
        legend.append(Swatch("solid", _HOLE, "filler: cut after forming"))
    if found.old is not None:
        curves.append(ring(found.old.opening.outline, _OLD, "old filler, to be blanked"))
        legend.append(Swatch("solid", _OLD, "old filler hole"))
    kind, chosen = desk.chosen
    for number, boss in enumerate(found.bosses):
        colour = _CHOSEN if kind == "boss" and number == chosen else _TAP
        curves.append(ring(boss.outline, colour, boss.spec.name))
        rows.append(("boss", number, curves[-1].points))
    if found.bosses:
        legend.append(Swatch("solid", _TAP, "boss"))
    return RestPicture(curves=tuple(curves), legend=tuple(legend), rows=tuple(rows))
