"""The checking frame: boards across and along the tank, slotted half and half, that stand up.

All boards stand on one level foot; those across have slots from below, those along from above.
Panels are laid against it one by one from outside.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon

from geometry.arrays import FloatArray, locked
from geometry.gauges.gauge_faults import GaugeSizeError, NoSectionError
from geometry.gauges.gauged_skin import GaugedSkin
from geometry.gauges.station_section import StationSection, station_section
from geometry.gauges.stations import GaugeStation
from geometry.gauges.template import LEAST_AREA_MM2, Template, largest_part, template_of

LEAST_SHEET_MM, MOST_SHEET_MM = 0.5, 30.0
MOST_PLAY_MM = 2.0

LEAST_DEPTH_MM = 25.0
"""Boards that cross less deep than this hold nothing."""

LEAST_NECK_MM = 8.0
"""So much is left beside a slot, or the board along ends before it. Common practice, no source."""


@dataclass(frozen=True)
class FrameSizes:
    """How a checking frame is built.

    Attributes
    ----------
    sheet_mm : float
        Thickness of its boards.
    play_mm : float
        How much wider, and deeper, slots are than the board. Common practice, no source.
    foot_mm : float
        How far its foot lies under the tank's lowest place.
    beside_mm : tuple of float
        Boards along the tank beside the one on the centre line, so far to either hand.
    """

    sheet_mm: float = 6.0
    play_mm: float = 0.2
    foot_mm: float = 20.0
    beside_mm: tuple[float, ...] = ()


@dataclass(frozen=True, eq=False)
class Slot:
    """One slot.

    Attributes
    ----------
    board : int
        Number of the board that goes into it.
    place : (2,) float, mm
        The middle of its closed end.
    """

    board: int
    place: FloatArray


@dataclass(frozen=True, eq=False)
class FrameBoard:
    """One board of the frame.

    Attributes
    ----------
    number : int
        From 1: those across from the front, then those along.
    station : int
        Number of the station it stands at; 0 for boards along.
    axis : int
        0 across, 1 along.
    at_mm : float
        Where its marked face stands.
    band : (float, float)
        From where to where its thickness reaches, in tank axes.
    template : Template
        As a station across is seen from behind, one along from the right side.
    section : StationSection
    slots : tuple of Slot
    """

    number: int
    station: int
    axis: int
    at_mm: float
    band: tuple[float, float]
    template: Template
    section: StationSection
    slots: tuple[Slot, ...]

    def __post_init__(self) -> None:
        for slot in self.slots:
            locked(slot.place)


@dataclass(frozen=True)
class FrameCheck:
    """The frame stood up by numbers.

    Attributes
    ----------
    crossings : int
    clash_mm : float
        How far two boards run into each other at most; 0 where none do.
    off_centre_mm : float
        How far a board stands off the middle of a slot at most.
    tops_apart_mm : float
        How far the edges of two boards miss each other at most where they cross.
    feet_apart_mm : float
        How far the boards' feet are off one level.
    loose : tuple of int
        Boards across that none along holds, and those along that fewer than two across do.
    """

    crossings: int
    clash_mm: float
    off_centre_mm: float
    tops_apart_mm: float
    feet_apart_mm: float
    loose: tuple[int, ...]


@dataclass
class _Board:
    """A board while it is being slotted."""

    number: int
    station: int
    axis: int
    at_mm: float
    band: tuple[float, float]
    section: StationSection
    shape: Polygon
    slots: list[Slot]

    @property
    def on_other(self) -> tuple[float, float]:
        """Where its thickness lies on a board it crosses."""
        low, high = self.band
        return (low, high) if self.axis == 0 else (-high, -low)


def checking_frame(
    skin: GaugedSkin, stations: Sequence[GaugeStation], widest_mm: float, sizes: FrameSizes
) -> tuple[FrameBoard, ...]:
    """Return the boards of a frame the skin's inner face lies on.

    Parameters
    ----------
    skin : GaugedSkin
        Of the face that lies on the frame.
    stations : sequence of GaugeStation
        Where boards across stand; one too near to the one ahead of it to be slotted has none.
    widest_mm : float
        Where the tank is widest: every board's thickness lies on that side of its station, where
        the skin is further out.
    sizes : FrameSizes

    Raises
    ------
    GaugeSizeError
    NoSectionError
        There is no board along to hold those across.
    """
    _check(sizes)
    low = float(skin.vertices[skin.scanned.faces.ravel(), 2].min())
    foot = low - sizes.foot_mm
    across = _across(skin, stations, widest_mm, sizes, foot)
    along = _along(skin, sizes, foot)
    if not along or not across:
        raise NoSectionError(0.0)
    for number, board in enumerate((*across, *along), start=1):
        board.number = number
    for one in across:
        for other in along:
            _slot(one, other, foot, sizes.play_mm)
    return tuple(_built(board) for board in (*across, *along))


def _check(sizes: FrameSizes) -> None:
    limits = (
        ("thickness of the frame's board", sizes.sheet_mm, LEAST_SHEET_MM, MOST_SHEET_MM),
        ("play in a slot", sizes.play_mm, 0.0, MOST_PLAY_MM),
        ("height of the frame's foot", sizes.foot_mm, 0.0, 500.0),
        *(_beside_limits(sizes)),
    )
    for what, given, least, most in limits:
        if not least <= given <= most:
            raise GaugeSizeError(what, given, least, most)


def _beside_limits(sizes: FrameSizes) -> list[tuple[str, float, float, float]]:
    """Return how far out each board beside the centre line stands, and may stand."""
    reach = sizes.sheet_mm / 2.0
    limits = []
    for at in sorted(sizes.beside_mm):
        least = reach + sizes.sheet_mm + _apart(sizes)
        limits.append(("place of a board beside the centre line", at, least, 1000.0))
        reach = at
    return limits


def _across(
    skin: GaugedSkin,
    stations: Sequence[GaugeStation],
    widest_mm: float,
    sizes: FrameSizes,
    foot: float,
) -> list[_Board]:
    found: list[_Board] = []
    for station in sorted(stations, key=lambda each: -each.at_mm):
        at = station.at_mm
        band = (at, at + sizes.sheet_mm) if at < widest_mm else (at - sizes.sheet_mm, at)
        if found and found[-1].band[0] - band[1] < _apart(sizes):
            continue
        try:
            cut = station_section(skin, 0, at)
        except NoSectionError:
            continue
        shape = _standing(cut.arch, foot)
        if shape.area >= LEAST_AREA_MM2:
            found.append(_Board(0, station.number, 0, at, band, cut, shape, []))
    return found


def _apart(sizes: FrameSizes) -> float:
    """Return how far two boards that run the same way stand apart at least."""
    return LEAST_NECK_MM + sizes.play_mm


def _along(skin: GaugedSkin, sizes: FrameSizes, foot: float) -> list[_Board]:
    half = sizes.sheet_mm / 2.0
    wanted = [(0.0, (-half, half))]
    for beside in sizes.beside_mm:
        wanted += [
            (beside, (beside - sizes.sheet_mm, beside)),
            (-beside, (-beside, -beside + sizes.sheet_mm)),
        ]
    found = []
    for at, band in wanted:
        try:
            cut = station_section(skin, 1, at)
        except NoSectionError:
            continue
        shape = _standing(cut.arch, foot)
        if shape.area >= LEAST_AREA_MM2:
            found.append(_Board(0, 0, 1, at, band, cut, shape, []))
    return found


def _standing(arch: FloatArray, foot: float) -> Polygon:
    """Return the board under an arch, straight down from the lowest place at either end."""
    top = int(arch[:, 1].argmax())
    start = int(arch[: top + 1, 1].argmin())
    stop = top + int(arch[top:, 1].argmin())
    line = arch[start : stop + 1]
    ring = np.concatenate([line, [[line[-1, 0], foot], [line[0, 0], foot]]])
    return largest_part(shapely.make_valid(Polygon(ring)))


def _slot(one: _Board, other: _Board, foot: float, play: float) -> None:
    """Slot a board across from below and one along from above where they cross."""
    bands = (one.on_other, other.on_other)  # on the board along, on the board across
    shapes = (other.shape, one.shape)
    tops = [_top(shape, band) for shape, band in zip(shapes, bands, strict=True)]
    if any(top is None for top in tops):
        return
    top = min(each for each in tops if each is not None)
    middle = (foot + top) / 2.0
    neck = min(_neck(shape, band, middle) for shape, band in zip(shapes, bands, strict=True))
    if top - foot < 2.0 * LEAST_DEPTH_MM or neck < LEAST_NECK_MM:
        other.shape = _ended(other.shape, bands[0], play)
        return
    half = play / 2.0
    (a, b), (c, d) = bands
    far = top + 1000.0
    other.shape = largest_part(
        other.shape.difference(shapely.box(a - half, middle - half, b + half, far))
    )
    one.shape = largest_part(
        one.shape.difference(shapely.box(c - half, foot - 10.0, d + half, middle + half))
    )
    other.slots.append(Slot(one.number, np.array([(a + b) / 2.0, middle - half])))
    one.slots.append(Slot(other.number, np.array([(c + d) / 2.0, middle + half])))


def _top(shape: Polygon, band: tuple[float, float]) -> float | None:
    """Return how high a board reaches all over a band of it; None where it is not there at all."""
    within = shape.intersection(shapely.box(band[0], -1e5, band[1], 1e5))
    if within.is_empty:
        return None
    found = []
    for at in (*band, (band[0] + band[1]) / 2.0):
        cut = shape.intersection(shapely.LineString([[at, -1e5], [at, 1e5]]))
        found.append(-np.inf if cut.is_empty else float(cut.bounds[3]))
    return float(min(found))


def _neck(shape: Polygon, band: tuple[float, float], height: float) -> float:
    """Return how much of a board is left beside a band at a height, on the narrower side."""
    low, high = _interval(shape, (band[0] + band[1]) / 2.0, height)
    return min(band[0] - low, high - band[1])


def _interval(shape: Polygon, at: float, height: float) -> tuple[float, float]:
    """Return from where to where a shape reaches around a place, on the level."""
    level = shape.intersection(shapely.LineString([[-1e5, height], [1e5, height]]))
    for part in shapely.get_parts(level):
        low, _, high, _ = part.bounds
        if low <= at <= high:
            return low, high
    return at, at


def _ended(shape: Polygon, band: tuple[float, float], play: float) -> Polygon:
    """Return a board along that ends before a board across, on its nearer end."""
    low, _, high, _ = shape.bounds
    if band[0] - low < high - band[1]:
        return largest_part(shape.difference(shapely.box(-1e5, -1e5, band[1] + play, 1e5)))
    return largest_part(shape.difference(shapely.box(band[0] - play, -1e5, 1e5, 1e5)))


def _built(board: _Board) -> FrameBoard:
    made = template_of(board.shape, board.section.arch, np.array([0.0, -1.0]))
    slots = tuple(board.slots)
    return FrameBoard(
        board.number, board.station, board.axis, board.at_mm, board.band, made, board.section, slots
    )


def stood_up(boards: Sequence[FrameBoard]) -> FrameCheck:
    """Return the frame as it stands when its boards are put together, from their outlines alone.

    Parameters
    ----------
    boards : sequence of FrameBoard
    """
    shapes = {board.number: Polygon(board.template.outline) for board in boards}
    across = [board for board in boards if board.axis == 0]
    along = [board for board in boards if board.axis == 1]
    feet = [float(board.template.outline[:, 1].min()) for board in boards]
    met = dict.fromkeys(shapes, 0)
    clash = off_centre = apart = 0.0
    for one in across:
        for other in along:
            found = _crossing(shapes[one.number], shapes[other.number], one, other)
            if found is None:
                continue
            met[one.number] += 1
            met[other.number] += 1
            clash, off_centre = max(clash, found[0]), max(off_centre, found[1])
            apart = max(apart, found[2])
    loose = tuple(
        board.number for board in boards if met[board.number] < (1 if board.axis == 0 else 2)
    )
    return FrameCheck(
        sum(met.values()) // 2, clash, off_centre, apart, max(feet) - min(feet), loose
    )


def _crossing(
    one_shape: Polygon, other_shape: Polygon, one: FrameBoard, other: FrameBoard
) -> tuple[float, float, float] | None:
    """Return clash, off centre and tops apart of two boards; None where they do not cross."""
    low, high = other.band
    strips = (
        one_shape.intersection(shapely.box(-high, -1e5, -low, 1e5)),
        other_shape.intersection(shapely.box(one.band[0], -1e5, one.band[1], 1e5)),
    )
    if any(strip.area < _SLIVER_MM2 for strip in strips):
        return None
    spans = [shapely.union_all([_upright(part) for part in shapely.get_parts(s)]) for s in strips]
    clash = float(spans[0].intersection(spans[1]).length)
    places = ((-high - low) / 2.0, (one.band[0] + one.band[1]) / 2.0)
    ends = (_slot_end(one, other.number), _slot_end(other, one.number))
    if ends[0] is None or ends[1] is None:
        return clash, float("inf"), float("inf")
    heights = (ends[0] - _INTO_SLOT_MM, ends[1] + _INTO_SLOT_MM)
    off = [
        abs(_slot_middle(shape, at, height) - at)
        for shape, at, height in zip((one_shape, other_shape), places, heights, strict=True)
    ]
    edges = [
        float(_edge_height(board, at)) for board, at in ((one, -other.at_mm), (other, one.at_mm))
    ]
    return clash, max(off), abs(edges[0] - edges[1])


_SLIVER_MM2 = 1e-3
_INTO_SLOT_MM = 5.0
"""So far from its closed end a slot's middle is measured."""


