"""The arrangement sheet: what is only bent. Roll lines and bends, or sweeps at numbered stations.

Nothing here tells of stretch or shrink: that is the shape page's. A panel that only bends is told
by its roll lines; one with crown both ways by sweeps held at stations, the same ones as on the
tank.
"""

from collections.abc import Sequence

import numpy as np

from app.exports.drawing import (
    Drawing,
    FreeSpace,
    Line,
    Meaning,
    Page,
    Placed,
    Text,
    place_text,
    text_width,
)
from app.exports.facts import PanelSheet, reason_not_to_cut
from app.exports.marks import (
    arc_words,
    is_only_bent,
    rounded_radius,
    station_axes,
    sweeps_of,
    tank_stations,
)
from app.exports.pages.bench_page import (
    TEXT_MM,
    Box,
    FittedBlank,
    OnPage,
    bench_page,
    box_space,
    courses,
    fitted_blank,
    noted,
    outlines,
    picture_part,
    whole_list,
)
from app.exports.pages.in_sight import PICTURE_MM, Sight, panel_rim, parts_in_sight, sight_of_panel
from app.exports.words import roll_words, spacing_text
from geometry.arrays import FloatArray
from geometry.pattern import RollLine, Sweep

HEADING = "ARRANGEMENT"

_AXIS_WORDS = {
    "S": "S: back from the tank's front end, square to FRONT",
    "H": "H: down from the tank's top, level",
    "L": "L and R: out to left and right from M, its middle, upright along it",
}


def arrangement_pages(sheet: PanelSheet) -> list[Page]:
    """Return the arrangement sheet, with a page more where its table finds no room."""
    only_bent = is_only_bent(sheet)
    found = sweeps_of(sheet)
    rolls = [roll for roll in sheet.pattern.rolls if only_bent or roll.is_fold]
    note, box = noted(sheet, _told(sheet, rolls, only_bent=only_bent))
    blank = fitted_blank(sheet, box)
    sight = sight_of_panel(sheet.tank, sheet.panel)
    words = (
        "The same lines on the tank, seen from outside."
        if only_bent
        else "The stations on the tank, seen from outside."
    )
    picture, beside = picture_part(sheet, sight, _on_tank(sheet, sight, rolls, found), [words])
    parts = [note, Placed(_blank_drawing(sheet, blank, rolls, found, box)), picture]
    head, rows = _rows(sheet, rolls, found)
    tables, more = whole_list(sheet, HEADING, head, rows, beside)
    return [bench_page(sheet, HEADING, blank, [*parts, *tables]), *more]


def _goes_up(sheet: PanelSheet, roll: RollLine) -> bool:
    """Return whether the metal beside a line comes towards the maker, who sees the marked face."""
    return roll.towards_outside != (sheet.lay.face == "inside")


def _line_words(sheet: PanelSheet, roll: RollLine) -> str:
    """Return what to do along a line, as short as it can be told."""
    up, show = _goes_up(sheet, roll), sheet.job.show
    if roll.is_fold:
        return roll_words(0.0, roll.turn_rad, up=up, is_fold=True, show=show)
    inside = max(0.0, float(np.median(roll.radii)) - sheet.job.thickness_mm / 2.0)
    first, second = (
        rounded_radius(inside, each) for each in (("mm", "in"), ("in", "mm"))[show == "in"]
    )
    return f"inside R {first} ({second}), roll {'UP' if up else 'DOWN'}"


def _meaning(sheet: PanelSheet, roll: RollLine) -> Meaning:
    if not roll.is_fold:
        return Meaning.ROLL
    return Meaning.BEND_UP if _goes_up(sheet, roll) else Meaning.BEND_DOWN


