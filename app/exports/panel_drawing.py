"""The blank as it is laid on the bench: every line of the pattern, turned to the marked face."""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import shapely

from app.exports.drawing import Drawing, Line, Meaning, Text, straight
from app.exports.facts import Face, PanelSheet, reason_not_to_cut
from app.exports.free_space import FreeSpace
from app.exports.lettering import fitted, text_width
from app.exports.words import (
    AFTER_FORMING,
    FILLED_BY_GUESS,
    LEAST_TOLD_MM,
    face_words,
    gather_words,
    makes_words,
    revision_words,
    roll_words,
    sheet_words,
)
from app.units import length_text, signed_change_text
from geometry.arrays import FloatArray
from geometry.pattern import Pattern, PatternOpening, Region

NO_DATA_PITCH_MM = 5.0
_MARK_TEXT_MM = 3.0
_CONTOUR_TEXT_MM = 2.4
_TICK_MM = 5.0
_GATHER_TEXT_MM = 2.5
_NOT_UNDER_TEXT = {
    Meaning.CUT,
    Meaning.MARK,
    Meaning.TICK,
    Meaning.BEND,
    Meaning.AFTER_FORMING,
    Meaning.CENTRE,
}


def as_marked(points: FloatArray, face: Face) -> FloatArray:
    """Return places on the blank as seen by the maker: mirrored where the inside is marked.

    >>> as_marked(np.array([[3.0, 1.0]]), "inside").tolist()
    [[-3.0, 1.0]]
    """
    return points * np.array([-1.0, 1.0]) if face == "inside" else points


@lru_cache(maxsize=4)
def pattern_drawing(sheet: PanelSheet) -> Drawing:
    """Return the blank full size, with its labels; there is a CUT line only if it may be cut."""
    lines = pattern_lines(sheet)
    net = as_marked(sheet.pattern.net, sheet.job.marked_face)
    barriers = [_ring(net)]
    barriers += [
        _ring(line.points) if line.closed else line.points
        for line in lines
        if line.meaning in _NOT_UNDER_TEXT
    ]
    space = FreeSpace(net, barriers)
    texts = [*_opening_texts(sheet, space), *_mark_texts(sheet, space)]
    label, arrow = _label(sheet, space, net)
    if not label:  # a small blank: its name comes before the numbers of its marks
        space = FreeSpace(net, barriers)
        label, arrow = _label(sheet, space, net)
        texts = [*_opening_texts(sheet, space), *_mark_texts(sheet, space)]
    texts += label
    texts += _edge_texts(sheet, space)
    texts += _roll_texts(sheet, space)
    texts += _gather_texts(sheet, space)
    texts += _no_data_texts(sheet, space)
    texts += _contour_texts(sheet, space)
    return Drawing((*lines, *arrow), tuple(texts))


def pattern_lines(sheet: PanelSheet) -> tuple[Line, ...]:
    """Return the pattern's lines in the maker's view, thin ones first."""
    pattern, face = sheet.pattern, sheet.job.marked_face
    lines = [Line(Meaning.GRID, as_marked(piece, face)) for piece in pattern.grid]
    for region in pattern.no_data:
        lines += no_data_lines(as_marked_region(region, face), NO_DATA_PITCH_MM)
    lines += [
        Line(
            Meaning.STRETCH_CONTOUR if contour.value > 0 else Meaning.SHRINK_CONTOUR,
            as_marked(contour.points, face),
            contour.closed,
        )
        for contour in pattern.contours
    ]
    centre = as_marked(pattern.centre, face)
    reach = min(12.0, 0.1 * float(np.ptp(pattern.net, axis=0).min()))
    for axis in (0, 1):
        arm = np.eye(2)[axis] * reach
        lines.append(Line(Meaning.CENTRE, np.stack([centre - arm, centre + arm])))
    lines += [Line(Meaning.MARK, as_marked(mark.line, face)) for mark in pattern.marks]
    lines += _tick_lines(pattern, face)
    lines += [Line(Meaning.BEND, as_marked(roll.points, face)) for roll in pattern.rolls]
    for opening in pattern.openings:
        lines += _opening_lines(opening, face)
    lines.append(Line(Meaning.NET, as_marked(pattern.net, face), closed=True))
    if reason_not_to_cut(sheet) is None and pattern.trim is not None:
        lines.append(Line(Meaning.CUT, as_marked(pattern.trim, face), closed=True))
    return tuple(lines)


