"""The blank as it is laid on the bench: every line of the pattern, turned to the marked face."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely

from app.exports.drawing import (
    Drawing,
    FreeSpace,
    Line,
    Meaning,
    Text,
    Told,
    broken_for,
    leader,
    on_line_text,
    place_text,
    ring,
    text_width,
)
from app.exports.facing import Lay
from app.exports.facts import PanelSheet
from app.exports.marks import (
    COPIED_PITCH_MM,
    NO_DATA_PITCH_MM,
    Listing,
    allowance_lines,
    allowance_texts,
    cut_gather_texts,
    form_lines,
    form_texts,
    gather_texts,
    grid_names,
    outline_lines,
    patch_lines,
    patch_texts,
    roll_drawn,
    roll_texts,
    square_texts,
    station_lines,
    station_texts,
    taken_by,
    tank_line_texts,
    tank_lines,
    texts_below,
    thin_lines,
    thin_texts,
    tick_lines,
)
from app.exports.pages.pattern_label import Label, label_beside, label_on, panel_label
from app.exports.words import AFTER_FORMING, shortened
from app.units import length_text, signed_change_text
from geometry.arrays import FloatArray
from geometry.pattern import Contour, PatternOpening
from geometry.polyline import line_length

OnPaper = Callable[[FloatArray], FloatArray]

_MARK_TEXTS_MM = (4.0, 3.2, 2.5)
_EDGE_TEXTS_MM = (5.0, 4.0, 3.2, 2.5)
_LONGEST_BEYOND = 30
_CONTOUR_TEXT_MM = 2.5
_THIN_TEXT_MM = 2.6
_LISTED_MM = 3.0
_LEAST_CONTOUR_MM = 25.0
"""Shorter contours have no number of their own."""

_NOT_UNDER_TEXT = {
    Meaning.CUT,
    Meaning.MARK,
    Meaning.TICK,
    Meaning.FORM_TICK,
    Meaning.DEEPEST,
    Meaning.THINNEST,
    Meaning.AFTER_FORMING,
    Meaning.CENTRE,
    Meaning.TANK_CENTRE,
    Meaning.CHARACTER,
    Meaning.BEND_UP,
    Meaning.BEND_DOWN,
    Meaning.ALLOWANCE,
    Meaning.RELIEF,
    Meaning.HOLE_CENTRE,
    Meaning.THIN,
}
"""Words keep off these lines."""

_BETTER_NOT_UNDER_TEXT = {
    Meaning.STRETCH_CONTOUR,
    Meaning.SHRINK_CONTOUR,
    Meaning.STATION,
    Meaning.MIDDLE,
    Meaning.NO_DATA,
    Meaning.COPIED,
}
_PATCHES = {Meaning.NO_DATA, Meaning.COPIED}
"""Their outlines are never broken and no word hides one; their hatches are."""

_UNDER_A_SMALL_BLANK_S_LABEL = {
    Meaning.CENTRE,
    Meaning.TANK_CENTRE,
    Meaning.DEEPEST,
    Meaning.CHARACTER,
    Meaning.THINNEST,
    Meaning.THIN,
}
"""On a blank too small for both, the label comes before these."""

_BROKEN_FOR_TEXT = {
    *_BETTER_NOT_UNDER_TEXT,
    *_UNDER_A_SMALL_BLANK_S_LABEL,
    Meaning.GRID,
    Meaning.ROLL,
}
"""Words keep off these where they can; where they cannot, the line is broken for them."""


@dataclass(frozen=True, eq=False)
class _Composed:
    """The drawing, and the words that found no room on it."""

    drawing: Drawing
    listed: tuple[str, ...]


def pattern_drawing(sheet: PanelSheet) -> Drawing:
    """Return the blank full size, with its labels; there is a CUT line only if it may be cut."""
    return _composed(sheet).drawing


def listed_words(sheet: PanelSheet) -> tuple[str, ...]:
    """Return what finds no room on the blank: what a number stands for there, and the rest."""
    return _composed(sheet).listed


@lru_cache(maxsize=8)
def _composed(sheet: PanelSheet) -> _Composed:
    lines = pattern_lines(sheet)
    rooms = _Rooms(sheet, lines)
    label = label_on(panel_label(sheet), [rooms.small, rooms.whole, rooms.bare], rooms.net)
    if label is None:
        left, low = np.concatenate([line.points for line in lines]).min(axis=0).tolist()
        label = label_beside(panel_label(sheet), (left, low - 12.0))
    listing = Listing()
    told = Told(label.texts) + _on_blank(sheet, rooms, lines, label, listing)
    whole = [line for line in lines if line.closed and line.meaning in _PATCHES]
    others = [line for line in lines if not (line.closed and line.meaning in _PATCHES)]
    drawn = whole + broken_for((*others, *label.lines), told.texts, _BROKEN_FOR_TEXT)
    drawn += broken_for(told.leaders, told.texts, {line.meaning for line in told.leaders})
    return _Composed(Drawing(tuple(drawn), told.texts), listing.rows)


class _Rooms:
    """Room for words: on the whole blank, on it clear of roll lines, and lines to keep off."""

    def __init__(self, sheet: PanelSheet, lines: Sequence[Line]) -> None:
        self.net = sheet.lay.on_paper(sheet.pattern.net)
        guessed = [line for line in lines if line.meaning in _PATCHES and line.closed]
        self.barriers = [ring(self.net), *_courses(lines, _NOT_UNDER_TEXT), *sheet.joins]
        self.barriers += [line.course for line in guessed]  # words hide no such patch
        rolls = _courses(lines, {Meaning.ROLL})
        shapes = _courses(lines, _BETTER_NOT_UNDER_TEXT)
        self.whole = FreeSpace(self.net, self.barriers, shapes)
        self.small = self.whole.also_clear_of(rolls)
        needed = _courses(lines, _NOT_UNDER_TEXT - _UNDER_A_SMALL_BLANK_S_LABEL)
        self.bare = self.whole.clear_only_of([ring(self.net), *needed, *sheet.joins])
        self.barriers += rolls


def _on_blank(
    sheet: PanelSheet, rooms: _Rooms, lines: Sequence[Line], label: Label, listing: Listing
) -> Told:
    """Return all words but the label, most needed first, and lines that lead to their places."""
    space, on_paper = rooms.small, sheet.lay.on_paper
    told = Told(tuple(_opening_texts(sheet, space))) + _mark_texts(sheet, space, listing)
    told += _edge_texts(sheet, space, listing)
    formed, numbers = form_texts(sheet, space, rooms.barriers, listing)
    told += formed
    kept_off = [*rooms.barriers, *taken_by(numbers)]
    allowed, margin = allowance_texts(sheet, space, kept_off)
    patches, leaders = patch_texts(sheet, space, on_paper)
    told += Told((*numbers, *allowed, *margin, *patches), tuple(leaders))
    space = space.also_clear_of([line.points for line in told.leaders])
    told += thin_texts(sheet, space, _THIN_TEXT_MM, listing)
    told += roll_texts(sheet, space, listing)
    told += tank_line_texts(sheet, space, on_paper)
    told += gather_texts(sheet, space, listing)
    told += _contour_texts(sheet, space, listing)
    told += station_texts(sheet, space, listing)
    clear = space.also_clear_of(_courses([*lines, *label.lines], {Meaning.GRID, Meaning.NO_DATA}))
    told += Told(tuple(grid_names(sheet, clear, listing)))
    told += square_texts(sheet, clear, listing)
    told += cut_gather_texts(sheet, [*kept_off, *taken_by(margin)], listing)
    return told + Told(tuple(texts_below(sheet, patches, lines)))


def _courses(lines: Sequence[Line], meanings: set[Meaning]) -> list[FloatArray]:
    """Return the points of lines of some meanings, closed ones back to their start."""
    return [line.course for line in lines if line.meaning in meanings]


def pattern_lines(sheet: PanelSheet) -> tuple[Line, ...]:
    """Return the pattern's lines in the maker's view, thin ones first."""
    pattern, on_paper = sheet.pattern, sheet.lay.on_paper
    lines = [Line(Meaning.GRID, on_paper(piece)) for piece in pattern.grid]
    lines += patch_lines(sheet, on_paper, no_data_mm=NO_DATA_PITCH_MM, copied_mm=COPIED_PITCH_MM)
    lines += [
        Line(
            Meaning.STRETCH_CONTOUR if contour.value > 0 else Meaning.SHRINK_CONTOUR,
            on_paper(contour.points),
            contour.closed,
        )
        for contour in pattern.contours
    ]
    centre = on_paper(pattern.centre)
    reach = min(12.0, 0.1 * float(np.ptp(pattern.net, axis=0).min()))
    for axis in (0, 1):
        arm = np.eye(2)[axis] * reach
        lines.append(Line(Meaning.CENTRE, np.stack([centre - arm, centre + arm])))
    lines += [Line(Meaning.MARK, on_paper(mark.line)) for mark in pattern.marks]
    lines += station_lines(sheet)
    lines += tick_lines(sheet)
    lines += form_lines(sheet)
    lines += thin_lines(sheet, on_paper)
    lines += tank_lines(sheet, on_paper)
    lines += roll_drawn(sheet)
    lines += allowance_lines(sheet)
    for opening in pattern.openings:
        lines += _opening_cross(opening, on_paper)
    return (*lines, *outline_lines(sheet))


def _opening_cross(opening: PatternOpening, on_paper: OnPaper) -> list[Line]:
    """Return the two lines that cross in an opening's middle."""
    outline = on_paper(opening.outline)
    centre = on_paper(opening.centre)
    reach = float(np.linalg.norm(outline - centre, axis=1).max()) + 4.0
    arms = [np.eye(2)[axis] * reach for axis in (0, 1)]
    return [Line(Meaning.HOLE_CENTRE, np.stack([centre - arm, centre + arm])) for arm in arms]


