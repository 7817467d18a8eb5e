"""Advice about seams in the words of a trade guide: what there is, and why it matters.

All of it is common practice, no source, but that a straight weld over low crown sinks, which
`geometry.breakups.seam_advice` names. Nothing here is ever a refusal.
"""

from collections.abc import Callable
from math import isfinite
from typing import Any

from app.units import angle_text, length_text, mm_text, size_text
from geometry.breakups import (
    Advice,
    EndsApartAdvice,
    InsideCornerAdvice,
    LowCrownAdvice,
    NearLineAdvice,
    TooLargeAdvice,
)

_NO_SWEEP_MM = 20_000.0
"""Skin with a flatter sweep than that is called flat."""


def advice_headline(advice: Advice, show: str = "mm") -> str:
    """Return what there is, in one line, beginning with whose it is."""
    about = advice.panel if isinstance(advice, TooLargeAdvice) else advice.seam
    return f"{about}: {_FOUND[type(advice)](advice, show)}"


def advice_reason(advice: Advice) -> str:
    """Return why it matters and what is done about it.

    >>> import numpy as np
    >>> advice_reason(EndsApartAdvice("nose", np.zeros(3), 9.0, "")).split(",")[0]
    'A seam that stops short in the skin parts nothing'
    """
    reason = _REASONS[type(advice)]
    return reason if isinstance(reason, str) else reason(advice)


def advice_place_words(advice: Advice) -> str:
    """Return what is written at its place on the tank."""
    return _AT[type(advice)]


def _low_crown(advice: LowCrownAdvice, show: str) -> str:
    length = length_text(advice.length_mm, show, 16, 0)
    if not isfinite(advice.sweep_mm) or advice.sweep_mm > _NO_SWEEP_MM:
        return f"runs straight for {length} over flat skin"
    sweep = length_text(advice.sweep_mm, show, 4, 0)
    return f"runs straight for {length} over low crown, sweep {sweep} at the tightest"


def _inside_corner(advice: InsideCornerAdvice, show: str) -> str:
    within = length_text(advice.within_mm, show, 16, 0)
    return f"turns a sharp corner, {angle_text(advice.turn_rad, 0)} within {within}"


def _near_line(advice: NearLineAdvice, show: str) -> str:
    along = length_text(advice.along_mm, show, 16, 0)
    if advice.crosses:
        return f"crosses a crisp line; {along} of it lies close to the line"
    if advice.distance_mm < 0.5:
        return f"runs on a crisp line for {along}"
    off = length_text(advice.distance_mm, show, 16, 1)
    return f"runs beside a crisp line for {along}, {off} off at the nearest"


def _ends_apart(advice: EndsApartAdvice, show: str) -> str:
    gap = length_text(advice.gap_mm, show, 16, 1)
    if advice.other:
        return f"its end just misses the end of {advice.other}, by {gap}"
    return f"one end stops {gap} short of any edge or seam"


def _too_large(advice: TooLargeAdvice, show: str) -> str:
    cut, sheet = size_text(*advice.cut_mm, show), size_text(*advice.sheet_mm, show)
    return f"needs {cut} with its trim; the largest stock sheet is {sheet}"


_FOUND: dict[type[Advice], Callable[[Any, str], str]] = {
    LowCrownAdvice: _low_crown,
    InsideCornerAdvice: _inside_corner,
    NearLineAdvice: _near_line,
    EndsApartAdvice: _ends_apart,
    TooLargeAdvice: _too_large,
}

_ON_LINE = (
    "Heat takes the edge off a crease, and the file takes the rest when the bead is dressed. Keep "
    f"the seam {mm_text(6.0, 0)} to {mm_text(12.0, 0)} (1/4 to 1/2 in) beside the line, where the "
    "crease itself keeps the weld from sinking."
)
_OVER_LINE = (
    "A seam may cross a crease, but square to it and in one place: heat takes the edge off, and "
    "the line has to be set up again there over a dolly before the bead is dressed."
)


def _near_line_reason(advice: NearLineAdvice) -> str:
    return _OVER_LINE if advice.crosses else _ON_LINE


def _ends_apart_reason(advice: EndsApartAdvice) -> str:
    if advice.other:
        return (
            "Two welds that meet a third in nearly the same place heat the sliver between them "
            "twice, and it draws out of shape. Let their ends meet in one point, or set them well "
            "apart."
        )
    return (
        "A seam that stops short in the skin parts nothing, and a cut that ends there tears on. "
        "Carry it on to an edge or to another seam, or close it to a ring."
    )


_REASONS: dict[type[Advice], str | Callable[[Any], str]] = {
    LowCrownAdvice: (
        "A weld draws in as it cools. Where the skin has crown it holds itself up; where it is "
        "nearly flat, a long straight weld sinks to a valley and has to be planished back over "
        "its whole length. Move the seam to where there is more crown, set it beside a crease or "
        "an edge, or let it run in a gentle curve. Else see that a dolly reaches all of it."
    ),
    InsideCornerAdvice: (
        "On one side of the seam this is an inside corner of the panel. The weld pulls at it from "
        "two ways at once: it puckers as it is formed and cracks first when the tank shakes. "
        "Round it as wide as the shape lets."
    ),
    NearLineAdvice: _near_line_reason,
    EndsApartAdvice: _ends_apart_reason,
    TooLargeAdvice: (
        "A blank that does not come off one sheet has to be pieced together first, with a weld "
        "nobody planned across the middle of the panel. Split the panel where a seam does least "
        "harm, or order a larger sheet before you cut."
    ),
}

_AT: dict[type[Advice], str] = {
    LowCrownAdvice: "straight over low crown",
    InsideCornerAdvice: "sharp corner",
    NearLineAdvice: "close to a crisp line",
    EndsApartAdvice: "ends apart",
    TooLargeAdvice: "too large for the sheet",
}
