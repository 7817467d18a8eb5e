"""What finds the blank in the form: numbered ticks on its edge, its middle, the deepest place.

Worked out once for all pages of a panel: those that show it reduced and the full-size ones.
"""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import shapely

from app.exports.drawing import (
    FreeSpace,
    Line,
    Meaning,
    Text,
    Told,
    Wording,
    led_to,
    place_text,
    straight,
    text_width,
    words_beside,
)
from app.exports.facts import PanelSheet, Show, TankModel, reason_not_to_cut
from app.exports.marks.listing import Listing
from app.units import length_text
from geometry.arrays import FloatArray
from geometry.pattern import FlatSheet, FormGuide, FormTick, Pattern, form_guide

FORM_TICKS_MM: dict[Show, float] = {"mm": 50.0, "in": 50.8}
"""From tick to tick along the form's rim: 50 mm, or 2 in."""

MIDDLE_OF_PANEL = "middle of the panel"

_CROSS_MM = 2.6
_RING_MM = 1.6
_TEXT_MM = 2.5
_HIGH_MM, _CORNER_HIGH_MM = 3.0, 4.4
"""How far the pointers on the edge reach inward, and those at corners."""

_SLIM = 0.36
"""Half a pointer's base over its height."""

_MARGIN_REACH_MM = 6.0
_BLANK_REACH_MM = 14.0
_DEEPEST_REACH_MM = 60.0
_LEADER_FROM_MM = 2.5


def form_guide_of(sheet: PanelSheet) -> FormGuide:
    """Return where the blank of a panel lies in its form."""
    return _guide(sheet.flat, sheet.pattern, sheet.tank, sheet.job.show)


@lru_cache(maxsize=8)
def _guide(flat: FlatSheet, pattern: Pattern, tank: TankModel, show: Show) -> FormGuide:
    return form_guide(flat, pattern, spacing_mm=FORM_TICKS_MM[show], ahead=tank.front)


def deepest_mark(place: FloatArray) -> list[Line]:
    """Return an upright cross in a ring."""
    x, y = place.tolist()
    turn = np.linspace(0.0, 2.0 * np.pi, 32, endpoint=False)
    circle = place + _RING_MM * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    return [
        straight(x - _CROSS_MM, y, x + _CROSS_MM, y, Meaning.DEEPEST),
        straight(x, y - _CROSS_MM, x, y + _CROSS_MM, Meaning.DEEPEST),
        Line(Meaning.DEEPEST, circle, closed=True),
    ]


def form_pointer(tip: FloatArray, outward: FloatArray, high_mm: float = _HIGH_MM) -> Line:
    """Return a slim triangle whose tip stands on an edge, its body on the metal."""
    base, across = tip - high_mm * outward, np.array([-outward[1], outward[0]])
    half = _SLIM * high_mm * across
    return Line(Meaning.FORM_TICK, np.stack([tip, base + half, base - half]), closed=True)


def form_lines(sheet: PanelSheet) -> list[Line]:
    """Return full size, in the maker's view: pointers on the edge, middle line, deepest place."""
    guide, on_paper = form_guide_of(sheet), sheet.lay.on_paper
    lines = [form_pointer(*_pointed(sheet, tick)) for tick in guide.ticks]
    if not guide.is_tank_centre:  # the tank's own is drawn with the tank's lines
        lines += [Line(Meaning.MIDDLE, on_paper(line)) for line in guide.middle]
    if guide.deepest is not None:
        lines += deepest_mark(on_paper(guide.deepest.place[None])[0])
    return lines


def form_texts(
    sheet: PanelSheet, space: FreeSpace, lines: Sequence[FloatArray], listing: Listing
) -> tuple[Told, list[Text]]:
    """Return what is told of the form on the blank, and the pointers' numbers in the margin.

    Parameters
    ----------
    sheet : PanelSheet
    space : FreeSpace
        On the blank.
    lines : sequence of (k, 2) float, mm
        Lines that no text may touch, in the maker's view.
    listing : Listing
    """
    guide, on_paper = form_guide_of(sheet), sheet.lay.on_paper
    told = Told()
    if guide.deepest is not None:
        place = on_paper(guide.deepest.place[None])[0]
        words = f"deepest {depth_words(sheet, guide)}"
        space.keep_clear((*(place - _CROSS_MM), *(place + _CROSS_MM)))
        found = place_text(space, words, place, _TEXT_MM, _DEEPEST_REACH_MM, bold=True)
        told += led_to(found, place, _CROSS_MM + _LEADER_FROM_MM)
        if not found:
            listing.add(words)
    numbers, margin = _numbers(sheet, guide, space, lines, listing)
    if not guide.is_tank_centre:
        for line in guide.middle:
            told += words_beside(space, on_paper(line), [Wording(MIDDLE_OF_PANEL, _TEXT_MM)])
    return told + numbers, margin


