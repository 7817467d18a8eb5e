"""The block of words that stays with a flat piece when it is cut out, and its arrows.

As much as there is room for, largest first; a small piece carries what no other page can put right:
its name, the face to mark, what it makes, its revision and the way to FRONT.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from app.exports.drawing import FreeSpace, Line, Text, text_width, wrapped
from app.exports.facts import PanelSheet, reason_not_to_cut
from app.exports.marks import Way, arrow_lines, grain_warning, ways
from app.exports.words import (
    CAUTION,
    face_words,
    job_words,
    makes_words,
    panel_words,
    revision_words,
    sheet_words,
    short_proof_words,
    sure_words,
)
from geometry.arrays import FloatArray

Much = Literal["all", "most", "least"]

_LEAST_MM = 2.5
_ARMS_LENGTH_MM = 4.0
"""Least height of capitals, and of those read at arm's length."""

_ROW = 1.7
_ARROW_MM = 12.0
_ARROW_WORD_MM = 3.5


@dataclass(frozen=True)
class LabelRow:
    """Words, how tall they are at full scale, and whether they are read at arm's length."""

    words: str
    height_mm: float
    bold: bool = False
    from_afar: bool = False


@dataclass(frozen=True, eq=False)
class LabelWords:
    """What is said, top row first, by how much there is room for; and which way it lies."""

    rows: Mapping[Much, tuple[LabelRow, ...]]
    ways: tuple[Way, ...]


@dataclass(frozen=True)
class _Size:
    """How much is said, how large, how wide, and whether all of it is read at arm's length."""

    much: Much
    scale: float
    width_mm: float
    from_afar: bool = True


_SIZES = (
    _Size("all", 1.0, 105.0),
    _Size("all", 0.85, 85.0),
    _Size("all", 0.7, 120.0),
    _Size("all", 0.7, 72.0),
    _Size("most", 0.8, 80.0),
    _Size("most", 0.6, 100.0),
    _Size("most", 0.6, 60.0),
    _Size("least", 0.75, 75.0),
    _Size("least", 0.75, 46.0),
    _Size("least", 0.6, 90.0),
    _Size("most", 0.4, 48.0, from_afar=False),
    _Size("most", 0.4, 80.0, from_afar=False),
    _Size("least", 0.5, 44.0, from_afar=False),
    _Size("least", 0.3, 36.0, from_afar=False),
    _Size("least", 0.3, 64.0, from_afar=False),
    _Size("least", 0.3, 28.0, from_afar=False),
    _Size("least", 0.3, 22.0, from_afar=False),
)


@dataclass(frozen=True, eq=False)
class Label:
    """Words and arrows as they stand on paper."""

    texts: tuple[Text, ...]
    lines: tuple[Line, ...]


def label_on(told: LabelWords, rooms: Sequence[FreeSpace], net: FloatArray) -> Label | None:
    """Return the label where it finds room on a piece, as large as it can be; else None.

    Parameters
    ----------
    told : LabelWords
    rooms : three FreeSpace
        Clear of all lines but those broken for words; clear of roll lines too, the better one,
        comes first; the last is clear of outlines alone, for a blank too small for more.
    net : (k, 2) float, mm
        On paper.
    """
    extent = np.ptp(net, axis=0)
    middle = (net.min(axis=0) + net.max(axis=0)) / 2.0
    reach = float(np.linalg.norm(extent)) / 2.0
    for block, room in _tries(told, rooms):
        for turned in (False, True):
            size = block.size[::-1] if turned else block.size
            if size[0] > extent[0] or size[1] > extent[1]:
                continue
            step = float(np.clip(0.04 * min(extent), 1.0, 5.0))
            found = room.place(size, middle, reach_mm=reach, step_mm=step)
            if found is not None:
                return block.at(found, turned=turned)
    return None


def label_beside(told: LabelWords, left_top: tuple[float, float]) -> Label:
    """Return the label of a piece too small for one, hanging from a place beside it."""
    block = _block(told, _Size("most", 0.6, 90.0))
    width, height = block.size
    return block.at((left_top[0] + width / 2.0, left_top[1] - height / 2.0), turned=False)


def _tries(told: LabelWords, rooms: Sequence[FreeSpace]) -> Iterator[tuple["_Block", FreeSpace]]:
    """Return labels to try: two large ones in the best room, then in each room, ever smaller."""
    for size in _SIZES[:2]:
        yield _block(told, size), rooms[0]
    for size in _SIZES:
        for room in rooms[:-1]:
            yield _block(told, size), room
    for size in _SIZES:
        if not size.from_afar:
            yield _block(told, size), rooms[-1]


@dataclass(frozen=True, eq=False)
class _Block:
    """A label about its own middle, level: its size, texts, and where each arrow stands."""

    size: tuple[float, float]
    texts: tuple[Text, ...]
    arrows: tuple[tuple[FloatArray, Way, float], ...]

    def at(self, middle: tuple[float, float], *, turned: bool) -> Label:
        """Return the label with its middle at a place, level or turned to the left."""

        def placed(x: float, y: float) -> tuple[float, float]:
            across, up = (-y, x) if turned else (x, y)
            return middle[0] + across, middle[1] + up

        angle = 90.0 if turned else 0.0
        texts = tuple(
            Text(
                text.text,
                placed(*text.place),
                text.height_mm,
                text.anchor,
                angle,
                bold=text.bold,
                masked=True,
            )
            for text in self.texts
        )
        lines = [
            line
            for place, way, reach in self.arrows
            for line in arrow_lines(np.array(placed(float(place[0]), float(place[1]))), way, reach)
        ]
        return Label(texts, tuple(lines))


