"""`sweep_set`: boards of known radius, as few as keep within a gap, and where each serves."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
import shapely
from shapely.ops import substring

from geometry.arrays import FloatArray
from geometry.gauges.gauge_faults import GaugeSizeError, NoSectionError
from geometry.gauges.gauge_set import StationGauge
from geometry.gauges.gauged_skin import GaugedSkin
from geometry.gauges.laid_arc import curvatures_within, laid_gap, longest_chord_mm
from geometry.gauges.station_section import station_section
from geometry.gauges.sweep_board import SweepBoard
from geometry.gauges.sweep_places import (
    SHORTER,
    NoSweep,
    SweepPlace,
    Walk,
    close_points,
    sweep_places_of,
)
from geometry.polyline import lengths_along
from geometry.progress import Report, silent

Edge = Literal["hollow", "crowned", "straight"]

CHORDS_MM = (60.0, 400.0)
GAPS_MM = (0.05, 5.0)
RADII_MM = (12.0, 5000.0)

_ROUND_MM = (100.0, 50.0, 25.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1)
"""Radii are rounded to a multiple of the first of these that keeps within the gap and is no more
than a tenth of the radius."""


@dataclass(frozen=True)
class SweepWishes:
    """Which sweeps are made. Common practice, no source.

    Attributes
    ----------
    chord_mm : float
        How long the long ones are.
    gap_mm : float
        The widest gap under a board where it serves.
    radii_mm : tuple of float
        The maker's own radii; none to take them from the tank.
    """

    chord_mm: float = 150.0
    gap_mm: float = 0.25
    radii_mm: tuple[float, ...] = ()


@dataclass(frozen=True, eq=False)
class SweepUse:
    """Where a sweep serves.

    Attributes
    ----------
    place : SweepPlace
    board : SweepBoard or None
        None where a straight edge does.
    edge : "hollow", "crowned" or "straight"
        Which of its edges is laid on the face the gauges touch.
    gap_mm : float
        The widest gap that stays there.
    other_gap_mm : float
        The same with the board's other edge on the sheet's other face; nan where that face has no
        outline there.
    """

    place: SweepPlace
    board: SweepBoard | None
    edge: Edge
    gap_mm: float
    other_gap_mm: float = field(default=np.nan)


@dataclass(frozen=True, eq=False)
class SweepSet:
    """The sweeps of a tank.

    Attributes
    ----------
    boards : tuple of SweepBoard
        The tightest first.
    uses : tuple of SweepUse
        By station from the front, left before right, from the centre line outward.
    missing : tuple of NoSweep
        How much of the outlines none lies along.
    wishes : SweepWishes
    inside : bool
        Whether the uses' gaps are those on the inside of the sheet.
    """

    boards: tuple[SweepBoard, ...]
    uses: tuple[SweepUse, ...]
    missing: tuple[NoSweep, ...]
    wishes: SweepWishes
    inside: bool

    def uses_of(self, board: SweepBoard) -> tuple[SweepUse, ...]:
        """Return where a board serves."""
        return tuple(use for use in self.uses if use.board == board)


def sweep_set(
    stations: Sequence[StationGauge],
    other: GaugedSkin,
    wishes: SweepWishes,
    *,
    inside: bool = False,
    report: Report = silent,
) -> SweepSet:
    """Return the sweeps of a tank: its own radii in as few boards as keep within a gap, or asked.

    Parameters
    ----------
    stations : sequence of StationGauge
        Their outlines are those of the face the boards are laid on.
    other : GaugedSkin
        The sheet's other face.
    wishes : SweepWishes
    inside : bool
        Whether boards are laid on from inside.
    report : Report

    Raises
    ------
    GaugeSizeError
        No board has such a chord, gap or radius.
    """
    _check(wishes)
    report(0.0, "sweeps")
    laid: list[_Laid] = []
    missing: list[NoSweep] = []
    for each in stations:
        for hand in ("left", "right"):
            half = each.section.half(hand)
            if half is None:
                continue
            found, left_out = sweep_places_of(
                half,
                each.station.number,
                "left" if hand == "left" else "right",
                each.section.filled,
                chord_mm=wishes.chord_mm,
                limit_mm=wishes.gap_mm,
            )
            laid += [_Laid(place, each, inside) for place in found]
            missing += [left_out] if left_out is not None else []
    report(0.2, "sweeps")
    if wishes.radii_mm:
        boards = _asked(laid, wishes, report)
        uses = [_nearest(place, boards, wishes.gap_mm) for place in laid]
    else:
        boards, uses = _gathered(laid, wishes.gap_mm, report)
    report(0.9, "sweeps")
    uses = _on_other_face(uses, stations, other, inside)
    report(1.0, "sweeps")
    return SweepSet(boards, tuple(uses), tuple(missing), wishes, inside)


def _check(wishes: SweepWishes) -> None:
    sizes = (
        ("length of a sweep", CHORDS_MM, (wishes.chord_mm,)),
        ("gap under a sweep", GAPS_MM, (wishes.gap_mm,)),
        ("radius of a sweep", RADII_MM, wishes.radii_mm),
    )
    for what, (least, most), given in sizes:
        for value in given:
            if not least <= value <= most:
                raise GaugeSizeError(what, float(value), least, most)


@dataclass(frozen=True, eq=False)
class _Laid:
    """A stretch as a board is laid on it, from outside or inside."""

    place: SweepPlace
    gauge: StationGauge
    inside: bool

    @property
    def curvature(self) -> float:
        """Above 0 where it is crowned towards the board."""
        return -self.place.curvature if self.inside else self.place.curvature

    @property
    def line(self) -> FloatArray:
        """Its points, the board to their left."""
        return self.place.line[::-1] if self.inside else self.place.line

    @property
    def sign(self) -> float:
        return 1.0 if self.curvature > 0.0 else -1.0

    def used(self, board: SweepBoard, line: FloatArray) -> SweepUse:
        """Return a board's use here, its gap over a line."""
        gap = laid_gap(line, self.sign / board.radius_mm)
        return SweepUse(self.place, board, "hollow" if self.sign > 0.0 else "crowned", gap)

    def straight(self) -> SweepUse:
        """Return the use of a straight edge here."""
        return SweepUse(self.place, None, "straight", laid_gap(self.line, 0.0))

    def around(self, chord_mm: float) -> FloatArray:
        """Return the outline under a board of another length laid on its middle."""
        arch = self.gauge.section.arch
        gone = lengths_along(arch)
        half = self.gauge.section.half("left")
        top = 0.0 if half is None else float(lengths_along(half)[-1])
        middle = (self.place.from_mm + self.place.to_mm) / 2.0
        middle = top + (middle if self.place.hand == "right" else -middle)
        bent = min(abs(self.place.curvature) * chord_mm / 2.0, 1.0)
        run = chord_mm if bent < 1e-6 else chord_mm * np.arcsin(bent) / bent
        walk, start = Walk(arch, gone, "right"), max(middle - run / 2.0, 0.0)
        part = walk.part(start, chord_mm)
        line = walk.rest(start) if part is None else part[0]
        return line[::-1] if self.inside else line