def _tick_lines(pattern: Pattern, face: Face) -> list[Line]:
    """Return a short line inward from the net line at every tick, the corners left out."""
    ticks: list[Line] = []
    for gather in pattern.gathers:
        for place, outward in zip(gather.places[1:-1], gather.outward[1:-1], strict=True):
            ends = np.stack([place, place - _TICK_MM * outward])
            ticks.append(Line(Meaning.TICK, as_marked(ends, face)))
    return ticks


def as_marked_region(region: Region, face: Face) -> Region:
    """Return a region in the maker's view."""
    return Region(
        as_marked(region.outline, face), tuple(as_marked(hole, face) for hole in region.holes)
    )


def no_data_lines(region: Region, pitch_mm: float) -> list[Line]:
    """Return the outline of a patch nobody scanned, and its hatch: crossed, unlike any other."""
    lines = [Line(Meaning.NO_DATA, ring, closed=True) for ring in (region.outline, *region.holes)]
    shape = shapely.make_valid(shapely.Polygon(region.outline, region.holes))
    for slope in (1.0, -1.0):
        lines += hatch(shape, pitch_mm, slope, Meaning.NO_DATA)
    return lines


def hatch(shape: shapely.Geometry, pitch_mm: float, slope: float, meaning: Meaning) -> list[Line]:
    """Return lines at 45 degrees across a shape, `pitch_mm` apart, rising for slope 1."""
    if shapely.is_empty(shape):
        return []
    left, bottom, right, top = shapely.bounds(shape)
    ends = (bottom - slope * left, bottom - slope * right, top - slope * left, top - slope * right)
    step = pitch_mm * np.sqrt(2.0)
    offsets = np.arange(np.ceil(min(ends) / step), np.floor(max(ends) / step) + 1) * step
    starts = np.stack([np.full_like(offsets, left), slope * left + offsets], axis=1)
    stops = np.stack([np.full_like(offsets, right), slope * right + offsets], axis=1)
    pieces = shapely.intersection(shapely.linestrings(np.stack([starts, stops], axis=1)), shape)
    parts = shapely.get_parts(shapely.get_parts(pieces))
    return [
        Line(meaning, np.array(part.coords))
        for part in parts
        if part.geom_type == "LineString" and part.length > 0.3
    ]


def _ring(points: FloatArray) -> FloatArray:
    return np.concatenate([points, points[:1]])


def _opening_lines(opening: PatternOpening, face: Face) -> list[Line]:
    outline = as_marked(opening.outline, face)
    centre = as_marked(opening.centre, face)
    reach = float(np.linalg.norm(outline - centre, axis=1).max()) + 4.0
    arms = [np.eye(2)[axis] * reach for axis in (0, 1)]
    return [
        Line(Meaning.AFTER_FORMING, outline, closed=True),
        *(Line(Meaning.AFTER_FORMING, np.stack([centre - arm, centre + arm])) for arm in arms),
    ]


def place_text(
    space: FreeSpace,
    text: str,
    near: FloatArray,
    height: float,
    reach: float,
    *,
    bold: bool = False,
) -> list[Text]:
    """Return the text at the free place nearest a point, or, where there is none, nothing."""
    width = text_width(text, height, bold=bold)
    for turned in (False, True):
        size = (width + 1.0, 1.6 * height)
        found = space.place(size[::-1] if turned else size, near, reach_mm=reach)
        if found is None:
            continue
        x, y = found
        place = (x + 0.4 * height, y) if turned else (x, y - 0.4 * height)
        return [Text(text, place, height, "middle", turned=turned, bold=bold, masked=True)]
    return []


