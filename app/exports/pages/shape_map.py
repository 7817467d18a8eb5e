"""The shape map: where to stretch, where to shrink, how much; by colour, hatch, line and number."""

import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import reduce

import numpy as np
import pypdfium2
import shapely

from app.exports.drawing import (
    A4,
    Colour,
    Drawing,
    Fill,
    FreeSpace,
    Line,
    Meaning,
    Page,
    Placed,
    Text,
    on_line_text,
    place_text,
    rectangle,
    straight,
    together,
)
from app.exports.facts import PanelSheet
from app.exports.marking_out import LEVEL_STEPS
from app.exports.marks import (
    hatch,
    patch_lines,
    patch_sentences,
    patch_texts,
    tank_lines,
    thin_lines,
    thin_texts,
)
from app.exports.pages.title import FOOTER_MM, footer, paragraph
from app.exports.words import change_sentences, edge_words, thin_region_words
from app.units import plain_number, signed_change_text
from geometry.arrays import FloatArray

_MARGIN_MM = 8.0
_LEGEND_MM = 62.0
_DARKEST_STRETCH: Colour = (0.93, 0.52, 0.15)
_DARKEST_SHRINK: Colour = (0.32, 0.55, 0.85)
_WIDEST_PITCH_MM, _NARROWEST_PITCH_MM = 5.0, 1.5
_NO_DATA_PITCH_MM = 3.0
_COPIED_PITCH_MM = 7.0
_PATCH_TEXT_MM = (1.9, 1.6)
_NUMBER_MM = 2.3
_SPOT_MM = 1.5


def shape_page(sheet: PanelSheet) -> Page:
    """Return the map on one A4 page on its side, as large as fits, seen from the marked face."""
    width, height = A4[::-1]
    room = (
        width - 2 * _MARGIN_MM - _LEGEND_MM - 6.0,
        height - 2 * _MARGIN_MM - FOOTER_MM - 16.0,
    )
    net = sheet.lay.on_paper(sheet.pattern.net)
    low, extent = net.min(axis=0), np.ptp(net, axis=0)
    scale = float(min(room[0] / extent[0], room[1] / extent[1], 1.0))
    middle = np.array([_MARGIN_MM + room[0] / 2.0, _MARGIN_MM + FOOTER_MM + 4.0 + room[1] / 2.0])
    shift = middle - scale * (low + extent / 2.0)

    def on_page(points: FloatArray) -> FloatArray:
        return np.asarray(sheet.lay.on_paper(points) * scale + shift)

    heading = Text(
        f"SHAPE MAP, {sheet.panel.upper()}: what the sheet must do, per 100 along it",
        (_MARGIN_MM, height - _MARGIN_MM - 4.0),
        3.4,
        bold=True,
    )
    if sheet.job.show == "in":
        heading = Text(
            f"SHAPE MAP, {sheet.panel.upper()}: what the sheet must do, inches per foot",
            heading.place,
            3.4,
            bold=True,
        )
    foot = footer(
        sheet,
        width - 2 * _MARGIN_MM,
        [f"SHAPE MAP, drawn at 1 to {plain_number(1.0 / scale, 2)}. Do not cut from it."],
        full_size=False,
    )
    legend = _legend(sheet)
    bar = _map_bar(scale)
    return Page(
        width,
        height,
        (
            Placed(Drawing(texts=(heading,))),
            Placed(shape_drawing(sheet, on_page)),
            Placed(legend, width - _MARGIN_MM - _LEGEND_MM, height - _MARGIN_MM - 10.0),
            Placed(bar, width - _MARGIN_MM - 104.0, _MARGIN_MM + 3.0),
            Placed(foot, _MARGIN_MM, _MARGIN_MM),
        ),
    )


