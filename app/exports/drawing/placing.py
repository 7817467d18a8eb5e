"""Words put where there is room, level or turned by a quarter: near a point, or beside a line."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from app.exports.drawing.drawing import Line, Meaning, Text
from app.exports.drawing.free_space import FreeSpace
from app.exports.drawing.lettering import text_width
from geometry.arrays import FloatArray

_SLIDE_MM = 6.0
"""How far words are slid along a line from one try to the next."""

_SLIDES = 7
"""How many slides are tried at most to either side."""

_OFF_MM = (1.2, 2.5, 4.0, 6.0)
"""How far words beside a line stand off it, nearest first."""

_LEADER_FROM_MM = 4.5
"""Words farther off than this are led to by a thin line."""

_GAP_MM = 0.4
"""A line that is broken for words ends so far before them."""

_LEAST_PIECE_MM = 0.3


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
        angle = 90.0 if turned else 0.0
        return [Text(text, place, height, "middle", angle, bold=bold, masked=True)]
    return []


def on_line_text(space: FreeSpace, points: FloatArray, words: str, height: float) -> list[Text]:
    """Return a number standing on a line, where there is room; nothing where there is none."""
    count = len(points)
    for part in (0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9):
        found = place_text(space, words, points[int(part * (count - 1))], height, 1.0)
        if found:
            return found
    return []


@dataclass(frozen=True)
class Wording:
    """Words and how tall; of several, the first that finds room is taken."""

    words: str
    height_mm: float


@dataclass(frozen=True)
class Told:
    """Words on paper and the thin lines that lead from them to what they are about."""

    texts: tuple[Text, ...] = ()
    leaders: tuple[Line, ...] = ()

    def __add__(self, other: "Told") -> "Told":
        return Told(self.texts + other.texts, self.leaders + other.leaders)

    def __bool__(self) -> bool:
        return bool(self.texts)


def words_beside(
    space: FreeSpace,
    points: FloatArray,
    wordings: Sequence[Wording],
    *,
    sides: Sequence[float] = (1.0, -1.0),
    around: tuple[float, float] | None = None,
    off_mm: Sequence[float] = _OFF_MM,
    led_from_mm: float = _LEADER_FROM_MM,
    bold: bool = False,
) -> Told:
    """Return words close beside a line, level or turned by a quarter; nothing without room.

    Parameters
    ----------
    space : FreeSpace
    points : (k, 2) float, mm
    wordings : sequence of Wording
    sides : sequence of float
        On which sides of the line they may stand, best first: 1 left, -1 right.
    around : (float, float), optional
        Between which lengths along the line they belong; all of it if not given.
    off_mm : sequence of float
        How far their ground may stand off the line, best first.
    led_from_mm : float
        Words farther off than this get a leader.
    bold : bool
    """
    line = shapely.LineString(points)
    low, high = (0.0, float(line.length)) if around is None else around
    spots = _spots(low, high)
    feet, normals = _on_line(line, spots, 0.5 * min(10.0, high - low))
    for wording, off_all in [(each, off) for off in (True, False) for each in wordings]:
        width = text_width(wording.words, wording.height_mm, bold=bold) + 1.0
        box = np.array([width, 1.6 * wording.height_mm])
        tries = _tries(feet, normals, box, sides, off_mm)
        taken = space.take_first(tries.middles, tries.sizes, off_all=off_all)
        if taken is not None:
            turned = bool(tries.turned[taken])
            text = _text_at(tries.middles[taken], wording, turned=turned, bold=bold)
            foot = feet[tries.foot[taken]]
            far = tries.off[taken] > led_from_mm
            return Told((text,), leader(text, foot) if far else ())
    return Told()


@dataclass(frozen=True, eq=False)
class _Tries:
    """Boxes to try, best first: middles and sizes (k, 2), which foot, whether turned, how far."""

    middles: FloatArray
    sizes: FloatArray
    foot: FloatArray
    turned: FloatArray
    off: FloatArray


def _tries(
    feet: FloatArray,
    normals: FloatArray,
    box: FloatArray,
    sides: Sequence[float],
    off_mm: Sequence[float],
) -> _Tries:
    """Return every box beside the feet: close ones first, then those near the middle foot."""
    rows = [
        (off, foot, side, turned)
        for off in off_mm
        for foot in range(len(feet))
        for side in sides
        for turned in (False, True)
    ]
    off, side, turned = (np.array([row[k] for row in rows]) for k in (0, 2, 3))
    foot = np.array([row[1] for row in rows])
    sizes = np.where(turned[:, None], box[::-1], box)
    ways = normals[foot] * side[:, None]
    reach = np.einsum("ij,ij->i", np.abs(ways), sizes) / 2.0
    # Of level and turned the one that reaches less far from its line stands closer to it.
    order = np.argsort(np.round(reach / 8.0) + 40.0 * off, kind="stable")
    middles = feet[foot] + ways * (off + reach)[:, None]
    return _Tries(middles[order], sizes[order], foot[order], turned[order], off[order])


def _spots(low: float, high: float) -> FloatArray:
    """Return lengths along a line to try, its middle first, then to either side of it."""
    half = max(0.0, (high - low) / 2.0 - 2.0)
    steps = np.arange(1, _SLIDES + 1) * max(_SLIDE_MM, half / _SLIDES)
    steps = steps[steps <= half]
    slides = np.stack([steps, -steps], axis=1).ravel()
    return np.asarray((low + high) / 2.0 + np.concatenate([[0.0], slides]))


def _on_line(
    line: shapely.LineString, spots: FloatArray, half: float
) -> tuple[FloatArray, FloatArray]:
    """Return places on a line and the directions to its left there, (k, 2) each."""
    at, before, after = (
        shapely.get_coordinates(shapely.line_interpolate_point(line, np.clip(s, 0.0, line.length)))
        for s in (spots, spots - half, spots + half)
    )
    way = after - before
    way = way / np.maximum(np.linalg.norm(way, axis=1, keepdims=True), 1e-9)
    return at, np.stack([-way[:, 1], way[:, 0]], axis=1)


def _text_at(middle: FloatArray, wording: Wording, *, turned: bool, bold: bool) -> Text:
    """Return words whose ground has its middle at a place."""
    x, y = middle.tolist()
    drop = 0.4 * wording.height_mm
    place = (x + drop, y) if turned else (x, y - drop)
    angle = 90.0 if turned else 0.0
    return Text(wording.words, place, wording.height_mm, "middle", angle, bold=bold, masked=True)


def leader(text: Text, place: FloatArray, meaning: Meaning = Meaning.LEADER) -> tuple[Line, ...]:
    """Return a thin line from the ground of words to the place they are about."""
    box = shapely.Polygon(text.outline)
    foot = shapely.Point(place)
    near = shapely.get_coordinates(shapely.shortest_line(box, foot))
    if float(np.linalg.norm(near[1] - near[0])) < _LEAST_PIECE_MM:
        return ()
    return (Line(meaning, near),)


def led_to(texts: Sequence[Text], place: FloatArray, from_mm: float) -> Told:
    """Return words, with a thin line to their place where that is farther off than so much."""
    if not texts:
        return Told()
    off = [shapely.Polygon(text.outline).distance(shapely.Point(place)) for text in texts]
    nearest = int(np.argmin(off))
    return Told(tuple(texts), leader(texts[nearest], place) if off[nearest] > from_mm else ())


def broken_for(lines: Iterable[Line], texts: Sequence[Text], meanings: set[Meaning]) -> list[Line]:
    """Return lines, those of some meanings broken where words stand.

    A closed line that is broken comes as open ones; one that is not stays as it is.
    """
    grounds = [shapely.box(*text.box).buffer(_GAP_MM, join_style="mitre") for text in texts]
    tree = shapely.STRtree(grounds)
    out: list[Line] = []
    for line in lines:
        if line.meaning not in meanings or len(line.points) < 2:
            out.append(line)
            continue
        course = shapely.LineString(line.course)
        hit = tree.query(course, predicate="intersects")
        if not len(hit):
            out.append(line)
            continue
        left = shapely.difference(course, shapely.union_all([grounds[k] for k in hit]))
        merged = shapely.line_merge(left) if left.geom_type == "MultiLineString" else left
        out += [
            replace(line, points=shapely.get_coordinates(part), closed=False, curve=None)
            for part in shapely.get_parts(merged)
            if part.geom_type == "LineString" and part.length > _LEAST_PIECE_MM
        ]
    return out