def _mark_texts(sheet: PanelSheet, space: FreeSpace, listing: Listing) -> Told:
    """Return the number of every witness mark, at its inner end or led to it."""
    told = Told()
    missing = []
    for mark in sheet.pattern.marks:
        outer, inner = sheet.lay.on_paper(mark.line)
        inward = (inner - outer) / np.linalg.norm(inner - outer)
        for height, reach in (*((tall, 9.0) for tall in _MARK_TEXTS_MM), (_MARK_TEXTS_MM[-1], 40)):
            near = inner + 0.9 * height * inward
            found = place_text(space, mark.label, near, height, reach, bold=True)
            if found:
                led = leader(found[0], inner) if reach > 9.0 else ()
                told += Told(tuple(found), led)
                break
        else:
            missing.append(mark.label)
    if missing:
        listing.add(f"Marks without room for their numbers: {', '.join(missing)}")
    return told


def _opening_texts(sheet: PanelSheet, space: FreeSpace) -> list[Text]:
    texts: list[Text] = []
    for opening in sheet.pattern.openings:
        outline = sheet.lay.on_paper(opening.outline)
        centre = sheet.lay.on_paper(opening.centre)
        across = length_text(opening.diameter_mm, sheet.job.show)
        words = [f"\u00d8 {across}" if opening.is_round else f"about {across} across"]
        words.insert(0, AFTER_FORMING)
        below = np.array([centre[0], outline[:, 1].min() - 9.0])
        for height in (3.5, 3.0, 2.5):
            size = (max(text_width(word, height) for word in words) + 1.0, 3.4 * height)
            found = space.place(size, below, reach_mm=90.0)
            if found is not None:
                x, y = found
                texts += [
                    Text(words[0], (x, y + 0.45 * height), height, "middle", masked=True),
                    Text(words[1], (x, y - 1.25 * height), height, "middle", masked=True),
                ]
                break
    return texts