def _asked(laid: Sequence[_Laid], wishes: SweepWishes, report: Report) -> tuple[SweepBoard, ...]:
    """Return the boards of the maker's radii.

    A long board tells more, a short one serves more of the outlines: each has the length at which
    the product of the two is largest, own choice; where it serves nowhere, it is as long as can be.
    """
    radii = sorted(set(wishes.radii_mm))
    boards = []
    for number, radius in enumerate(radii, start=1):
        report(0.2 + 0.7 * (number - 1) / len(radii), "sweeps")
        longest = min(wishes.chord_mm, longest_chord_mm(radius))
        lengths = {longest, *(share * wishes.chord_mm for share in SHORTER)}
        tried = [SweepBoard(number, radius, chord) for chord in lengths if chord <= longest]
        boards.append(
            max(tried, key=lambda board: (_worth(laid, board, wishes.gap_mm), board.chord_mm))
        )
    return tuple(boards)


def _worth(laid: Sequence[_Laid], board: SweepBoard, limit_mm: float) -> float:
    """Return a board's length times how much of the outlines it serves, to a hundredth."""
    served = sum(
        place.place.to_mm - place.place.from_mm
        for place in laid
        if place.used(board, place.around(board.chord_mm)).gap_mm <= limit_mm
    )
    return round(board.chord_mm * served, 2)


def _nearest(place: _Laid, boards: Sequence[SweepBoard], limit_mm: float) -> SweepUse:
    """Return the use of a straight edge where it keeps within the gap, else of the best board."""
    straight = place.straight()
    if straight.gap_mm <= limit_mm:
        return straight
    uses = [place.used(board, place.around(board.chord_mm)) for board in boards]
    return min(uses, key=lambda use: use.gap_mm)


