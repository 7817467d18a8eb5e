"""A page's content composed once, in mm, before any file kind: lines with meanings, text, fills."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from app.exports.drawing.lettering import text_width
from geometry.arrays import FloatArray
from geometry.pattern import Curve

Anchor = Literal["start", "middle", "end"]
Colour = tuple[float, float, float]

BLACK: Colour = (0.0, 0.0, 0.0)
WHITE: Colour = (1.0, 1.0, 1.0)

SAMPLED_MM = 0.005
"""A curved line's points leave its curve by no more than this."""


class Meaning(StrEnum):
    """What a line is for; writers choose widths, dashes and layers by it."""

    NET = "net"
    CUT = "cut"
    AFTER_FORMING = "after forming"
    BEND = "bend"
    BEND_UP = "bend up"
    BEND_DOWN = "bend down"
    ROLL = "roll line"
    STATION = "station"
    SCRIBE = "scribed line"
    HOLE_CENTRE = "centre of a hole"
    RELIEF = "relief hole or notch"
    ALLOWANCE = "fold line of an allowance"
    GRAIN = "grain of the sheet"
    MARK = "witness mark"
    TICK = "tick for a soft tape"
    FORM_TICK = "numbered tick for the form"
    DEEPEST = "deepest place"
    MIDDLE = "middle of the panel"
    THINNEST = "thinnest place"
    THIN = "thinner than the least"
    CENTRE = "centre line"
    TANK_CENTRE = "centre line of the tank"
    CHARACTER = "character line"
    GRID = "grid"
    STRETCH_CONTOUR = "contour of stretch"
    SHRINK_CONTOUR = "contour of shrink"
    NO_DATA = "not scanned"
    COPIED = "made from the other side"
    HATCH = "hatch of the shape map"
    FRAME = "frame"
    BAR = "scale bar"
    JOIN = "join of tiles"
    LEADER = "leads from words to their place"


@dataclass(frozen=True, eq=False)
class Line:
    """A line on paper, made of straight pieces or, where it has one, of a curve.

    Attributes
    ----------
    meaning : Meaning
    points : (k, 2) float, mm
        The first point of a closed one is not repeated. Along the curve where there is one.
    closed : bool
    curve : Curve or None
        What is drawn in place of the points by every writer.
    """

    meaning: Meaning
    points: FloatArray
    closed: bool = False
    curve: Curve | None = None

    @property
    def course(self) -> FloatArray:
        """(j, 2) its points as they are drawn: a closed one back to its start."""
        return ring(self.points) if self.closed else self.points

    def moved(self, x: float, y: float) -> "Line":
        """Return the same line elsewhere."""
        by = np.array([x, y])
        curve = None if self.curve is None else self.curve.transformed(np.eye(2), by)
        return replace(self, points=self.points + by, curve=curve)


@dataclass(frozen=True, eq=False)
class Fill:
    """An area filled by the even-odd rule of its loops, each (k, 2) mm."""

    loops: tuple[FloatArray, ...]
    colour: Colour


@dataclass(frozen=True, eq=False)
class Picture:
    """Pixels (h, w, 3), 0-255, in a box whose lower left corner is `place`, mm."""

    pixels: NDArray[np.uint8]
    place: tuple[float, float]
    width_mm: float
    height_mm: float


