"""What the bench pages share: a page on its side, the blank drawn to fit, the picture, tables."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from app.exports.drawing import (
    A4,
    Drawing,
    FreeSpace,
    Line,
    Meaning,
    Page,
    Placed,
    Text,
    Told,
    fitted,
    leader,
    place_text,
    straight,
    text_width,
)
from app.exports.facts import PanelSheet, reason_not_to_cut
from app.exports.marks import patch_lines, patch_sentences
from app.exports.pages.in_sight import PICTURE_MM, Sight
from app.exports.pages.title import ARROW_MM, FOOTER_MM, Cell, footer, paragraph, view_arrow
from app.units import fraction_text, plain_number
from geometry.arrays import FloatArray

MARGIN_MM = 10.0
TEXT_MM = 2.5
ROW_MM = 4.4
WIDTH_MM, HEIGHT_MM = A4[1], A4[0]
LOW_MM = MARGIN_MM + FOOTER_MM + 3.0
TOP_MM = HEIGHT_MM - MARGIN_MM - 7.0
BLANK_RIGHT_MM = 160.0
SIDE_MM = 167.0
"""Where picture and tables begin."""

PICTURE_LOW_MM = TOP_MM - PICTURE_MM[1]
_NUMBER_MM = 34.0
_NO_DATA_MM = 3.0
_COPIED_MM = 7.0
_BESIDE_MM = 8.0
"""Room round the blank for ticks, names and numbers."""

NAME_MM = 3.0
_NAMES_OFF_MM = (6.0, 12.0, 20.0, 30.0, -14.0, -20.0, 45.0)
"""How far within the blank an edge's name is looked for, below 0 outside it; best first."""

_LED_FROM_MM = 5.0
"""A name farther off its edge than this is led to it."""

_COLUMN_GAP_MM = 1.8

SCALES = (1.0, 2.0, 2.5, 4.0, 5.0, 10.0, 20.0, 25.0, 40.0, 50.0, 100.0)
"""How many times smaller a blank may be drawn. 1:2, 1:5 and 1:10 and their tens: [iso5455]; 1:2.5
and 1:4, which rules for drawing have too: common practice, no source."""

OnPage = Callable[[FloatArray], FloatArray]
Box = tuple[float, float, float, float]


@dataclass(frozen=True, eq=False)
class FittedBlank:
    """The blank where it is drawn on a page.

    Attributes
    ----------
    scale : float
        Page over blank; 1 at most.
    on_page : function
        Takes places on the blank, seen from outside, to the page, mm.
    """

    scale: float
    on_page: OnPage

    @property
    def scale_words(self) -> str:
        """How large it is drawn."""
        if self.scale == 1.0:
            return "drawn full size"
        return f"scale 1:{plain_number(1.0 / self.scale, 1)}: NOT FULL SIZE"


def noted(sheet: PanelSheet, sentences: Sequence[str]) -> tuple[Placed, Box]:
    """Return sentences at the foot of the left half of a page, and the box left for the blank.

    What patches mean is always among them.
    """
    cell = paragraph([*sentences, *patch_sentences(sheet)], BLANK_RIGHT_MM - MARGIN_MM, TEXT_MM)
    top = LOW_MM + cell.height_mm
    return Placed(cell.drawing, MARGIN_MM, top), (MARGIN_MM, top + 1.0, BLANK_RIGHT_MM, TOP_MM)


def fitted_blank(sheet: PanelSheet, box: Box, *, beside_mm: float = _BESIDE_MM) -> FittedBlank:
    """Return the blank as large as a plain scale lets it in a box of the page, full size at most.

    A blank too large for any of `SCALES` is drawn as large as fits.
    """
    outline = outer_line(sheet)
    placed = sheet.lay.on_paper(outline)
    low, extent = placed.min(axis=0), np.ptp(placed, axis=0)
    left, bottom, right, top = box
    room = np.array([right - left, top - bottom]) - 2.0 * beside_mm
    scale = plain_scale(float((room / extent).min()))
    middle = np.array([left + right, bottom + top]) / 2.0
    shift = middle - scale * (low + extent / 2.0)

    def on_page(points: FloatArray) -> FloatArray:
        return np.asarray(sheet.lay.on_paper(points) * scale + shift)

    return FittedBlank(scale, on_page)


