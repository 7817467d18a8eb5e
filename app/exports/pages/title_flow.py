"""The whole title of a full-size page: in one block, or in columns down as many as it takes."""

from app.exports.drawing import Drawing, straight, together
from app.exports.pages.full_size import FullSize
from app.exports.pages.title import (
    GAP_MM,
    Cell,
    columns_across,
    foot_of_title,
    in_columns,
    legend_cell,
    paragraph,
    stacked,
)

_RULE_MM = 3.0
_BELOW_PARAGRAPH_MM = 1.0
_BELOW_LEGEND_MM = 2.0


def title(full: FullSize, width_mm: float) -> Cell:
    """Return the whole title, as wide as asked, bars and a caution along its foot."""
    count, pitch = columns_across(width_mm)
    cells = [
        full.identity(),
        paragraph(full.facts(), pitch - GAP_MM),
        legend_cell(full.legend(), pitch - GAP_MM),
        *(paragraph(rows, pitch - GAP_MM) for rows in full.lists() if rows),
    ]
    block = in_columns(cells, count, pitch)
    rule = Cell(Drawing((straight(0, 0, width_mm, 0),)), 3.0)
    return stacked([rule, block, foot_of_title(width_mm)])


def titles_in_columns(full: FullSize, width_mm: float, height_mm: float) -> list[Cell]:
    """Return the whole title as blocks no higher than asked, who and what on each of them.

    Parameters
    ----------
    full : FullSize
    width_mm, height_mm : float
        Of one block.
    """
    count, pitch = columns_across(width_mm)
    foot = foot_of_title(width_mm)
    room = height_mm - foot.height_mm - _RULE_MM
    first = full.identity()
    columns: list[list[Cell]] = [[first]]
    left, apart = room - first.height_mm, GAP_MM
    for group in _groups(full, pitch - GAP_MM):
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


def _groups(full: FullSize, width_mm: float) -> list[list[Cell]]:
    """Return what the title tells beside who and what, by subject, in parts not to be torn."""
    rows = [[_row(words, width_mm) for words in rows] for rows in (full.facts(), *full.lists())]
    legend = [_close(legend_cell([row], width_mm), _BELOW_LEGEND_MM) for row in full.legend()]
    return [rows[0], legend, *rows[1:]]


def _row(words: str, width_mm: float) -> Cell:
    return _close(paragraph([words], width_mm), _BELOW_PARAGRAPH_MM)


def _close(cell: Cell, air_mm: float) -> Cell:
    """Return a cell without the air below it: another of its kind follows."""
    return Cell(cell.drawing, cell.height_mm - air_mm)
