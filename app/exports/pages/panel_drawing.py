"""The blank as it is laid on the bench: every line of the pattern, turned to the marked face."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np

from app.exports.drawing import (
    Drawing,
    FreeSpace,
    Line,
    Meaning,
    Text,
    fitted,
    on_line_text,
    place_text,
    straight,
    text_width,
)
from app.exports.facing import Lay
from app.exports.facts import PanelSheet, reason_not_to_cut
from app.exports.marks import (
    COPIED_PITCH_MM,
    NO_DATA_PITCH_MM,
    allowance_lines,
    allowance_texts,
    cut_gather_texts,
    gather_texts,
    outline_lines,
    patch_lines,
    patch_texts,
    roll_drawn,
    roll_texts,
    square_texts,
    taken_by,
    tank_line_texts,
    tank_lines,
    texts_below,
    thin_lines,
    thin_texts,
    tick_lines,
)
from app.exports.words import (
    AFTER_FORMING,
    face_words,
    makes_words,
    revision_words,
    sheet_words,
)
from app.units import length_text, signed_change_text
from geometry.arrays import FloatArray
from geometry.pattern import Outline, PatternOpening

OnPaper = Callable[[FloatArray], FloatArray]

_MARK_TEXT_MM = 3.0
_CONTOUR_TEXT_MM = 2.4
_THIN_TEXT_MM = 2.6
_NOT_UNDER_TEXT = {
    Meaning.CUT,
    Meaning.MARK,
    Meaning.TICK,
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
}
_BETTER_NOT_UNDER_TEXT = {
    Meaning.STRETCH_CONTOUR,
    Meaning.SHRINK_CONTOUR,
    Meaning.THIN,
    Meaning.NO_DATA,
    Meaning.COPIED,
}
_NOT_UNDER_SMALL_TEXT = {*_BETTER_NOT_UNDER_TEXT, Meaning.GRID}


@lru_cache(maxsize=4)
def pattern_drawing(sheet: PanelSheet) -> Drawing:
    """Return the blank full size, with its labels; there is a CUT line only if it may be cut."""
    lines = pattern_lines(sheet)
    on_paper = sheet.lay.on_paper
    net = on_paper(sheet.pattern.net)
    guessed = [line for line in lines if line.meaning is Meaning.NO_DATA and line.closed]
    barriers = [_ring(net), *_courses(lines, _NOT_UNDER_TEXT), *sheet.joins]
    barriers += [_ring(line.points) for line in guessed]  # words hide no patch nobody scanned
    rolls = _courses(lines, {Meaning.BEND})
    shapes = _courses(lines, _BETTER_NOT_UNDER_TEXT)
    beneath = FreeSpace(net, barriers, shapes)
    space = beneath.also_clear_of(rolls)
    texts = [*_opening_texts(sheet, space), *_mark_texts(sheet, space)]
    label, arrow = _label(sheet, space, beneath, net)
    if not label:  # a small blank: its name comes before the numbers of its marks
        beneath = FreeSpace(net, barriers, shapes)
        space = beneath.also_clear_of(rolls)
        label, arrow = _label(sheet, space, beneath, net)
        texts = [*_opening_texts(sheet, space), *_mark_texts(sheet, space)]
    texts += label
    texts += _edge_texts(sheet, space)
    allowed, margin = allowance_texts(sheet, space, [*barriers, *rolls])
    texts += [*allowed, *margin]
    taken = taken_by(margin)
    patches, leaders = patch_texts(sheet, space, on_paper)
    texts += patches
    texts += thin_texts(sheet, space, on_paper, _THIN_TEXT_MM)
    texts += roll_texts(sheet, space)
    texts += tank_line_texts(sheet, space, on_paper)
    texts += gather_texts(sheet, space)
    texts += _contour_texts(sheet, space)
    clear = space.also_clear_of(_courses([*lines, *arrow], _NOT_UNDER_SMALL_TEXT))
    texts += square_texts(sheet, clear)
    texts += cut_gather_texts(sheet, [*barriers, *rolls, *taken])
    texts += texts_below(sheet, patches, lines)
    return Drawing((*lines, *arrow, *leaders), tuple(texts))


def cutting_drawing(sheet: PanelSheet, outline: Outline) -> Drawing:
    """Return the same drawing, its outlines made of arcs or of splines."""
    drawing = pattern_drawing(sheet)
    drawn, asked = outline_lines(sheet), outline_lines(sheet, outline)
    other = {id(line): there for line, there in zip(drawn, asked, strict=True)}
    return replace(drawing, lines=tuple(other.get(id(line), line) for line in drawing.lines))


def _courses(lines: Sequence[Line], meanings: set[Meaning]) -> list[FloatArray]:
    """Return the points of lines of some meanings, closed ones back to their start."""
    return [
        _ring(line.points) if line.closed else line.points
        for line in lines
        if line.meaning in meanings
    ]


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
    lines += tick_lines(sheet)
    lines += thin_lines(sheet, on_paper)
    lines += tank_lines(sheet, on_paper)
    lines += roll_drawn(sheet)
    lines += allowance_lines(sheet)
    for opening in pattern.openings:
        lines += _opening_cross(opening, on_paper)
    return (*lines, *outline_lines(sheet))


def _ring(points: FloatArray) -> FloatArray:
    return np.concatenate([points, points[:1]])


def _opening_cross(opening: PatternOpening, on_paper: OnPaper) -> list[Line]:
    """Return the two lines that cross in an opening's middle."""
    outline = on_paper(opening.outline)
    centre = on_paper(opening.centre)
    reach = float(np.linalg.norm(outline - centre, axis=1).max()) + 4.0
    arms = [np.eye(2)[axis] * reach for axis in (0, 1)]
    return [Line(Meaning.AFTER_FORMING, np.stack([centre - arm, centre + arm])) for arm in arms]


