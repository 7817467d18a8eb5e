"""A plate as it lies on full-size pages and in cutting files: its lines, its words, its label."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Self

import numpy as np

from app.exports.drawing import (
    Drawing,
    FreeSpace,
    Meaning,
    Picture,
    Told,
    broken_for,
    led_to,
    place_text,
    ring,
    together,
)
from app.exports.facts import JobFacts
from app.exports.marks import Way
from app.exports.pages.full_size import Box, FullSize
from app.exports.pages.pattern_label import (
    LabelRow,
    LabelWords,
    Much,
    label_beside,
    label_on,
)
from app.exports.pages.title import (
    ARROW_MM,
    CELL_MM,
    Cell,
    framed,
    paragraph,
    stacked,
    view_arrow,
)
from app.exports.plate import Plate, PlateNote
from app.exports.words import (
    CAUTION,
    job_words,
    panel_words,
    proof_words,
    revision_words,
    scan_words,
    short_proof_words,
    shortened,
)
from geometry.arrays import FloatArray
from geometry.pattern import Outline

_LEAST_MM = 2.5
_REACHES_MM = (12.0, 60.0)
"""How far words may lie from their place: near it on a thin line goes before far off all lines."""

_LED_FROM_MM = 3.0
_HANG_DEG = 10.0
_WAY_MM = 2.6
_PICTURE_MM = (44.0, 32.0)
_NOT_UNDER_TEXT = frozenset(
    [
        Meaning.CUT,
        Meaning.NET,
        Meaning.MARK,
        Meaning.BEND_UP,
        Meaning.BEND_DOWN,
        Meaning.SCRIBE,
        Meaning.AFTER_FORMING,
        Meaning.RELIEF,
        Meaning.HOLE_CENTRE,
        Meaning.TICK,
        Meaning.FRAME,
    ]
)
_BROKEN_FOR_TEXT = {
    Meaning.CENTRE,
    Meaning.TANK_CENTRE,
    Meaning.STATION,
    Meaning.GRID,
    Meaning.TICK,
}


@dataclass(frozen=True, eq=False)
class PlateOnPaper(FullSize):
    """A plate, drawn full size."""

    plate: Plate

    @property
    def job(self) -> JobFacts:
        """The plate's job."""
        return self.plate.job

    @property
    def name(self) -> str:
        """The plate's name."""
        return self.plate.name

    @property
    def headings(self) -> tuple[str, str, str]:
        """Name, how it is held, what it makes."""
        return self.name.upper(), self.plate.face, self.plate.makes

    @property
    def no_cut(self) -> str | None:
        """Why it may not be cut."""
        return self.plate.no_cut

    def facts(self) -> list[str]:
        """Return what it is cut from, what it tells, and how its size is proved."""
        return [
            f"{self.plate.material}. {revision_words(self.job)}",
            *self.plate.facts,
            *self.plate.remarks,
            f"{scan_words(self.job)}. Sizes here in mm and inch.",
            proof_words(self.job),
        ]

    def lists(self) -> list[list[str]]:
        """Return its tables, and what found no room on it."""
        rows = [list(rows) for rows in self.plate.lists]
        return [*rows, list(_composed(self.plate).listed)]

    def brief_facts(self) -> list[str]:
        """Return what it is cut from and its remarks."""
        return [self.plate.material, *(words.removesuffix(".") for words in self.plate.remarks)]

    def cutting_facts(self) -> list[str]:
        """Return what it is cut from, its facts and remarks."""
        plate = self.plate
        return [plate.material, *plate.facts, *plate.remarks, *_composed(plate).listed]

    @property
    def turn_rad(self) -> float:
        """How far it is turned."""
        return self.plate.turn_rad

    def turned(self, turn_rad: float) -> Self:
        """Return it turned further."""
        return replace(self, plate=self.plate.turned(turn_rad))

    def topped(self) -> Self:
        """Return it with its top up; FRONT where it has no top is left as it lies."""
        top = self.plate.top
        if top is None or self.plate.on_paper(top)[1] > -np.sin(np.radians(_HANG_DEG)):
            return self
        return self.turned(np.pi)

    def joined(self, courses: Sequence[FloatArray]) -> Self:
        """Return it with words off the joins."""
        return replace(self, plate=replace(self.plate, joins=tuple(courses)))

    def outline(self) -> FloatArray:
        """Return its outermost line."""
        return self.plate.on_paper(self.plate.outline)

    def drawing(self) -> Drawing:
        """Return its lines, words and label."""
        return _composed(self.plate).drawing

    def cutting_drawing(self, outline: Outline) -> Drawing:
        """Return the same: its curves are what they are."""
        return self.drawing()

    def legend(self) -> list[tuple[Meaning, str]]:
        """Return its kinds of lines."""
        return list(self.plate.legend)

    def hatches(self) -> dict[Meaning, str]:
        """Return what each hatch in its legend means."""
        hatched = (Meaning.NO_DATA, Meaning.COPIED)
        return {meaning: words for meaning, words in self.plate.legend if meaning in hatched}

    def hatches_within(self, box: Box) -> list[str]:
        """Return what hatches mean of which a line reaches into a box."""
        low, high = np.array(box[:2]), np.array(box[2:])
        shown = {
            line.meaning
            for line in self.drawing().lines
            if (line.points.max(axis=0) >= low).all() and (line.points.min(axis=0) <= high).all()
        }
        return [words for meaning, words in self.hatches().items() if meaning in shown]

    def identity(self) -> Cell:
        """Return job, name, how it is held, and the thumbnail."""
        name, face, makes = self.headings
        return stacked(
            [
                paragraph([job_words(self.job)], CELL_MM, 3.4),
                paragraph([shortened(name, 60)], CELL_MM, 5.5, bold=True),
                *([framed(face, 4.0)] if face else []),
                *([] if self.no_cut is None else [framed(f"NO CUT LINE: {self.no_cut}", 2.8)]),
                *(
                    paragraph([words], CELL_MM, 3.4, bold=True)
                    for words in (makes, self.plate.where)
                    if words
                ),
                self._picture_cell(),
                paragraph([self.ways()], CELL_MM, _WAY_MM, bold=True),
            ]
        )

    def _picture_cell(self) -> Cell:
        if self.plate.thumbnail is None:
            return Cell(Drawing(), 0.0)
        down = _PICTURE_MM[1] + ARROW_MM
        return Cell(self.thumbnail(*_PICTURE_MM).moved(0.0, -down), down + 2.0)

    def thumbnail(self, width_mm: float, height_mm: float) -> Drawing:
        """Return where it belongs; nothing where that is not pictured."""
        shown = self.plate.thumbnail
        if shown is None:
            return Drawing()
        high, wide = shown.pixels.shape[:2]
        scale = min(width_mm / wide, height_mm / high)
        picture = Picture(shown.pixels, (0.0, ARROW_MM), wide * scale, high * scale)
        return together([Drawing(pictures=(picture,)), view_arrow(shown.front, 0.0, 0.0)])

    def ways(self) -> str:
        """Return which way FRONT and TOP lie on the page, in words."""
        told = [way_words(way) for way in _ways(self.plate)]
        return "   ".join(told) if told else "LIES EITHER WAY"