def plain_scale(most: float) -> float:
    """Return the largest plain scale no larger than one that fits.

    >>> plain_scale(1.7), plain_scale(0.386), plain_scale(0.264), plain_scale(0.0007)
    (1.0, 0.25, 0.25, 0.0007)
    """
    return next((1.0 / times for times in SCALES if times * most >= 1.0 - 1e-9), most)


def outer_line(sheet: PanelSheet) -> FloatArray:
    """Return the line to cut, or the net line where nothing may be cut."""
    trim = sheet.pattern.trim
    return sheet.pattern.net if trim is None or reason_not_to_cut(sheet) is not None else trim


def outlines(sheet: PanelSheet, on_page: OnPage) -> list[Line]:
    """Return net line, line to cut if there is one, openings, and patches that are no scan."""
    lines = [*patch_lines(sheet, on_page, no_data_mm=_NO_DATA_MM, copied_mm=_COPIED_MM)]
    lines += [Line(Meaning.NET, on_page(sheet.pattern.net), closed=True)]
    if outer_line(sheet) is not sheet.pattern.net:
        lines.append(Line(Meaning.CUT, on_page(outer_line(sheet)), closed=True))
    lines += [
        Line(Meaning.AFTER_FORMING, on_page(opening.outline), closed=True)
        for opening in sheet.pattern.openings
    ]
    return lines


def courses(lines: Sequence[Line]) -> list[FloatArray]:
    """Return lines as text has to keep off them."""
    return [line.course for line in lines]


def box_space(
    box: Box,
    lines: Sequence[Line] = (),
    better_clear_of: Sequence[Line] = (),
) -> FreeSpace:
    """Return the room in a box, clear of lines."""
    left, bottom, right, top = box
    outline = np.array([[left, bottom], [right, bottom], [right, top], [left, top]])
    return FreeSpace(outline, courses(lines), courses(better_clear_of))


def level_name(
    space: FreeSpace, name: str, near: FloatArray, reach_mm: float, *, bold: bool
) -> list[Text]:
    """Return a name on a picture, level, at the free place nearest a point; nothing if none is."""
    size = (text_width(name, TEXT_MM, bold=bold) + 1.0, 1.6 * TEXT_MM)
    found = space.place(size, near, reach_mm=reach_mm)
    if found is None:
        return []
    place = (found[0], found[1] - 0.4 * TEXT_MM)
    return [Text(name, place, TEXT_MM, "middle", bold=bold, masked=True)]


def edge_names(
    sheet: PanelSheet, on_page: OnPage, space: FreeSpace, texts: Sequence[Text] = ()
) -> Told:
    """Return every edge's name within the blank, by a leader where it has to stand far off.

    Parameters
    ----------
    sheet : PanelSheet
    on_page : function
    space : FreeSpace
        Of the page, clear of everything drawn.
    texts : sequence of Text
        Words that no leader may cross.
    """
    net = Line(Meaning.NET, on_page(sheet.pattern.net), closed=True).course
    middle = shapely.get_coordinates(shapely.Polygon(net).representative_point())[0]
    told = Told()
    for edge in sorted(sheet.pattern.edges, key=lambda each: each.flat_mm):
        line = shapely.LineString(on_page(edge.points))
        tries = [(off, part) for off in _NAMES_OFF_MM for part in (0.5, 0.35, 0.65)]
        for off, part in tries:
            foot = shapely.get_coordinates(line.interpolate(part, normalized=True))[0]
            inward = (middle - foot) / max(float(np.linalg.norm(middle - foot)), 1e-9)
            room = space.also_clear_of(courses(told.leaders))
            words = f"edge {edge.letter}"
            found = place_text(room, words, foot + off * inward, NAME_MM, 6.0, bold=True)
            if not found:
                continue
            far = shapely.Polygon(found[0].outline).distance(line) > _LED_FROM_MM
            led = leader(found[0], foot) if far else ()
            if not any(meets(way, text) for way in led for text in (*texts, *told.texts)):
                told += Told((found[0],), tuple(led))
                break
    return told


