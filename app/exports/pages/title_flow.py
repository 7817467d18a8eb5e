"""The whole title in columns down a page of one height, on as many pages as it takes."""

from collections.abc import Sequence

from app.exports.drawing import Drawing, Meaning, straight, together
from app.exports.facts import PanelSheet
from app.exports.pages.panel_drawing import listed_words
from app.exports.pages.title import (
    GAP_MM,
    Cell,
    columns_across,
    edge_rows,
    foot_of_title,
    identity,
    legend_cell,
    paragraph,
    stacked,
)
from app.exports.words import fact_words

_RULE_MM = 3.0
_BELOW_PARAGRAPH_MM = 1.0
_BELOW_LEGEND_MM = 2.0


def titles_in_columns(
    sheet: PanelSheet, width_mm: float, height_mm: float, legend: Sequence[tuple[Meaning, str]]
) -> list[Cell]:
    """Return the whole title as blocks no higher than asked, who and what on each of them.

    Parameters
    ----------
    sheet : PanelSheet
    width_mm, height_mm : float
        Of one block.
    legend : sequence of (Meaning, str)
        The lines drawn, and their names.
    """
    count, pitch = columns_across(width_mm)
    foot = foot_of_title(width_mm)
    room = height_mm - foot.height_mm - _RULE_MM
    first = identity(sheet)
    columns: list[list[Cell]] = [[first]]
    left, apart = room - first.height_mm, GAP_MM
    for group in _groups(sheet, pitch - GAP_MM, legend):
        for cell in group:
            if apart + cell.height_mm > left and left < room:
                starts_page = len(columns) % count == 0
                columns.append([first] if starts_page else [])
                left = room - (first.height_mm if starts_page else 0.0)
                apart = GAP_MM if starts_page else 0.0
            columns[-1] += [Cell(Drawing(), apart), cell]
            left, apart = left - apart - cell.height_mm, 0.0
        apart = GAP_MM
    rule = Cell(Drawing((straight(0.0, 0.0, width_mm, 0.0),)), _RULE_MM)
    blocks = []
    for start in range(0, len(columns), count):
        beside = [stacked(column) for column in columns[start : start + count]]
        drawing = together([cell.drawing.moved(at * pitch, 0.0) for at, cell in enumerate(beside)])
        blocks.append(stacked([rule, Cell(drawing, max(cell.height_mm for cell in beside)), foot]))
    return blocks


def _groups(
    sheet: PanelSheet, width_mm: float, legend: Sequence[tuple[Meaning, str]]
) -> list[list[Cell]]:
    """Return what the title tells beside who and what, by subject, in parts not to be torn."""
    return [
        [_row(words, width_mm) for words in fact_words(sheet)],
        [_close(legend_cell([row], width_mm), _BELOW_LEGEND_MM) for row in legend],
        [_row(words, width_mm) for words in edge_rows(sheet)],
        [_row(words, width_mm) for words in listed_words(sheet)],
    ]


def _row(words: str, width_mm: float) -> Cell:
    return _close(paragraph([words], width_mm), _BELOW_PARAGRAPH_MM)


def _close(cell: Cell, air_mm: float) -> Cell:
    """Return a cell without the air below it: another of its kind follows."""
    return Cell(cell.drawing, cell.height_mm - air_mm)
