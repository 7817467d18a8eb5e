"""A4 pages whose drawings are not full size: a title, what hangs below it, what stands at the foot.

What stands between is made by the module of each page.
"""

from collections.abc import Callable, Sequence

from app.exports.drawing import A4, Drawing, Page, Placed, Text, fitted, straight
from app.exports.facts import JobFacts
from app.exports.pages.title import Cell, paragraph, stacked
from app.exports.words import job_words, revision_words, sheet_words

MARGIN_MM = 10.0
TEXT_MM = 2.5
WIDE_MM = A4[0] - 2.0 * MARGIN_MM
"""Of an upright page between its margins."""

_TITLE_MM = 4.5
_NUMBER_MM = 30.0
_FLOWED_HEAD_MM = 14.0
"""Room kept for the heads of pages that are filled row by row."""


def ruled_head(job: JobFacts, title: str, *, after: str = "", numbered: str = "") -> Cell:
    """Return a title over the job's sheet and revision, a line below.

    `after` ends the words; on the right stands which sheet of how many it is.
    """
    room = WIDE_MM - (_NUMBER_MM if numbered else 0.0)
    words = "   ".join(part for part in (sheet_words(job), revision_words(job), after) if part)
    name = fitted(f"{title}  {job_words(job)}", room, _TITLE_MM)
    texts = [
        Text(name, (0.0, -5.0), _TITLE_MM, bold=True),
        Text(fitted(words, WIDE_MM, TEXT_MM), (0.0, -10.0), TEXT_MM),
    ]
    if numbered:
        texts.insert(1, Text(numbered, (WIDE_MM, -5.0), TEXT_MM, "end"))
    return Cell(Drawing((straight(0.0, -12.0, WIDE_MM, -12.0),), tuple(texts)), 14.0)


def list_head(title: str, below: str, numbered: str = "", *, title_mm: float = _TITLE_MM) -> Cell:
    """Return a title over a line of words, and on the right which sheet of how many it is."""
    room = WIDE_MM - (_NUMBER_MM if numbered else 0.0)
    texts = [
        Text(fitted(title, room, title_mm), (0.0, -5.0), title_mm, bold=True),
        Text(fitted(below, WIDE_MM, TEXT_MM), (0.0, -10.0), TEXT_MM),
    ]
    if numbered:
        texts.insert(1, Text(numbered, (WIDE_MM, -5.0), TEXT_MM, "end"))
    return Cell(Drawing(texts=tuple(texts)), 13.0)


def page_foot(
    sentences: Sequence[str], warnings: Sequence[str] = (), *, width_mm: float = WIDE_MM
) -> Cell:
    """Return sentences under a line across the page, warnings in bold last."""
    cells = [
        Cell(Drawing((straight(0.0, 0.0, width_mm, 0.0),)), 1.0),
        paragraph(sentences, width_mm, TEXT_MM),
    ]
    if warnings:
        cells.append(paragraph(warnings, width_mm, TEXT_MM, bold=True))
    return stacked(cells)


def column_names(names: Sequence[str], columns: Sequence[float]) -> Cell:
    """Return the names of a list's columns where they begin, a line below."""
    texts = [
        Text(name, (x, -4.0), TEXT_MM, bold=True) for name, x in zip(names, columns, strict=True)
    ]
    return Cell(Drawing((straight(0.0, -6.0, WIDE_MM, -6.0),), tuple(texts)), 6.6)


def room_mm(head: Cell, foot: Cell, *, size: tuple[float, float] = A4) -> float:
    """Return how high what stands between may be."""
    return size[1] - 2.0 * MARGIN_MM - head.height_mm - foot.height_mm


def reduced_page(head: Cell, body: Cell, foot: Cell, *, size: tuple[float, float] = A4) -> Page:
    """Return a page of a title, what hangs below it, and what stands at its foot."""
    down = size[1] - MARGIN_MM
    contents = (
        Placed(head.drawing, MARGIN_MM, down),
        Placed(body.drawing, MARGIN_MM, down - head.height_mm),
        Placed(foot.drawing, MARGIN_MM, MARGIN_MM + foot.height_mm),
    )
    return Page(*size, contents)


def flowed(
    first: Sequence[Cell], rows: Sequence[Cell], again: Cell, foot: Cell
) -> list[list[Cell]]:
    """Return what stands on each page of a list.

    Parameters
    ----------
    first : sequence of Cell
        Before the first row.
    rows : sequence of Cell
    again : Cell
        The names of the columns, on every page after the first.
    foot : Cell
    """
    room = A4[1] - 2.0 * MARGIN_MM - _FLOWED_HEAD_MM - foot.height_mm
    groups = [list(first)]
    for row in rows:
        if sum(cell.height_mm for cell in groups[-1]) + row.height_mm > room:
            groups.append([again])
        groups[-1].append(row)
    return groups


def numbered_pages(
    groups: Sequence[Sequence[Cell]], head_of: Callable[[int, str], Cell], foot: Cell
) -> list[Page]:
    """Return a page for each group of cells.

    Parameters
    ----------
    groups : sequence of sequences of Cell
    head_of : function
        Takes which group it is, from 0, and the words "sheet 2 of 3"; returns its head.
    foot : Cell
    """
    return [
        reduced_page(head_of(at, f"sheet {at + 1} of {len(groups)}"), stacked(group), foot)
        for at, group in enumerate(groups)
    ]


def titled_pages(
    job: JobFacts,
    titles: Sequence[str],
    groups: Sequence[Sequence[Cell]],
    foot: Cell,
    *,
    after: str = "",
) -> list[Page]:
    """Return a page for each group of cells, each under a ruled head of its own title.

    Parameters
    ----------
    job : JobFacts
    titles : sequence of str
        As many as there may be groups; the last one serves for all after it.
    groups : sequence of sequences of Cell
    foot : Cell
    after : str
        Ends the words of every head.
    """

    def head_of(at: int, numbered: str) -> Cell:
        title = titles[min(at, len(titles) - 1)]
        return ruled_head(job, title, after=after, numbered=numbered)

    return numbered_pages(groups, head_of, foot)