def meets(line: Line, text: Text) -> bool:
    """Return whether a straight line runs through words."""
    return bool(shapely.intersects(shapely.LineString(line.points), shapely.Polygon(text.outline)))


def number_text(length_mm: float, show: str, decimals: int = 1, denominator: int = 32) -> str:
    """Return a length as a bare number of the shown unit.

    >>> number_text(49.24, "mm"), number_text(49.24, "in")
    ('49.2', '1 15/16')
    """
    if show == "mm":
        return plain_number(length_mm, decimals)
    return fraction_text(length_mm, denominator).removesuffix(" in")


def bench_page(
    sheet: PanelSheet,
    heading: str,
    blank: FittedBlank | None,
    parts: Sequence[Placed],
) -> Page:
    """Return a page on its side with its heading and its foot.

    Parameters
    ----------
    sheet : PanelSheet
    heading : str
    blank : FittedBlank or None
        What scale is told of; None for a page of words.
    parts : sequence of Placed
    """
    width = WIDTH_MM - 2.0 * MARGIN_MM
    words = fitted(f"{heading}, {sheet.panel.upper()}", width - _NUMBER_MM, 3.6)
    head = Text(words, (MARGIN_MM, HEIGHT_MM - MARGIN_MM - 3.8), 3.6, bold=True)
    scale = [] if blank is None else [f"{heading}, {blank.scale_words}. Do not cut from it."]
    reason = reason_not_to_cut(sheet)
    warning = [] if reason is None else [f"NO CUT LINE: {reason}."]
    full_size = blank is not None and blank.scale == 1.0
    foot = footer(sheet, width, [*scale, *warning], full_size=full_size)
    contents = (Placed(Drawing(texts=(head,))), *parts, Placed(foot, MARGIN_MM, MARGIN_MM))
    return Page(WIDTH_MM, HEIGHT_MM, contents)


def numbered(pages: Sequence[Page]) -> list[Page]:
    """Return the pages of one file, each told which of how many it is."""
    place = (WIDTH_MM - MARGIN_MM, HEIGHT_MM - MARGIN_MM - 3.8)
    found = []
    for number, page in enumerate(pages, start=1):
        words = Text(f"sheet {number} of {len(pages)}", place, TEXT_MM, "end")
        first, *rest = page.contents
        head = replace(first.drawing, texts=(*first.drawing.texts, words))
        found.append(replace(page, contents=(replace(first, drawing=head), *rest)))
    return found


def picture_part(
    sheet: PanelSheet, sight: Sight, drawn: Drawing, sentences: Sequence[str]
) -> tuple[Placed, Box]:
    """Return a look at the tank with lines drawn on it, and the box left below it for tables.

    Under the picture stand FRONT and what it shows.
    """
    arrow = view_arrow(sight.front_on_page(sheet.tank.front), 0.0, -ARROW_MM - 0.5)
    left = 30.0 if arrow.lines else 0.0
    told = paragraph(sentences, PICTURE_MM[0] - left, TEXT_MM)
    row = told.drawing.moved(left, 0.0)
    whole = Drawing(
        (*drawn.lines, *arrow.lines),
        (*drawn.texts, *arrow.texts, *row.texts),
        (),
        (sight.picture,),
    )
    below = PICTURE_LOW_MM - max(told.height_mm + 2.0, 9.0)
    box = (SIDE_MM, LOW_MM, WIDTH_MM - MARGIN_MM, below)
    return Placed(whole, SIDE_MM, PICTURE_LOW_MM), box