def _edge_texts(sheet: PanelSheet, space: FreeSpace, listing: Listing) -> Told:
    """Return the letter of every edge and what lies beyond it; its letter alone without room."""
    told = Told()
    for edge in sheet.pattern.edges:
        points = sheet.lay.on_paper(edge.points)
        middle, inward = _halfway(points, sheet.lay)
        beyond = shortened(edge.other, _LONGEST_BEYOND) if edge.other else "free edge"
        words = f"{edge.letter}: {beyond}"
        tries = [(each, tall) for each in (words, edge.letter) for tall in _EDGE_TEXTS_MM]
        for each, height in tries:
            found = place_text(space, each, middle + 24.0 * inward, height, 40.0, bold=True)
            if found:
                told += Told(tuple(found))
                break
        else:
            told += listing.beside_line(space, points, words, sides=(sheet.lay.inward_side,))
    return told


def _halfway(points: FloatArray, lay: Lay) -> tuple[FloatArray, FloatArray]:
    """Return the point halfway along an edge and the direction into the blank there."""
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    along = np.concatenate([[0.0], np.cumsum(steps)])

    def at(part: float) -> FloatArray:
        return np.stack([np.interp(part * along[-1], along, points[:, k]) for k in range(2)])

    direction = at(0.55) - at(0.45)
    direction = direction / max(float(np.linalg.norm(direction)), 1e-9)
    inward = np.array([-direction[1], direction[0]])
    return at(0.5), lay.inward_side * inward


def _contour_texts(sheet: PanelSheet, space: FreeSpace, listing: Listing) -> Told:
    """Return the number of every contour, which is broken for it, best where no other runs."""
    drawn = [
        (contour, sheet.lay.on_paper(contour.points))
        for contour in sheet.pattern.contours
        if len(contour.points) > 2
    ]
    tree = shapely.STRtree([shapely.LineString(points) for _, points in drawn])
    told = Told()
    for contour, points in drawn:
        if line_length(points) < _LEAST_CONTOUR_MM:
            continue
        words = signed_change_text(contour.value, sheet.job.show)
        found = _alone_on_line(space, tree, points, words)
        found = found or on_line_text(space, points, words, _CONTOUR_TEXT_MM)
        told += (
            Told(tuple(found))
            if found
            else listing.beside_line(space, points, f"{_contour_name(contour)} {words}")
        )
    return told


def _contour_name(contour: Contour) -> str:
    return "stretch contour" if contour.value > 0 else "shrink contour"


def _alone_on_line(
    space: FreeSpace, tree: shapely.STRtree, points: FloatArray, words: str
) -> list[Text]:
    """Return a number on a contour where no other one runs beneath it; nothing where one does."""
    half = np.array([text_width(words, _CONTOUR_TEXT_MM) / 2.0 + 1.0, _CONTOUR_TEXT_MM])
    for part in (0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9, 0.42, 0.58, 0.28, 0.72):
        middle = points[int(part * (len(points) - 1))]
        box = shapely.box(*(middle - half), *(middle + half))
        if len(tree.query(box, predicate="intersects")) == 1:
            found = place_text(space, words, middle, _CONTOUR_TEXT_MM, 1.0)
            if found:
                return found
    return []
