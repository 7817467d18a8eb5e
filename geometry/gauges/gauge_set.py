"""`gauge_set`: every gauge of a tank: stations, bottom profile, side lines, checking frame."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from geometry.arrays import BoolArray, FloatArray
from geometry.gauges.bottom_profile import (
    BottomProfile,
    View,
    bar_across,
    bottom_profile,
    long_template,
    scribing_template,
    seen,
)
from geometry.gauges.checking_frame import (
    FrameBoard,
    FrameCheck,
    FrameSizes,
    checking_frame,
    stood_up,
)
from geometry.gauges.gauge_faults import GaugeSizeError, NoSectionError
from geometry.gauges.gauged_skin import GaugedSkin
from geometry.gauges.station_section import StationSection, station_section
from geometry.gauges.stations import (
    GaugeStation,
    Girthing,
    girthing,
    stations_of,
    widest_line,
)
from geometry.gauges.template import Kind, Part, Template, template
from geometry.gauges.turned_over import (
    USUAL_LIMIT_MM,
    HandDifference,
    hand_difference,
    lines_apart,
)
from geometry.mesh import NearestPoint, TriMesh, rims
from geometry.progress import Report, silent

Hand = Literal["left", "right", "both", "whole"]
"""Which hand a board is for; "both": made for the left, turned over for the right."""

LongKind = Literal["bottom", "side line"]
SideLine = Literal["widest", "crisp", "none"]

LEVEL_STEP_MM = 50.0
_LEVEL_CLEAR_MM = 15.0
_CRISP_SHARE = 0.3
MOST_LIMIT_MM = 20.0


@dataclass(frozen=True)
class GaugeWishes:
    """Which gauges are made.

    Attributes
    ----------
    spacing_mm : float
    asked_mm : tuple of float
        The maker's own stations, back from the front end.
    only_asked : bool
    kind : "female" or "male"
    in_halves : bool
        Left and right apart, which come off sideways; otherwise whole, on and off from above or
        below.
    limit_mm : float
        Up to which difference one board turned over serves for the other hand.
    board_mm : float
        How wide female boards are beyond the outline.
    profile : bool
        Whether the bottom profile is made.
    side_line : "widest", "crisp" or "none"
    frame : FrameSizes or None
    """

    spacing_mm: float = 75.0
    asked_mm: tuple[float, ...] = ()
    only_asked: bool = False
    kind: Kind = "female"
    in_halves: bool = True
    limit_mm: float = USUAL_LIMIT_MM
    board_mm: float = 40.0
    profile: bool = True
    side_line: SideLine = "widest"
    frame: FrameSizes | None = None


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
    """

    station: GaugeStation
    section: StationSection
    difference: HandDifference | None
    boards: tuple[tuple[Hand, Template], ...]
    level_mm: float


@dataclass(frozen=True, eq=False)
class LongGauge:
    """A board along one hand of the tank.

    Attributes
    ----------
    of : "bottom" or "side line"
    view : "side" or "plan"
    hand : "left", "right" or "both"
    line : (k, 3) float, mm
        In tank axes.
    template : Template
    difference : HandDifference
    filled, copied : tuple of (j, 3) float, mm
        Stretches of the line nobody scanned, and those made from the other side.
    """

    of: LongKind
    view: View
    hand: Hand
    line: FloatArray
    template: Template
    difference: HandDifference
    filled: tuple[FloatArray, ...]
    copied: tuple[FloatArray, ...]


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