_OCTANTS = "\u2192\u2197\u2191\u2196\u2190\u2199\u2193\u2198"


def way_words(way: Way) -> str:
    """Return a way with the arrow nearest to it.

    >>> way_words(Way("FRONT", np.array([0.1, 1.0])))
    'FRONT \u2191'
    """
    if way.direction is None:
        return way.words
    octant = round(float(np.arctan2(way.direction[1], way.direction[0])) / (np.pi / 4.0)) % 8
    return f"{way.words} {_OCTANTS[octant]}"


def _ways(plate: Plate) -> tuple[Way, ...]:
    pairs = (("FRONT", plate.front), ("TOP", plate.top))
    return tuple(Way(name, plate.on_paper(way)) for name, way in pairs if way is not None)


@dataclass(frozen=True, eq=False)
class _Composed:
    """All of a plate as drawn, and the words that found no room on it."""

    drawing: Drawing
    listed: tuple[str, ...]


@lru_cache(maxsize=16)
def _composed(plate: Plate) -> _Composed:
    lines = [plate.line_on_paper(line) for line in plate.lines]
    outline = plate.on_paper(plate.outline)
    courses = [line.course for line in lines if line.meaning in _NOT_UNDER_TEXT]
    soft = [line.course for line in lines if line.meaning not in _NOT_UNDER_TEXT]
    room = FreeSpace(outline, [ring(outline), *courses, *plate.joins], soft)
    told, listed = _noted(plate, room)
    label = label_on(_label(plate), [room, room, room.clear_only_of([ring(outline)])], outline)
    if label is None:
        left, low = np.concatenate([line.points for line in lines]).min(axis=0).tolist()
        label = label_beside(_label(plate), (left, low - 12.0))
    texts = told.texts + label.texts
    drawn = [*broken_for((*lines, *label.lines), texts, _BROKEN_FOR_TEXT), *told.leaders]
    return _Composed(Drawing(tuple(drawn), texts), tuple(listed))


def _noted(plate: Plate, room: FreeSpace) -> tuple[Told, list[str]]:
    """Return the notes where they find room, and those that find none."""
    told, listed = Told(), list[str]()
    for note in plate.notes:
        found = _note(plate, note, room)
        told = told + found
        if not found:
            listed.append(note.words)
    return told, listed


def _note(plate: Plate, note: PlateNote, room: FreeSpace) -> Told:
    place = plate.on_paper(note.place)
    heights = [note.height_mm, *(each for each in (3.0, _LEAST_MM) if each < note.height_mm)]
    for reach, height in [(reach, height) for reach in _REACHES_MM for height in heights]:
        texts = place_text(room, note.words, place, height, reach, bold=note.bold)
        if texts:
            return led_to(texts, place, _LED_FROM_MM)
    return Told()


def _label(plate: Plate) -> LabelWords:
    """Return what is said on the plate itself."""
    rows: dict[Much, tuple[LabelRow, ...]] = {
        much: tuple(_label_rows(plate, much)) for much in ("all", "most", "least")
    }
    return LabelWords(rows, _ways(plate) or (Way("LIES EITHER WAY"),))


def _label_rows(plate: Plate, much: Much) -> list[LabelRow]:
    job = plate.job
    rows = [LabelRow(panel_words(plate.name), 6.0, bold=True, from_afar=True)]
    rows += [LabelRow(plate.face, 4.0, bold=True)] if plate.face else []
    rows += [LabelRow(words, 4.0, bold=True) for words in (plate.makes, plate.where) if words]
    if plate.no_cut is not None:
        rows.append(LabelRow(f"NO CUT LINE: {plate.no_cut}", 3.4, bold=True))
    if much != "least":
        rows += [LabelRow(job_words(job), 3.6), LabelRow(plate.material, 3.4)]
    rows.append(LabelRow(revision_words(job), 3.2))
    if much == "all":
        rows += [LabelRow(words, 2.8) for words in (short_proof_words(job), CAUTION)]
    return rows
