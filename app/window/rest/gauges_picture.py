"""What the tank shows at Gauges: the stations' outlines by number, bottom edge, side line."""

from app.job import Gauges, JobState, made
from app.window.legend import Swatch
from app.window.rest.rest_step import RestPicture, in_file
from app.window.scene import Curve
from app.window.steps import Desk
from geometry.arrays import FloatArray
from geometry.gauges import in_tank

_STATION, _CHOSEN, _BOTTOM, _SIDE = "#1f6f8b", "#c2410c", "#23282b", "#7a4fa3"


def gauges_picture(state: JobState, desk: Desk) -> RestPicture:
    """Return the outlines gauges are cut to, where they stand on the tank."""
    found: Gauges | None = made(state, "Gauges")
    if found is None:
        return RestPicture()
    cut = found.cut
    kind, chosen = desk.chosen
    curves: list[Curve] = []
    rows: list[tuple[str, int, FloatArray]] = []

    def drawn(points: FloatArray, colour: str, *, words: str = "", width: float = 3.0) -> Curve:
        places = in_file(state, found.axes.from_tank(points))
        return Curve(places, colour=colour, words=words, width=width)

    for k, each in enumerate(cut.stations):
        is_chosen = kind == "station" and chosen == k
        line = in_tank(each.section.arch, 0, each.station.at_mm)
        colour, width = (_CHOSEN, 5.0) if is_chosen else (_STATION, 3.0)
        curves.append(drawn(line, colour, words=str(each.station.number), width=width))
        rows.append(("station", k, curves[-1].points))
    if cut.profile is not None:
        curves += [drawn(line, _BOTTOM) for line in (cut.profile.left, cut.profile.right)]
    sides = {id(each.line): each.line for each in cut.longs if each.of == "side line"}
    curves += [drawn(line, _SIDE) for line in sides.values()]
    legend = [Swatch("solid", _STATION, "station, by number from the front")]
    if cut.profile is not None:
        legend.append(Swatch("solid", _BOTTOM, "bottom edge"))
    if sides:
        legend.append(Swatch("solid", _SIDE, "side line"))
    return RestPicture(curves=tuple(curves), legend=tuple(legend), rows=tuple(rows))
