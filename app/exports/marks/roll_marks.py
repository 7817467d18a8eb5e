"""Roll lines and folds on paper: the line, what to do along it, its sweep radius all along."""

import numpy as np
import shapely

from app.exports.drawing import FreeSpace, Line, Meaning, Told, Wording, words_beside
from app.exports.facts import PanelSheet
from app.exports.marks.listing import Listing
from app.exports.words import roll_words, sweep_words
from geometry.pattern import RollLine

_TEXT_MM = 2.5
_OFF_MM = (0.8, 2.0, 4.0, 6.0, 9.0)
_LED_FROM_MM = 2.0
"""Words farther off their line are led to it: another roll line may be as near."""

_OTHER_RADIUS = 0.05
"""A sweep that changes by more than this part along a line is told near its ends too."""


def roll_drawn(sheet: PanelSheet) -> list[Line]:
    """Return the lines to roll or fold along, in the maker's view."""
    return [
        Line(roll_meaning(sheet, roll), sheet.lay.on_paper(roll.points))
        for roll in sheet.pattern.rolls
    ]


def roll_meaning(sheet: PanelSheet, roll: RollLine) -> Meaning:
    """Return what a line is for: to roll along, or to bend up or down as the maker sees it."""
    if not roll.is_fold:
        return Meaning.ROLL
    return Meaning.BEND_UP if rolls_up(sheet, roll) else Meaning.BEND_DOWN


def rolls_up(sheet: PanelSheet, roll: RollLine) -> bool:
    """Return whether the metal beside a line comes towards the maker, who sees the marked face."""
    return roll.towards_outside != (sheet.lay.face == "inside")


def roll_texts(sheet: PanelSheet, space: FreeSpace, listing: Listing) -> Told:
    """Return what to do along each roll line, and its sweep where that changes along it."""
    show = sheet.job.show
    half = sheet.job.thickness_mm / 2.0
    told = Told()
    for roll in sheet.pattern.rolls:
        points = sheet.lay.on_paper(roll.points)
        up = rolls_up(sheet, roll)
        radius = max(0.0, float(np.median(roll.radii)) - half)
        words = roll_words(radius, roll.turn_rad, up=up, is_fold=roll.is_fold, show=show)
        wordings = [Wording(words, _TEXT_MM)]
        if not roll.is_fold:
            wordings.append(Wording(sweep_words(radius, show), _TEXT_MM))
        found = words_beside(space, points, wordings, off_mm=_OFF_MM, led_from_mm=_LED_FROM_MM)
        told += found or listing.beside_line(
            space, points, words if roll.is_fold else f"roll line: {words}"
        )
        if not roll.is_fold:
            told += _sweeps_along(roll, sheet, space, listing)
    return told


def _sweeps_along(roll: RollLine, sheet: PanelSheet, space: FreeSpace, listing: Listing) -> Told:
    """Return the sweep near both ends of a line along which it changes, as on a cone."""
    told = Told()
    if np.ptp(roll.radii) <= _OTHER_RADIUS * float(np.median(roll.radii)):
        return told
    points = sheet.lay.on_paper(roll.points)
    line = shapely.LineString(points)
    at = shapely.line_locate_point(line, shapely.points(points))
    for part in (0.08, 0.92):
        middle = part * line.length
        radius = float(np.interp(middle, at, roll.radii)) - sheet.job.thickness_mm / 2.0
        words = sweep_words(max(0.0, radius), sheet.job.show)
        around = (max(0.0, middle - 20.0), min(line.length, middle + 20.0))
        wordings = [Wording(words, _TEXT_MM)]
        found = words_beside(
            space, points, wordings, around=around, off_mm=_OFF_MM, led_from_mm=_LED_FROM_MM
        )
        told += found or listing.beside_line(
            space, points, f"inside {words} at this end of the roll line", around=around
        )
    return told