def _mark_texts(sheet: PanelSheet, space: FreeSpace) -> list[Text]:
    texts: list[Text] = []
    for mark in sheet.pattern.marks:
        outer, inner = as_marked(mark.line, sheet.job.marked_face)
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
        outline = as_marked(opening.outline, sheet.job.marked_face)
        centre = as_marked(opening.centre, sheet.job.marked_face)
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
        points = as_marked(edge.points, sheet.job.marked_face)
        middle, inward = _halfway(points, sheet.job.marked_face)
        words = f"{edge.letter}: {edge.other}" if edge.other else f"{edge.letter}: free edge"
        for height in (4.0, 3.0, 2.4):
            found = place_text(space, words, middle + 24.0 * inward, height, 40.0, bold=True)
            if found:
                texts += found
                break
    return texts


def _gather_texts(sheet: PanelSheet, space: FreeSpace) -> list[Text]:
    """Return what each piece between ticks forms to, where a soft tape can tell a difference."""
    texts: list[Text] = []
    show = sheet.job.show
    for gather in sheet.pattern.gathers:
        middles = (gather.places[1:] + gather.places[:-1]) / 2.0
        inward = -(gather.outward[1:] + gather.outward[:-1]) / 2.0
        for middle, into, flat, formed in zip(
            middles, inward, gather.flat_mm, gather.formed_mm, strict=True
        ):
            if abs(formed - flat) < LEAST_TOLD_MM:
                continue
            near = as_marked(middle + 7.0 * into, sheet.job.marked_face)
            words = gather_words(float(flat), float(formed), show)
            texts += place_text(space, words, near, _GATHER_TEXT_MM, 16.0)
    return texts


