"""How the shaper's pages usually leave: papers, roll and printer as kept in the settings."""

from app.exports import BadPaperError, Correction, Output, Paper, paper_named, roll_named
from app.settings import Settings
from app.units import Fractions


def usual_output(settings: Settings) -> Output:
    """Return papers, roll and printer as kept; what cannot be used counts as not set."""
    papers = tuple(paper for name in settings.papers if (paper := _paper(name)) is not None)
    printer = settings.printer_named(settings.printer)
    correction = Correction() if printer is None else Correction(printer.x, printer.y)
    usual = Output()
    return Output(
        papers=papers or usual.papers, roll_mm=_roll(settings.roll_mm), correction=correction
    )


def usual_fractions(settings: Settings) -> Fractions:
    """Return to which part of an inch lengths are told."""
    return Fractions(settings.cutting_fraction, settings.fit_fraction, settings.small_fraction)


def _paper(name: str) -> Paper | None:
    try:
        return paper_named(name)
    except BadPaperError:
        return None


def _roll(width_mm: float | None) -> float | None:
    try:
        return None if width_mm is None else roll_named(f"{width_mm:.4f}mm")
    except BadPaperError:
        return None
