"""Finding the blank in the form: the same numbers on the blank's edge and on the form's rim."""

from collections.abc import Sequence

import numpy as np
import shapely

from app.exports.drawing import (
    Drawing,
    FreeSpace,
    Line,
    Meaning,
    Page,
    Placed,
    Text,
    leader,
    place_text,
)
from app.exports.facts import PanelSheet
from app.exports.marks import FORM_TICKS_MM, deepest_mark, form_guide_of
from app.exports.pages.bench_page import (
    TEXT_MM,
    Box,
    FittedBlank,
    bench_page,
    box_space,
    edge_names,
    fitted_blank,
    level_name,
    meets,
    noted,
    number_text,
    outer_line,
    outlines,
    picture_part,
    whole_list,
)
from app.exports.pages.in_sight import PICTURE_MM, Sight, panel_rim, sight_of_panel
from app.exports.words import spacing_text
from app.units import length_text
from geometry.arrays import FloatArray
from geometry.pattern import FormGuide, FormTick

HEADING = "FINDING THE BLANK IN THE FORM"

_FAR_MM = 6.0
_ALONG_MM = 0.5
_BESIDE_MM = 16.0
"""How far from the deepest place its words still read as its own."""

_TICK_MM = 2.6
_CORNER_MM = 4.2


def form_pages(sheet: PanelSheet) -> list[Page]:
    """Return the page, with more where its list finds no room."""
    guide = form_guide_of(sheet)
    note, box = noted(sheet, _told(sheet, guide))
    blank = fitted_blank(sheet, box)
    sight = sight_of_panel(sheet.tank, sheet.panel)
    picture, beside = picture_part(
        sheet, sight, _on_tank(sheet, sight, guide), _picture_words(sheet, sight, guide)
    )
    parts = [note, Placed(_blank_drawing(sheet, blank, guide, box)), picture]
    tables, more = whole_list(
        sheet, HEADING, ("tick", "form", "blank"), _rows(sheet, guide), beside
    )
    return [bench_page(sheet, HEADING, blank, [*parts, *tables]), *more]


def corner_names(sheet: PanelSheet) -> dict[str, str]:
    """Return the name of the corner every edge starts at: both edges' letters."""
    letters = [edge.letter for edge in sheet.pattern.edges]
    return {letter: f"{letters[at - 1]}/{letter}" for at, letter in enumerate(letters)}


def _is_closed(sheet: PanelSheet) -> bool:
    """Return whether the rim is one edge without a corner."""
    return len(sheet.pattern.edges) == 1