def _roll_texts(sheet: PanelSheet, space: FreeSpace) -> list[Text]:
    texts: list[Text] = []
    for roll in sheet.pattern.rolls:
        middle = as_marked(roll.points[len(roll.points) // 2], sheet.job.marked_face)
        radius = float(np.median(roll.radii))
        up = roll.towards_outside != (sheet.job.marked_face == "inside")
        words = roll_words(radius, roll.turn_rad, up=up, is_fold=roll.is_fold, show=sheet.job.show)
        texts += place_text(space, words, middle, _GATHER_TEXT_MM, 40.0)
    return texts


def _halfway(points: FloatArray, face: Face) -> tuple[FloatArray, FloatArray]:
    """Return the point halfway along an edge and the direction into the blank there."""
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    along = np.concatenate([[0.0], np.cumsum(steps)])

    def at(part: float) -> FloatArray:
        return np.stack([np.interp(part * along[-1], along, points[:, k]) for k in range(2)])

    direction = at(0.55) - at(0.45)
    direction = direction / max(float(np.linalg.norm(direction)), 1e-9)
    inward = np.array([-direction[1], direction[0]])
    return at(0.5), -inward if face == "inside" else inward


def _no_data_texts(sheet: PanelSheet, space: FreeSpace) -> list[Text]:
    texts: list[Text] = []
    for region in sheet.pattern.no_data:
        shape = shapely.Polygon(region.outline, region.holes)
        if shape.area < 50.0:
            continue
        point = shape.representative_point()
        near = as_marked(np.array([point.x, point.y]), sheet.job.marked_face)
        for height in (3.0, 2.2):
            found = place_text(space, FILLED_BY_GUESS, near, height, 60.0)
            if found:
                texts += found
                break
    return texts


def _contour_texts(sheet: PanelSheet, space: FreeSpace) -> list[Text]:
    texts: list[Text] = []
    for contour in sheet.pattern.contours:
        points = as_marked(contour.points, sheet.job.marked_face)
        if len(points) < 3 or np.linalg.norm(np.diff(points, axis=0), axis=1).sum() < 25.0:
            continue
        found = on_line_text(
            space, points, signed_change_text(contour.value, sheet.job.show), _CONTOUR_TEXT_MM
        )
        texts += found
    return texts


def on_line_text(space: FreeSpace, points: FloatArray, words: str, height: float) -> list[Text]:
    """Return a number standing on a line, where there is room; nothing where there is none."""
    count = len(points)
    for part in (0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9):
        found = place_text(space, words, points[int(part * (count - 1))], height, 1.0)
        if found:
            return found
    return []


def _label(sheet: PanelSheet, space: FreeSpace, net: FloatArray) -> tuple[list[Text], list[Line]]:
    """Return the block of words that stays with the blank, and its FRONT arrow."""
    centre = net.mean(axis=0)
    reach = float(np.linalg.norm(net - centre, axis=1).max())
    rows = _label_rows(sheet)
    short = [row for row in rows if row[2]]
    tries = [(rows, scale) for scale in (1.0, 0.8, 0.65, 0.5)]
    tries += [(short, scale) for scale in (0.8, 0.65, 0.5, 0.4, 0.32, 0.25, 0.2)]
    for chosen, scale in tries:
        for turned in (False, True):
            width = max(text_width(w, h * scale, bold=b) for w, h, b in chosen) + 4.0 * scale
            height = _label_height(chosen, scale)
            size = (height, width) if turned else (width, height)
            step = max(4.0 * scale, 1.0)
            found = space.place(size, centre, reach_mm=reach, step_mm=step)
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

    texts: list[Text] = []
    for words, tall, bold in rows:
        down -= 1.45 * tall * scale
        texts.append(
            Text(words, place(down), tall * scale, "middle", turned=turned, bold=bold, masked=True)
        )
        down -= 0.3 * tall * scale
    foot = place(down - 4.5 * scale)
    if not sheet.front_along_u:
        unset = Text("FRONT NOT SET", foot, 3.0 * scale, "middle", turned=turned, masked=True)
        return [*texts, unset], []
    front, arrow = front_arrow(foot, sheet.job.marked_face, scale, along_page=not turned)
    return [*texts, front], arrow


def _label_height(rows: Sequence[tuple[str, float, bool]], scale: float) -> float:
    """Return the height of the rows and of the FRONT arrow below them."""
    return scale * (sum(1.75 * tall for _, tall, _ in rows) + 10.0)


def front_arrow(
    at: tuple[float, float], face: Face, scale: float, *, along_page: bool
) -> tuple[Text, list[Line]]:
    """Return the word FRONT and an arrow towards it: along +u, as the maker sees it.

    Where the label is turned there is no room beside the arrow and the word stands above it.
    """
    way = -1.0 if face == "inside" else 1.0
    half = (16.0 if along_page else 4.0) * scale
    height = 3.5 * scale
    x, y = at
    tail, tip = x - way * half, x + way * half
    barb = np.array([way * 5.0, 2.2]) * scale
    head = np.array([[tip - barb[0], y + barb[1]], [tip, y], [tip - barb[0], y - barb[1]]])
    if not along_page:
        place = (x + 0.34 * height, y + 1.7 * height)
        text = Text("FRONT", place, height, "start", turned=True, bold=True, masked=True)
        shaft = [straight(tail, y, tip, y, Meaning.MARK)]
    else:
        text = Text("FRONT", (x, y - 0.46 * height), height, "middle", bold=True, masked=True)
        gap = way * (text.width_mm / 2.0 + 1.5 * scale)
        shaft = [
            straight(tail, y, x - gap, y, Meaning.MARK),
            straight(x + gap, y, tip, y, Meaning.MARK),
        ]
    return text, [*shaft, Line(Meaning.MARK, head)]