def _mark_texts(sheet: PanelSheet, space: FreeSpace) -> list[Text]:
    texts: list[Text] = []
    for mark in sheet.pattern.marks:
        outer, inner = sheet.lay.on_paper(mark.line)
        inward = (inner - outer) / np.linalg.norm(inner - outer)
        for height in (_MARK_TEXT_MM, 2.2, 1.8):
            near = inner + 0.9 * height * inward
            found = place_text(space, mark.label, near, height, 14.0, bold=True)
            if found:
                texts += found
                break
    return texts


def _opening_texts(sheet: PanelSheet, space: FreeSpace) -> list[Text]:
    texts: list[Text] = []
    for opening in sheet.pattern.openings:
        outline = sheet.lay.on_paper(opening.outline)
        centre = sheet.lay.on_paper(opening.centre)
        across = length_text(opening.diameter_mm, sheet.job.show)
        words = [f"\u00d8 {across}" if opening.is_round else f"about {across} across"]
        words.insert(0, AFTER_FORMING)
        below = np.array([centre[0], outline[:, 1].min() - 9.0])
        for height in (3.0, 2.4, 2.0):
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


def _edge_texts(sheet: PanelSheet, space: FreeSpace) -> list[Text]:
    texts: list[Text] = []
    for edge in sheet.pattern.edges:
        points = sheet.lay.on_paper(edge.points)
        middle, inward = _halfway(points, sheet.lay)
        words = f"{edge.letter}: {edge.other}" if edge.other else f"{edge.letter}: free edge"
        for height in (4.0, 3.0, 2.4):
            found = place_text(space, words, middle + 24.0 * inward, height, 40.0, bold=True)
            if found:
                texts += found
                break
    return texts


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


def _contour_texts(sheet: PanelSheet, space: FreeSpace) -> list[Text]:
    texts: list[Text] = []
    for contour in sheet.pattern.contours:
        points = sheet.lay.on_paper(contour.points)
        if len(points) < 3 or np.linalg.norm(np.diff(points, axis=0), axis=1).sum() < 25.0:
            continue
        found = on_line_text(
            space, points, signed_change_text(contour.value, sheet.job.show), _CONTOUR_TEXT_MM
        )
        texts += found
    return texts


