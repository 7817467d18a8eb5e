"""The step "Gauges": boards cut to the tank's outlines, from the tank as it stands."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from app.job.choices import GaugeChoice, JobState
from app.job.making import Reader, Step, step_besides
from app.job.rest.stood import StoodTank
from app.units import counted, mm_text
from geometry.arrays import FloatArray
from geometry.datum import Point3
from geometry.gauges import (
    FrameSizes,
    GaugedSkin,
    GaugeSet,
    GaugeWishes,
    SweepSet,
    SweepWishes,
    TankAxes,
    gauge_set,
    sweep_set,
)
from geometry.progress import Report, part_of


@dataclass(frozen=True, eq=False)
class Gauges:
    """The gauges of a job.

    Attributes
    ----------
    cut : GaugeSet
        In tank axes.
    choice : GaugeChoice
    inside : bool
        Whether they touch the inside of the sheet.
    inward_mm : float
        How far below the scan the face they touch lies.
    sheet_mm : float
        The sheet they are made for.
    axes : TankAxes
        From the tank's axes back to the scan's, mm.
    has_plane : bool
        Whether left and right are told by a centre plane, not by the middle of the width.
    sweeps : SweepSet or None
        None where none are asked for.
    """

    cut: GaugeSet
    choice: GaugeChoice
    inside: bool
    inward_mm: float
    sheet_mm: float
    axes: TankAxes
    has_plane: bool
    sweeps: SweepSet | None = None


@dataclass(frozen=True)
class GaugedSheet:
    """The sheet as gauges see it: its thickness, and how far below the scan its middle lies."""

    thickness_mm: float
    middle_mm: float


@dataclass(frozen=True)
class GaugedScan:
    """The scan as gauges see it, in the file's own numbers.

    Attributes
    ----------
    mm_per_unit : float
    crisp : tuple of lines
        Locked character lines.
    spacing : float
        How far its points are apart.
    """

    mm_per_unit: float
    crisp: tuple[tuple[Point3, ...], ...]
    spacing: float

    def crisp_in(self, axes: TankAxes) -> list[FloatArray]:
        """Return the locked lines in the tank's axes, (k, 3) mm each."""
        return [
            axes.to_tank(np.array(points, np.float64) * self.mm_per_unit) for points in self.crisp
        ]


def gauges_row(read: Reader) -> Step:
    """Return the row of the table of steps."""

    def inputs(state: JobState, part: str) -> tuple[Any, ...] | None:
        stood, size = read(state, "Stood"), read(state, "Size")
        if stood is None or size is None or state.rest.gauges is None:
            return None
        sheet = GaugedSheet(state.metal.thickness_mm, state.metal.inward_mm)
        crisp = tuple(line.points for line in state.lines if line.state == "locked")
        scan = read(state, "Scan")
        spacing = 0.0 if scan is None else scan.report.spacing
        seen = GaugedScan(size.mm_per_unit, crisp, spacing)
        return (stood, state.rest.gauges, sheet, seen)

    does = (
        "Cut boards to the tank's outlines: stations, bottom, side line, checking frame; and "
        "sweeps of its radii."
    )
    return step_besides(
        "Gauges",
        does,
        inputs=inputs,
        function=gauges_step,
        line=lambda gauges, _, show: gauges_line(gauges),
    )


def gauges_step(
    stood: StoodTank,
    choice: GaugeChoice,
    sheet: GaugedSheet,
    scan: GaugedScan,
    *,
    report: Report,
) -> Gauges:
    """Return the gauges of a tank.

    Parameters
    ----------
    stood : StoodTank
    choice : GaugeChoice
    sheet : GaugedSheet
    scan : GaugedScan
    report : Report

    Raises
    ------
    DirectionsUnknownError
        Nobody said which way front or up is.
    StationOffTankError, StationSpacingError, GaugeSizeError, NoSectionError
    """
    stood.check_directions()
    inside = choice.face == "inside" or (choice.face == "usual" and choice.kind == "male")
    half = sheet.thickness_mm / 2.0
    outer, inner = sheet.middle_mm - half, sheet.middle_mm + half
    inward, other = (inner, outer) if inside else (outer, inner)
    cut = gauge_set(
        stood.outside,
        stood.filled,
        stood.copied,
        _wishes(choice),
        inward_mm=inward,
        frame_inward_mm=inner,
        crisp=scan.crisp_in(stood.axes),
        spacing_mm=scan.spacing * scan.mm_per_unit,
        ends_mm=None if stood.length_mm is None else (0.0, stood.length_mm),
        report=part_of(report, 0.0, 1.0 if choice.sweeps is None else 0.7),
    )
    sweeps = _sweeps(stood, choice, cut, other, inside=inside, report=part_of(report, 0.7, 1.0))
    of_job = (choice, inside, inward, sheet.thickness_mm, stood.axes, stood.has_plane)
    return Gauges(cut, *of_job, sweeps)


def _sweeps(
    stood: StoodTank,
    choice: GaugeChoice,
    cut: GaugeSet,
    other_inward_mm: float,
    *,
    inside: bool,
    report: Report,
) -> SweepSet | None:
    """Return the sweeps where they are asked for, for the face the gauges touch."""
    if choice.sweeps is None:
        return None
    asked = choice.sweeps
    return sweep_set(
        cut.stations,
        GaugedSkin(stood.outside, other_inward_mm, stood.filled, stood.copied),
        SweepWishes(asked.chord_mm, asked.gap_mm, asked.radii_mm),
        inside=inside,
        report=report,
    )


def _wishes(choice: GaugeChoice) -> GaugeWishes:
    frame = choice.frame
    return GaugeWishes(
        spacing_mm=choice.spacing_mm,
        asked_mm=choice.stations_mm,
        only_asked=choice.only_stations,
        kind=choice.kind,
        in_halves=choice.in_halves,
        limit_mm=choice.turn_over_mm,
        board_mm=choice.board_mm,
        profile=choice.profile,
        bottom_from=choice.bottom_from,
        side_line=choice.side_line,
        frame=None
        if frame is None
        else FrameSizes(frame.sheet_mm, frame.play_mm, frame.foot_mm, frame.beside_mm),
    )


def board_count(gauges: Gauges) -> int:
    """Return how many boards there are to cut."""
    cut = gauges.cut
    stations = sum(len(each.boards) for each in cut.stations)
    sweeps = 0 if gauges.sweeps is None else len(gauges.sweeps.boards)
    return stations + len(cut.longs) + len(cut.bars) + len(cut.frame) + sweeps


def gauges_line(gauges: Gauges) -> str:
    """Return what was made, in a line."""
    cut = gauges.cut
    words = f"{counted(len(cut.stations), 'station')}, {counted(board_count(gauges), 'board')}"
    apart = [each.difference.largest_mm for each in cut.stations if each.difference is not None]
    if apart:
        words += f"; hands differ by up to {mm_text(max(apart), 1)}"
    if gauges.sweeps is not None:
        words += f"; {counted(len(gauges.sweeps.boards), 'sweep')}"
    return words
