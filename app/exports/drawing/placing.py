"""Words put where there is room: near a point, on a line, or along a line at its own angle."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from app.exports.drawing.drawing import Text
from app.exports.drawing.free_space import FreeSpace
from app.exports.drawing.lettering import text_width
from geometry.arrays import FloatArray

_SLIDE_MM = 4.0
"""How far words are slid along a line from one try to the next."""


def place_text(
    space: FreeSpace,
    text: str,
    near: FloatArray,
    height: float,
    reach: float,
    *,
    bold: bool = False,
) -> list[Text]:
    """Return the text at the free place nearest a point, or, where there is none, nothing."""
    width = text_width(text, height, bold=bold)
    for turned in (False, True):
        size = (width + 1.0, 1.6 * height)
        found = space.place(size[::-1] if turned else size, near, reach_mm=reach)
        if found is None:
            continue
        x, y = found
        place = (x + 0.4 * height, y) if turned else (x, y - 0.4 * height)
        angle = 90.0 if turned else 0.0
        return [Text(text, place, height, "middle", angle, bold=bold, masked=True)]
    return []


def on_line_text(space: FreeSpace, points: FloatArray, words: str, height: float) -> list[Text]:
    """Return a number standing on a line, where there is room; nothing where there is none."""
    count = len(points)
    for part in (0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9):
        found = place_text(space, words, points[int(part * (count - 1))], height, 1.0)
        if found:
            return found
    return []


@dataclass(frozen=True)
class Wording:
    """Words and how tall; of several, the first that finds room is taken."""

    words: str
    height_mm: float


def text_along(
    space: FreeSpace,
    points: FloatArray,
    wordings: Sequence[Wording],
    *,
    beside_mm: Sequence[float],
    around: tuple[float, float] | None = None,
) -> list[Text]:
    """Return words that run along a line, beside it, turned as it runs; nothing without room.

    Parameters
    ----------
    space : FreeSpace
    points : (k, 2) float, mm
    wordings : sequence of Wording
    beside_mm : sequence of float
        How far their middle may stand off the line, to its left, best first; below 0 to its right.
    around : (float, float), optional
        Between which lengths along the line their middle stays; all of it if not given.
    """
    line = shapely.LineString(points)
    low, high = (0.0, float(line.length)) if around is None else around
    for wording, off_all in [(each, off) for off in (True, False) for each in wordings]:
        width = text_width(wording.words, wording.height_mm)
        slack = max(0.0, (high - low - width) / 2.0)
        slides = [
            side * step
            for step in np.arange(0.0, slack + 1e-9, _SLIDE_MM)
            for side in ((1.0, -1.0) if step else (1.0,))
        ]
        for slide in slides:
            for beside in beside_mm:
                text = _along_at(line, (low + high) / 2.0 + slide, beside, wording, width)
                if space.take_turned(_with_margin(text), off_all=off_all):
                    return [text]
    return []


def _along_at(
    line: shapely.LineString, at: float, beside: float, wording: Wording, width: float
) -> Text:
    """Return words with their middle beside a place of a line, along the chord they span there."""
    spots = np.clip([at - width / 2.0, at, at + width / 2.0], 0.0, line.length)
    first, middle, last = shapely.get_coordinates(line.interpolate(spots))
    way = last - first
    way = way / max(float(np.linalg.norm(way)), 1e-9)
    left = np.array([-way[1], way[0]])
    turn = round((float(np.degrees(np.arctan2(way[1], way[0]))) + 90.0) % 180.0 - 90.0, 6)
    angle = 90.0 if turn == -90.0 else turn
    up = np.array([-np.sin(np.radians(angle)), np.cos(np.radians(angle))])
    # Between the line's own bulge over the words' length and its chord, as far off as asked.
    chord = (first + last) / 2.0
    off = left * beside
    far = max(float((middle - chord) @ left) * np.sign(beside), 0.0) * np.sign(beside)
    foot = chord + left * far + off - 0.4 * wording.height_mm * up
    return Text(
        wording.words,
        (float(foot[0]), float(foot[1])),
        wording.height_mm,
        "middle",
        angle,
        masked=True,
    )


def _with_margin(text: Text) -> FloatArray:
    """Return the corners of a text's ground, half a millimetre wider at either end."""
    corners = text.outline
    along = (corners[1] - corners[0]) / max(float(np.linalg.norm(corners[1] - corners[0])), 1e-9)
    return np.asarray(corners + 0.5 * np.array([[-1.0], [1.0], [1.0], [-1.0]]) * along)
