"""Where lines go in cutting files by their meanings: DXF layers, line types, SVG groups."""

from dataclasses import dataclass

from app.exports.drawing import Meaning


@dataclass(frozen=True)
class Layer:
    """A layer of a DXF, a group of an SVG.

    Attributes
    ----------
    label : str
        What it holds, in words.
    colour : int
        Its number among the colours every DXF reader knows.
    line_type : str
        What its lines look like; a key of `LINE_TYPES`, or CONTINUOUS.
    """

    label: str
    colour: int
    line_type: str = "CONTINUOUS"


LAYERS: dict[str, Layer] = {
    "CUT": Layer("cut along this line only", 1, "DASHED"),
    "NET": Layer("net line: the finished edge, not to be cut", 7),
    "PEN": Layer("marks to draw, not to cut", 5),
    "AFTER_FORMING": Layer("cut after forming", 30, "DASHDOT"),
    "BEND": Layer("bend or roll along this line", 3, "CENTER"),
    "BEND_UP": Layer("bend up along this line", 3, "CENTER"),
    "BEND_DOWN": Layer("bend down along this line", 4, "DIVIDE"),
    "ROLL": Layer("roll along this line", 3, "PHANTOM"),
    "RELIEF": Layer("relief hole or notch, before bending", 40),
    "ALLOWANCE": Layer("fold line of a hem, lap, joggle or flange", 2, "HIDDEN"),
    "STATION": Layer("station lines", 140, "PHANTOM"),
    "SCRIBE": Layer("scribed lines and centres of holes", 9),
    "TEXT": Layer("words", 8),
    "NODATA": Layer("not scanned: filled by guess", 6),
}
"""Every layer and group, in the order they are written."""

LINE_TYPES: dict[str, tuple[float, ...]] = {
    "DASHED": (6.0, -3.0),
    "DASHDOT": (4.0, -1.2, 0.6, -1.2),
    "CENTER": (9.0, -1.5, 1.0, -1.5, 1.0, -1.5),
    "DIVIDE": (5.0, -1.5, 1.0, -1.5),
    "PHANTOM": (14.0, -1.5, 1.0, -1.5, 1.0, -1.5),
    "HIDDEN": (3.0, -1.5),
}
"""Dashes, and gaps below zero, in mm: as they are drawn on paper."""

_LAYER_OF = {
    Meaning.CUT: "CUT",
    Meaning.NET: "NET",
    Meaning.AFTER_FORMING: "AFTER_FORMING",
    Meaning.BEND: "BEND",
    Meaning.BEND_UP: "BEND_UP",
    Meaning.BEND_DOWN: "BEND_DOWN",
    Meaning.ROLL: "ROLL",
    Meaning.RELIEF: "RELIEF",
    Meaning.ALLOWANCE: "ALLOWANCE",
    Meaning.STATION: "STATION",
    Meaning.SCRIBE: "SCRIBE",
    Meaning.HOLE_CENTRE: "SCRIBE",
    Meaning.NO_DATA: "NODATA",
}


def layer_of(meaning: Meaning) -> str:
    """Return the layer a line belongs on: PEN unless it has one of its own.

    >>> layer_of(Meaning.CUT), layer_of(Meaning.GRID)
    ('CUT', 'PEN')
    """
    return _LAYER_OF.get(meaning, "PEN")
