"""Patches of a blank that are no scan of the place itself: filled by guess, or the other side's.

They are drawn wherever the place is drawn, at every size and in every kind of file; there is no
way to leave them out.
"""

from collections.abc import Callable, Iterable, Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from app.exports.drawing import FreeSpace, Line, Meaning, Text, place_text
from app.exports.facts import PanelSheet
from app.exports.words import FILLED_BY_GUESS, copied_words
from geometry.arrays import FloatArray
from geometry.pattern import Region

NAMED_MM = 5.0
"""Patches wider across than this carry their words beside the hatch."""

NO_DATA_PITCH_MM = 5.0
COPIED_PITCH_MM = 12.0
_COPIED_SLOPE = 3.0
"""The other side's patches are hatched by broken steep lines, unlike grid and stretch hatches."""

_LINES_ACROSS = 3.0
"""A small patch is hatched closer, so that so many lines cross it."""

_CLOSEST_MM = 0.8
_TEXT_MM = (3.0, 2.5)
_NEAR_MM = 60.0
_LEADER_FROM_MM = 4.0
_LEADER_STEP_MM = 6.0
_LEADERS_TRIED = 400
_TOGETHER_MM = 45.0
"""Patches nearer to one another than this are told about together."""

_FARTHEST_MM = 2000.0

OnPaper = Callable[[FloatArray], FloatArray]
"""Takes places on the blank, seen from outside, to where they are drawn."""


def patch_lines(
    sheet: PanelSheet, on_paper: OnPaper, *, no_data_mm: float, copied_mm: float
) -> list[Line]:
    """Return outlines and hatches of all patches, `no_data_mm` and `copied_mm` apart."""
    lines: list[Line] = []
    for region in sheet.pattern.copied:
        lines += _hatched(placed(region, on_paper), copied_mm, (_COPIED_SLOPE,), Meaning.COPIED)
    for region in sheet.pattern.no_data:
        lines += no_data_lines(placed(region, on_paper), no_data_mm)
    return lines


def placed(region: Region, on_paper: OnPaper) -> Region:
    """Return a region where it is drawn."""
    return Region(on_paper(region.outline), tuple(on_paper(hole) for hole in region.holes))


def no_data_lines(region: Region, pitch_mm: float) -> list[Line]:
    """Return the outline of a patch nobody scanned, and its hatch: crossed, unlike any other."""
    return _hatched(region, pitch_mm, (1.0, -1.0), Meaning.NO_DATA)


def _hatched(
    region: Region, pitch_mm: float, slopes: Sequence[float], meaning: Meaning
) -> list[Line]:
    lines = [Line(meaning, ring, closed=True) for ring in (region.outline, *region.holes)]
    shape = shapely.make_valid(shapely.Polygon(region.outline, region.holes))
    across = float(np.ptp(region.outline, axis=0).min())
    pitch = max(min(pitch_mm, across / _LINES_ACROSS), _CLOSEST_MM)
    for slope in slopes:
        lines += hatch(shape, pitch, slope, meaning)
    return lines


def hatch(shape: shapely.Geometry, pitch_mm: float, slope: float, meaning: Meaning) -> list[Line]:
    """Return lines across a shape, `pitch_mm` apart, rising by `slope` to the right."""
    if shapely.is_empty(shape):
        return []
    left, bottom, right, top = shapely.bounds(shape)
    ends = (bottom - slope * left, bottom - slope * right, top - slope * left, top - slope * right)
    step = pitch_mm * np.hypot(1.0, slope)
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


def patch_texts(
    sheet: PanelSheet,
    space: FreeSpace,
    on_paper: OnPaper,
    heights_mm: Sequence[float] = _TEXT_MM,
    near_mm: float = _NEAR_MM,
) -> tuple[list[Text], list[Line]]:
    """Return the words of patches over 5 mm across, once for those near each other, and leaders.

    A thin line leads from the words to every patch they are about but do not stand beside.
    """
    texts: list[Text] = []
    leaders: list[Line] = []
    for regions, words, meaning in (
        (sheet.pattern.no_data, FILLED_BY_GUESS, Meaning.NO_DATA),
        (sheet.pattern.copied, copied_words(sheet.job), Meaning.COPIED),
    ):
        for group in groups_of(regions, on_paper):
            near = np.array(max(group, key=shapely.area).representative_point().coords[0])
            told = words if len(group) == 1 else f"{words} ({len(group)} places)"
            tries = [(height, near_mm) for height in heights_mm]
            for height, reach in (*tries, (heights_mm[-1], _FARTHEST_MM)):
                found = place_text(space, told, near, height, min(reach, _reach(sheet)))
                if found:
                    texts += found
                    led = [line for each in group for line in _led(found[0], each, meaning, space)]
                    leaders += led
                    space = space.also_clear_of([line.points for line in led])
                    break
    return texts, leaders