def _slot_end(board: FrameBoard, other: int) -> float | None:
    """Return how high the closed end of a board's slot for another lies; None without."""
    return next((float(slot.place[1]) for slot in board.slots if slot.board == other), None)


def _upright(shape: shapely.Geometry) -> shapely.LineString:
    """Return from where to where a shape reaches up, as an upright line."""
    _, low, _, high = shapely.bounds(shape).tolist()
    return shapely.LineString([[0.0, low], [0.0, high]])


def _slot_middle(shape: Polygon, at: float, height: float) -> float:
    """Return the middle of the slot about a place, at a height; infinity where there is none."""
    level = shape.intersection(shapely.LineString([[-1e5, height], [1e5, height]]))
    spans = sorted(part.bounds[::2] for part in shapely.get_parts(level))
    before = [high for low, high in spans if high <= at]
    after = [low for low, high in spans if low >= at]
    if not before or not after or any(low < at < high for low, high in spans):
        return float("inf")
    return float(max(before) + min(after)) / 2.0


def _edge_height(board: FrameBoard, at: float) -> float:
    """Return how high the outline of a board's section is at a place."""
    upright = shapely.LineString([[at, -1e5], [at, 1e5]])
    return float(shapely.LineString(board.section.arch).intersection(upright).bounds[3])
