"""Roll lines and folds on paper: the line, what to do along it, its sweep radius all along."""

import numpy as np
import shapely

from app.exports.drawing import FreeSpace, Line, Meaning, Text, Wording, text_along
from app.exports.facts import PanelSheet
from app.exports.words import roll_words, sweep_words
from geometry.pattern import RollLine

_TEXT_MM = 2.5
_SMALL_MM = 2.1
_BESIDE_MM = (2.9, -2.9)
_OTHER_RADIUS = 0.05
"""A sweep that changes by more than this part along a line is told near its ends too."""


def roll_drawn(sheet: PanelSheet) -> list[Line]:
    """Return the lines to roll or fold along, in the maker's view."""
    return [Line(Meaning.BEND, sheet.lay.on_paper(roll.points)) for roll in sheet.pattern.rolls]


def roll_texts(sheet: PanelSheet, space: FreeSpace) -> list[Text]:
    """Return what to do along each roll line, and its sweep where that changes along it."""
    show = sheet.job.show
    texts: list[Text] = []
    for roll in sheet.pattern.rolls:
        points = sheet.lay.on_paper(roll.points)
        up = roll.towards_outside != (sheet.lay.face == "inside")
        radius = float(np.median(roll.radii))
        words = roll_words(radius, roll.turn_rad, up=up, is_fold=roll.is_fold, show=show)
        wordings = [Wording(words, _TEXT_MM), Wording(words, _SMALL_MM)]
        if not roll.is_fold:
            wordings.append(Wording(sweep_words(radius, show), _SMALL_MM))
        texts += text_along(space, points, wordings, beside_mm=_BESIDE_MM)
        if not roll.is_fold:
            texts += _sweeps_along(roll, sheet, space)
    return texts


def _sweeps_along(roll: RollLine, sheet: PanelSheet, space: FreeSpace) -> list[Text]:
    """Return the sweep near both ends of a line along which it changes, as on a cone."""
    if np.ptp(roll.radii) <= _OTHER_RADIUS * float(np.median(roll.radii)):
        return []
    points = sheet.lay.on_paper(roll.points)
    line = shapely.LineString(points)
    at = shapely.line_locate_point(line, shapely.points(points))
    texts: list[Text] = []
    for part in (0.08, 0.92):
        middle = part * line.length
        radius = float(np.interp(middle, at, roll.radii))
        texts += text_along(
            space,
            points,
            [Wording(sweep_words(radius, sheet.job.show), _SMALL_MM)],
            beside_mm=_BESIDE_MM,
            around=(max(0.0, middle - 20.0), min(line.length, middle + 20.0)),
        )
    return texts
