"""What a cutting file holds: the pattern and, clear of it, a scale square and what this is."""

from collections.abc import Sequence

import numpy as np

from app.exports.drawing import Drawing, Meaning, Text, layer_of, rectangle, together, wrapped
from app.exports.facts import PanelSheet, reason_not_to_cut
from app.exports.marks import patch_meanings, with_outline
from app.exports.pages.panel_drawing import listed_words, pattern_drawing
from app.exports.words import (
    CAUTION,
    face_words,
    flange_sentences,
    grain_words,
    job_words,
    makes_words,
    proof_words,
    revision_words,
    sheet_words,
    sure_words,
)
from geometry.arrays import FloatArray
from geometry.pattern import Outline

SQUARE_MM = 100.0
_CLEAR_MM = 20.0
_TEXT_MM = 4.0
_ROW_MM = 8.0
_WIDEST_MM = 420.0


class NothingToCutError(Exception):
    """A cutting file was asked for where nothing may be cut.

    Attributes
    ----------
    panel, reason : str
    """

    def __init__(self, panel: str, reason: str) -> None:
        self.panel, self.reason = panel, reason
        super().__init__(f"{panel}: {reason}")


def cutting_sheet(sheet: PanelSheet, outline: Outline = "arcs") -> Drawing:
    """Return everything a cutting file holds, turned to the marked face.

    Parameters
    ----------
    sheet : PanelSheet
    outline : "arcs" or "splines"
        What the outlines are made of.

    Raises
    ------
    NothingToCutError
        There is no CUT line, so that a net line might be taken for it.
    ValueError
        A place is no number.
    """
    reason, trim = reason_not_to_cut(sheet), sheet.pattern.trim
    if reason is not None:
        raise NothingToCutError(sheet.panel, reason)
    _check_numbers(sheet, [sheet.pattern.net, *([] if trim is None else [trim])])
    drawing = with_outline(pattern_drawing(sheet), sheet, outline)
    whole = together([drawing, _beside(sheet, drawing)])
    _check_numbers(sheet, [line.points for line in whole.lines])
    seen = tuple(line for line in whole.lines if np.ptp(line.points, axis=0).max() > 0.0)
    return Drawing(seen, whole.texts, whole.fills, whole.pictures)


def _check_numbers(sheet: PanelSheet, lines: Sequence[FloatArray]) -> None:
    if not all(np.isfinite(points).all() for points in lines):
        raise ValueError(f"a place on the pattern of {sheet.panel} is no number")


def _beside(sheet: PanelSheet, drawing: Drawing) -> Drawing:
    """Return the scale square and the words, below the blank and clear of it."""
    left, bottom, _, _ = drawing.box
    top = bottom - _CLEAR_MM
    square = rectangle(left, top - SQUARE_MM, left + SQUARE_MM, top, Meaning.BAR)
    rows = [
        "SCALE CHECK: this square is 100 mm (3.937 in) each way. Drawing unit: mm.",
        job_words(sheet.job),
        f"{sheet.panel.upper()}. {face_words(sheet.job)}",
        makes_words(sheet.panel),
        f"{sheet_words(sheet.job)}. {revision_words(sheet.job)}",
        proof_words(sheet.job),
        f"{grain_words(sheet.job)}. {sure_words(sheet)}",
        *(f"{words} (layer {layer_of(m)})" for m, words in patch_meanings(sheet).items()),
        "Cut layer CUT only. AFTER_FORMING is cut after forming. All else is drawn, not cut.",
        *flange_sentences(sheet),
        CAUTION,
        *listed_words(sheet),
    ]
    place = np.array([left + SQUARE_MM + 8.0, top - 8.0])
    texts = [
        Text(words, (place[0], place[1] - _ROW_MM * index), _TEXT_MM)
        for index, words in enumerate(
            line for row in rows for line in wrapped(row, _WIDEST_MM, _TEXT_MM)
        )
    ]
    return Drawing((square,), tuple(texts))
