"""How lines are drawn, by their meanings: widths, dashes and greys, on paper and on the screen."""

from dataclasses import dataclass

from app.exports.drawing.drawing import Meaning


@dataclass(frozen=True)
class Stroke:
    """How a line is drawn: width and dashes in mm, grey 0 black to 1 white."""

    width_mm: float
    dashes: tuple[float, ...] = ()
    grey: float = 0.0


STROKES: dict[Meaning, Stroke] = {
    Meaning.NET: Stroke(0.50),
    Meaning.CUT: Stroke(0.60, (6.0, 3.0)),
    Meaning.AFTER_FORMING: Stroke(0.35, (4.0, 1.2, 0.6, 1.2)),
    Meaning.BEND: Stroke(0.30, (9.0, 1.5, 1.0, 1.5, 1.0, 1.5)),
    Meaning.BEND_UP: Stroke(0.32, (9.0, 1.5, 1.0, 1.5, 1.0, 1.5)),
    Meaning.BEND_DOWN: Stroke(0.32, (5.0, 1.5, 1.0, 1.5)),
    Meaning.ROLL: Stroke(0.30, (14.0, 1.5, 1.0, 1.5, 1.0, 1.5)),
    Meaning.STATION: Stroke(0.18, (7.0, 1.2, 2.0, 1.2)),
    Meaning.SCRIBE: Stroke(0.16),
    Meaning.HOLE_CENTRE: Stroke(0.22),
    Meaning.RELIEF: Stroke(0.48),
    Meaning.ALLOWANCE: Stroke(0.34, (3.0, 1.5)),
    Meaning.GRAIN: Stroke(0.28),
    Meaning.MARK: Stroke(0.40),
    Meaning.TICK: Stroke(0.20),
    Meaning.FORM_TICK: Stroke(0.30),
    Meaning.DEEPEST: Stroke(0.32),
    Meaning.MIDDLE: Stroke(0.18, (8.0, 1.5, 1.5, 1.5)),
    Meaning.THINNEST: Stroke(0.32),
    Meaning.THIN: Stroke(0.36, (0.6, 1.2)),
    Meaning.CENTRE: Stroke(0.25, (8.0, 1.5, 1.5, 1.5)),
    Meaning.TANK_CENTRE: Stroke(0.22, (12.0, 2.0, 2.0, 2.0)),
    Meaning.CHARACTER: Stroke(0.24, (11.0, 1.0)),
    Meaning.GRID: Stroke(0.09, (), 0.55),
    Meaning.STRETCH_CONTOUR: Stroke(0.20),
    Meaning.SHRINK_CONTOUR: Stroke(0.22, (2.2, 1.0)),
    Meaning.NO_DATA: Stroke(0.14, (), 0.25),
    Meaning.COPIED: Stroke(0.13, (3.0, 3.0), 0.35),
    Meaning.HATCH: Stroke(0.20),
    Meaning.FRAME: Stroke(0.25),
    Meaning.BAR: Stroke(0.26),
    Meaning.JOIN: Stroke(0.13, (1.0, 1.0), 0.3),
    Meaning.LEADER: Stroke(0.13),
}
