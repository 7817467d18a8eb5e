"""Advice raised about a job's seams by itself, and which of it is not to be told again."""

from collections.abc import Sequence
from dataclasses import dataclass

from app.job.choices import JobState
from app.job.edits import note_of, with_advice_hushed, with_advice_told
from app.job.steps import made
from geometry.breakups import Advice, BreakUpFigures, TooLargeAdvice
from geometry.metal import STOCK_SHEETS, StockSheet


@dataclass(frozen=True, eq=False)
class Raised:
    """A piece of advice as it stands in a job.

    Attributes
    ----------
    advice : Advice
    seam : str
        In whose note it is hushed.
    kind : str
        What it is hushed as.
    is_hushed : bool
    """

    advice: Advice
    seam: str
    kind: str
    is_hushed: bool


def raised_advice(state: JobState) -> tuple[Raised, ...]:
    """Return all advice on the seams as they are drawn, the hushed too; none while out of date.

    A panel too large for every stock sheet is told as well. It has no seam of its own: it is hushed
    in the note of the first one, by its panel's name.
    """
    if not state.seams:
        return ()
    found: tuple[Advice, ...] = made(state, "Advice") or ()
    raised = [_raised(state, each, each.seam, each.kind) for each in found]
    figures: BreakUpFigures | None = made(state, "Costs") or made(state, "Judged")
    for each in () if figures is None else too_large(figures):
        kind = f"{each.kind}: {each.panel}"
        raised.append(_raised(state, each, state.seams[0].name, kind))
    return tuple(raised)


def with_raised_hushed(state: JobState, raised: Raised) -> JobState:
    """Return the job with a piece of advice not told again."""
    return with_advice_hushed(state, raised.seam, raised.kind)


def with_raised_told(state: JobState, raised: Raised) -> JobState:
    """Return the job with a piece of advice told again."""
    return with_advice_told(state, raised.seam, raised.kind)


def too_large(
    figures: BreakUpFigures, sheets: Sequence[StockSheet] = STOCK_SHEETS
) -> tuple[TooLargeAdvice, ...]:
    """Return the panels whose blank comes off none of the sheets, told with the largest."""
    largest = max(sheets, key=lambda sheet: sheet.area_mm2)
    short, long = sorted((largest.width_mm, largest.length_mm))
    return tuple(
        TooLargeAdvice("", panel.place, panel.name, panel.cut_mm, (long, short))
        for panel in figures.panels
        if all(panel.name in figures.too_large(sheet) for sheet in sheets)
    )


def _raised(state: JobState, advice: Advice, seam: str, kind: str) -> Raised:
    return Raised(advice, seam, kind, kind in note_of(state, seam).hushed)
