"""`gauge_set`: every gauge of a tank: stations, bottom profile, side lines, checking frame."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from geometry.arrays import BoolArray, FloatArray
from geometry.gauges.bottom_profile import BottomProfile, bar_across, bottom_profile
from geometry.gauges.checking_frame import FrameBoard, FrameCheck, checking_frame, stood_up
from geometry.gauges.gauge_faults import GaugeSizeError, NoSectionError
from geometry.gauges.gauge_wishes import GaugeWishes
from geometry.gauges.gauged_skin import GaugedSkin
from geometry.gauges.long_gauges import LongGauge, long_gauges
from geometry.gauges.station_section import StationSection, station_section
from geometry.gauges.stations import GaugeStation, Girthing, girthing, stations_of
from geometry.gauges.template import Part, Template, template
from geometry.gauges.tight_bends import TightBend, TightBends
from geometry.gauges.torn_edge import TornPlace
from geometry.gauges.turned_over import Hand, HandDifference, hand_difference
from geometry.mesh import TriMesh, rims
from geometry.progress import Report, silent

LEVEL_STEP_MM = 50.0
_LEVEL_CLEAR_MM = 15.0
MOST_LIMIT_MM = 20.0


@dataclass(frozen=True, eq=False)
class StationGauge:
    """The boards of one station.

    Attributes
    ----------
    station : GaugeStation
    section : StationSection
    difference : HandDifference or None
        None where they are whole.
    boards : tuple of (hand, Template)
    level_mm : float
        The height the level notch of its boards stands at.
    tight : tuple of TightBend
        Where its outline turns more tightly than the scan's points can show.
    """

    station: GaugeStation
    section: StationSection
    difference: HandDifference | None
    boards: tuple[tuple[Hand, Template], ...]
    level_mm: float
    tight: tuple[TightBend, ...] = ()


@dataclass(frozen=True, eq=False)
class GaugeSet:
    """Every gauge of a tank.

    Attributes
    ----------
    stations : tuple of StationGauge
    left_out : tuple of GaugeStation
        Where no outline reaches over the tank.
    profile : BottomProfile or None
    bars : tuple of Template
        Across, at the stations of the profile's widths.
    longs : tuple of LongGauge
    frame : tuple of FrameBoard
    check : FrameCheck or None
        The frame stood up by numbers.
    girth : Girthing
    length_mm : float
    front_mm : float
        Where the front end stands in tank axes.
    filled : BoolArray
        Faces nobody scanned.
    top_open : bool
        Whether the skin's open edge lies on top: the tank seems to stand on its head.
    torn : tuple of TornPlace
        Where the bottom edge is torn on one hand.
    """

    stations: tuple[StationGauge, ...]
    left_out: tuple[GaugeStation, ...]
    profile: BottomProfile | None
    bars: tuple[Template, ...]
    longs: tuple[LongGauge, ...]
    frame: tuple[FrameBoard, ...]
    check: FrameCheck | None
    girth: Girthing
    length_mm: float
    front_mm: float
    filled: BoolArray
    top_open: bool
    torn: tuple[TornPlace, ...] = ()


def gauge_set(
    scanned: TriMesh,
    filled: BoolArray,
    copied: BoolArray,
    wishes: GaugeWishes,
    *,
    inward_mm: float = 0.0,
    frame_inward_mm: float = 0.0,
    crisp: Sequence[FloatArray] = (),
    spacing_mm: float = 0.0,
    ends_mm: tuple[float, float] | None = None,
    report: Report = silent,
) -> GaugeSet:
    """Return the gauges of a tank.

    Parameters
    ----------
    scanned : TriMesh
        The scanned face in tank axes: x ahead, y left, z up, mm.
    filled, copied : (m,) bool
        Faces nobody scanned, and those made from the other side.
    wishes : GaugeWishes
    inward_mm : float
        How far below the scanned face the one lies that gauges touch.
    frame_inward_mm : float
        The same for the face that lies on the checking frame.
    crisp : sequence of (k, 3) float, mm
        Character lines kept crisp.
    spacing_mm : float
        How far the scan's points are apart; where the skin is known exactly, 0.
    ends_mm : tuple of float, optional
        Where the tank's rear and front end stand; as far as its vertices go if not given.
    report : Report

    Raises
    ------
    StationOffTankError, StationSpacingError, NoSectionError, GaugeSizeError
    """
    if not 0.0 <= wishes.limit_mm <= MOST_LIMIT_MM:
        raise GaugeSizeError("limit for turning over", wishes.limit_mm, 0.0, MOST_LIMIT_MM)
    report(0.0, "stations")
    outside = GaugedSkin(scanned, 0.0, filled, copied, ends_mm)
    girth = girthing(outside)
    places = _places(outside, girth, wishes)
    skin = GaugedSkin(scanned, inward_mm, filled, copied, ends_mm)
    tight = TightBends(skin, spacing_mm, crisp)
    stations, left_out = _stations(skin, places, wishes, tight, report)
    report(0.6, "long templates")
    profile = bottom_profile(skin) if wishes.profile else None
    longs, torn = long_gauges(skin, profile, girth, crisp, wishes)
    bars = () if profile is None else tuple(bar_across(*each) for each in profile.across)
    report(0.8, "checking frame")
    framed = GaugedSkin(scanned, frame_inward_mm, filled, copied, ends_mm)
    frame = _frame(framed, stations, girth, wishes)
    report(1.0, "gauges")
    return GaugeSet(
        stations,
        left_out,
        profile,
        bars,
        longs,
        frame,
        stood_up(frame) if frame else None,
        girth,
        outside.length_mm,
        outside.front_mm,
        filled,
        _top_open(scanned),
        torn,
    )


def _places(outside: GaugedSkin, girth: Girthing, wishes: GaugeWishes) -> tuple[GaugeStation, ...]:
    """Return where the stations are to be."""
    return stations_of(
        outside,
        girth,
        spacing_mm=wishes.spacing_mm,
        asked_mm=wishes.asked_mm,
        only_asked=wishes.only_asked,
    )


def _top_open(scanned: TriMesh) -> bool:
    """Return whether the longest open edge of the skin lies above its middle."""
    found = rims(scanned)
    if not found:
        return False
    heights = scanned.vertices[scanned.faces.ravel(), 2]
    length = np.ptp(scanned.vertices[scanned.faces.ravel(), 0])
    rim = scanned.vertices[max(found, key=len)]
    is_mouth = float(np.ptp(rim[:, 0])) > 0.5 * float(length)
    return is_mouth and float(rim[:, 2].mean()) > float(heights.min() + heights.max()) / 2.0


def _stations(
    skin: GaugedSkin,
    places: Sequence[GaugeStation],
    wishes: GaugeWishes,
    tight: TightBends,
    report: Report,
) -> tuple[tuple[StationGauge, ...], tuple[GaugeStation, ...]]:
    """Return the gauges of the stations, renumbered without those where none can be laid on.

    Raises
    ------
    NoSectionError
        None can be laid on anywhere.
    """
    found: list[StationGauge] = []
    missing: list[GaugeStation] = []
    for done, place in enumerate(places):
        report(0.1 + 0.5 * done / len(places), "station templates")
        try:
            cut = station_section(skin, 0, place.at_mm)
        except NoSectionError:
            missing.append(place)
            continue
        made = _station(replace(place, number=len(found) + 1), cut, wishes)
        if made is None:
            missing.append(place)
        else:
            found.append(replace(made, tight=tight.along(cut.arch, 0, place.at_mm)))
    if not found:
        raise NoSectionError(places[0].at_mm)
    return tuple(found), tuple(missing)


def _station(
    station: GaugeStation, cut: StationSection, wishes: GaugeWishes
) -> StationGauge | None:
    left, right = cut.half("left"), cut.half("right")
    if left is None or right is None or min(len(left), len(right)) < 3:
        return None
    level = _level(cut.arch)

    def board(line: FloatArray, part: Part) -> Template:
        return template(
            line,
            kind=wishes.kind,
            part=part,
            board_mm=wishes.board_mm,
            notches=_notches(line, part, level, wishes),
        )

    if not wishes.in_halves:
        whole: tuple[tuple[Hand, Template], ...] = (("whole", board(cut.arch, "whole")),)
        return _if_boards(StationGauge(station, cut, None, whole, level))
    difference = hand_difference(left, right)
    if difference.turns_over(wishes.limit_mm):
        boards: tuple[tuple[Hand, Template], ...] = (("both", board(left, "left")),)
    else:
        boards = (("left", board(left, "left")), ("right", board(right, "right")))
    return _if_boards(StationGauge(station, cut, difference, boards, level))


def _if_boards(gauge: StationGauge) -> StationGauge | None:
    """Return a station's gauge; None where a board of it would touch nothing."""
    return gauge if all(board.is_board for _, board in gauge.boards) else None


