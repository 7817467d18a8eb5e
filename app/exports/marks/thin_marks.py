"""Where the finished panel is thinnest, and where it falls below the maker's least: a guide."""

from collections.abc import Callable

import numpy as np
import shapely

from app.exports.drawing import FreeSpace, Line, Meaning, Told, led_to, place_text
from app.exports.facts import PanelSheet
from app.exports.marks.listing import Listing
from app.exports.words import thin_region_words, thinnest_words
from geometry.arrays import FloatArray

ARM_MM = 2.6
_REACH = 25.0
"""How far figures may stand from their place, over their height; far ones are led to it."""

OnPaper = Callable[[FloatArray], FloatArray]
"""Takes places on the blank, seen from outside, to where they are drawn."""


def thin_lines(sheet: PanelSheet, on_paper: OnPaper, arm_mm: float = ARM_MM) -> list[Line]:
    """Return a slanting cross in a ring at the thinnest place, and outlines of thin regions."""
    lines = [
        Line(Meaning.THIN, on_paper(ring), closed=True)
        for region in sheet.pattern.thin_regions
        for ring in (region.outline, *region.holes)
    ]
    if sheet.pattern.thinnest is None:
        return lines
    return [*lines, *thinnest_mark(on_paper(sheet.pattern.thinnest.place[None])[0], arm_mm)]


def thinnest_mark(place: FloatArray, arm_mm: float = ARM_MM) -> list[Line]:
    """Return a slanting cross in a ring."""
    arms = [np.array([1.0, slope]) * arm_mm for slope in (1.0, -1.0)]
    turn = np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False)
    ring = place + 0.6 * arm_mm * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    cross = [Line(Meaning.THINNEST, np.stack([place - arm, place + arm])) for arm in arms]
    return [*cross, Line(Meaning.THINNEST, ring, closed=True)]


def thin_texts(sheet: PanelSheet, space: FreeSpace, height_mm: float, listing: Listing) -> Told:
    """Return the figure of the thinnest place, and what is the matter within the outlines.

    Words that stand away from their place are led to it.
    """
    mark, job = sheet.pattern.thinnest, sheet.job
    if mark is None:
        return Told()
    place = sheet.lay.on_paper(mark.place)
    space.keep_clear((*(place - ARM_MM), *(place + ARM_MM)))
    words = thinnest_words(mark.ratio, job.thickness_mm, job.show)
    found = place_text(space, words, place, height_mm, _REACH * height_mm, bold=True)
    told = led_to(found, place, ARM_MM + 0.8 * height_mm)
    if not found:
        listing.add(words)
    words = thin_region_words(job.least_mm, job.show)
    for region in sheet.pattern.thin_regions[:3]:
        shape = shapely.Polygon(region.outline, region.holes)
        near = sheet.lay.on_paper(shapely.get_coordinates(shape.representative_point()))[0]
        found = place_text(space, words, near, height_mm, _REACH * height_mm)
        inside = shapely.Polygon(sheet.lay.on_paper(region.outline))
        is_in = all(inside.intersects(shapely.Polygon(text.outline)) for text in found)
        told += Told(tuple(found)) if is_in else led_to(found, near, height_mm)
    return told
