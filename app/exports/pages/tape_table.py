"""The tape table on paper: lengths to be taped on the original, where, and a box for each reading.

The maker proves the scan in five minutes: ten readings beside ten of ours.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from app.exports.drawing import (
    A4,
    Drawing,
    Meaning,
    Page,
    Picture,
    Placed,
    Text,
    fitted,
    rectangle,
    straight,
    together,
)
from app.exports.facts import JobFacts, TankModel
from app.exports.pages.tape_picture import TapePicture, pictures_of
from app.exports.pages.tape_words import (
    heading_words,
    held_points,
    least_words,
    limit_words,
    moved_words,
    ours_words,
    where_words,
    wrong_place,
)
from app.exports.pages.title import ARROW_MM, Cell, paragraph, stacked, view_arrow
from app.exports.words import CAUTION, proof_words, revision_words
from app.units import Fractions
from geometry.arrays import FloatArray
from geometry.gauges import TapeTable, TapeValue

_MARGIN_MM = 10.0
_TEXT_MM = 2.5
_PICTURE_MM = (36.0, 22.0)
_ROW_GAP_MM = 1.6
_COLUMNS = (0.0, 8.0, 46.0, 118.0, 152.5, 174.5)
"""Where number, picture, words, ours, the box and the limit begin."""

_BOX_MM = (20.5, 11.0)
_NAME_OFF_MM = 2.6


@dataclass(frozen=True, eq=False)
class TapeSheet:
    """What the tape table is made from.

    Attributes
    ----------
    job : JobFacts
    tank : TankModel
    table : TapeTable
    fractions : Fractions
    """

    job: JobFacts
    tank: TankModel
    table: TapeTable
    fractions: Fractions = field(default_factory=Fractions)


def tape_table_pages(sheet: TapeSheet) -> list[Page]:
    """Return the tape table: upright A4, as many pages as the rows need."""
    width = A4[0] - 2 * _MARGIN_MM
    values = sheet.table.values
    tapes = [(value.line, held_points(value)) for value in values]
    pictures = pictures_of(sheet.tank, tapes, *_PICTURE_MM)
    rows = [
        _row(sheet, number, value, picture)
        for number, (value, picture) in enumerate(zip(values, pictures, strict=True), start=1)
    ]
    foot, caution = _foot(sheet, width), _caution(width)
    room = A4[1] - 2 * _MARGIN_MM - 26.0
    groups = _grouped(rows, room - caution.height_mm, room - foot.height_mm)
    pages = []
    for number, group in enumerate(groups, start=1):
        head = _head(sheet, number, len(groups), width)
        body = stacked([head, *group])
        under = foot if number == len(groups) else caution
        pages.append(
            Page(
                *A4,
                (
                    Placed(body.drawing, _MARGIN_MM, A4[1] - _MARGIN_MM),
                    Placed(under.drawing, _MARGIN_MM, _MARGIN_MM + under.height_mm),
                ),
            )
        )
    return pages


def _grouped(rows: Sequence[Cell], room_mm: float, last_room_mm: float) -> list[list[Cell]]:
    """Return rows page by page; the last page has less room, and holds one row at least."""
    groups: list[list[Cell]] = [[]]
    for row in rows:
        if groups[-1] and sum(each.height_mm for each in (*groups[-1], row)) > room_mm:
            groups.append([])
        groups[-1].append(row)
    if len(groups[-1]) > 1 and sum(row.height_mm for row in groups[-1]) > last_room_mm:
        groups.append([groups[-1].pop()])
        while (
            len(groups[-2]) > len(groups[-1]) + 1
            and sum(row.height_mm for row in (groups[-2][-1], *groups[-1])) <= last_room_mm
        ):
            groups[-1].insert(0, groups[-2].pop())
    return groups


def _caution(width_mm: float) -> Cell:
    """Return what stands below every page but the last, hanging from (0, 0)."""
    text = paragraph(
        ["What the words mean stands below the last row.", CAUTION], width_mm, _TEXT_MM
    )
    return stacked([Cell(Drawing((straight(0.0, 0.0, width_mm, 0.0),)), 1.0), text])


def _head(sheet: TapeSheet, number: int, count: int, width_mm: float) -> Cell:
    job = sheet.job
    title = f"TAPE TABLE  {job.job}"
    page = f"sheet {number} of {count}"
    texts = [
        Text(fitted(title, width_mm - 30.0, 4.5), (0.0, -5.0), 4.5, bold=True),
        Text(page, (width_mm, -5.0), _TEXT_MM, "end"),
        Text(fitted(revision_words(job), width_mm, _TEXT_MM), (0.0, -10.0), _TEXT_MM),
    ]
    names = ("", "", "what, and where to hold it", "ours", "taped", "limit")
    texts += [
        Text(name, (x, -16.5), _TEXT_MM, bold=True)
        for name, x in zip(names, _COLUMNS, strict=True)
        if name
    ]
    return Cell(Drawing((straight(0.0, -18.5, width_mm, -18.5),), tuple(texts)), 19.5)


def _row(sheet: TapeSheet, number: int, value: TapeValue, picture: TapePicture) -> Cell:
    """Return one value, hanging from (0, 0), a thin line below it."""
    show = sheet.job.show
    words = stacked(
        [
            paragraph([heading_words(value)], _COLUMNS[3] - _COLUMNS[2] - 2.0, 2.7, bold=True),
            paragraph(
                where_words(value, sheet.table, show), _COLUMNS[3] - _COLUMNS[2] - 2.0, _TEXT_MM
            ),
        ]
    )
    height = max(_PICTURE_MM[1] + ARROW_MM, words.height_mm) + _ROW_GAP_MM
    first, second = ours_words(value, sheet.fractions, show)
    box_low = -3.0 - _BOX_MM[1]
    texts = [
        Text(str(number), (0.0, -6.0), 4.0, bold=True),
        Text(first, (_COLUMNS[3], -6.0), 3.6, bold=True),
        Text(second, (_COLUMNS[3], -10.8), _TEXT_MM),
        Text(limit_words(value, show), (_COLUMNS[5], -6.0), _TEXT_MM),
    ]
    slip = paragraph(moved_words(value, show), _COLUMNS[4] - _COLUMNS[3], _TEXT_MM)
    right = A4[0] - 2 * _MARGIN_MM
    lines = [
        rectangle(_COLUMNS[4], box_low, _COLUMNS[4] + _BOX_MM[0], -3.0),
        straight(0.0, -height, right, -height, Meaning.GRID),
    ]
    parts = [
        Drawing(tuple(lines), tuple(texts)),
        words.drawing.moved(_COLUMNS[2], 0.0),
        slip.drawing.moved(_COLUMNS[3], -11.4),
        _pictured(picture).moved(_COLUMNS[1], -_PICTURE_MM[1] - 0.8),
        view_arrow(picture.front, _COLUMNS[1], -_PICTURE_MM[1] - ARROW_MM - 0.8),
    ]
    return Cell(together(parts), height)


def _pictured(picture: TapePicture) -> Drawing:
    """Return the picture, the places the tape is held at named A, B and C."""
    width, height = _PICTURE_MM
    drawn = Picture(picture.pixels, (0.0, 0.0), width, height)
    places = picture.held * [width, height]
    middle = places.mean(axis=0) if len(places) > 1 else np.array([width, height]) / 2.0
    texts: list[Text] = []
    for name, place in zip("ABC", places, strict=False):
        way = place - middle
        size = float((way @ way) ** 0.5)
        way = way / size if size > 0.5 else np.array([0.0, 1.0])
        texts.append(_named(name, place, way, texts))
    return Drawing(texts=tuple(texts), pictures=(drawn,))


def _named(name: str, place: FloatArray, way: FloatArray, others: Sequence[Text]) -> Text:
    """Return a place's name beside its dot, away from the others, off the names there are."""
    width, height = _PICTURE_MM
    best, least = place, np.inf
    for turn in np.deg2rad([0, 35, -35, 70, -70, 110, -110, 150, -150, 180]):
        cos, sin = np.cos(turn), np.sin(turn)
        x, y = place + _NAME_OFF_MM * np.array(
            [cos * way[0] - sin * way[1], sin * way[0] + cos * way[1]]
        )
        held = np.array([np.clip(x, 1.6, width - 1.6), np.clip(y, 1.6, height - 1.6)])
        gaps = [np.hypot(held[0] - o.place[0], held[1] - 1.25 - o.place[1]) for o in others]
        cost = abs(turn) + (20.0 if min(gaps, default=9.0) < 3.2 else 0.0)
        cost += 10.0 if np.hypot(*(held - place)) < 0.8 * _NAME_OFF_MM else 0.0
        if cost < least:
            best, least = held, cost
    return Text(
        name, (float(best[0]), float(best[1]) - 1.25), 2.5, "middle", bold=True, masked=True
    )