def form_rows(sheet: PanelSheet) -> list[tuple[bool, Meaning, str]]:
    """Return what a legend says of these lines, and whether there are any."""
    guide = form_guide_of(sheet)
    return [
        (
            bool(guide.ticks),
            Meaning.FORM_TICK,
            "form ticks, plain numbers: same number on the form's rim",
        ),
        (
            bool(guide.middle) and not guide.is_tank_centre,
            Meaning.MIDDLE,
            MIDDLE_OF_PANEL,
        ),
        (
            guide.deepest is not None,
            Meaning.DEEPEST,
            "deepest place, below the flat plane nearest to the rim",
        ),
    ]


def depth_words(sheet: PanelSheet, guide: FormGuide) -> str:
    """Return how deep the deepest place lies."""
    depth = 0.0 if guide.deepest is None else guide.deepest.depth_mm
    return length_text(depth, sheet.job.show, decimals=0)


def _pointed(sheet: PanelSheet, tick: FormTick) -> tuple[FloatArray, FloatArray, float]:
    """Return a tick's place on paper, which way is off the metal there, and its height."""
    cuts = sheet.pattern.trim is not None and reason_not_to_cut(sheet) is None
    place = tick.on_cut if cuts else tick.on_net
    tip, out = sheet.lay.on_paper(np.stack([place, place + tick.outward]))
    return tip, out - tip, _CORNER_HIGH_MM if tick.is_corner else _HIGH_MM


def _numbers(
    sheet: PanelSheet,
    guide: FormGuide,
    space: FreeSpace,
    lines: Sequence[FloatArray],
    listing: Listing,
) -> tuple[Told, list[Text]]:
    """Return the pointers' numbers on the blank, where the margin has no room, and those in it."""
    margin = _Margin(sheet, lines)
    on_blank, outside, missing = Told(), [], []
    for tick in sorted(guide.ticks, key=lambda each: not each.is_corner):
        tip, out, high = _pointed(sheet, tick)
        base = tip - high * out
        found = margin.number(tick, tip, out, high)
        outside += found
        if not found:
            near = sheet.lay.on_paper(tick.on_net) - 2.0 * _TEXT_MM * out
            bold = tick.is_corner
            found = place_text(space, str(tick.number), near, _TEXT_MM, _BLANK_REACH_MM, bold=bold)
            on_blank += led_to(found, base, _LEADER_FROM_MM)
        if not found:
            missing.append(tick.number)
    if missing:
        numbers = ", ".join(map(str, sorted(missing)))
        listing.add(f"Form ticks without room for their numbers: {numbers}")
    return on_blank, outside


class _Margin:
    """The room between net line and cut line; none where nothing may be cut."""

    def __init__(self, sheet: PanelSheet, lines: Sequence[FloatArray]) -> None:
        trim = sheet.pattern.trim
        self._space: FreeSpace | None = None
        self._blank = shapely.Polygon(sheet.lay.on_paper(sheet.pattern.net)).buffer(0.0)
        shapely.prepare(self._blank)
        if trim is not None and reason_not_to_cut(sheet) is None:
            self._space = FreeSpace(sheet.lay.on_paper(trim), lines)

    def number(
        self, tick: FormTick, tip: FloatArray, out: FloatArray, high_mm: float
    ) -> list[Text]:
        """Return a tick's number beside its pointer, else behind it; nothing without room."""
        if self._space is None:
            return []
        words, bold = str(tick.number), tick.is_corner
        across = np.array([-out[1], out[0]])
        half = np.array([text_width(words, _TEXT_MM, bold=bold) + 1.0, 1.6 * _TEXT_MM]) / 2.0
        aside = _SLIM * high_mm + float(np.abs(across) @ half) + 0.3
        beside = tip - max(0.5 * high_mm, float(np.abs(out) @ half) + 0.9) * out
        behind = tip - (high_mm + 0.7 * _TEXT_MM) * out
        for near, reach in (
            (beside + aside * across, 1.5),
            (beside - aside * across, 1.5),
            (behind, _MARGIN_REACH_MM),
        ):
            found = place_text(self._space, words, near, _TEXT_MM, reach, bold=bold)
            if found and not self._blank.intersects(shapely.Polygon(found[0].outline)):
                return found
        return []
