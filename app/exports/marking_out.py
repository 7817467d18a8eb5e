"""Ticks, grid, contours and thin regions as a shop wants them: by its unit and its least."""

from typing import Literal

from geometry.pattern import PER_HUNDRED, FlatSheet, Pattern, marked_out

TICK_MM = {"mm": 100.0, "in": 101.6}
"""From tick to tick along the edges: 100 mm, or 4 in."""

GRID_MM = {"mm": 25.0, "in": 25.4}
"""Side of the grid's squares: 25 mm, or 1 in."""

LEVEL_STEPS = {
    "mm": PER_HUNDRED,
    "in": tuple(inches / 12.0 for inches in (0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0)),
}
"""Steps between contours to choose from: round numbers per 100, or in inches per foot."""


def marked_out_as_shown(
    pattern: Pattern,
    flat: FlatSheet,
    *,
    show: Literal["mm", "in"],
    sheet_mm: float,
    least_mm: float,
) -> Pattern:
    """Return the pattern with ticks, grid and contours in the shown unit, thin places outlined.

    Parameters
    ----------
    pattern : Pattern
    flat : FlatSheet
        What it was dressed from.
    show : {"mm", "in"}
    sheet_mm : float
        Thickness of the sheet.
    least_mm : float
        The least the maker wants the finished panel to keep.
    """
    return marked_out(
        pattern,
        flat,
        tick_mm=TICK_MM[show],
        grid_mm=GRID_MM[show],
        least_ratio=least_mm / sheet_mm,
        level_steps=LEVEL_STEPS[show],
    )
