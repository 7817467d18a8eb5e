"""The job on one page: the tank in its panels, their areas, worst changes and blank sizes."""

from collections.abc import Sequence

from app.exports.drawing import (
    A4,
    Drawing,
    Line,
    Meaning,
    Page,
    Picture,
    Placed,
    Text,
    fitted,
    straight,
    text_width,
    together,
)
from app.exports.facts import OverviewSheet, PanelSheet, reason_not_to_cut, thinnest_mm
from app.exports.pages.tank_picture import TankView, panels_coloured, picture_scale, view_of
from app.exports.pages.title import ARROW_MM, Cell, framed, paragraph, view_arrow
from app.exports.words import (
    CAUTION,
    FILLED_BY_GUESS,
    copied_words,
    extent,
    face_words,
    job_words,
    mating_words,
    proof_words,
    revision_words,
    sheet_words,
    short_change_words,
    spacing_text,
    worst_changes,
)
from app.units import area_text, counted, size_text, thickness_text
from geometry.pattern import matings

_MARGIN_MM = 10.0
_PICTURE_MM = (134.0, 76.0)
_PIXELS_PER_MM = 8
_BAR_MM = 5.0
_VIEWS = ((40.0, 28.0, "from the front left"), (220.0, 28.0, "from the rear right"))
_ROW_MM = 6.2
_TEXT_MM = 2.5
_COLUMNS = (
    ("panel", 46.0),
    ("skin area", 38.0),
    ("blank, net line", 72.0),
    ("most stretch", 44.0),
    ("most shrink", 44.0),
    ("thinnest", 33.0),
)