def panel_label(sheet: PanelSheet) -> LabelWords:
    """Return what is said on a panel's blank."""
    rows: dict[Much, tuple[LabelRow, ...]] = {
        much: tuple(_panel_rows(sheet, much)) for much in ("all", "most", "least")
    }
    return LabelWords(rows, ways(sheet))


def _panel_rows(sheet: PanelSheet, much: Much) -> list[LabelRow]:
    job, reason = sheet.job, reason_not_to_cut(sheet)
    rows = [
        LabelRow(panel_words(sheet.panel), 7.0, bold=True, from_afar=True),
        LabelRow(face_words(job), 5.0, bold=True, from_afar=True),
        LabelRow(makes_words(sheet.panel), 4.5, bold=True, from_afar=True),
    ]
    if reason is not None:
        rows.append(LabelRow(f"NO CUT LINE: {reason}", 3.4, bold=True))
    if much != "least":
        rows.append(LabelRow(job_words(job), 4.0))
        rows.append(LabelRow(sheet_words(job), 3.4))
    rows.append(LabelRow(revision_words(job), 3.4))
    if much == "all":
        warning = grain_warning(sheet)
        rows += [LabelRow(warning, 3.0, bold=True)] if warning else []
        rows += [LabelRow(words, 2.8) for words in (short_proof_words(job), sure_words(sheet))]
        rows.append(LabelRow(CAUTION, 2.8))
    return rows


def _block(told: LabelWords, size: _Size) -> _Block:
    """Return the label at a size, about its own middle."""
    texts: list[Text] = []
    down = 0.0
    for row in told.rows[size.much]:
        far = row.from_afar and size.from_afar
        height = max(size.scale * row.height_mm, _ARMS_LENGTH_MM if far else _LEAST_MM)
        for words in wrapped(row.words, size.width_mm, height, bold=row.bold):
            down += _ROW * height
            texts.append(Text(words, (0.0, -down), height, "middle", bold=row.bold))
        down += 0.15 * height
    down += 1.5
    cells = _arrow_cells(_least(told.ways) if size.much == "least" else told.ways, size)
    arrows: list[tuple[FloatArray, Way, float]] = []
    for line in _in_lines(cells, size.width_mm):
        high = max(cell.high_mm for cell in line)
        left = -sum(cell.wide_mm for cell in line) / 2.0
        for cell in line:
            middle = np.array([left + cell.reach_mm / 2.0, -down - high / 2.0])
            if cell.way.direction is not None:
                arrows.append((middle, cell.way, cell.reach_mm))
            place = (left + cell.before_mm, float(middle[1]) - 0.5 * cell.height_mm)
            texts.append(Text(cell.way.words, place, cell.height_mm, bold=True))
            left += cell.wide_mm
        down += high + 1.0
    wide = max([2.0 * abs(text.place[0]) for text in texts if text.anchor == "start"], default=0.0)
    wide = max(wide, *(text.width_mm for text in texts if text.anchor == "middle"))
    wide = max(wide, *(sum(c.wide_mm for c in line) for line in _in_lines(cells, size.width_mm)))
    half = down / 2.0
    return _Block(
        (wide + 2.0, down + 1.0),
        tuple(_lifted(text, half) for text in texts),
        tuple((place + np.array([0.0, half]), way, reach) for place, way, reach in arrows),
    )


def _least(told: tuple[Way, ...]) -> tuple[Way, ...]:
    """Return the one way a small piece carries: the first there is a direction of."""
    known = [way for way in told[:2] if way.direction is not None]
    return (known[0],) if known else told[:1]


def _lifted(text: Text, by: float) -> Text:
    x, y = text.place
    return Text(text.text, (x, y + by), text.height_mm, text.anchor, bold=text.bold)


@dataclass(frozen=True, eq=False)
class _Cell:
    """An arrow and its word beside it; a way that is not known has a word alone."""

    way: Way
    reach_mm: float
    height_mm: float

    @property
    def before_mm(self) -> float:
        """Room for the arrow before the word."""
        return 0.0 if self.way.direction is None else self.reach_mm + 1.2

    @property
    def wide_mm(self) -> float:
        """Width, with a space after the word."""
        words = text_width(self.way.words, self.height_mm, bold=True)
        return self.before_mm + words + 2.0 * self.height_mm

    @property
    def high_mm(self) -> float:
        """Height: an arrow may stand upright."""
        return 1.6 * self.height_mm if self.way.direction is None else self.reach_mm


def _arrow_cells(told: Sequence[Way], size: _Size) -> list[_Cell]:
    reach = max(size.scale * _ARROW_MM, 8.0)
    height = max(size.scale * _ARROW_WORD_MM, _LEAST_MM)
    return [_Cell(way, reach, height) for way in told]


def _in_lines(cells: Sequence[_Cell], width_mm: float) -> list[list[_Cell]]:
    """Return cells side by side as far as a width goes, then on the next line."""
    lines: list[list[_Cell]] = []
    for cell in cells:
        used = sum(each.wide_mm for each in lines[-1]) if lines else np.inf
        if used + cell.wide_mm > width_mm:
            lines.append([])
        lines[-1].append(cell)
    return lines