def _gathered(
    laid: Sequence[_Laid], limit_mm: float, report: Report
) -> tuple[tuple[SweepBoard, ...], list[SweepUse]]:
    """Return as few boards as keep within the gap, the tightest first, and where each serves.

    The longest boards first; a shorter one only where none of them lies near enough.
    """
    chosen: dict[int, SweepUse] = {}
    for chord in sorted({each.place.chord_mm for each in laid}, reverse=True):
        longer = {use.board for use in chosen.values() if use.board is not None}
        spans: dict[int, tuple[float, float]] = {}
        for k, each in enumerate(laid):
            if each.place.chord_mm != chord:
                continue
            report(0.2 + 0.7 * (len(chosen) + len(spans)) / len(laid), "sweeps")
            served = _served(each, longer, limit_mm)
            if served is None:
                spans[k] = _span(each, limit_mm)
            else:
                chosen[k] = served
        for radius, hit in _fewest(spans):
            board = SweepBoard(0, radius, chord)
            chosen |= {k: laid[k].used(board, laid[k].line) for k in hit}
    return _numbered([chosen[k] for k in range(len(laid))])


def _served(place: _Laid, longer: Iterable[SweepBoard], limit_mm: float) -> SweepUse | None:
    """Return the use of a straight edge or of a longer board where one keeps within the gap."""
    straight = place.straight()
    if straight.gap_mm <= limit_mm:
        return straight
    uses = [place.used(board, place.around(board.chord_mm)) for board in longer]
    good = [use for use in uses if use.gap_mm <= limit_mm]
    return min(good, key=lambda use: use.gap_mm) if good else None


def _span(place: _Laid, limit_mm: float) -> tuple[float, float]:
    """Return between which curvatures, counted from flat, an edge keeps within the gap."""
    low, high = curvatures_within(place.line, place.curvature, limit_mm)
    return (low, high) if place.sign > 0.0 else (-high, -low)


def _fewest(spans: dict[int, tuple[float, float]]) -> list[tuple[float, list[int]]]:
    """Return the fewest radii of which every span of curvatures holds one, and whose spans hold it.

    From the flattest on, the end of the span that ends first: no other curvature lies in that span
    and in more of the others. Own derivation.

    >>> _fewest({0: (0.010, 0.012), 1: (0.0115, 0.02), 2: (0.03, 0.05)})
    [(85.0, [0, 1]), (26.0, [2])]
    """
    left = sorted(spans, key=lambda k: spans[k][1])
    found = []
    while left:
        most = spans[left[0]][1]
        hit = [k for k in left if spans[k][0] <= most]
        flattest = min(most, max(1.0 / RADII_MM[1], *(spans[k][0] for k in hit)))
        found.append((_round(flattest, most), hit))
        left = [k for k in left if spans[k][0] > most]
    return found


def _numbered(
    uses: Sequence[SweepUse],
) -> tuple[tuple[SweepBoard, ...], list[SweepUse]]:
    """Return the boards of uses, numbered from the tightest, and the uses with them."""
    sizes = sorted({(b.radius_mm, b.chord_mm) for b in (use.board for use in uses) if b})
    boards = {size: SweepBoard(k, *size) for k, size in enumerate(sizes, start=1)}
    return tuple(boards.values()), [
        use
        if use.board is None
        else replace(use, board=boards[use.board.radius_mm, use.board.chord_mm])
        for use in uses
    ]


def _round(low: float, high: float) -> float:
    """Return the roundest radius between two curvatures, mm.

    >>> _round(1.0 / 152.0, 1.0 / 148.3), _round(1.0 / 33.07, 1.0 / 33.01)
    (150.0, 33.04)
    """
    least, most = 1.0 / high, 1.0 / low
    middle = (least + most) / 2.0
    for step in _ROUND_MM:
        near = round(step * round(middle / step), 1)
        if step <= middle / 10.0 and least <= near <= most:
            return near
    return round(middle, 3)


def _on_other_face(
    uses: Sequence[SweepUse], stations: Sequence[StationGauge], other: GaugedSkin, inside: bool
) -> list[SweepUse]:
    """Return uses with the gap the board's other edge leaves on the sheet's other face."""
    arches: dict[int, shapely.LineString] = {}
    for each in stations:
        try:
            arch = station_section(other, 0, each.station.at_mm).arch
        except NoSectionError:
            continue
        arches[each.station.number] = shapely.LineString(arch)
    return [_other_gap(use, arches.get(use.place.station), inside) for use in uses]


def _other_gap(use: SweepUse, arch: shapely.LineString | None, inside: bool) -> SweepUse:
    if arch is None:
        return use
    start, end = (arch.project(shapely.Point(use.place.line[k])) for k in (0, -1))
    line = shapely.get_coordinates(substring(arch, start, end))
    if len(line) < 2:
        return use
    line = close_points(line)
    sign = {"hollow": 1.0, "crowned": -1.0, "straight": 0.0}[use.edge]
    bend = 0.0 if use.board is None else sign / use.board.radius_mm
    # From the other side what is crowned is hollow, and runs the other way.
    gap = laid_gap(line if inside else line[::-1], -bend)
    return replace(use, other_gap_mm=gap)
