"""The run sheet of flanges: where each runs, and station by station what its edge has to do.

Not full size: what is laid along the edge is a plate of its own.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.exports.drawing import A4, Drawing, Line, Meaning, Page, Placed, Text, fitted, straight
from app.exports.facts import JobFacts
from app.exports.pages.title import Cell, paragraph, stacked
from app.exports.words import CAUTION, proof_words, revision_words
from app.job import (
    FlangeMade,
    Flanges,
    flange_along,
    flange_entries,
    flange_metal_words,
    flange_run_words,
    flange_warning_words,
)
from geometry.arrays import FloatArray
from geometry.metal import SheetMetal
from geometry.tank import FlangeStation

_MARGIN_MM = 10.0
_TEXT_MM = 2.5
_ROW_MM = 4.4
_HAND_MM = 81.0
_COLUMNS = (0.0, 7.0, 28.0)
"""Where number, distance and the first hand begin."""

_IN_HAND = (0.0, 8.0, 33.5, 57.0, 66.0)
_NAMED = ("turn", "radius", "cut edge", "lip", "metal")
_INCHES = ("in (mm)", "in/ft, /100")
_PICTURE_MM = 66.0
_TICK_MM = 3.0


@dataclass(frozen=True, eq=False)
class FlangeSheet:
    """What the run sheet is made from.

    Attributes
    ----------
    job : JobFacts
    flanges : Flanges
    metal : SheetMetal or None
        The job's, where its figures are known.
    """

    job: JobFacts
    flanges: Flanges
    metal: SheetMetal | None


def flange_pages(sheet: FlangeSheet) -> list[Page]:
    """Return the run sheets: upright A4, each flange on pages of its own."""
    width = A4[0] - 2.0 * _MARGIN_MM
    foot = _foot(sheet, width)
    room = A4[1] - 2.0 * _MARGIN_MM - 14.0 - foot.height_mm
    groups: list[tuple[int, list[Cell]]] = []
    for number, made in enumerate(sheet.flanges.made, start=1):
        names = _names(sheet, made, width)
        cells = [_told(sheet, made, width), _picture(made, width), names]
        groups.append((number, cells))
        for row in _rows(sheet, made, width):
            if sum(cell.height_mm for cell in groups[-1][1]) + row.height_mm > room:
                groups.append((number, [names]))
            groups[-1][1].append(row)
    return [
        Page(
            *A4,
            (
                Placed(
                    stacked([_head(sheet, number, at, len(groups), width), *cells]).drawing,
                    _MARGIN_MM,
                    A4[1] - _MARGIN_MM,
                ),
                Placed(foot.drawing, _MARGIN_MM, _MARGIN_MM + foot.height_mm),
            ),
        )
        for at, (number, cells) in enumerate(groups, start=1)
    ]


def _head(sheet: FlangeSheet, number: int, at: int, count: int, width_mm: float) -> Cell:
    made = sheet.flanges.made[number - 1]
    title = f"FLANGE {number}, ALONG {made.words.upper()}"
    below = f"{sheet.job.job}  {revision_words(sheet.job)}"
    texts = (
        Text(fitted(title, width_mm - 30.0, 4.0), (0.0, -5.0), 4.0, bold=True),
        Text(f"sheet {at} of {count}", (width_mm, -5.0), _TEXT_MM, "end"),
        Text(fitted(below, width_mm, _TEXT_MM), (0.0, -10.0), _TEXT_MM),
    )
    return Cell(Drawing((), texts), 13.0)


def _told(sheet: FlangeSheet, made: FlangeMade, width_mm: float) -> Cell:
    flanges, show = sheet.flanges, sheet.job.show
    told = flange_run_words(made, flanges.sheet_mm, show)
    told.append(flange_metal_words(made, sheet.metal, flanges.sheet_mm, show))
    warned = flange_warning_words(made, sheet.metal, flanges.sheet_mm)
    if flanges.guessed:
        warned.append(f"Nobody said which way {' and '.join(flanges.guessed)} is: guessed.")
    cells = [paragraph(told, width_mm, _TEXT_MM)]
    if warned:
        cells.append(paragraph(warned, width_mm, _TEXT_MM, bold=True))
    return stacked(cells)


def _picture(made: FlangeMade, width_mm: float) -> Cell:
    """Return the line from above and from the side, reduced, with its stations."""
    root = np.concatenate([made.root, made.root[:1]]) if made.is_closed else made.root
    tips = np.array([station.tip for station in made.run.stations])
    box = np.ptp(np.concatenate([root, tips]), axis=0)
    tall = max(float(box[1]) + float(box[2]), 1.0)
    scale = min((width_mm - 16.0) / max(float(box[0]), 1.0), (_PICTURE_MM - 14.0) / tall)
    above = _view(made, root, scale, 1, "From above, front on the right, left hand up; reduced.")
    side = _view(made, root, scale, 2, "From the side, front on the right; reduced.")
    return stacked([above, side])


def _view(made: FlangeMade, root: FloatArray, scale: float, up: int, words: str) -> Cell:
    """Return one view; `up` is the axis that points up in it."""
    tips = np.array([station.tip for station in made.run.stations])
    every = np.concatenate([root, tips])[:, [0, up]]
    low, high = every.min(axis=0), every.max(axis=0)

    def on_page(points: FloatArray) -> FloatArray:
        return np.asarray((points[:, [0, up]] - [low[0], high[1]]) * scale + [8.0, -8.0])

    lines = [Line(Meaning.NET, on_page(root))]
    texts = [Text(words, (0.0, -3.2), _TEXT_MM, bold=True)]
    middle = on_page(root).mean(axis=0)
    for station in made.run.stations:
        if up == 2 and station.hand == "right":
            continue
        ends = on_page(np.array([station.place, station.tip]))
        lines.append(Line(Meaning.TICK, ends))
        away = ends[0] - middle if up == 1 else np.array([0.0, 1.0])
        place = ends[0] + _TICK_MM * away / max(float(np.linalg.norm(away)), 1e-9)
        name = str(station.number)
        texts.append(Text(name, (float(place[0]), float(place[1]) - 1.0), _TEXT_MM, "middle"))
    return Cell(Drawing(tuple(lines), tuple(texts)), 12.5 + float(high[1] - low[1]) * scale)


def _names(sheet: FlangeSheet, made: FlangeMade, width_mm: float) -> Cell:
    """Return the headings of the table: hands above, columns below, units last."""
    lengths, changes = ("mm (in)", "/100, in/ft") if sheet.job.show == "mm" else _INCHES
    texts = [
        Text("no.", (0.0, -7.6), _TEXT_MM, bold=True),
        Text("along", (_COLUMNS[1], -7.6), _TEXT_MM, bold=True),
        Text(lengths, (_COLUMNS[1], -11.4), _TEXT_MM),
    ]
    for at, hand in enumerate(made.run.hands):
        left = _COLUMNS[2] + at * _HAND_MM
        if hand:
            texts.append(Text(f"{hand.upper()} HAND", (left, -3.6), _TEXT_MM, bold=True))
        units = ("", lengths, changes, "mm", "")
        for name, unit, x in zip(_NAMED, units, _IN_HAND, strict=True):
            texts.append(Text(name, (left + x, -7.6), _TEXT_MM, bold=True))
            texts.append(Text(unit, (left + x, -11.4), _TEXT_MM))
    return Cell(Drawing((straight(0.0, -13.0, width_mm, -13.0),), tuple(texts)), 13.4)


def _rows(sheet: FlangeSheet, made: FlangeMade, width_mm: float) -> list[Cell]:
    hands = [{s.number: s for s in made.run.of_hand(hand)} for hand in made.run.hands]
    unseen = {
        station.number
        for station, guessed in zip(made.run.stations, made.guessed, strict=True)
        if guessed
    }
    numbers = sorted({number for hand in hands for number in hand})
    return [_row(sheet, [hand.get(n) for hand in hands], n in unseen, width_mm) for n in numbers]


def _row(
    sheet: FlangeSheet, stations: Sequence[FlangeStation | None], unseen: bool, width_mm: float
) -> Cell:
    show = sheet.job.show
    first = next(station for station in stations if station is not None)
    number = f"{first.number}{'?' if unseen else ''}"
    entries = [(number, 0.0), (flange_along(first.along_mm, show), _COLUMNS[1])]
    for at, station in enumerate(stations):
        if station is None:
            continue
        left = _COLUMNS[2] + at * _HAND_MM
        words = flange_entries(station, sheet.metal, sheet.flanges.sheet_mm, show)
        entries += [(said, left + x) for said, x in zip(words, _IN_HAND, strict=True)]
    texts = [
        Text(said, (x, -3.2), _TEXT_MM, bold="TIGHT" in said or "anneal" in said)
        for said, x in entries
    ]
    line = straight(0.0, -_ROW_MM, width_mm, -_ROW_MM, Meaning.GRID)
    return Cell(Drawing((line,), tuple(texts)), _ROW_MM)


def _foot(sheet: FlangeSheet, width_mm: float) -> Cell:
    told = [
        "Along: along the root line, from the centre line or the front end. Turn: out of the "
        "panel's own face. Radius: of the root line, in the plane it bends in; in or out: to which "
        "side of the tank its middle lies; hollow or round: as it runs in the sheet. Cut edge: how "
        "much it loses or gains, of every 100, and in inches per foot. Lip: its thickness where "
        "its width is free to give; a shrunk one comes out thicker and a little wider. Tip, "
        "shrink or stretch as you go, and try it against the bottom profile again and again.",
        proof_words(sheet.job),
        CAUTION,
    ]
    rows = paragraph(told, width_mm, _TEXT_MM)
    return stacked([Cell(Drawing((straight(0.0, 0.0, width_mm, 0.0),)), 1.0), rows])
