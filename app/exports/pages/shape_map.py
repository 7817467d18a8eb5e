"""The shape map: where to stretch, where to shrink, how much; by colour, hatch, line and number."""

import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import reduce

import numpy as np
import pypdfium2
import shapely

from app.exports.drawing import (
    Colour,
    Drawing,
    Fill,
    FreeSpace,
    Line,
    Meaning,
    Page,
    Placed,
    Text,
    leader,
    on_line_text,
    place_text,
    rectangle,
    ring,
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
)
from app.exports.pages.bench_page import (
    LOW_MM,
    MARGIN_MM,
    TOP_MM,
    WIDTH_MM,
    Box,
    bench_page,
    courses,
    fitted_blank,
    numbered,
    outer_line,
)
from app.exports.pages.edge_work import amounts, edge_table_pages, edge_ticks, slits_and_folds
from app.exports.pages.title import paragraph
from app.exports.words import (
    change_sentences,
    spacing_text,
    thin_region_words,
    thinnest_words,
)
from app.units import signed_change_text
from geometry.arrays import FloatArray
from geometry.polyline import line_length

_LEGEND_MM = 54.0
_BESIDE_MM = 6.5
"""Room round the blank for the names of its edges' pieces."""
_BAND_MM, _SWATCH_MM = 6.1, (12.0, 5.0)
_LED_MM = 70.0
"""How far words may stand from the place they are led to."""
_TRIES = 4
_DARKEST_STRETCH: Colour = (0.98, 0.64, 0.22)
_DARKEST_SHRINK: Colour = (0.42, 0.67, 0.95)
"""Light enough that a photocopier leaves the hatch to be seen; told apart by all eyes."""

_WIDEST_PITCH_MM, _NARROWEST_PITCH_MM = 4.0, 1.2
_NO_DATA_PITCH_MM = 3.0
_COPIED_PITCH_MM = 7.0
_PATCH_TEXT_MM = (2.5,)
_NUMBER_MM = 2.5
_SIGN_MM = 4.0
_SPOT_MM = 1.5


def shape_pages(sheet: PanelSheet) -> list[Page]:
    """Return the map, and after it the table of what every piece of every edge forms to."""
    return numbered([shape_page(sheet), *edge_table_pages(sheet)])


def shape_page(sheet: PanelSheet) -> Page:
    """Return the map on one A4 page on its side, as large as fits, seen from the marked face."""
    width = WIDTH_MM
    box = (MARGIN_MM, LOW_MM, width - MARGIN_MM - _LEGEND_MM - 3.0, TOP_MM)
    blank = fitted_blank(sheet, box, beside_mm=_BESIDE_MM)
    on_page = blank.on_page
    parts = [
        Placed(_edge_drawing(sheet, on_page, box)),
        Placed(_legend(sheet), width - MARGIN_MM - _LEGEND_MM, TOP_MM),
        Placed(_map_bar(blank.scale, sheet.job.show), width - MARGIN_MM - 108.0, MARGIN_MM + 1.5),
    ]
    return bench_page(sheet, "SHAPE MAP", blank, parts)


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


