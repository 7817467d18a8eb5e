"""The run sheet of flanges: where each runs, and station by station what its edge has to do.

Not full size: what is laid along the edge is a plate of its own.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.exports.drawing import Drawing, Line, Meaning, Page, Text, straight
from app.exports.facts import JobFacts
from app.exports.pages.reduced_page import (
    TEXT_MM,
    WIDE_MM,
    flowed,
    list_head,
    numbered_pages,
    page_foot,
)
from app.exports.pages.title import Cell, paragraph, stacked
from app.exports.words import CAUTION, proof_words, revision_words
from app.job import (
    FlangeMade,
    Flanges,
    flange_along,
    flange_bends,
    flange_entries,
    flange_metal_words,
    flange_run_words,
    flange_warning_words,
)
from geometry.arrays import FloatArray
from geometry.metal import SheetMetal
from geometry.tank import FlangeStation

_ROW_MM = 4.4
_BENDS_MM = 3.5
_MM_PER_INCH = 25.4
_HAND_MM = 81.0
_COLUMNS = (0.0, 7.0, 28.0)
"""Where number, distance and the first hand begin."""

_IN_HAND = (0.0, 8.0, 33.5, 57.0, 66.0)
_NAMED = ("turn", "radius", "cut edge", "lip", "metal")
_INCHES = ("in (mm)", "in/ft, /100")
_PICTURE_MM = 50.0
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
    foot = _foot(sheet)
    groups: list[list[Cell]] = []
    numbers: list[int] = []
    for number, made in enumerate(sheet.flanges.made, start=1):
        names = _names(sheet, made)
        first = [_told(sheet, made), _picture(made), names]
        groups += flowed(first, _rows(sheet, made), names, foot)
        numbers += [number] * (len(groups) - len(numbers))

    def head_of(at: int, numbered: str) -> Cell:
        along = sheet.flanges.made[numbers[at] - 1].words.upper()
        below = f"{sheet.job.job}  {revision_words(sheet.job)}"
        return list_head(f"FLANGE {numbers[at]}, ALONG {along}", below, numbered, title_mm=4.0)

    return numbered_pages(groups, head_of, foot)


def _told(sheet: FlangeSheet, made: FlangeMade) -> Cell:
    flanges, show = sheet.flanges, sheet.job.show
    told = flange_run_words(made, flanges.sheet_mm, show)
    told.append(flange_metal_words(made, sheet.metal, flanges.sheet_mm, show))
    warned = flange_warning_words(made, sheet.metal, flanges.sheet_mm)
    if flanges.guessed:
        warned.append(f"Nobody said which way {' and '.join(flanges.guessed)} is: guessed.")
    cells = [paragraph(told, WIDE_MM, TEXT_MM)]
    if warned:
        cells.append(paragraph(warned, WIDE_MM, TEXT_MM, bold=True))
    return stacked(cells)


def _picture(made: FlangeMade) -> Cell:
    """Return the line from above and from the side, reduced, with its stations."""
    root = np.concatenate([made.root, made.root[:1]]) if made.is_closed else made.root
    tips = np.array([station.tip for station in made.run.stations])
    box = np.ptp(np.concatenate([root, tips]), axis=0)
    tall = max(float(box[1]) + float(box[2]), 1.0)
    scale = min((WIDE_MM - 16.0) / max(float(box[0]), 1.0), (_PICTURE_MM - 14.0) / tall)
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
    texts = [Text(words, (0.0, -3.2), TEXT_MM, bold=True)]
    middle = on_page(root).mean(axis=0)
    for station in made.run.stations:
        if up == 2 and station.hand == "right":
            continue
        ends = on_page(np.array([station.place, station.tip]))
        lines.append(Line(Meaning.TICK, ends))
        away = ends[0] - middle if up == 1 else np.array([0.0, 1.0])
        place = ends[0] + _TICK_MM * away / max(float(np.linalg.norm(away)), 1e-9)
        name = str(station.number)
        texts.append(Text(name, (float(place[0]), float(place[1]) - 1.0), TEXT_MM, "middle"))
    return Cell(Drawing(tuple(lines), tuple(texts)), 12.5 + float(high[1] - low[1]) * scale)


def _names(sheet: FlangeSheet, made: FlangeMade) -> Cell:
    """Return the headings of the table: hands above, columns below, units last."""
    lengths, changes = ("mm (in)", "/100, in/ft") if sheet.job.show == "mm" else _INCHES
    texts = [
        Text("no.", (0.0, -7.6), TEXT_MM, bold=True),
        Text("along", (_COLUMNS[1], -7.6), TEXT_MM, bold=True),
        Text(lengths, (_COLUMNS[1], -11.4), TEXT_MM),
    ]
    for at, hand in enumerate(made.run.hands):
        left = _COLUMNS[2] + at * _HAND_MM
        if hand:
            texts.append(Text(f"{hand.upper()} HAND", (left, -3.6), TEXT_MM, bold=True))
        units = ("", lengths, changes, "mm", "")
        for name, unit, x in zip(_NAMED, units, _IN_HAND, strict=True):
            texts.append(Text(name, (left + x, -7.6), TEXT_MM, bold=True))
            texts.append(Text(unit, (left + x, -11.4), TEXT_MM))
    return Cell(Drawing((straight(0.0, -13.0, WIDE_MM, -13.0),), tuple(texts)), 13.4)


def _rows(sheet: FlangeSheet, made: FlangeMade) -> list[Cell]:
    hands = [{s.number: s for s in made.run.of_hand(hand)} for hand in made.run.hands]
    unseen = {
        station.number
        for station, guessed in zip(made.run.stations, made.guessed, strict=True)
        if guessed
    }
    numbers = sorted({number for hand in hands for number in hand})
    return [_row(sheet, made, [hand.get(n) for hand in hands], n in unseen) for n in numbers]


def _below(made: FlangeMade, station: FlangeStation, show: str) -> str:
    """Return what stands below a station's row: a scanned lip's own width, and both radii."""
    width = station.width_mm if show == "mm" else station.width_mm / _MM_PER_INCH
    wide = f"{width:.{1 if show == 'mm' else 2}f} wide" if made.is_kept_lip else ""
    return ", ".join(words for words in (wide, flange_bends(station, show)) if words)


def _row(
    sheet: FlangeSheet,
    made: FlangeMade,
    stations: Sequence[FlangeStation | None],
    unseen: bool,
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
        Text(said, (x, -3.2), TEXT_MM, bold="TIGHT" in said or "anneal" in said)
        for said, x in entries
    ]
    bends = [
        (_below(made, station, show), _COLUMNS[2] + at * _HAND_MM)
        for at, station in enumerate(stations)
        if station is not None
    ]
    texts += [Text(said, (x, -3.2 - _BENDS_MM), TEXT_MM) for said, x in bends if said]
    high = _ROW_MM + (_BENDS_MM if any(said for said, _ in bends) else 0.0)
    line = straight(0.0, -high, WIDE_MM, -high, Meaning.GRID)
    return Cell(Drawing((line,), tuple(texts)), high)


def _foot(sheet: FlangeSheet) -> Cell:
    told = [
        "Along: along the root line, from the centre line or the front end. Turn: out of the "
        "panel's own face. Radius: of the root line, in the plane it bends in; inner or outer: "
        "to which side of the tank its middle lies; hollow or round: as it runs in the sheet. "
        "Below it, where the line bends both ways, its radius in the skin and in the lip: with w "
        "the width and h the flat metal the cut edge comes to (1 - w / lip - (w - h) / skin) / "
        "(1 - h / skin) of the flat one, a round radius counted below 0. Cut edge: what it loses "
        "or gains, of every 100, and in inches per foot. Lip: its thickness where its width is "
        "free to give; a shrunk one comes out thicker and a little wider. Tip, shrink or stretch "
        "as you go, and try it against the bottom profile again and again.",
        proof_words(sheet.job),
        CAUTION,
    ]
    return page_foot(told)
