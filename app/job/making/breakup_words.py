"""What break-ups cost, in the maker's words: one row for each, side by side on paper and screen."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

import numpy as np

from app.job.making.cutting import TOO_LITTLE_OVERLAP_MM2
from app.units import (
    angle_text,
    area_text,
    counted,
    length_text,
    plain_number,
    signed_change_text,
    size_text,
    thickness_text,
)
from geometry.arrays import FloatArray
from geometry.blank import Standing
from geometry.breakups import BreakUpFigures, Choice, LiftOut, PanelFigures, SeamFigures, SeamMove
from geometry.gauges import TankAxes
from geometry.metal import STOCK_SHEETS, StockSheet

NOT_FLAT = "not in one piece"
"""A panel that cannot be laid flat, and what hangs on it."""

HEADINGS = (
    "break-up", "pieces", "most stretch", "most shrink", "thinnest", "shaping work",
    "weld seen", "weld hidden", "sheet needed", "longest blank", "fits on", "out of the form",
)  # fmt: skip
"""Of the columns of `BreakUpRow`, in its order."""


@dataclass(frozen=True)
class BreakUpRow:
    """A break-up in words; see `HEADINGS`.

    Attributes
    ----------
    name : str
    pieces : str
    stretch, shrink : str
        Of the worst panel, per 100 or in inches per foot, signed.
    thinnest : str
    work : str
        For comparing only: no unit a shop knows.
    seen, hidden : str
        Lengths of weld.
    metal : str
        Rectangles with trim.
    longest : str
    fits : str
        The stock sheets that every panel fits on by itself, or which panels fit on none.
    form : str
        Whether every panel lifts out of its form, or which are locked.
    """

    name: str
    pieces: str
    stretch: str
    shrink: str
    thinnest: str
    work: str
    seen: str
    hidden: str
    metal: str
    longest: str
    fits: str
    form: str

    @property
    def cells(self) -> tuple[str, ...]:
        """Return the words in the order of `HEADINGS`."""
        return tuple(vars(self).values())


def breakup_row(
    name: str,
    figures: BreakUpFigures,
    show: str = "mm",
    sheets: Sequence[StockSheet] = STOCK_SHEETS,
) -> BreakUpRow:
    """Return a break-up in words."""
    lying = [panel for panel in figures.panels if panel.refusal is None]
    is_whole = len(lying) == len(figures.panels)

    def told(words: str) -> str:
        return words if is_whole else NOT_FLAT

    return BreakUpRow(
        name=name,
        pieces=str(figures.pieces),
        stretch=told(signed_change_text(figures.worst_stretch - 1.0, show) if is_whole else ""),
        shrink=told(signed_change_text(figures.worst_shrink - 1.0, show) if is_whole else ""),
        thinnest=told(
            thickness_text(min(panel.thinnest_mm for panel in lying), show) if is_whole else ""
        ),
        work=told(work_text(figures.work_mm2)),
        seen=length_text(figures.seen_mm, show, 16, 0),
        hidden=length_text(figures.hidden_mm, show, 16, 0),
        metal=told(area_text(figures.metal_mm2, show) if is_whole else ""),
        longest=told(length_text(figures.longest_mm, show, 16, 0) if is_whole else ""),
        fits=told(fits_words(figures, sheets)),
        form=form_words(figures),
    )


def work_text(work_mm2: float) -> str:
    """Return shaping work as a bare number, three figures of it: only ratios of it mean anything.

    >>> work_text(87.34), work_text(11234.0), work_text(0.0312), work_text(float("nan"))
    ('87.3', '11,200', '0', '?')
    """
    if not isfinite(work_mm2):
        return "?"
    if work_mm2 >= 1000.0:
        return f"{round(work_mm2, -2):,.0f}"
    return plain_number(work_mm2)


def fits_words(figures: BreakUpFigures, sheets: Sequence[StockSheet] = STOCK_SHEETS) -> str:
    """Return on which stock sheets every panel fits by itself, or which panels fit on none."""
    held = [sheet.name for sheet in sheets if not figures.too_large(sheet)]
    if held:
        return "any stock sheet" if len(held) == len(sheets) else ", ".join(held)
    none = [
        name
        for name in (panel.name for panel in figures.panels)
        if all(name in figures.too_large(sheet) for sheet in sheets)
    ]
    return "too large: " + ", ".join(none) if none else "no one sheet for all"


def form_words(figures: BreakUpFigures) -> str:
    """Return whether every panel lifts out of its form, or which are locked there."""
    return "all lift out" if not figures.held else "locked: " + ", ".join(figures.held)


def lift_words(lift: LiftOut, show: str = "mm") -> str:
    """Return how one panel comes out of its form."""
    if lift.is_free:
        return f"lifts out, least draft {angle_text(lift.draft_rad, 0)}"
    return (
        f"locked here: {area_text(lift.locked_area_mm2, show)}, "
        f"{angle_text(lift.angle_rad, 0)} past square"
    )


def panel_words(panel: PanelFigures, show: str = "mm") -> tuple[tuple[str, str], ...]:
    """Return what one panel costs, as pairs of what it is and how much."""
    lift = ("form", lift_words(panel.lift, show))
    if panel.refusal is not None:
        return (("blank", NOT_FLAT), lift)
    return (
        ("most stretch", signed_change_text(panel.worst_stretch - 1.0, show)),
        ("most shrink", signed_change_text(panel.worst_shrink - 1.0, show)),
        ("thinnest", thickness_text(panel.thinnest_mm, show)),
        ("cut blank", size_text(*panel.cut_mm, show)),
        ("skin over blank", plain_number(panel.growth, 3)),
        lift,
    )


def panel_warnings(
    panel: PanelFigures,
    show: str = "mm",
    *,
    least_mm: float = 0.0,
    sheets: Sequence[StockSheet] = STOCK_SHEETS,
) -> tuple[str, ...]:
    """Return what there is to look at in one panel, each in a few words; what is locked apart."""
    if panel.refusal is not None:
        return (NOT_FLAT,)
    found = []
    if panel.standing is Standing.TOO_DEEP:
        found.append("too deep for one piece")
    elif panel.standing is Standing.UNSETTLED:
        found.append("not settled: its figures mean nothing yet")
    if panel.overlap_mm2 > TOO_LITTLE_OVERLAP_MM2:
        found.append(f"blank lies over itself by {area_text(panel.overlap_mm2, show, 1)}")
    if panel.thinnest_mm < least_mm:
        found.append(f"thinner than {thickness_text(least_mm, show)}")
    short, long = sorted(panel.cut_mm)
    if not any(
        short <= min(sheet.width_mm, sheet.length_mm)
        and long <= max(sheet.width_mm, sheet.length_mm)
        for sheet in sheets
    ):
        found.append("too large for any stock sheet")
    return tuple(found)


def seam_words(seam: SeamFigures, show: str = "mm") -> str:
    """Return how long a seam is and how much of it is seen."""
    if seam.hidden_mm <= 0.0:
        return f"{length_text(seam.length_mm, show)}, seen"
    if seam.seen_mm <= 0.0:
        return f"{length_text(seam.length_mm, show)}, hidden"
    return f"{length_text(seam.length_mm, show)}, {length_text(seam.hidden_mm, show)} of it hidden"


def move_words(move: SeamMove, choice: Choice, axes: TankAxes, show: str = "mm") -> str:
    """Return what moving one seam of a proposal would change; "" where a piece lay flat no more."""
    if not isfinite(move.work):
        return ""
    by, shrink = length_text(abs(move.by_mm), show), signed_change_text(move.worst_shrink - 1, show)
    weld = length_text(move.weld_mm, show, 16, 0)
    way = way_words(axes.axes @ move.towards, _hand_of(move.seam, choice, axes))
    return (
        f"{move.seam} {by} {way}: work x {move.work / choice.work:.2f}, shrink {shrink}, "
        f"weld {weld}"
    )


def way_words(towards: FloatArray, hand: float) -> str:
    """Return which way on the tank a seam moves.

    Parameters
    ----------
    towards : (3,) float
        Ahead, left, up.
    hand : float
        Above 0 for a seam on the left, below 0 on the right: across the tank a seam moves outward
        or inward with its mirror image.

    >>> way_words(np.array([0.2, 0.1, -0.9]), 1.0), way_words(np.array([0.0, -1.0, 0.0]), -3.0)
    ('down', 'outward')
    """
    most = int(np.argmax(np.abs(towards)))
    ahead = towards[most] > 0.0
    if most == 1:
        return "outward" if ahead == (hand >= 0.0) else "inward"
    return (("to the front", "to the rear"), ("", ""), ("up", "down"))[most][0 if ahead else 1]


def _hand_of(name: str, choice: Choice, axes: TankAxes) -> float:
    """Return how far to the left the middle of a seam lies."""
    seam = next(each for each in choice.seams if each.name == name)
    return float(axes.to_tank(seam.points)[len(seam.points) // 2, 1])


def breakup_line(figures: BreakUpFigures, show: str = "mm") -> str:
    """Return a break-up in one line."""
    row = breakup_row("", figures, show)
    pieces, weld = counted(figures.pieces, "piece"), length_text(figures.weld_mm, show, 16, 0)
    if row.shrink == NOT_FLAT:
        return f"{pieces}, not all can be laid flat; {weld} of weld"
    return f"{pieces}, stretch {row.stretch}, shrink {row.shrink} at most; {weld} of weld"