def _level(arch: FloatArray) -> float:
    """Return the height of the level notch: the step of levels nearest to the arch's middle."""
    low, high = float(arch[:, 1].min()), float(arch[:, 1].max())
    middle = LEVEL_STEP_MM * round((low + high) / 2.0 / LEVEL_STEP_MM)
    return middle if low + _LEVEL_CLEAR_MM < middle < high - _LEVEL_CLEAR_MM else (low + high) / 2.0


def _notches(line: FloatArray, part: Part, level: float, wishes: GaugeWishes) -> FloatArray:
    """Return where a board has its notches: at the level line, and at the centre of whole ones."""
    low, high = line.min(axis=0), line.max(axis=0)
    if wishes.kind == "male":
        foot = (float(line[0, 1]) + float(line[-1, 1])) / 2.0
        return np.array([[0.0, foot if part == "whole" else level]])
    sides = {"left": [low[0]], "right": [high[0]], "whole": [low[0], high[0]]}[part]
    places = [[at + np.copysign(wishes.board_mm, at), level] for at in sides]
    if part == "whole":
        places.append([0.0, high[1] + wishes.board_mm])
    return np.array(places)


def _frame(
    skin: GaugedSkin, stations: Sequence[StationGauge], girth: Girthing, wishes: GaugeWishes
) -> tuple[FrameBoard, ...]:
    if wishes.frame is None:
        return ()
    places = [each.station for each in stations]
    return checking_frame(skin, places, girth.widest_mm, wishes.frame)
