"""Where the finished panel is thinnest, and where it falls below the maker's least: a guide."""

from collections.abc import Callable

import numpy as np
import shapely

from app.exports.drawing import FreeSpace, Line, Meaning, Text, place_text
from app.exports.facts import PanelSheet
from app.exports.words import thin_region_words, thinnest_words
from geometry.arrays import FloatArray

ARM_MM = 2.6
_REACH = 10.0
"""How far figures may stand from their place, over their height."""

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


def thin_texts(
    sheet: PanelSheet, space: FreeSpace, on_paper: OnPaper, height_mm: float
) -> list[Text]:
    """Return the figure of the thinnest place, and what is the matter within the outlines."""
    mark, job = sheet.pattern.thinnest, sheet.job
    if mark is None:
        return []
    reach = _REACH * height_mm
    place = on_paper(mark.place[None])[0]
    space.keep_clear((*(place - ARM_MM), *(place + ARM_MM)))
    words = thinnest_words(mark.ratio, job.thickness_mm, job.show)
    texts = place_text(space, words, place, height_mm, reach, bold=True)
    for region in sheet.pattern.thin_regions[:3]:
        point = shapely.Polygon(region.outline, region.holes).representative_point()
        near = on_paper(np.array([[point.x, point.y]]))[0]
        words = thin_region_words(job.least_mm, job.show)
        texts += place_text(space, words, near, height_mm, 2.0 * reach)
    return texts