def _label(
    sheet: PanelSheet, space: FreeSpace, beneath: FreeSpace, net: FloatArray
) -> tuple[list[Text], list[Line]]:
    """Return the block of words that stays with the blank, and its FRONT arrow.

    It stands clear of roll lines (`space`) where it can be read well there, or else on them.
    """
    centre = net.mean(axis=0)
    reach = float(np.linalg.norm(net - centre, axis=1).max())
    rows = _label_rows(sheet)
    short = [row for row in rows if row[2]]
    tries = [(rows, scale, space) for scale in (1.0, 0.8)]
    tries += [(rows, scale, beneath) for scale in (1.0, 0.8, 0.65, 0.5)]
    tries += [(short, scale, beneath) for scale in (0.8, 0.65, 0.5, 0.4, 0.32, 0.25, 0.2)]
    for chosen, scale, room in tries:
        for turned in (False, True):
            width = max(text_width(w, h * scale, bold=b) for w, h, b in chosen) + 4.0 * scale
            height = _label_height(chosen, scale)
            size = (height, width) if turned else (width, height)
            step = max(4.0 * scale, 1.0)
            found = room.place(size, centre, reach_mm=reach, step_mm=step)
            if found is not None:
                return _label_at(sheet, chosen, found, scale, turned=turned)
    return [], []


def _label_rows(sheet: PanelSheet) -> list[tuple[str, float, bool]]:
    """Return words, height and whether they must stay, top row first."""
    job = sheet.job
    reason = reason_not_to_cut(sheet)
    warning = [] if reason is None else [(f"NO CUT LINE: {reason}", 3.2, True)]
    return [
        (sheet.panel.upper(), 7.0, True),
        (fitted(job.job, 80.0, 4.0), 4.0, False),
        (face_words(job), 5.0, True),
        (makes_words(sheet.panel), 4.0, True),
        (sheet_words(job), 3.2, False),
        (revision_words(job), 3.2, False),
        *warning,
    ]


def _label_at(
    sheet: PanelSheet,
    rows: Sequence[tuple[str, float, bool]],
    middle: tuple[float, float],
    scale: float,
    *,
    turned: bool,
) -> tuple[list[Text], list[Line]]:
    down = _label_height(rows, scale) / 2.0 - scale

    def place(below: float) -> tuple[float, float]:
        return (middle[0] - below, middle[1]) if turned else (middle[0], middle[1] + below)

    angle = 90.0 if turned else 0.0
    texts: list[Text] = []
    for words, tall, bold in rows:
        down -= 1.45 * tall * scale
        texts.append(
            Text(words, place(down), tall * scale, "middle", angle, bold=bold, masked=True)
        )
        down -= 0.3 * tall * scale
    foot = place(down - 4.5 * scale)
    if not sheet.front_along_u:
        unset = Text("FRONT NOT SET", foot, 3.0 * scale, "middle", angle, masked=True)
        return [*texts, unset], []
    front, arrow = front_arrow(foot, sheet.lay, scale, along_page=not turned)
    return [*texts, front], arrow


def _label_height(rows: Sequence[tuple[str, float, bool]], scale: float) -> float:
    """Return the height of the rows and of the FRONT arrow below them."""
    return scale * (sum(1.75 * tall for _, tall, _ in rows) + 10.0)


def front_arrow(
    at: tuple[float, float], lay: Lay, scale: float, *, along_page: bool
) -> tuple[Text, list[Line]]:
    """Return the word FRONT and an arrow towards it: along +u, as the maker sees it.

    Where the label is turned there is no room beside the arrow and the word stands above it.
    """
    way = -1.0 if lay.face == "inside" else 1.0
    half = (16.0 if along_page else 4.0) * scale
    height = 3.5 * scale
    x, y = at
    tail, tip = x - way * half, x + way * half
    barb = np.array([way * 5.0, 2.2]) * scale
    head = np.array([[tip - barb[0], y + barb[1]], [tip, y], [tip - barb[0], y - barb[1]]])
    if not along_page:
        place = (x + 0.34 * height, y + 1.7 * height)
        text = Text("FRONT", place, height, "start", 90.0, bold=True, masked=True)
        shaft = [straight(tail, y, tip, y, Meaning.MARK)]
    else:
        text = Text("FRONT", (x, y - 0.46 * height), height, "middle", bold=True, masked=True)
        gap = way * (text.width_mm / 2.0 + 1.5 * scale)
        shaft = [
            straight(tail, y, x - gap, y, Meaning.MARK),
            straight(x + gap, y, tip, y, Meaning.MARK),
        ]
    return text, [*shaft, Line(Meaning.MARK, head)]
