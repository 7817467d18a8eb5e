"""Where lines go in cutting files by their meanings: DXF layers, line types, SVG groups."""

from dataclasses import dataclass

from app.exports.drawing.drawing import Meaning


@dataclass(frozen=True)
class Layer:
    """A layer of a DXF, a group of an SVG.

    Attributes
    ----------
    label : str
        What it holds, in words.
    colour : int
        Its number among the colours every DXF reader knows.
    shown : str
        The same colour as red, green and blue, dark enough for white paper.
    line_type : str
        What its lines look like; a key of `LINE_TYPES`, or CONTINUOUS.
    """

    label: str
    colour: int
    shown: str
    line_type: str = "CONTINUOUS"


LAYERS: dict[str, Layer] = {
    "PEN": Layer("marks to draw, not to cut", 5, "#0000ff"),
    "STATION": Layer("station lines, not to cut", 140, "#0074a8", "PHANTOM"),
    "FORM": Layer("ticks, middle and deepest place, for the form, not to cut", 5, "#0000ff"),
    "SCRIBE": Layer("scribed lines and centres of holes, not to cut", 9, "#5a5a5a"),
    "NODATA": Layer("not scanned: filled by guess", 6, "#c800c8"),
    "ROLL": Layer("roll along this line", 3, "#008a00", "PHANTOM"),
    "BEND": Layer("bend or roll along this line", 3, "#008a00", "CENTER"),
    "BEND_UP": Layer("bend up along this line", 3, "#008a00", "CENTER"),
    "BEND_DOWN": Layer("bend down along this line", 4, "#007f7f", "DIVIDE"),
    "ALLOWANCE": Layer("fold line of a hem, lap, joggle or flange", 52, "#7f7f00", "HIDDEN"),
    "RELIEF": Layer("relief hole or notch, before bending", 40, "#bf7300"),
    "AFTER_FORMING": Layer("cut after forming", 30, "#e06000", "DASHDOT"),
    "NET": Layer("net line: the finished edge, not to cut", 7, "#000000"),
    "CUT": Layer("cut along this line only", 1, "#ff0000", "DASHED"),
    "TEXT": Layer("words", 8, "#404040"),
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
    Meaning.FORM_TICK: "FORM",
    Meaning.DEEPEST: "FORM",
    Meaning.MIDDLE: "FORM",
    Meaning.SCRIBE: "SCRIBE",
    Meaning.HOLE_CENTRE: "SCRIBE",
    Meaning.NO_DATA: "NODATA",
    Meaning.LEADER: "TEXT",
}


def layer_of(meaning: Meaning) -> str:
    """Return the layer a line belongs on: PEN unless it has one of its own.

    >>> layer_of(Meaning.CUT), layer_of(Meaning.GRID)
    ('CUT', 'PEN')
    """
    return _LAYER_OF.get(meaning, "PEN")
