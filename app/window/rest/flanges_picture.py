"""What the tank shows at Flanges: each root line, its stations by number, the finished edge."""

import numpy as np

from app.job import Flanges, JobState, made
from app.window.legend import Swatch
from app.window.rest.rest_step import RestPicture, in_file
from app.window.scene import Curve
from app.window.steps import Desk
from geometry.arrays import FloatArray

_ROOT, _CHOSEN, _STRETCH, _SHRINK, _FOLD = "#23282b", "#c2410c", "#b3261e", "#1f6f8b", "#7d868c"
_NONE = 0.001


def flanges_picture(state: JobState, desk: Desk) -> RestPicture:
    """Return root lines and, at every station, the flange coloured by what its edge does."""
    found: Flanges | None = made(state, "Flanges")
    if found is None:
        return RestPicture()
    kind, chosen = desk.chosen
    curves: list[Curve] = []
    rows: list[tuple[str, int, FloatArray]] = []

    def placed(points: FloatArray) -> FloatArray:
        return in_file(state, found.axes.from_tank(points))

    for at, each in enumerate(found.made):
        root = np.concatenate([each.root, each.root[:1]]) if each.is_closed else each.root
        is_chosen = kind == "flange" and chosen == at
        curves.append(Curve(placed(root), colour=_CHOSEN if is_chosen else _ROOT, on_top=True))
        rows.append(("flange", at, curves[-1].points))
        for station in each.run.stations:
            change = station.stretch - 1.0
            colour = _FOLD if abs(change) < _NONE else (_STRETCH if change > 0.0 else _SHRINK)
            ends = placed(np.array([station.place, station.tip]))
            curves.append(Curve(ends, colour=colour, width=4.0, on_top=True))
            curves.append(Curve(_beside(ends), words=str(station.number), on_top=True))
    legend = (
        Swatch("solid", _ROOT, "root line"),
        Swatch("solid", _SHRINK, "the edge gathers"),
        Swatch("solid", _STRETCH, "the edge stretches"),
        Swatch("solid", _FOLD, "folded only"),
    )
    return RestPicture(curves=tuple(curves), legend=legend, rows=tuple(rows))


def _beside(ends: FloatArray) -> FloatArray:
    """Return where a station's number stands: behind its root, so that the flange is seen."""
    root, tip = ends
    place: FloatArray = root - (tip - root)
    return np.stack([place, place])
