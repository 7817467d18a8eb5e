"""What a cutting file holds: the pattern and, clear of it, a scale square and what this is."""

from collections.abc import Sequence

import numpy as np

from app.exports.drawing import Drawing, Meaning, Text, layer_of, rectangle, together, wrapped
from app.exports.pages.full_size import FullSize
from app.exports.pages.laid_on_paper import Flat, on_paper
from app.exports.words import CAUTION, job_words, proof_words, revision_words, sheet_words
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


def cutting_sheet(sheet: Flat, outline: Outline = "arcs") -> Drawing:
    """Return everything a cutting file holds, turned to the marked face.

    Parameters
    ----------
    sheet : PanelSheet, Plate or FullSize
    outline : "arcs" or "splines"
        What the outlines are made of.

    Raises
    ------
    NothingToCutError
        There is no CUT line, so that a net line might be taken for it.
    ValueError
        A place is no number.
    """
    full = on_paper(sheet)
    reason = full.no_cut
    if reason is not None:
        raise NothingToCutError(full.name, reason)
    _check_numbers(full, full.outlines())
    drawing = full.cutting_drawing(outline)
    whole = together([drawing, _beside(full, drawing)])
    _check_numbers(full, [line.points for line in whole.lines])
    seen = tuple(line for line in whole.lines if np.ptp(line.points, axis=0).max() > 0.0)
    return Drawing(seen, whole.texts, whole.fills, whole.pictures)


def _check_numbers(full: FullSize, lines: Sequence[FloatArray]) -> None:
    if not all(np.isfinite(points).all() for points in lines):
        raise ValueError(f"a place on the pattern of {full.name} is no number")


def _beside(full: FullSize, drawing: Drawing) -> Drawing:
    """Return the scale square and the words, below the piece and clear of it."""
    left, bottom, _, _ = drawing.box
    top = bottom - _CLEAR_MM
    square = rectangle(left, top - SQUARE_MM, left + SQUARE_MM, top, Meaning.BAR)
    name, face, makes = full.headings
    first, *rest = full.cutting_facts()
    rows = [
        "SCALE CHECK: this square is 100 mm (3.937 in) each way. Drawing unit: mm.",
        job_words(full.job),
        f"{name}. {face}" if face else name,
        *([makes] if makes else []),
        f"{sheet_words(full.job)}. {revision_words(full.job)}",
        proof_words(full.job),
        first,
        *(f"{words} (layer {layer_of(m)})" for m, words in full.hatches().items()),
        "Cut layer CUT only. AFTER_FORMING is cut after forming. All else is drawn, not cut.",
        *rest,
        CAUTION,
    ]
    place = np.array([left + SQUARE_MM + 8.0, top - 8.0])
    texts = [
        Text(words, (place[0], place[1] - _ROW_MM * index), _TEXT_MM)
        for index, words in enumerate(
            line for row in rows for line in wrapped(row, _WIDEST_MM, _TEXT_MM)
        )
    ]
    return Drawing((square,), tuple(texts))