@dataclass(frozen=True)
class Text:
    """A line of text, level or turned to the left, never mirrored.

    Attributes
    ----------
    text : str
    place : (float, float), mm
        The base line's start, middle or end.
    height_mm : float
        Of a capital.
    anchor : {"start", "middle", "end"}
    angle_deg : float
        Turned by so much to the left: at 90 it reads from below upward.
    bold : bool
    masked : bool
        Stands on a white ground, so that lines beneath do not spoil it.
    colour : three floats
    """

    text: str
    place: tuple[float, float]
    height_mm: float
    anchor: Anchor = "start"
    angle_deg: float = 0.0
    bold: bool = False
    masked: bool = False
    colour: Colour = BLACK

    @property
    def width_mm(self) -> float:
        """Length of the line of text."""
        return text_width(self.text, self.height_mm, bold=self.bold)

    @property
    def outline(self) -> FloatArray:
        """(4, 2) corners of the ground it stands on, descenders and accents within."""
        start = {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor] * self.width_mm
        left, right = -start, self.width_mm - start
        below, above = -0.32 * self.height_mm, 1.12 * self.height_mm
        corners = np.array([[left, below], [right, below], [right, above], [left, above]])
        turn = np.radians(self.angle_deg)
        along = np.round([np.cos(turn), np.sin(turn)], 15)
        across = np.array([-along[1], along[0]])
        return np.asarray(corners @ np.stack([along, across]) + np.array(self.place))

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, bottom, right, top."""
        if self.angle_deg in {0.0, 90.0}:
            return self._upright_box
        outline = self.outline
        low, high = outline.min(axis=0), outline.max(axis=0)
        return float(low[0]), float(low[1]), float(high[0]), float(high[1])

    @property
    def _upright_box(self) -> tuple[float, float, float, float]:
        """The box of words that stand level or turned by a quarter."""
        x, y = self.place
        width = self.width_mm
        start = {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor] * width
        below, above = 0.32 * self.height_mm, 1.12 * self.height_mm
        if self.angle_deg == 0.0:
            return x - start, y - below, x - start + width, y + above
        return x - above, y - start, x + below, y - start + width


@dataclass(frozen=True, eq=False)
class Drawing:
    """Everything to be drawn, in this order: fills, pictures, lines, text."""

    lines: tuple[Line, ...] = ()
    texts: tuple[Text, ...] = ()
    fills: tuple[Fill, ...] = ()
    pictures: tuple[Picture, ...] = ()

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, bottom, right, top of all there is, mm."""
        corners = [(*line.points.min(axis=0), *line.points.max(axis=0)) for line in self.lines]
        corners += [text.box for text in self.texts]
        corners += [
            (*loop.min(axis=0), *loop.max(axis=0)) for fill in self.fills for loop in fill.loops
        ]
        corners += [
            (
                *picture.place,
                picture.place[0] + picture.width_mm,
                picture.place[1] + picture.height_mm,
            )
            for picture in self.pictures
        ]
        table = np.array(corners, np.float64)
        low, high = table[:, :2].min(axis=0), table[:, 2:].max(axis=0)
        return float(low[0]), float(low[1]), float(high[0]), float(high[1])

    def moved(self, x: float, y: float) -> "Drawing":
        """Return the same drawing elsewhere."""
        by = np.array([x, y])
        return Drawing(
            tuple(line.moved(x, y) for line in self.lines),
            tuple(
                replace(text, place=(text.place[0] + x, text.place[1] + y)) for text in self.texts
            ),
            tuple(
                replace(fill, loops=tuple(loop + by for loop in fill.loops)) for fill in self.fills
            ),
            tuple(
                replace(picture, place=(picture.place[0] + x, picture.place[1] + y))
                for picture in self.pictures
            ),
        )


def together(drawings: Iterable[Drawing]) -> Drawing:
    """Return several drawings as one."""
    parts = tuple(drawings)
    return Drawing(
        tuple(line for part in parts for line in part.lines),
        tuple(text for part in parts for text in part.texts),
        tuple(fill for part in parts for fill in part.fills),
        tuple(picture for part in parts for picture in part.pictures),
    )


def ring(points: FloatArray) -> FloatArray:
    """Return a closed outline's (k, 2) points back to their start."""
    return np.concatenate([points, points[:1]])


def rectangle(
    left: float, bottom: float, right: float, top: float, meaning: Meaning = Meaning.FRAME
) -> Line:
    """Return a closed rectangle."""
    corners = np.array([[left, bottom], [right, bottom], [right, top], [left, top]])
    return Line(meaning, corners, closed=True)


def straight(x0: float, y0: float, x1: float, y1: float, meaning: Meaning = Meaning.FRAME) -> Line:
    """Return a straight line."""
    return Line(meaning, np.array([[x0, y0], [x1, y1]]))


def curved(meaning: Meaning, curve: Curve) -> Line:
    """Return a line along a curve."""
    return Line(meaning, curve.sampled(SAMPLED_MM), curve.closed, curve)
