"""Stations: planes of the tank in which sweeps are held, and what a panel reads there.

Whether a panel is told by them or by its roll lines; worked out once for all its pages.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from app.exports.drawing import FreeSpace, Line, Meaning, Told, Wording, words_beside
from app.exports.facts import PanelSheet, Show, TankModel
from app.exports.marks.listing import Listing
from app.units import fraction_text, plain_number
from geometry.gauges import TankAxes, tank_axes
from geometry.mesh import TriMesh, face_areas, face_normals
from geometry.pattern import FLATTEST_MM, FlatSheet, Pattern, Station, Sweep, sweeps

SPACINGS_MM: dict[Show, tuple[float, ...]] = {"mm": (100.0, 75.0, 50.0), "in": (101.6, 76.2, 50.8)}
"""From station to station: the widest of which the tank holds six, else the closest."""

_LEAST_STATIONS = 6
_TEXT_MM = 2.5
_OFF_MM = (0.8, 2.0)
_ONLY_BENT = 0.005
"""Change of length, as a logarithm, up to which metal counts as only bent."""

_BENT_PART = 0.9
"""A panel of which so much is only bent is told by roll lines."""


def is_only_bent(sheet: PanelSheet) -> bool:
    """Return whether the panel is made by rolling and bending alone."""
    return _only_bent(sheet.flat)


@lru_cache(maxsize=8)
def _only_bent(flat: FlatSheet) -> bool:
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


def station_axes(sheet: PanelSheet) -> tuple[int, int]:
    """Return the two of the tank's axes that stations stand square to: not the one it faces."""
    return _axes_across(sheet.flat, sheet.tank, sheet.job.show)


@lru_cache(maxsize=8)
def _axes_across(flat: FlatSheet, tank: TankModel, show: Show) -> tuple[int, int]:
    stations = tank_stations(tank, show)
    areas = face_areas(flat.vertices, flat.faces)
    facing = np.average(face_normals(flat.vertices, flat.faces), axis=0, weights=areas)
    faces = int(np.abs(stations.axes.axes @ facing).argmax())
    first, second = (axis for axis in (0, 1, 2) if axis != faces)
    return first, second


def sweeps_of(sheet: PanelSheet) -> tuple[Sweep, ...]:
    """Return the sweeps of a panel at the tank's stations, both ways, parted at bends and lines.

    None where it is made by rolling and bending alone.
    """
    return _sweeps(sheet.flat, sheet.pattern, sheet.tank, sheet.job.show)


@lru_cache(maxsize=8)
def _sweeps(flat: FlatSheet, pattern: Pattern, tank: TankModel, show: Show) -> tuple[Sweep, ...]:
    if _only_bent(flat):
        return ()
    stations = tank_stations(tank, show)
    axes = _axes_across(flat, tank, show)
    chosen = [station for axis in axes for station in stations.along[axis]]
    bends = [roll.points for roll in pattern.rolls if roll.is_fold]
    return sweeps(flat, chosen, parted_by=[*bends, *pattern.character_lines])


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


def station_lines(sheet: PanelSheet) -> list[Line]:
    """Return the stations full size, in the maker's view."""
    return [Line(Meaning.STATION, sheet.lay.on_paper(sweep.points)) for sweep in sweeps_of(sheet)]


def station_texts(sheet: PanelSheet, space: FreeSpace, listing: Listing) -> Told:
    """Return each station's name and the sweep that is held along each piece of it."""
    told, missing = Told(), []
    named: set[str] = set()
    for sweep in sorted(sweeps_of(sheet), key=lambda each: -len(each.points)):
        words = f"{sweep.station}: {arc_words(sheet, sweep)}"
        points = sheet.lay.on_paper(sweep.points)
        found = words_beside(space, points, [Wording(words, _TEXT_MM)], off_mm=_OFF_MM)
        if not found:
            missing.append(words)
            if sweep.station not in named:
                name = [Wording(sweep.station, _TEXT_MM)]
                found = words_beside(space, points, name, off_mm=_OFF_MM)
        named |= {sweep.station} if found else set()
        told += found
    if missing:
        listing.add(f"Stations without room for their sweeps: {'; '.join(missing)}")
    return told


def station_rows(sheet: PanelSheet) -> list[tuple[bool, Meaning, str]]:
    """Return what a legend says of stations, and whether there are any."""
    words = "stations of the arrangement sheet, sweep to hold beside them"
    return [(bool(sweeps_of(sheet)), Meaning.STATION, words)]