def groups_of(regions: Iterable[Region], on_paper: OnPaper) -> list[list[BaseGeometry]]:
    """Return the patches over 5 mm across where they are drawn, those near each other together."""
    shapes = [
        shapely.make_valid(shapely.Polygon(here.outline, here.holes))
        for here in (placed(region, on_paper) for region in named(regions))
    ]
    groups: list[list[BaseGeometry]] = []
    for shape in shapes:
        near = [
            group for group in groups if min(shape.distance(each) for each in group) < _TOGETHER_MM
        ]
        apart = [group for group in groups if not any(group is each for each in near)]
        groups = [*apart, [*(each for group in near for each in group), shape]]
    return groups


def texts_below(sheet: PanelSheet, told: Sequence[Text], lines: Iterable[Line]) -> list[Text]:
    """Return, below all lines, what a hatch means where a patch found no room for its words."""
    words = [text.text for text in told]
    patches = {
        Meaning.NO_DATA: (FILLED_BY_GUESS, sheet.pattern.no_data),
        Meaning.COPIED: (copied_words(sheet.job), sheet.pattern.copied),
    }
    missing = [
        sentence
        for meaning, sentence in patch_meanings(sheet).items()
        if sum(each.startswith(patches[meaning][0]) for each in words)
        < len(groups_of(patches[meaning][1], sheet.lay.on_paper))
    ]
    left, low = np.concatenate([line.points for line in lines]).min(axis=0).tolist()
    height = _TEXT_MM[0]
    return [
        Text(sentence, (left, low - (3.0 + 2.0 * row) * height), height, bold=True)
        for row, sentence in enumerate(missing)
    ]


def named(regions: Iterable[Region]) -> list[Region]:
    """Return the patches over 5 mm across."""
    return [region for region in regions if float(np.ptp(region.outline, axis=0).max()) > NAMED_MM]


def _reach(sheet: PanelSheet) -> float:
    """Return how far words can lie from any place of the blank."""
    return float(np.linalg.norm(np.ptp(sheet.pattern.net, axis=0)))


def _led(text: Text, shape: BaseGeometry, meaning: Meaning, space: FreeSpace) -> tuple[Line, ...]:
    """Return a line from words to a patch they are about, where they stand off it.

    The shortest that crosses no other words, or else the shortest.
    """
    box = shapely.Polygon(text.outline)
    if box.distance(shape) < _LEADER_FROM_MM:
        return ()
    inner = shape.buffer(-min(2.0, 0.25 * float(np.sqrt(shape.area))))
    goals = shapely.get_coordinates(shape if inner.is_empty else inner)
    from_box = shapely.get_coordinates(box.segmentize(_LEADER_STEP_MM))
    off = np.linalg.norm(from_box[:, None] - goals[None], axis=2)
    order = np.argsort(off, axis=None, kind="stable")[:_LEADERS_TRIED]
    ends = [
        (from_box[row], goals[column])
        for row, column in zip(*np.unravel_index(order, off.shape), strict=True)
    ]
    for start, goal in ends:
        way = (goal - start) / np.linalg.norm(goal - start)
        if not space.is_crossed_by(start + way, goal):
            return (Line(meaning, np.stack([start, goal])),)
    return (Line(meaning, np.stack(ends[0])),)


def patch_meanings(sheet: PanelSheet) -> dict[Meaning, str]:
    """Return what each hatch means, for the patches this panel has."""
    found = {}
    if sheet.pattern.no_data:
        found[Meaning.NO_DATA] = f"Crossed hatch: {FILLED_BY_GUESS}"
    if sheet.pattern.copied:
        found[Meaning.COPIED] = f"Broken steep hatch: {copied_words(sheet.job)}"
    return found


def patch_sentences(sheet: PanelSheet) -> list[str]:
    """Return what each hatch means, one a sentence."""
    return list(patch_meanings(sheet).values())


def patch_sentences_within(
    sheet: PanelSheet, on_paper: OnPaper, box: tuple[float, float, float, float]
) -> list[str]:
    """Return what the hatches mean that show within a box of the drawing."""
    page = shapely.box(*box)
    regions = {Meaning.NO_DATA: sheet.pattern.no_data, Meaning.COPIED: sheet.pattern.copied}
    return [
        sentence
        for meaning, sentence in patch_meanings(sheet).items()
        if any(
            shapely.make_valid(shapely.Polygon(on_paper(region.outline))).intersects(page)
            for region in regions[meaning]
        )
    ]
