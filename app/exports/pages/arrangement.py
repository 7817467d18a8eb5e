"""The arrangement sheet: what is only bent. Roll lines and bends, or sweeps at numbered stations.

Nothing here tells of stretch or shrink: that is the shape page's. A panel that only bends is told
by its roll lines; one with crown both ways by sweeps held at stations, the same ones as on the
tank.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

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
    place_text,
    text_width,
)
from app.exports.facts import PanelSheet, Show, TankModel, reason_not_to_cut
from app.exports.pages.bench_page import (
    TEXT_MM,
    Box,
    FittedBlank,
    OnPage,
    bench_page,
    box_space,
    courses,
    fitted_blank,
    more_tables,
    noted,
    outlines,
    picture_part,
    side_tables,
)
from app.exports.pages.in_sight import PICTURE_MM, Sight, panel_rim, parts_in_sight, sight_of_panel
from app.exports.words import roll_words
from app.units import fraction_text, length_text, plain_number
from geometry.arrays import FloatArray
from geometry.gauges import TankAxes, tank_axes
from geometry.mesh import TriMesh, face_areas, face_normals
from geometry.pattern import FLATTEST_MM, RollLine, Station, Sweep, sweeps

HEADING = "ARRANGEMENT"

SPACINGS_MM: dict[Show, tuple[float, ...]] = {"mm": (100.0, 75.0, 50.0), "in": (101.6, 76.2, 50.8)}
"""From station to station: the widest of which the tank holds six, else the closest."""

_LEAST_STATIONS = 6
_ONLY_BENT = 0.005
"""Change of length, as a logarithm, up to which metal counts as only bent."""

_BENT_PART = 0.9
"""A panel of which so much is only bent is told by roll lines."""

_TO_EDGE_MM = 25.0
"""A roll line that ends nearer to the panel's edge than this runs on to it."""

_AXIS_WORDS = {
    "S": "S: back from the tank's front end, square to FRONT",
    "H": "H: down from the tank's top, level",
    "L": "L and R: out to left and right from M, its middle, upright along it",
}


def arrangement_pages(sheet: PanelSheet) -> list[Page]:
    """Return the arrangement sheet, with a page more where its table finds no room."""
    only_bent = is_only_bent(sheet)
    found = () if only_bent else sweeps_of(sheet)
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
    head, rows, widths = _rows(sheet, rolls, found)
    tables, rest = side_tables(head, rows, widths, beside)
    page = bench_page(sheet, HEADING, blank, [*parts, *tables])
    return [page, *more_tables(sheet, HEADING, head, rest, widths)]


def is_only_bent(sheet: PanelSheet) -> bool:
    """Return whether the panel is made by rolling and bending alone."""
    flat = sheet.flat
    areas = face_areas(flat.vertices, flat.faces)
    bent = np.abs(np.log(flat.stretches)).max(axis=1) <= _ONLY_BENT
    return bool(areas[bent].sum() >= _BENT_PART * areas.sum())


@dataclass(frozen=True, eq=False)
class TankStations:
    """The stations of a whole tank, by the axis they stand square to: ahead, left, up."""

    axes: TankAxes
    along: tuple[tuple[Station, ...], tuple[Station, ...], tuple[Station, ...]]
    spacing_mm: tuple[float, float, float]


@lru_cache(maxsize=8)
def tank_stations(tank: TankModel, show: Show) -> TankStations:
    """Return the stations of a tank: the same on every one of its panels."""
    axes = tank_axes(TriMesh(tank.vertices, tank.faces), tank.front, tank.up)
    seen = axes.to_tank(tank.vertices[np.unique(tank.faces)])
    low, high = seen.min(axis=0), seen.max(axis=0)
    spacing = tuple(_spacing(float(high[k] - low[k]), show) for k in range(3))

    def planes(axis: int, starts: Sequence[tuple[str, float]]) -> tuple[Station, ...]:
        points = [axes.from_tank(at * np.eye(3)[axis][None])[0] for _, at in starts]
        return tuple(
            Station(name, point, axes.axes[axis])
            for (name, _), point in zip(starts, points, strict=True)
        )

    across = [
        (f"S{k}", float(high[0]) - k * spacing[0]) for k in _up_to(high[0] - low[0], spacing[0])
    ]
    level = [
        (f"H{k}", float(high[2]) - k * spacing[2]) for k in _up_to(high[2] - low[2], spacing[2])
    ]
    sideways = [(f"L{k}", k * spacing[1]) for k in _up_to(high[1], spacing[1])]
    sideways += [("M", 0.0)]
    sideways += [(f"R{k}", -k * spacing[1]) for k in _up_to(-low[1], spacing[1])]
    return TankStations(
        axes,
        (planes(0, across), planes(1, sideways), planes(2, level)),
        (spacing[0], spacing[1], spacing[2]),
    )


def _spacing(extent: float, show: Show) -> float:
    wide = [step for step in SPACINGS_MM[show] if extent / step >= _LEAST_STATIONS]
    return wide[0] if wide else SPACINGS_MM[show][-1]