def shape_png(pdf: bytes, *, dots_per_inch: float = 150.0) -> bytes:
    """Return the first page of a PDF as a PNG picture."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        picture = document[0].render(scale=dots_per_inch / 72.0).to_pil()
        stream = io.BytesIO()
        picture.convert("RGB").save(stream, "PNG", optimize=False)
    finally:
        document.close()
    return stream.getvalue()


OnPage = Callable[[FloatArray], FloatArray]
"""Takes places on the blank, seen from outside, to the page."""


@dataclass(frozen=True)
class Band:
    """A range of change with its look.

    Attributes
    ----------
    level : float
        Where it starts, counted away from 0.
    colour : three floats
    pitch_mm : float
        Of its hatch, narrower where more has to be done.
    """

    level: float
    colour: Colour
    pitch_mm: float

    @property
    def slope(self) -> float:
        """Which way its hatch leans: rising to the right for stretch, falling for shrink."""
        return 1.0 if self.level > 0 else -1.0

    @property
    def meaning(self) -> Meaning:
        """Its contour."""
        return Meaning.STRETCH_CONTOUR if self.level > 0 else Meaning.SHRINK_CONTOUR


def bands(levels: FloatArray) -> tuple[Band, ...]:
    """Return a band for every level, weakest first on either side."""
    made = []
    most = max((abs(float(level)) for level in levels), default=1.0)
    for level in sorted(levels.tolist(), key=abs):
        strength = abs(level) / most
        dark = _DARKEST_STRETCH if level > 0 else _DARKEST_SHRINK
        red, green, blue = (1.0 - (0.25 + 0.75 * strength) * (1.0 - part) for part in dark)
        pitch = _WIDEST_PITCH_MM + strength * (_NARROWEST_PITCH_MM - _WIDEST_PITCH_MM)
        made.append(Band(level, (red, green, blue), pitch))
    return tuple(made)


def shape_drawing(sheet: PanelSheet, on_page: OnPage) -> Drawing:
    """Return the blank coloured, hatched and contoured by what has to be done to it."""
    pattern = sheet.pattern
    net = on_page(pattern.net)
    fills: list[Fill] = []
    lines: list[Line] = []
    every = bands(pattern.levels)
    areas = {band.level: _beyond(pattern.shape.loops_beyond(band.level), on_page) for band in every}
    for index, band in enumerate(every):
        area = areas[band.level]
        fills += [
            Fill(_loops(part), band.colour)
            for part in shapely.get_parts(area)
            if part.geom_type == "Polygon"
        ]
        further = next((b for b in every[index + 1 :] if b.level * band.level > 0), None)
        only = area if further is None else shapely.difference(area, areas[further.level])
        lines += hatch(only, band.pitch_mm, band.slope, Meaning.HATCH)
    lines += patch_lines(sheet, on_page, no_data_mm=_NO_DATA_PITCH_MM, copied_mm=_COPIED_PITCH_MM)
    contours = [
        Line(
            Meaning.STRETCH_CONTOUR if contour.value > 0 else Meaning.SHRINK_CONTOUR,
            on_page(contour.points),
            contour.closed,
        )
        for contour in pattern.contours
    ]
    openings = [
        Line(Meaning.AFTER_FORMING, on_page(opening.outline), closed=True)
        for opening in pattern.openings
    ]
    lines += [*contours, *openings, *thin_lines(sheet, on_page, _SPOT_MM)]
    lines += tank_lines(sheet, on_page)
    lines += [*_worst_spots(sheet, on_page), Line(Meaning.NET, net, closed=True)]
    texts, leaders = _map_texts(sheet, on_page, net, contours)
    return Drawing((*lines, *leaders), tuple(texts), tuple(fills))


def _beyond(loops: tuple[FloatArray, ...], on_page: OnPage) -> shapely.Geometry:
    """Return the area that loops cover by the even-odd rule, on the page."""
    if not loops:
        return shapely.Polygon()
    each = [shapely.make_valid(shapely.Polygon(on_page(loop))) for loop in loops]
    return reduce(shapely.symmetric_difference, each)


def _loops(part: shapely.Polygon) -> tuple[FloatArray, ...]:
    return tuple(np.array(ring.coords)[:-1] for ring in (part.exterior, *part.interiors))


def _map_texts(
    sheet: PanelSheet, on_page: OnPage, net: FloatArray, contours: Sequence[Line]
) -> tuple[list[Text], list[Line]]:
    """Return the numbers, of the worst places, edges and contours, and leaders to patches."""
    courses = [
        np.concatenate([line.points, line.points[:1]]) if line.closed else line.points
        for line in [*contours, *thin_lines(sheet, on_page, _SPOT_MM)]
    ]
    courses += [spot.points for spot in _worst_spots(sheet, on_page)]
    courses += [
        np.concatenate([ring, ring[:1]])
        for ring in (on_page(region.outline) for region in sheet.pattern.no_data)
    ]
    space = FreeSpace(net, better_clear_of=courses)
    texts: list[Text] = []
    texts += _worst_texts(sheet, on_page, space)
    texts += thin_texts(sheet, space, on_page, 2.2)
    patches, leaders = patch_texts(sheet, space, on_page, _PATCH_TEXT_MM, 40.0)
    texts += patches
    for edge in sheet.pattern.edges:
        halfway = on_page(edge.points[len(edge.points) // 2])
        texts += place_text(space, edge.letter, halfway, 2.6, 12.0)
    for contour, line in zip(sheet.pattern.contours, contours, strict=True):
        length = np.linalg.norm(np.diff(line.points, axis=0), axis=1).sum()
        if length > 12.0:
            words = signed_change_text(contour.value, sheet.job.show)
            texts += on_line_text(space, line.points, words, _NUMBER_MM)
    return texts, leaders


def _worst_places(sheet: PanelSheet) -> list[tuple[int, str]]:
    """Return the vertices that change most, with their words; none where nothing changes."""
    change = sheet.pattern.shape.change
    found: list[tuple[int, str]] = []
    if not sheet.flat.converged:
        return found
    for index, kind in (
        (int(change.argmax()), "most stretch"),
        (int(change.argmin()), "most shrink"),
    ):
        words = signed_change_text(float(change[index]), sheet.job.show)
        if words != "0" and (change[index] > 0) == (kind == "most stretch"):
            found.append((index, f"{kind} {words}"))
    return found


def _worst_spots(sheet: PanelSheet, on_page: OnPage) -> list[Line]:
    """Return an upright cross at each place that changes most."""
    lines: list[Line] = []
    for index, _ in _worst_places(sheet):
        x, y = on_page(sheet.flat.flat_vertices[index])
        lines.append(straight(x - _SPOT_MM, y, x + _SPOT_MM, y))
        lines.append(straight(x, y - _SPOT_MM, x, y + _SPOT_MM))
    return lines


def _worst_texts(sheet: PanelSheet, on_page: OnPage, space: FreeSpace) -> list[Text]:
    """Return how much at the places that change most, beside them."""
    texts: list[Text] = []
    for index, words in _worst_places(sheet):
        near = on_page(sheet.flat.flat_vertices[index])
        texts += place_text(space, words, near, 2.4, 25.0)
    return texts


def _legend(sheet: PanelSheet) -> Drawing:
    """Return the bands with their numbers, then the panel's figures, hanging from (0, 0)."""
    show = sheet.job.show
    parts: list[Drawing] = []
    down = 0.0
    every = bands(sheet.pattern.levels)
    stretch = sorted((band for band in every if band.level > 0), key=lambda band: -band.level)
    shrink = sorted((band for band in every if band.level < 0), key=lambda band: -band.level)
    rows: list[Band | None] = [*stretch, None, *shrink]
    for band in rows if sheet.flat.converged else ():
        box = rectangle(0.0, -down - 6.0, 14.0, -down)
        if band is None:
            least = min(
                (abs(level) for level in sheet.pattern.levels.tolist()),
                default=LEVEL_STEPS[show][0],
            )
            words = f"leave: under {signed_change_text(least, show)[1:]}"
            parts.append(Drawing((box,), (Text(words, (17.0, -down - 4.2), 2.2),)))
        else:
            kind = "stretch" if band.level > 0 else "shrink"
            words = f"{signed_change_text(band.level, show)} and beyond: {kind}"
            swatch = shapely.Polygon(box.points)
            parts.append(
                Drawing(
                    (*hatch(swatch, band.pitch_mm, band.slope, Meaning.HATCH), box),
                    (Text(words, (17.0, -down - 4.2), 2.2),),
                    (Fill((box.points,), band.colour),),
                )
            )
        down += 7.2
    sentences = list(change_sentences(sheet))
    if sheet.flat.converged:
        sentences.append(
            "Hatch rising to the right: stretch, +. Falling: shrink, \u2212. The closer, the more."
        )
    if sheet.pattern.thinnest is not None:
        sentences.append("Upright cross: most stretch, most shrink. Cross in a ring: thinnest.")
    if sheet.pattern.thin_regions:
        sentences.append(f"Dotted outline: {thin_region_words(sheet.job.least_mm, show)}.")
    sentences += patch_sentences(sheet)
    sentences += [edge_words(edge, sheet.job) for edge in sheet.pattern.edges]
    parts.append(paragraph(sentences, _LEGEND_MM, 2.0).drawing.moved(0.0, -down))
    return together(parts)


def _map_bar(scale: float) -> Drawing:
    """Return a bar of 100 mm on the blank, at the map's scale."""
    length = 100.0 * scale
    lines = [straight(0.0, 0.0, length, 0.0, Meaning.BAR)]
    lines += [
        straight(part * length, -1.0, part * length, 1.0, Meaning.BAR) for part in (0.0, 0.5, 1.0)
    ]
    text = Text("100 mm (3 15/16 in) on the blank", (0.0, 1.9), 2.0)
    return Drawing(tuple(lines), (text,))
