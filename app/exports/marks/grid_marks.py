"""The names of the grid's columns and rows on the blank, by which readings of squares are typed."""

import numpy as np

from app.exports.drawing import FreeSpace, Text, place_text
from app.exports.facts import PanelSheet
from app.exports.marks.listing import Listing
from geometry.arrays import FloatArray
from geometry.pattern import NamedGrid, named_grid

_TEXT_MM = 2.5
_TRIED = 4
"""So many squares from either end of a column or row its name may stand in."""


def squares_of(sheet: PanelSheet) -> NamedGrid | None:
    """Return the squares of a pattern's grid by name; None where it has no grid."""
    pattern = sheet.pattern
    if pattern.grid_mm <= 0.0 or not pattern.grid:
        return None
    return named_grid(pattern.net, pattern.centre, pattern.grid_mm)


def grid_names(sheet: PanelSheet, space: FreeSpace, listing: Listing) -> list[Text]:
    """Return "col. C" and "row 4" in the first square of each with room, from the grid's edge in.

    What finds no room is listed where most do not; else it is counted from those beside it.

    Parameters
    ----------
    sheet : PanelSheet
    space : FreeSpace
        Clear of grid lines.
    listing : Listing
    """
    squares, whole = squares_of(sheet), sheet.pattern.squares
    if squares is None or whole is None or not len(whole.middles):
        return []
    texts: list[Text] = []
    missing = []
    ranks = _ranks(squares, whole.middles)
    for words, middles in ranks:
        for middle in sheet.lay.on_paper(middles):
            found = place_text(space, words, middle, _TEXT_MM, 0.4 * squares.side_mm)
            if found:
                texts += found
                break
        else:
            missing.append(words)
    if 2 * len(missing) > len(ranks):  # one alone is counted from its neighbours
        listing.add(f"Not named on the grid: {', '.join(missing)}")
    return texts


def _ranks(squares: NamedGrid, middles: FloatArray) -> list[tuple[str, FloatArray]]:
    """Return every column's and row's words with its whole squares, from both ends in."""
    at = np.round((middles - squares.middle_of(0, 0)) / squares.side_mm).astype(int)
    column, row = -at[:, 0], -at[:, 1]
    found = []
    for is_row, (ranks, along) in enumerate(((column, row), (row, column))):
        for rank in np.unique(ranks).tolist():
            mine = middles[ranks == rank][np.argsort(along[ranks == rank], kind="stable")]
            words = f"row {rank + 1}" if is_row else f"col. {squares.column_name(rank)}"
            found.append((words, np.concatenate([mine[:_TRIED], mine[::-1][:_TRIED]])))
    return found