def _edge_drawing(sheet: PanelSheet, on_page: OnPage, box: Box) -> Drawing:
    """Return the blank's map with ticks, slits, folds and line to cut, what is told outside it."""
    inner = shape_drawing(sheet, on_page)
    signs = slits_and_folds(sheet, on_page)
    lines = edge_ticks(sheet, on_page)
    if outer_line(sheet) is not sheet.pattern.net:
        lines.append(Line(Meaning.CUT, on_page(outer_line(sheet)), closed=True))
    net = Line(Meaning.NET, on_page(sheet.pattern.net), closed=True)
    told = amounts(sheet, on_page, [*lines, *signs.lines, net], box)
    return together([inner, signs, Drawing(tuple(lines), tuple(told))])


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
    """Return the numbers, of the worst places, edges and contours, and leaders to places."""
    drawn = [*contours, *thin_lines(sheet, on_page, _SPOT_MM), *_worst_spots(sheet, on_page)]
    drawn += tank_lines(sheet, on_page)
    avoided = courses(drawn)
    avoided += [ring(on_page(region.outline)) for region in sheet.pattern.no_data]
    wedges = courses(slits_and_folds(sheet, on_page).lines)
    space = FreeSpace(net, wedges, avoided)
    clear = space.also_clear_of(avoided)
    texts, leaders = _spot_texts(sheet, on_page, clear)
    led = courses(leaders)
    space, clear = space.also_clear_of(led), clear.also_clear_of(led)
    patches, to_patches = patch_texts(sheet, clear, on_page, _PATCH_TEXT_MM, 40.0)
    texts += patches
    leaders += to_patches
    for edge in sheet.pattern.edges:
        halfway = on_page(edge.points[len(edge.points) // 2])
        texts += place_text(clear, edge.letter, halfway, 3.0, 14.0, bold=True)
    for contour, line in zip(sheet.pattern.contours, contours, strict=True):
        length = line_length(line.points)
        if length > 12.0:
            words = signed_change_text(contour.value, sheet.job.show)
            texts += on_line_text(space, line.points, words, _NUMBER_MM)
    texts += _signs(sheet, on_page, clear)
    return texts, leaders


def _signs(sheet: PanelSheet, on_page: OnPage, space: FreeSpace) -> list[Text]:
    """Return a plus or a minus in every part of a band with room for one."""
    texts: list[Text] = []
    for band in bands(sheet.pattern.levels):
        area = _beyond(sheet.pattern.shape.loops_beyond(band.level), on_page)
        sign = "+" if band.level > 0 else "\u2212"
        for part in shapely.get_parts(area):
            if part.area > 4.0 * _SIGN_MM**2:
                near = np.array(part.representative_point().coords[0])
                texts += place_text(space, sign, near, _SIGN_MM, _SIGN_MM, bold=True)
    return texts


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


def _spot_texts(
    sheet: PanelSheet, on_page: OnPage, space: FreeSpace
) -> tuple[list[Text], list[Line]]:
    """Return how much at the places that change most and how thin at the thinnest, each led to."""
    told = [(sheet.flat.flat_vertices[index], words) for index, words in _worst_places(sheet)]
    mark, job = sheet.pattern.thinnest, sheet.job
    if mark is not None:
        told.append((mark.place, thinnest_words(mark.ratio, job.thickness_mm, job.show)))
    spots = [(on_page(place[None])[0], words) for place, words in told]
    for spot, _ in spots:
        space.keep_clear((*(spot - _SPOT_MM), *(spot + _SPOT_MM)))
    texts: list[Text] = []
    leaders: list[Line] = []
    for spot, words in spots:
        room = space.also_clear_of(courses(leaders))
        for _ in range(_TRIES):
            found = place_text(room, words, spot, _NUMBER_MM, _LED_MM, bold=True)
            led = leader(found[0], spot) if found else ()
            if not _crosses(led, texts):
                texts += found
                leaders += led
                break
    return texts, leaders


def _crosses(lines: Sequence[Line], texts: Sequence[Text]) -> bool:
    """Return whether any of the lines runs through any of the texts."""
    ways = [shapely.LineString(line.points) for line in lines]
    return any(way.intersects(shapely.Polygon(text.outline)) for way in ways for text in texts)


def _cross_words(sheet: PanelSheet, ratio: float) -> str:
    """Return what the crosses mean, and how thin the thinnest place is."""
    thin = thinnest_words(ratio, sheet.job.thickness_mm, sheet.job.show)
    return f"Upright cross: most stretch, most shrink. Cross in a ring: {thin}."


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
        box = rectangle(0.0, -down - _SWATCH_MM[1], _SWATCH_MM[0], -down)
        if band is None:
            least = min(
                (abs(level) for level in sheet.pattern.levels.tolist()),
                default=LEVEL_STEPS[show][0],
            )
            words = f"leave: under {signed_change_text(least, show)[1:]}"
            parts.append(
                Drawing((box,), (Text(words, (_SWATCH_MM[0] + 2.0, -down - 3.6), _NUMBER_MM),))
            )
        else:
            kind = "stretch" if band.level > 0 else "shrink"
            words = f"{signed_change_text(band.level, show)} and beyond: {kind}"
            swatch = shapely.Polygon(box.points)
            parts.append(
                Drawing(
                    (*hatch(swatch, band.pitch_mm, band.slope, Meaning.HATCH), box),
                    (Text(words, (_SWATCH_MM[0] + 2.0, -down - 3.6), _NUMBER_MM),),
                    (Fill((box.points,), band.colour),),
                )
            )
        down += _BAND_MM
    per = "per 100 along it" if show == "mm" else "in inches per foot"
    sentences = [f"What the sheet must do, {per}.", *change_sentences(sheet)]
    if sheet.flat.converged:
        sentences.append(
            "Hatch rising to the right: stretch, +. Falling: shrink, \u2212. The closer, the more."
        )
    if sheet.pattern.thinnest is not None:
        sentences.append(_cross_words(sheet, sheet.pattern.thinnest.ratio))
    if sheet.pattern.thin_regions:
        sentences.append(f"Dotted outline: {thin_region_words(sheet.job.least_mm, show)}.")
    sentences += patch_sentences(sheet)
    if sheet.pattern.gathers:
        unit = "mm" if show == "mm" else "inches"
        sentences.append(
            f"Round the edge: open V, paper is slit and opens by so many {unit} (stretch); black "
            "wedge, paper is folded and laps by as many (shrink). Every piece: see the table."
        )
    parts.append(paragraph(sentences, _LEGEND_MM, _NUMBER_MM).drawing.moved(0.0, -down))
    return together(parts)


def _map_bar(scale: float, show: str) -> Drawing:
    """Return a bar of 100 mm on the blank, at the map's scale."""
    length = 100.0 * scale
    lines = [straight(0.0, 0.0, length, 0.0, Meaning.BAR)]
    lines += [
        straight(part * length, -1.0, part * length, 1.0, Meaning.BAR) for part in (0.0, 0.5, 1.0)
    ]
    text = Text(f"{spacing_text(100.0, show)} on the blank", (0.0, 1.9), _NUMBER_MM)
    return Drawing(tuple(lines), (text,))