def gauge_set(
    scanned: TriMesh,
    filled: BoolArray,
    copied: BoolArray,
    wishes: GaugeWishes,
    *,
    inward_mm: float = 0.0,
    frame_inward_mm: float = 0.0,
    crisp: Sequence[FloatArray] = (),
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
    report : Report

    Raises
    ------
    StationOffTankError, StationSpacingError, NoSectionError, GaugeSizeError
    """
    if not 0.0 <= wishes.limit_mm <= MOST_LIMIT_MM:
        raise GaugeSizeError("limit for turning over", wishes.limit_mm, 0.0, MOST_LIMIT_MM)
    report(0.0, "stations")
    outside = GaugedSkin(scanned, 0.0, filled, copied)
    girth = girthing(outside)
    places = stations_of(
        outside,
        girth,
        spacing_mm=wishes.spacing_mm,
        asked_mm=wishes.asked_mm,
        only_asked=wishes.only_asked,
    )
    skin = GaugedSkin(scanned, inward_mm, filled, copied)
    stations, left_out = _stations(skin, places, wishes, report)
    if not stations:
        raise NoSectionError(places[0].at_mm)
    report(0.6, "long templates")
    profile = bottom_profile(skin) if wishes.profile else None
    longs = _longs(skin, profile, girth, crisp, wishes)
    bars = () if profile is None else tuple(bar_across(*each) for each in profile.across)
    report(0.8, "checking frame")
    frame = _frame(GaugedSkin(scanned, frame_inward_mm, filled, copied), stations, girth, wishes)
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
    skin: GaugedSkin, places: Sequence[GaugeStation], wishes: GaugeWishes, report: Report
) -> tuple[tuple[StationGauge, ...], tuple[GaugeStation, ...]]:
    """Return the gauges of the stations, renumbered without those where none can be laid on."""
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
            found.append(made)
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
    if difference.largest_mm <= wishes.limit_mm:
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


def _longs(
    skin: GaugedSkin,
    profile: BottomProfile | None,
    girth: Girthing,
    crisp: Sequence[FloatArray],
    wishes: GaugeWishes,
) -> tuple[LongGauge, ...]:
    beside = _Beside(skin)
    views: tuple[View, ...] = ("side", "plan")
    found: list[LongGauge] = []
    lines = _side_lines(girth, crisp, skin.length_mm, wishes.side_line)
    for view in views:
        if profile is not None:
            found += _pair("bottom", view, (profile.left, profile.right), wishes, beside)
    for view in views:
        if lines is not None:
            found += _pair("side line", view, lines, wishes, beside)
    return tuple(found)


def _side_lines(
    girth: Girthing, crisp: Sequence[FloatArray], length_mm: float, which: SideLine
) -> tuple[FloatArray, FloatArray] | None:
    if which == "none":
        return None
    if which == "widest":
        return widest_line(girth, "left"), widest_line(girth, "right")
    hands = [[line for line in crisp if (side * line[:, 1] > 0.0).all()] for side in (1.0, -1.0)]
    longest = [
        max(each, key=lambda line: float(np.ptp(line[:, 0])), default=None) for each in hands
    ]
    left, right = (
        None if line is None or np.ptp(line[:, 0]) < _CRISP_SHARE * length_mm else _ahead(line)
        for line in longest
    )
    return None if left is None or right is None else (left, right)


def _ahead(line: FloatArray) -> FloatArray:
    """Return a line run from the rear ahead."""
    return line if line[0, 0] <= line[-1, 0] else line[::-1].copy()


def _pair(
    of: LongKind,
    view: View,
    lines: tuple[FloatArray, FloatArray],
    wishes: GaugeWishes,
    beside: "_Beside",
) -> list[LongGauge]:
    """Return the boards along both hands: one where it serves for both turned over."""
    left, right = lines
    difference = lines_apart(seen(left, view), seen(right, view))
    chosen: tuple[tuple[Hand, FloatArray], ...] = (("both", left),)
    if difference.largest_mm > wishes.limit_mm:
        chosen = (("left", left), ("right", right))

    def board(line: FloatArray) -> Template:
        if of == "side line" and view == "side":
            return scribing_template(line)
        return long_template(line, view, kind=wishes.kind, board_mm=wishes.board_mm)

    boards = [(hand, line, board(line)) for hand, line in chosen]
    return [
        LongGauge(of, view, hand, line, made, difference, *beside.unseen(line))
        for hand, line, made in boards
        if made.is_board
    ]


class _Beside:
    """Which faces of the skin a line runs along."""

    def __init__(self, skin: GaugedSkin) -> None:
        self._skin = skin
        self._nearest = NearestPoint(skin.scanned)

    def unseen(self, line: FloatArray) -> tuple[tuple[FloatArray, ...], tuple[FloatArray, ...]]:
        """Return the stretches of a line on filled faces, and those on copied ones."""
        faces = self._nearest.find(line).faces
        return _runs(line, self._skin.filled[faces]), _runs(line, self._skin.copied[faces])


def _runs(line: FloatArray, chosen: BoolArray) -> tuple[FloatArray, ...]:
    """Return the stretches of a line between chosen points."""
    ends = np.flatnonzero(np.diff(np.concatenate([[False], chosen, [False]]).astype(int)))
    runs = [line[start:stop] for start, stop in ends.reshape(-1, 2).tolist()]
    return tuple(run for run in runs if len(run) > 1)


def _frame(
    skin: GaugedSkin, stations: Sequence[StationGauge], girth: Girthing, wishes: GaugeWishes
) -> tuple[FrameBoard, ...]:
    if wishes.frame is None:
        return ()
    places = [each.station for each in stations]
    return checking_frame(skin, places, girth.widest_mm, wishes.frame)
