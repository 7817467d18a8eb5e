"""A page to be printed: its size and what stands where on it, clipped where a tile ends."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from app.exports.drawing.drawing import Drawing, Fill, Line
from geometry.arrays import BoolArray, FloatArray

MM_PER_POINT = 25.4 / 72.0
LARGEST_PAGE_MM = 5080.0
"""14,400 units: what common viewers take as the largest page."""

A4 = (210.0, 297.0)
LETTER = (215.9, 279.4)

Clip = tuple[float, float, float, float]


class PageTooLargeError(Exception):
    """A one-piece page would be larger than PDF viewers open.

    Attributes
    ----------
    width_mm, height_mm, limit_mm : float
    """

    def __init__(self, width_mm: float, height_mm: float) -> None:
        self.width_mm, self.height_mm, self.limit_mm = width_mm, height_mm, LARGEST_PAGE_MM
        super().__init__(f"page of {width_mm:.0f} x {height_mm:.0f} mm")


@dataclass(frozen=True, eq=False)
class Placed:
    """A drawing on a page, its origin at (x, y), shown within a clip box of the page, mm."""

    drawing: Drawing
    x: float = 0.0
    y: float = 0.0
    clip: Clip | None = None


@dataclass(frozen=True, eq=False)
class Page:
    """A page and what is on it, mm from its lower left corner.

    Attributes
    ----------
    width_mm, height_mm : float
    contents : tuple of Placed
    tile : str
        Which tile of its piece it is; "" for a page that is no tile.
    begins : str
        Under which name viewers list what begins here; "" for a page within something.
    """

    width_mm: float
    height_mm: float
    contents: tuple[Placed, ...]
    tile: str = ""
    begins: str = ""


def scaled(drawing: Drawing, x: float, y: float) -> Drawing:
    """Return a drawing drawn out across and up, for a printer that is not true; words keep level.

    Words grow with the smaller of the two, so that they stay clear of what they were clear of.
    A curve is drawn through its points.
    """
    if x == 1.0 and y == 1.0:
        return drawing
    by, least = np.array([x, y]), min(x, y)
    return Drawing(
        tuple(Line(line.meaning, line.points * by, line.closed) for line in drawing.lines),
        tuple(
            replace(
                text,
                place=(text.place[0] * x, text.place[1] * y),
                height_mm=text.height_mm * least,
            )
            for text in drawing.texts
        ),
        tuple(Fill(tuple(loop * by for loop in fill.loops), fill.colour) for fill in drawing.fills),
        tuple(
            replace(
                picture,
                place=(picture.place[0] * x, picture.place[1] * y),
                width_mm=picture.width_mm * x,
                height_mm=picture.height_mm * y,
            )
            for picture in drawing.pictures
        ),
    )


def parts_within(drawing: Drawing, boxes: Sequence[Clip]) -> list[Drawing]:
    """Return for each box the lines, words and areas of a drawing that reach into it, whole."""
    lines = [(*line.points.min(axis=0), *line.points.max(axis=0)) for line in drawing.lines]
    kinds = (
        lines,
        [text.box for text in drawing.texts],
        [Drawing(fills=(fill,)).box for fill in drawing.fills],
        [Drawing(pictures=(picture,)).box for picture in drawing.pictures],
    )
    edges = [np.array(kind, np.float64).reshape(-1, 4) for kind in kinds]
    found = []
    for box in boxes:
        rows = [np.flatnonzero(_meet(edge, box)).tolist() for edge in edges]
        found.append(
            Drawing(
                tuple(drawing.lines[row] for row in rows[0] if _reaches(drawing.lines[row], box)),
                tuple(drawing.texts[row] for row in rows[1]),
                tuple(drawing.fills[row] for row in rows[2]),
                tuple(drawing.pictures[row] for row in rows[3]),
            )
        )
    return found


def _meet(edges: FloatArray, box: Clip) -> BoolArray:
    """Return which boxes (k, 4) reach into a box."""
    left, bottom, right, top = box
    return np.asarray(
        (edges[:, 0] <= right)
        & (edges[:, 2] >= left)
        & (edges[:, 1] <= top)
        & (edges[:, 3] >= bottom)
    )


def _reaches(line: Line, box: Clip) -> bool:
    """Return whether any piece of a line may reach into a box; a curve's within 0.1 mm."""
    ahead = np.roll(line.points, -1, axis=0) if line.closed else line.points[1:]
    behind = line.points if line.closed else line.points[:-1]
    if not len(ahead):
        return True
    pieces = np.concatenate([np.minimum(behind, ahead) - 0.1, np.maximum(behind, ahead) + 0.1], 1)
    return bool(_meet(pieces, box).any())