def _blank_drawing(sheet: PanelSheet, blank: FittedBlank, guide: FormGuide, box: Box) -> Drawing:
    """Return the blank with ticks on the line to cut, corners, middle line and deepest place."""
    on_page = blank.on_page
    lines = outlines(sheet, on_page)
    on_cut = outer_line(sheet) is not sheet.pattern.net
    ticks = [_tick(blank, tick, on_cut=on_cut) for tick in guide.ticks]
    lines += [Line(Meaning.FORM_TICK, ends) for ends in ticks]
    middle = Meaning.TANK_CENTRE if guide.is_tank_centre else Meaning.MIDDLE
    lines += [Line(middle, on_page(line)) for line in guide.middle]
    if guide.deepest is not None:
        lines += deepest_mark(on_page(guide.deepest.place[None])[0])
    space = box_space(box, lines)
    texts = _numbers(sheet, guide.ticks, ticks, space)
    leaders: list[Line] = []
    if guide.deepest is not None:
        near = on_page(guide.deepest.place[None])[0]
        words = f"deepest: {_depth_words(sheet, guide)}"
        told, led = _deepest_words(space, words, near, texts, list(map(on_page, guide.middle)))
        leaders += led
        texts += told
    space = space.also_clear_of([line.course for line in leaders])
    named = edge_names(sheet, on_page, space, texts)
    texts += named.texts
    leaders += named.leaders
    space = space.also_clear_of([line.course for line in leaders])
    for line in guide.middle:
        words = "centre line of the tank" if guide.is_tank_centre else "middle of the panel"
        near = on_page(line[len(line) // 3][None])[0]
        texts += place_text(space, words, near, TEXT_MM, 30.0)
    return Drawing((*lines, *leaders), tuple(texts))


def _deepest_words(
    space: FreeSpace,
    words: str,
    near: FloatArray,
    others: Sequence[Text],
    middle: Sequence[FloatArray],
) -> tuple[list[Text], tuple[Line, ...]]:
    """Return how deep the deepest place is, beside it or led to it off the middle line.

    Where neither has room it says only that this is the deepest; how deep stands below too.
    """
    placed = place_text(space, words, near, TEXT_MM + 0.5, 40.0, bold=True)
    led = _led_to(placed, near, others)
    beside = any(np.hypot(*(text.place - near)) < _BESIDE_MM for text in placed)
    if beside or (led and not any(_runs_along(way, line) for way in led for line in middle)):
        return placed, led
    short = place_text(space, "deepest", near, TEXT_MM + 0.5, _BESIDE_MM, bold=True)
    return (short or placed), _led_to(short, near, others)


def _runs_along(way: Line, other: FloatArray) -> bool:
    """Return whether a line would be taken for a part of another."""
    along = shapely.LineString(other).buffer(_ALONG_MM)
    return bool(shapely.intersection(shapely.LineString(way.points), along).length > _FAR_MM)


def _led_to(texts: Sequence[Text], place: FloatArray, others: Sequence[Text]) -> tuple[Line, ...]:
    """Return a line from words to the place they are about, where they stand far from it."""
    ways = [way for text in texts for way in leader(text, place)]
    return tuple(
        way
        for way in ways
        if np.linalg.norm(np.diff(way.points, axis=0)) > _FAR_MM
        and not any(meets(way, other) for other in others)
    )


def _tick(blank: FittedBlank, tick: FormTick, *, on_cut: bool) -> FloatArray:
    """Return the ends of a tick on the page, outer one last: across the blank's edge."""
    place = tick.on_cut if on_cut else tick.on_net
    foot, out = blank.on_page(np.stack([place, place + tick.outward]))
    reach = _CORNER_MM if tick.is_corner else _TICK_MM
    way = (out - foot) / np.linalg.norm(out - foot)
    return np.stack([foot - 0.5 * reach * way, foot + 0.5 * reach * way])


def _numbers(
    sheet: PanelSheet, ticks: Sequence[FormTick], drawn: Sequence[FloatArray], space: FreeSpace
) -> list[Text]:
    """Return each tick's number outside it, corners by their names too."""
    texts: list[Text] = []
    names = corner_names(sheet)
    order = sorted(range(len(ticks)), key=lambda at: not ticks[at].is_corner)
    for at in order:
        tick, (inner, outer) = ticks[at], drawn[at]
        words = str(tick.number)
        if tick.is_corner and not _is_closed(sheet):
            words = f"{tick.number} ({names[tick.letter]})"
        way = (outer - inner) / max(float(np.linalg.norm(outer - inner)), 1e-9)
        for reach in (3.0, 5.0, 8.0):
            near = outer + 0.7 * reach * way
            placed = place_text(space, words, near, TEXT_MM, reach, bold=tick.is_corner)
            if placed:
                texts += placed
                break
    return texts


def _on_tank(sheet: PanelSheet, sight: Sight, guide: FormGuide) -> Drawing:
    """Return the rim with its ticks in sight, and the deepest place, on the picture."""
    rim = panel_rim(sheet)
    lines = [Line(Meaning.NET, part) for part in sight.lines_in_sight(rim)]
    middle = sight.on_picture(rim).mean(axis=0)
    ends = []
    for tick, shown in zip(guide.ticks, _seen(sight, guide), strict=True):
        if not shown:
            continue
        place = sight.on_picture(tick.formed[None])[0]
        way = place - middle
        way = way / max(float(np.linalg.norm(way)), 1e-9)
        reach = _CORNER_MM if tick.is_corner else _TICK_MM
        ends.append((tick, np.stack([place - 0.5 * reach * way, place + 0.5 * reach * way]), way))
    lines += [Line(Meaning.FORM_TICK, line) for _, line, _ in ends]
    deepest = guide.deepest
    shows_deepest = deepest is not None and bool(sight.in_sight(deepest.formed[None])[0])
    if deepest is not None and shows_deepest:
        lines += deepest_mark(sight.on_picture(deepest.formed[None])[0])
    space = box_space((0.0, 0.0, *PICTURE_MM), lines)
    texts: list[Text] = []
    for tick, line, way in ends:
        for near in (line[1] + 2.0 * way, line[0] - 2.0 * way):
            words = str(tick.number)
            placed = level_name(space, words, near, 4.0, bold=tick.is_corner)
            if placed:
                texts += placed
                break
    return Drawing(tuple(lines), tuple(texts))


def _seen(sight: Sight, guide: FormGuide) -> list[bool]:
    """Return of each tick whether the picture shows it."""
    shown: list[bool] = sight.in_sight(np.stack([tick.formed for tick in guide.ticks])).tolist()
    return shown


def _picture_words(sheet: PanelSheet, sight: Sight, guide: FormGuide) -> list[str]:
    """Return from where the rim is seen, which way its numbers run, and which are out of sight."""
    if sheet.job.marked_face == "inside":
        way = "Looking into the form, the numbers run the other way round, as on the blank."
    else:
        way = "The numbers run as on the blank. Looking into the form, they run the other way."
    words = [f"The form's rim seen from OUTSIDE. {way}"]
    shown = zip(guide.ticks, _seen(sight, guide), strict=True)
    hidden = [tick.number for tick, is_seen in shown if not is_seen]
    if hidden:
        words.append(f"Out of sight here: {runs_of_numbers(hidden)}.")
    return words


def runs_of_numbers(numbers: Sequence[int]) -> str:
    """Return numbers, least first, those that follow one another as a run.

    >>> runs_of_numbers([1, 2, 3, 4, 8, 24, 25]), runs_of_numbers([7])
    ('1 to 4, 8, 24, 25', '7')
    """
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    told = [f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs]
    return ", ".join(told)


def _rows(sheet: PanelSheet, guide: FormGuide) -> list[tuple[str, ...]]:
    """Return the list: where each edge starts, its ticks along form and blank, where it ends."""
    show, names = sheet.job.show, corner_names(sheet)
    rows: list[tuple[str, ...]] = []
    for edge in sheet.pattern.edges:
        for tick in guide.ticks:
            if tick.letter != edge.letter:
                continue
            if tick.is_corner:
                start = "here" if _is_closed(sheet) else names[edge.letter]
                rows.append((str(tick.number), f"{edge.letter} from {start}", ""))
                continue
            form, flat = (number_text(at, show) for at in (tick.formed_mm, tick.flat_mm))
            rows.append((str(tick.number), form, flat))
        form, flat = (number_text(at, show) for at in (edge.formed_mm, edge.flat_mm))
        rows.append(("end", form, flat))
    return rows


def _depth_words(sheet: PanelSheet, guide: FormGuide) -> str:
    """Return how deep the deepest place lies."""
    depth = 0.0 if guide.deepest is None else guide.deepest.depth_mm
    return length_text(depth, sheet.job.show, decimals=0)


def _told(sheet: PanelSheet, guide: FormGuide) -> list[str]:
    """Return the sentences for the foot."""
    show = sheet.job.show
    words = [
        "Number the form's rim as in the picture, seen from OUTSIDE: a tick every "
        f"{spacing_text(FORM_TICKS_MM[show], show)} from each corner along the net line. Lay tick "
        "on tick. On the blank they stand as listed, along its net line from the same corner "
        f"({'inches' if show == 'in' else 'mm'})."
    ]
    if guide.deepest is not None:
        words.append(
            f"Deepest place {_depth_words(sheet, guide)} below the flat plane nearest to the rim. "
            "The rim is off that plane by up to "
            f"{length_text(guide.deepest.rim_off_mm, show, decimals=0)}."
        )
    name = "centre line of the tank" if guide.is_tank_centre else "middle of the panel"
    ends = [
        f"edge {end.letter} at {number_text(end.formed_mm, show)} on the form, "
        f"{number_text(end.flat_mm, show)} on the blank"
        for end in guide.ends
    ]
    if ends:
        words.append(f"The {name} meets {'; '.join(ends)} ({show}, from the edge's corner).")
    return words