def _blank_drawing(
    sheet: PanelSheet,
    blank: FittedBlank,
    rolls: Sequence[RollLine],
    found: Sequence[Sweep],
    box: Box,
) -> Drawing:
    """Return the blank with its roll lines, bends and stations, and what is told along each."""
    on_page = blank.on_page
    lines = [Line(_meaning(sheet, roll), on_page(roll.points)) for roll in rolls]
    lines += [Line(Meaning.STATION, on_page(sweep.points)) for sweep in found]
    lines += _allowance_bends(sheet, on_page)
    edges = outlines(sheet, on_page)
    lines += [Line(Meaning.CHARACTER, on_page(line)) for line in sheet.pattern.character_lines]
    texts = _tags(found, on_page, box_space(box, [*lines, *edges]))
    space = FreeSpace(on_page(sheet.pattern.net), courses([*lines, *edges]))
    for roll, line in zip(rolls, lines, strict=False):
        middle = line.points[len(line.points) // 2]
        texts += place_text(space, _line_words(sheet, roll), middle, TEXT_MM, 30.0)
    for sweep in sorted(found, key=lambda each: -len(each.points)):
        middle = on_page(sweep.points[len(sweep.points) // 2 :][:1])[0]
        words = f"{sweep.station}: {arc_words(sheet, sweep)}"
        texts += place_text(space, words, middle, TEXT_MM, 9.0)
    return Drawing((*lines, *edges), tuple(texts))


def _allowance_bends(sheet: PanelSheet, on_page: OnPage) -> list[Line]:
    """Return the fold lines of flanges, hems and joggles; none where nothing may be cut."""
    if reason_not_to_cut(sheet) is not None:
        return []
    found = []
    for fold in sheet.pattern.bend_lines:
        if fold.is_tangent:
            continue
        up = (fold.angle_deg > 0.0) == (sheet.lay.face == "inside")
        found.append(Line(Meaning.BEND_UP if up else Meaning.BEND_DOWN, on_page(fold.points)))
    return found


def _tags(found: Sequence[Sweep], on_page: OnPage, space: FreeSpace) -> list[Text]:
    """Return the name of every station beyond one end of its line, outside the blank if it can."""
    texts: list[Text] = []
    for name in dict.fromkeys(sweep.station for sweep in found):
        mine = [on_page(sweep.points) for sweep in found if sweep.station == name]
        ends = [(line[0], line[0] - line[1]) for line in mine]
        ends += [(line[-1], line[-1] - line[-2]) for line in mine]
        ends.sort(key=lambda end: (-round(float(end[0][1]), 3), float(end[0][0])))
        for place, way in ends:
            near = place + 6.0 * way / max(float(np.linalg.norm(way)), 1e-9)
            placed = place_text(space, name, near, TEXT_MM, 6.0, bold=True)
            if placed:
                texts += placed
                break
    return texts


def _on_tank(
    sheet: PanelSheet, sight: Sight, rolls: Sequence[RollLine], found: Sequence[Sweep]
) -> Drawing:
    """Return the same lines on the picture of the tank, the stations named."""
    lines = [Line(Meaning.NET, part) for part in sight.lines_in_sight(panel_rim(sheet))]
    lines += [
        Line(_meaning(sheet, roll), part)
        for roll in rolls
        for part in sight.lines_in_sight(roll.formed)
    ]
    stations: dict[str, list[FloatArray]] = {}
    for sweep in found:
        stations.setdefault(sweep.station, []).extend(parts_in_sight(sight, [sweep.formed]))
    lines += [Line(Meaning.STATION, part) for parts in stations.values() for part in parts]
    space = box_space((0.0, 0.0, *PICTURE_MM), lines)
    texts: list[Text] = []
    for name, parts in stations.items():
        for part in sorted(parts, key=len, reverse=True)[:1]:
            for near in (part[0], part[-1], part[len(part) // 2]):
                placed = place_text(space, name, near, TEXT_MM, 5.0, bold=True)
                if placed:
                    texts += placed
                    break
    return Drawing(tuple(lines), tuple(texts))


def _rows(
    sheet: PanelSheet, rolls: Sequence[RollLine], found: Sequence[Sweep]
) -> tuple[tuple[str, str], list[tuple[str, str]]]:
    """Return head and rows of the table: stations, or roll lines and bends."""
    if not found:
        rows = [(str(number), _line_words(sheet, roll)) for number, roll in enumerate(rolls, 1)]
        return ("line", "what to do"), rows
    by_station: dict[str, list[str]] = {}
    for sweep in sorted(found, key=lambda each: _starts(sheet, each)):
        by_station.setdefault(sweep.station, []).append(arc_words(sheet, sweep))
    names = dict.fromkeys(sweep.station for sweep in found)
    width = 102.0 if any(len(", ".join(words)) > 24 for words in by_station.values()) else 42.0
    rows = [
        (name, line) for name in names for line in _one_after_another(by_station[name], width - 2.0)
    ]
    return ("station", _HEAD[station_axes(sheet)]), rows


def _one_after_another(pieces: Sequence[str], width_mm: float) -> list[str]:
    """Return the pieces of a station as rows no wider than asked, none broken in itself."""
    rows = [pieces[0]]
    for piece in pieces[1:]:
        longer = f"{rows[-1]}, then {piece}"
        if text_width(longer, TEXT_MM, bold=True) <= width_mm:
            rows[-1] = longer
        else:
            rows.append(f"then {piece}")
    return rows


_HEAD = {
    (0, 1): "sweep, from left or front",
    (0, 2): "sweep, from top or front",
    (1, 2): "sweep, from top or left",
}


def _starts(sheet: PanelSheet, sweep: Sweep) -> float:
    """Return where a sweep lies among those of its station: from the front, left or top on."""
    stations = tank_stations(sheet.tank, sheet.job.show)
    first, second = station_axes(sheet)
    square_to = {each.name: axis for axis in (first, second) for each in stations.along[axis]}
    along = second if square_to[sweep.station] == first else first
    middle = sweep.formed.mean(axis=0)
    return -float(stations.axes.to_tank(middle[None])[0, along])


def _told(sheet: PanelSheet, rolls: Sequence[RollLine], *, only_bent: bool) -> list[str]:
    """Return the sentences for the foot."""
    if only_bent:
        if not rolls:
            return ["This panel is flat: nothing to roll or bend."]
        return ["Only rolled and bent, nothing stretched. UP: towards you, the marked face up."]
    stations = tank_stations(sheet.tank, sheet.job.show)
    chosen = station_axes(sheet)
    names = ("S", "L", "H")
    every = [
        f"{_AXIS_WORDS[names[axis]]}, every "
        f"{spacing_text(stations.spacing_mm[axis], sheet.job.show)}"
        for axis in chosen
    ]
    words = [f"Stations {'; '.join(every)}. Hollow: seen from outside."]
    if not stations.axes.named:
        words.append("FRONT NOT SET: the tank's longest way stands for it, its shortest for up.")
    if any(roll.is_fold for roll in rolls):
        words.append("Bends: UP is towards you, the marked face up.")
    return words