def overview_pages(overview: OverviewSheet) -> list[Page]:
    """Return the overview: one A4 page on its side, more only where the table needs them."""
    width, height = A4[::-1]
    foot = _foot(overview, width - 2 * _MARGIN_MM)
    top = height - _MARGIN_MM
    low = max(34.0, foot.height_mm + _MARGIN_MM + 1.0)
    first_room = int((top - 14.0 - _PICTURE_MM[1] - ARROW_MM - 12.0 - low) // _ROW_MM)
    next_room = int((top - 24.0 - low) // _ROW_MM)
    rows = list(overview.panels)
    groups = [rows[:first_room]]
    rest = rows[first_room:]
    while rest:
        groups.append(rest[:next_room])
        rest = rest[next_room:]
    pages = []
    for number, group in enumerate(groups, start=1):
        table_top = top - 14.0 - (_PICTURE_MM[1] + ARROW_MM + 4.0 if number == 1 else 0.0)
        contents = [
            Placed(_heading(overview, number, len(groups)), _MARGIN_MM, top),
            Placed(_table(group), _MARGIN_MM, table_top),
            Placed(foot.drawing, _MARGIN_MM, _MARGIN_MM),
        ]
        if number == 1:
            contents.append(Placed(_pictures(overview), _MARGIN_MM, top - 12.0))
        pages.append(Page(width, height, tuple(contents)))
    return pages


def _heading(overview: OverviewSheet, number: int, count: int) -> Drawing:
    job = overview.job
    title = f"OVERVIEW  {job_words(job)}" + (f"  page {number} of {count}" if count > 1 else "")
    facts = f"{sheet_words(job)}   {revision_words(job)}   {counted(len(overview.panels), 'panel')}"
    return Drawing(
        texts=(
            Text(fitted(title, 180.0, 4.5), (0.0, -4.5), 4.5, bold=True),
            Text(facts, (0.0, -9.5), 2.6),
        )
    )


def _pictures(overview: OverviewSheet) -> Drawing:
    """Return both views side by side, hanging from (0, 0)."""
    parts = []
    for index, (sideways, upward, words) in enumerate(_VIEWS):
        view = view_of(
            overview.tank,
            sideways,
            upward,
            round(_PICTURE_MM[0] * _PIXELS_PER_MM),
            round(_PICTURE_MM[1] * _PIXELS_PER_MM),
        )
        x, y = index * (_PICTURE_MM[0] + 8.0), -_PICTURE_MM[1]
        pixels = panels_coloured(view, hatch_px=round(2.6 * _PIXELS_PER_MM))
        picture = Picture(pixels, (x, y), *_PICTURE_MM)
        parts.append(Drawing(pictures=(picture,)))
        parts.append(_names(overview, view).moved(x, y))
        seen = words if view.front_on_page is not None else "FRONT NOT SET"
        parts.append(view_arrow(view.front_on_page, x + 2.0, y - ARROW_MM))
        parts.append(Drawing(texts=(Text(seen, (x + 30.0, y - 4.3), 2.5),)))
    return together(parts)


def _names(overview: OverviewSheet, view: TankView) -> Drawing:
    """Return the names of the panels in sight, each deepest inside its own part."""
    texts = []
    for index, name in enumerate(overview.tank.names):
        place = view.middle_of(index)
        if place is None or view.depth_of(index) < 2.5 * _PIXELS_PER_MM:
            continue
        x = place[0] / _PIXELS_PER_MM
        y = _PICTURE_MM[1] - place[1] / _PIXELS_PER_MM
        half = text_width(name, 2.6, bold=True) / 2.0 + 1.0
        x = min(max(x, half), _PICTURE_MM[0] - half)
        texts.append(Text(name, (x, y - 1.3), 2.6, "middle", bold=True, masked=True))
    return Drawing(texts=tuple(texts))


def _table(sheets: Sequence[PanelSheet]) -> Drawing:
    """Return the rows of some panels under a heading, hanging from (0, 0)."""
    width = sum(column for _, column in _COLUMNS)
    lines: list[Line] = [straight(0.0, -_ROW_MM, width, -_ROW_MM)]
    texts: list[Text] = []
    for row, cells in enumerate([[name for name, _ in _COLUMNS], *map(_cells, sheets)]):
        x = 0.0
        for words, (_, column) in zip(cells, _COLUMNS, strict=True):
            bold = row == 0 or x == 0.0
            texts.append(
                Text(
                    fitted(words, column - 1.5, _TEXT_MM),
                    (x, -row * _ROW_MM - 4.4),
                    _TEXT_MM,
                    bold=bold,
                )
            )
            x += column
        level = -(row + 1) * _ROW_MM
        lines.append(straight(0.0, level, width, level, Meaning.GRID))
    return Drawing(tuple(lines), tuple(texts))


def _cells(sheet: PanelSheet) -> list[str]:
    job = sheet.job
    reason = reason_not_to_cut(sheet)
    name = sheet.panel if reason is None else f"{sheet.panel} (NO CUT LINE)"
    return [
        name,
        area_text(sheet.flat.formed_area, job.show),
        size_text(*extent(sheet.pattern.net), job.show),
        *_change_cells(sheet),
    ]


def _change_cells(sheet: PanelSheet) -> list[str]:
    """Return the worst changes and the thinnest; of a blank not settled none is known."""
    if not sheet.flat.converged:
        return ["not settled", "not settled", "not known"]
    job = sheet.job
    largest, smallest = worst_changes(sheet)
    return [
        short_change_words(largest, job.show),
        short_change_words(smallest, job.show),
        thickness_text(thinnest_mm(sheet.flat, job.thickness_mm), job.show),
    ]


def _foot(overview: OverviewSheet, width_mm: float) -> Cell:
    """Return the foot of a page, standing on (0, 0): proof, surface, hatches, caution, a bar."""
    job = overview.job
    reasons = sorted({r for sheet in overview.panels if (r := reason_not_to_cut(sheet))})
    sentences = [
        proof_words(job),
        f"Surface: {job.surface}. Scan file in {job.scan_unit}. "
        "Sizes in mm and inch; the pictures show shape, not size.",
        *(f"NO CUT LINE: {reason}" for reason in reasons),
        *mating_words(matings({sheet.panel: sheet.pattern for sheet in overview.panels}), job.show),
        *_patch_words(overview),
        *_besides_words(overview),
        CAUTION,
    ]
    text = paragraph(sentences, width_mm - 86.0)
    top = max(21.0, text.height_mm + _BAR_MM)
    box = framed(face_words(job), 3.0).drawing.moved(0.0, top - 1.0)
    rule = Drawing((straight(0.0, top + 2.0, width_mm, top + 2.0),))
    parts = [rule, box, text.drawing.moved(84.0, top), _picture_bar(overview)]
    return Cell(together(parts), top + 2.0)


def _patch_words(overview: OverviewSheet) -> list[str]:
    """Return what the hatches on the pictures mean, in one line, where there are any."""
    tank = overview.tank
    found: list[str] = []
    if tank.filled is not None and tank.filled.any():
        found.append(f"Crossed hatch: {FILLED_BY_GUESS}.")
    if tank.copied is not None and tank.copied.any():
        found.append(f"Broken steep hatch: {copied_words(overview.job)}.")
    return [" ".join(found)] if found else []


def _besides_words(overview: OverviewSheet) -> list[str]:
    """Return what else is laid out flat, with the size of each, where there is anything."""
    pieces = [
        f"{piece.name} {size_text(piece.width_mm, piece.height_mm, overview.job.show)}"
        for piece in overview.besides
    ]
    return [f"Besides the panels, on pages of their own: {'; '.join(pieces)}."] if pieces else []


def _picture_bar(overview: OverviewSheet) -> Drawing:
    """Return a bar of the tank's own size in the first picture: 100 mm at its scale."""
    width, height = (round(side * _PIXELS_PER_MM) for side in _PICTURE_MM)
    scale = picture_scale(overview.tank, *_VIEWS[0][:2], width, height) / _PIXELS_PER_MM
    length = 100.0 * scale
    lines = [
        straight(0.0, 3.0, length, 3.0, Meaning.BAR),
        straight(0.0, 2.0, 0.0, 4.0, Meaning.BAR),
        straight(length, 2.0, length, 4.0, Meaning.BAR),
    ]
    words = Text(
        f"{spacing_text(100.0, overview.job.show)} on the left picture", (length + 2.0, 1.8), 2.5
    )
    return Drawing(tuple(lines), (words,))