def _up_to(extent: float, spacing: float) -> range:
    """Return the numbers of the stations within an extent."""
    return range(1, int((extent - 1.0) // spacing) + 1)


@lru_cache(maxsize=4)
def station_axes(sheet: PanelSheet) -> tuple[int, int]:
    """Return the two of the tank's axes that stations stand square to: not the one it faces."""
    stations = tank_stations(sheet.tank, sheet.job.show)
    flat = sheet.flat
    areas = face_areas(flat.vertices, flat.faces)
    facing = np.average(face_normals(flat.vertices, flat.faces), axis=0, weights=areas)
    faces = int(np.abs(stations.axes.axes @ facing).argmax())
    first, second = (axis for axis in (0, 1, 2) if axis != faces)
    return first, second


@lru_cache(maxsize=4)
def sweeps_of(sheet: PanelSheet) -> tuple[Sweep, ...]:
    """Return the sweeps of a panel at the tank's stations, both ways, parted at bends and lines."""
    stations = tank_stations(sheet.tank, sheet.job.show)
    chosen = [station for axis in station_axes(sheet) for station in stations.along[axis]]
    bends = [roll.points for roll in sheet.pattern.rolls if roll.is_fold]
    return sweeps(sheet.flat, chosen, parted_by=[*bends, *sheet.pattern.character_lines])


def arc_words(sheet: PanelSheet, sweep: Sweep) -> str:
    """Return what a sweep held along a piece of a station reads on the marked face."""
    if sweep.is_one_arc:
        return _radius_words(sheet, sweep.curvature, mark_hollow=True)
    both = (sweep.least < 0.0) != (sweep.most < 0.0)
    first, last = sweep.most, sweep.least
    if not both and first < 0.0:
        first, last = last, first
    words = [
        _radius_words(sheet, first, mark_hollow=both),
        _radius_words(sheet, last, mark_hollow=True),
    ]
    if words[0] == words[1]:
        return words[0]
    return f"{words[0]} to {words[1] if both else words[1].removeprefix('R ')}"


def _radius_words(sheet: PanelSheet, curvature: float, *, mark_hollow: bool) -> str:
    """Return a radius on the marked face: the surface told is the middle of the metal."""
    if abs(curvature) * FLATTEST_MM < 1.0:
        return "flat"
    half = sheet.job.thickness_mm / 2.0
    nearer = (curvature > 0.0) == (sheet.lay.face == "inside")
    radius = max(1.0 / abs(curvature) + (-half if nearer else half), 0.0)
    hollow = " hollow" if mark_hollow and curvature < 0.0 else ""
    return f"R {rounded_radius(radius, sheet.job.show)}{hollow}"


def rounded_radius(radius_mm: float, show: str) -> str:
    """Return a sweep's radius as sweeps are kept: the larger, the coarser.

    >>> rounded_radius(144.6, "mm"), rounded_radius(1234.0, "mm"), rounded_radius(144.6, "in")
    ('145', '1230', '5 11/16')
    >>> rounded_radius(700.0, "in")
    '27 1/2'
    """
    if show == "mm":
        return plain_number(round(radius_mm / 10.0) * 10.0 if radius_mm > 300.0 else radius_mm, 0)
    step = 16 if radius_mm < 305.0 else 4 if radius_mm < 1000.0 else 1
    return fraction_text(radius_mm, step).removesuffix(" in")


def to_the_edge(roll: RollLine, net: FloatArray) -> FloatArray:
    """Return a roll line on the blank, its ends run on to the net line where that is near."""
    edge = shapely.LinearRing(net)
    points = roll.points
    for _ in range(2):
        points = points[::-1]
        way = points[-1] - points[-2]
        way = way / max(float(np.linalg.norm(way)), 1e-9)
        ray = shapely.LineString([points[-1] - 1e-6 * way, points[-1] + _TO_EDGE_MM * way])
        met = shapely.get_coordinates(shapely.intersection(ray, edge))
        if len(met):
            nearest = met[np.argmin(np.linalg.norm(met - points[-1], axis=1))]
            points = np.concatenate([points, nearest[None]])
    return points


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
    lines = [
        Line(_meaning(sheet, roll), on_page(to_the_edge(roll, sheet.pattern.net))) for roll in rolls
    ]
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
) -> tuple[tuple[str, str], list[tuple[str, str]], tuple[float, float]]:
    """Return head, rows and widths of the table: stations, or roll lines and bends."""
    if not found:
        rows = [(str(number), _line_words(sheet, roll)) for number, roll in enumerate(rolls, 1)]
        return ("line", "what to do"), rows, (12.0, 74.0)
    by_station: dict[str, list[str]] = {}
    for sweep in sorted(found, key=lambda each: _starts(sheet, each)):
        by_station.setdefault(sweep.station, []).append(arc_words(sheet, sweep))
    names = dict.fromkeys(sweep.station for sweep in found)
    width = 102.0 if any(len(", ".join(words)) > 24 for words in by_station.values()) else 42.0
    rows = [
        (name, line) for name in names for line in _one_after_another(by_station[name], width - 2.0)
    ]
    return ("station", _HEAD[station_axes(sheet)]), rows, (15.0, width)


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
        f"{length_text(stations.spacing_mm[axis], sheet.job.show)}"
        for axis in chosen
    ]
    words = [f"Stations {'; '.join(every)}. Hollow: seen from outside."]
    if not stations.axes.named:
        words.append("FRONT NOT SET: the tank's longest way stands for it, its shortest for up.")
    if any(roll.is_fold for roll in rolls):
        words.append("Bends: UP is towards you, the marked face up.")
    return words
