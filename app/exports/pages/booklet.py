"""Several flat pieces bound in one file to print: a page of contents, then every piece's tiles.

A shop prints a dozen boards at once. Each piece keeps its own key plan, bars and title; the
contents say on which pages it is and whether tiles of it have to be joined.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from app.exports.drawing import Drawing, Page, Placed, Text, fitted, straight
from app.exports.facts import JobFacts
from app.exports.output import Paper
from app.exports.pages.tiling import FILING_MM, MARGIN_MM
from app.exports.pages.title import Cell, paragraph, ruled_row, stacked
from app.exports.plate import Plate
from app.exports.words import CAUTION, proof_words, revision_words
from app.units import counted

_TEXT_MM = 2.5
_COLUMNS_MM = (0.0, 38.0, 58.0, 94.0)
_NAMES = ("board", "pages", "tiles to join", "what it is for")
_STAMP_MM = (2.5, 4.5)
"""How high a page's number is, and how far up from the paper's edge: below the frame."""


@dataclass(frozen=True, eq=False)
class BoundPiece:
    """A flat piece in a booklet.

    Attributes
    ----------
    plate : Plate
    pages : tuple of Page
        Its key plan, then its tiles.
    """

    plate: Plate
    pages: tuple[Page, ...]


def booklet_pages(
    title: str, job: JobFacts, pieces: Sequence[BoundPiece], paper: Paper
) -> list[Page]:
    """Return the contents and then every piece's pages, all numbered through.

    Parameters
    ----------
    title : str
        What is bound.
    job : JobFacts
    pieces : sequence of BoundPiece
        At least one, their pages made for the paper.
    paper : Paper
    """
    width = paper.width_mm - FILING_MM - MARGIN_MM
    head, foot = _head(title, job, paper, width), _foot(job, width)
    room = paper.height_mm - 2.0 * MARGIN_MM - head.height_mm - foot.height_mm
    groups = _grouped([_row(piece, 1, width) for piece in pieces], room)
    number = len(groups) + 1
    rows: list[Cell] = []
    for piece in pieces:
        rows.append(_row(piece, number, width))
        number += len(piece.pages)
    pages = [
        _contents(stacked([head, *rows[group.start : group.stop]]), foot, paper) for group in groups
    ]
    pages[0] = replace(pages[0], begins="contents")
    pages += [page for piece in pieces for page in _opened(piece)]
    return [
        _numbered(page, f"{title}, {paper.name}, page {at} of {len(pages)}")
        for at, page in enumerate(pages, start=1)
    ]


def _grouped(rows: Sequence[Cell], room_mm: float) -> list[range]:
    """Return which rows stand on each page."""
    starts, left = [0], room_mm
    for at, row in enumerate(rows):
        if row.height_mm > left and at > starts[-1]:
            starts.append(at)
            left = room_mm
        left -= row.height_mm
    return [
        range(start, stop) for start, stop in zip(starts, [*starts[1:], len(rows)], strict=True)
    ]


def _head(title: str, job: JobFacts, paper: Paper, width_mm: float) -> Cell:
    """Return what is bound, how to print it, and the names of the columns."""
    name = Text(fitted(f"{title.upper()}  {job.job}", width_mm, 4.5), (0.0, -5.0), 4.5, bold=True)
    told = paragraph(
        [
            revision_words(job),
            f"Contents of the whole file, for {paper.name}. Print at 100 %, never fit to page: one "
            "board first, and measure its bars. Every board has a key plan, then its tiles; a "
            "board on one tile has nothing to join.",
        ],
        width_mm,
        _TEXT_MM,
    )
    names = [
        Text(words, (x, -4.0), _TEXT_MM, bold=True)
        for words, x in zip(_NAMES, _COLUMNS_MM, strict=True)
    ]
    row = Cell(Drawing((straight(0.0, -5.6, width_mm, -5.6),), tuple(names)), 5.6)
    return stacked([Cell(Drawing(texts=(name,)), 8.0), told, row])


def _foot(job: JobFacts, width_mm: float) -> Cell:
    return paragraph([proof_words(job), CAUTION], width_mm, _TEXT_MM)


def _row(piece: BoundPiece, first: int, width_mm: float) -> Cell:
    """Return the row of a piece whose pages begin with this number."""
    last = first + len(piece.pages) - 1
    cells = [
        piece.plate.name,
        str(first) if first == last else f"{first} - {last}",
        _tiles_words([page.tile for page in piece.pages if page.tile]),
        " ".join(filter(None, (piece.plate.makes, piece.plate.where, _no_cut_words(piece.plate)))),
    ]
    return ruled_row(cells, _COLUMNS_MM, width_mm)


def _no_cut_words(plate: Plate) -> str:
    return "" if plate.no_cut is None else f"NO CUT LINE: {plate.no_cut}."


def _tiles_words(tiles: Sequence[str]) -> str:
    """Return which tiles are joined.

    >>> _tiles_words(["A1"]), _tiles_words(["A1", "A2"])
    ('none: one tile', '2 tiles: A1, A2')
    """
    if len(tiles) == 1:
        return "none: one tile"
    return f"{counted(len(tiles), 'tile')}: {', '.join(tiles)}"


def _contents(body: Cell, foot: Cell, paper: Paper) -> Page:
    return Page(
        paper.width_mm,
        paper.height_mm,
        (
            Placed(body.drawing, FILING_MM, paper.height_mm - MARGIN_MM),
            Placed(foot.drawing, FILING_MM, MARGIN_MM + foot.height_mm),
        ),
    )


def _opened(piece: BoundPiece) -> tuple[Page, ...]:
    """Return a piece's pages, the first listed by viewers under its name."""
    first, *rest = piece.pages
    return (replace(first, begins=piece.plate.name), *rest)


def _numbered(page: Page, words: str) -> Page:
    high, up = _STAMP_MM
    stamp = Text(words, (page.width_mm - MARGIN_MM, up), high, "end")
    return replace(page, contents=(*page.contents, Placed(Drawing(texts=(stamp,)))))
