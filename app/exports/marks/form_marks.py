"""What finds the blank in the form: numbered ticks on its edge, its middle, the deepest place.

Worked out once for all pages of a panel: those that show it reduced and the full-size ones.
"""

from functools import lru_cache

import numpy as np

from app.exports.drawing import Line, Meaning, straight
from app.exports.facts import PanelSheet, Show, TankModel
from geometry.arrays import FloatArray
from geometry.pattern import FlatSheet, FormGuide, Pattern, form_guide

FORM_TICKS_MM: dict[Show, float] = {"mm": 50.0, "in": 50.8}
"""From tick to tick along the form's rim: 50 mm, or 2 in."""

_CROSS_MM = 2.6
_RING_MM = 1.6


def form_guide_of(sheet: PanelSheet) -> FormGuide:
    """Return where the blank of a panel lies in its form."""
    return _guide(sheet.flat, sheet.pattern, sheet.tank, sheet.job.show)


@lru_cache(maxsize=8)
def _guide(flat: FlatSheet, pattern: Pattern, tank: TankModel, show: Show) -> FormGuide:
    return form_guide(flat, pattern, spacing_mm=FORM_TICKS_MM[show], ahead=tank.front)


def deepest_mark(place: FloatArray) -> list[Line]:
    """Return an upright cross in a ring."""
    x, y = place.tolist()
    turn = np.linspace(0.0, 2.0 * np.pi, 32, endpoint=False)
    circle = place + _RING_MM * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    return [
        straight(x - _CROSS_MM, y, x + _CROSS_MM, y, Meaning.DEEPEST),
        straight(x, y - _CROSS_MM, x, y + _CROSS_MM, Meaning.DEEPEST),
        Line(Meaning.DEEPEST, circle, closed=True),
    ]
