"""Patches of a blank that are no scan of the place itself: filled by guess, or the other side's.

They are drawn wherever the place is drawn, at every size and in every kind of file; there is no
way to leave them out.
"""

from collections.abc import Callable, Iterable, Sequence

import numpy as np
import shapely

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
_TEXT_MM = (3.0, 2.2, 1.9)
_NEAR_MM = 60.0
_LEADER_FROM_MM = 4.0
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
    """Return the words of every patch over 5 mm across, and lines that lead from words far off."""
    texts: list[Text] = []
    leaders: list[Line] = []
    for regions, words, meaning in (
        (sheet.pattern.no_data, FILLED_BY_GUESS, Meaning.NO_DATA),
        (sheet.pattern.copied, copied_words(sheet.job), Meaning.COPIED),
    ):
        for region in named(regions):
            here = placed(region, on_paper)
            shape = shapely.make_valid(shapely.Polygon(here.outline, here.holes))
            near = np.array(shape.representative_point().coords[0])
            tries = [(height, near_mm) for height in heights_mm]
            for height, reach in (*tries, (heights_mm[-1], _FARTHEST_MM)):
                found = place_text(space, words, near, height, min(reach, _reach(sheet)))
                if found:
                    texts += found
                    leaders += _leader(found[0], shape, near, meaning)
                    break
    return texts, leaders


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
        if words.count(patches[meaning][0]) < len(named(patches[meaning][1]))
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


def _leader(text: Text, shape: shapely.Geometry, place: FloatArray, meaning: Meaning) -> list[Line]:
    """Return a line from words to the patch they are about, where they stand off it."""
    box = shapely.Polygon(text.outline)
    if box.distance(shape) < _LEADER_FROM_MM:
        return []
    way = shapely.LineString([shapely.centroid(box).coords[0], tuple(place)])
    outside = shapely.difference(way, box)
    return [] if shapely.is_empty(outside) else [Line(meaning, np.array(outside.coords))]


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
