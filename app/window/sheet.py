"""What the sheet shows, and the look that view and painter share."""

from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QPen

from app.job import Blank
from app.window.look import INK, SEAM, SHRINK_TO_STRETCH
from geometry.arrays import FloatArray
from geometry.pattern import Pattern

FIRST = QPen(QColor(INK), 2.0)
SECOND = QPen(QColor(SEAM), 2.0, Qt.PenStyle.DashLine)


def change_colour(share: float) -> QColor:
    """Return the colour of a signed change, as a share of the scale's end."""
    places = [place for place, _ in SHRINK_TO_STRETCH]
    channels = np.array([colour for _, colour in SHRINK_TO_STRETCH], np.float64)
    return QColor(*(round(float(np.interp(share, places, channels[:, k]))) for k in range(3)))


@dataclass(frozen=True, eq=False)
class Sheet:
    """What the sheet shows.

    Attributes
    ----------
    blank : Blank
    pattern : Pattern or None
        Its trim line and marks, once dressed.
    limit : float
        End of the colour scale, signed change.
    may_cut : bool
        Whether a cut line may be shown.
    stale : bool
        Out of date: to be looked at only.
    from_inside : bool
        Which face is up.
    has_front : bool
        Whether FRONT lies along the sheet.
    show : str
        mm or in.
    sheet_mm : float
        Thickness of the sheet.
    least_mm : float
        Thinnest the maker accepts.
    stretched, shrunk : tuple of (k, 2) float
        Round what changes by the least contour's value or more; hatched by the even-odd rule.
    against : Against or None
        While two ways are compared: the second blank, and what both are called.
    """

    blank: Blank
    pattern: Pattern | None
    limit: float
    may_cut: bool
    stale: bool
    from_inside: bool
    has_front: bool
    show: str
    sheet_mm: float
    least_mm: float
    stretched: tuple[FloatArray, ...] = ()
    shrunk: tuple[FloatArray, ...] = ()
    against: "Against | None" = None


@dataclass(frozen=True, eq=False)
class Against:
    """A second blank laid on the first.

    Attributes
    ----------
    net : (k, 2) float, mm
        Its net line, seen from outside.
    ways : (str, str)
        What the first and the second are called.
    """

    net: FloatArray
    ways: tuple[str, str]
