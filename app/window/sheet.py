"""What the sheet shows, and the look that view and painter share."""

from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QPen

from app.job import Blank
from app.window.look import INK, SEAM, SHRINK_TO_STRETCH
from geometry.arrays import FloatArray
from geometry.blank import FlatPanel
from geometry.datum import Point3
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
    is_turned : bool
        Shown turned by half a turn, so that TOP is up as on paper.
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
    is_turned: bool = False


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


_LEVEL = float(np.sin(np.radians(10.0)))


def top_hangs_down(flat: FlatPanel, top: Point3 | None) -> bool:
    """Return whether a panel's top lies at the bottom of its blank, v upward.

    Parameters
    ----------
    flat : FlatPanel
    top : (float, float, float) or None
        The tank's way up; None where nobody said it.

    Returns
    -------
    bool
        Also False where the panel lies level, on the tank or along the sheet.
    """
    if top is None:
        return False
    height = flat.vertices @ (np.asarray(top) / np.linalg.norm(top))
    places = flat.flat_vertices - flat.flat_vertices.mean(axis=0)
    rise = np.linalg.lstsq(places, height - height.mean(), rcond=None)[0]
    steep = float(np.linalg.norm(rise))
    return steep > _LEVEL and float(rise[1]) < -_LEVEL * steep