def table(
    head: Sequence[str], rows: Sequence[Sequence[str]], widths: Sequence[float], height_mm: float
) -> tuple[Cell, list[Sequence[str]]]:
    """Return as many rows as stand in a height, under their head, hanging from (0, 0); the rest."""
    count = max(int((height_mm - ROW_MM - 1.0) // ROW_MM), 0)
    shown = list(rows[:count])
    texts: list[Text] = []
    for down, row in enumerate([head, *shown]):
        x = 0.0
        for at, (words, width) in enumerate(zip(row, widths, strict=True)):
            room = sum(widths[at:]) if not any(row[at + 1 :]) else width
            text = _narrowed(words, room - 1.2, bold=down == 0)
            place = (x, -(down + 0.75) * ROW_MM - (1.0 if down else 0.0))
            texts += [Text(text, place, TEXT_MM, bold=down == 0)] if text else []
            x += width
    rule = straight(0.0, -ROW_MM - 0.3, sum(widths) - 1.5, -ROW_MM - 0.3)
    return Cell(Drawing((rule,), tuple(texts)), (len(shown) + 1) * ROW_MM + 1.0), list(rows[count:])


def _narrowed(words: str, width: float, *, bold: bool) -> str:
    """Return words cut short where they would run into the next column."""
    if text_width(words, TEXT_MM, bold=bold) <= width:
        return words
    return fitted(words, width, TEXT_MM)


def side_tables(
    head: Sequence[str],
    rows: Sequence[Sequence[str]],
    widths: Sequence[float],
    box: Box,
) -> tuple[list[Placed], list[Sequence[str]]]:
    """Return tables side by side in a box until it is full, and the rows left over."""
    left, bottom, right, top = box
    count = max(int((right - left + 2.0) // (sum(widths) + 2.0)), 1)
    rest: list[Sequence[str]] = list(rows)
    placed: list[Placed] = []
    for column in range(count):
        if not rest:
            break
        cell, rest = table(head, rest, widths, top - bottom)
        placed.append(Placed(cell.drawing, left + column * (sum(widths) + 2.0), top))
    return placed, rest


def natural_widths(head: Sequence[str], rows: Sequence[Sequence[str]]) -> tuple[float, ...]:
    """Return how wide columns have to be; words that nothing follows may run on to the right."""
    widths = [text_width(words, TEXT_MM, bold=True) for words in head]
    for row in rows:
        for at, words in enumerate(row):
            if any(row[at + 1 :]) or at == len(row) - 1:
                widths[at] = max(widths[at], text_width(words, TEXT_MM))
    widths = [width + _COLUMN_GAP_MM for width in widths]
    for row in rows:
        at = max((at for at, words in enumerate(row) if words), default=0)
        room = sum(widths[at:])
        widths[-1] += max(text_width(row[at], TEXT_MM) + _COLUMN_GAP_MM - room, 0.0)
    return tuple(widths)


def whole_list(
    sheet: PanelSheet,
    heading: str,
    head: Sequence[str],
    rows: Sequence[Sequence[str]],
    box: Box,
) -> tuple[list[Placed], list[Page]]:
    """Return a list in a box; where it does not fit there, all of it on sheets of its own.

    No sheet is added for a few rows left over.
    """
    widths = natural_widths(head, rows)
    placed, rest = side_tables(head, rows, widths, box)
    if not rest:
        return placed, []
    told = paragraph(["The list stands on the next sheet."], box[2] - box[0], TEXT_MM, bold=True)
    pages = more_tables(sheet, f"{heading}, LIST", head, rows, widths, is_continued=False)
    return [Placed(told.drawing, box[0], box[3])], pages


def more_tables(
    sheet: PanelSheet,
    heading: str,
    head: Sequence[str],
    rows: Sequence[Sequence[str]],
    widths: Sequence[float],
    *,
    is_continued: bool = True,
) -> list[Page]:
    """Return pages of tables, for rows that found no room on the page before or all of them."""
    pages: list[Page] = []
    rest: list[Sequence[str]] = list(rows)
    while rest:
        box = (MARGIN_MM, LOW_MM, WIDTH_MM - MARGIN_MM, TOP_MM)
        placed, rest = side_tables(head, rest, widths, box)
        more = ", continued" if pages or is_continued else ""
        pages.append(bench_page(sheet, f"{heading}{more}", None, placed))
    return pages