def _foot(sheet: TapeSheet, width_mm: float) -> Cell:
    """Return what to do with the readings, hanging from (0, 0)."""
    show = sheet.job.show
    scribe = "0.5 mm" if show == "mm" else "1/64 in"
    sentences = [
        "The tape lies on the outside as scanned, paint included. Ahead is level, from the "
        "rearmost place of the tank as it stands; up is from its lowest. Broken lines run where "
        "the picture does not show them. No tape here lies on a place nobody scanned"
        + ("." if not sheet.job.copied_from else ", nor on the side made from the other one."),
        f"Marks: scribe them to {scribe}; straight ones are arcs struck from the place told. An "
        "edge line is a bend a finger feels, held on the middle of its round; the metal's edge is "
        "where it ends: leave those out if the scan was cut back from it.",
        f"With care: by how much a tape held with care may read off; {wrong_place(show)}: with an "
        "end held so far off along its edge.",
        *([least_words(sheet.table, show)] if sheet.table.values else []),
        "A reading off by more than its limit: tape it again. If it stays off, the scan is not "
        "this tank, or not its size: cut nothing until you know why.",
        *_fewer(sheet.table),
        proof_words(sheet.job),
    ]
    text = paragraph(sentences, width_mm, _TEXT_MM)
    caution = paragraph([CAUTION], width_mm, _TEXT_MM, bold=True)
    rule = Cell(Drawing((straight(0.0, 0.0, width_mm, 0.0),)), 1.0)
    return stacked([rule, text, caution])


def _fewer(table: TapeTable) -> list[str]:
    found = len(table.values)
    if found >= table.asked:
        return []
    if not found:
        return [
            "No length could be found that a tape proves: too little was scanned, or nothing on "
            "the skin tells a tape where to lie."
        ]
    return [f"Only {found} of {table.asked}: nothing else on the skin tells a tape where to lie."]
