"""A frame tube scanned by itself, in the axes and the unit of the tank's scan: read and placed."""

from dataclasses import replace
from pathlib import Path

import numpy as np

from geometry.datum import point3
from geometry.gauges import TankAxes
from geometry.progress import Report, part_of, silent
from geometry.scan import read_scan, scaled, sound_mesh
from geometry.tank import RoundBody, ScannedTube, TunnelSpec, tube_from_scan

_NAME = "frame tube"


def read_tube(path: Path, mm_per_unit: float, *, report: Report = silent) -> ScannedTube:
    """Return the round tube nearest to a scan, in the numbers of its file.

    Parameters
    ----------
    path : Path
    mm_per_unit : float
        Of the tank's scan: the tube's is in the same unit.
    report : Report

    Raises
    ------
    UnreadableScanError, NotATubeError
    OSError
    """
    raw = read_scan(path, report=part_of(report, 0.0, 0.5))
    sound = sound_mesh(raw, report=part_of(report, 0.5, 0.9))
    found = tube_from_scan(scaled(sound.mesh, mm_per_unit), path.name)
    report(1.0, "tube fitted")
    return ScannedTube(
        found.file_name,
        point3(np.array(found.start) / mm_per_unit),
        point3(np.array(found.end) / mm_per_unit),
        found.diameter / mm_per_unit,
        found.scatter / mm_per_unit,
    )


def tube_placed(spec: TunnelSpec, axes: TankAxes | None, mm_per_unit: float) -> TunnelSpec:
    """Return a tunnel over the tube where it stands: one that was scanned, as a typed one.

    Parameters
    ----------
    spec : TunnelSpec
    axes : TankAxes or None
        From the scan's axes, mm; None without a tank: the scan's own then stand for its.
    mm_per_unit : float
        Of the scans.

    >>> tube = ScannedTube("tube.stl", (0.0, 0.0, 2.0), (10.0, 0.0, 2.0), 1.5, 0.01)
    >>> tube_placed(TunnelSpec(300.0, scanned_tube=tube), None, 25.4).tube.diameter_mm
    38.099999999999994
    """
    scanned = spec.scanned_tube
    if scanned is None:
        return spec
    ends = np.array([scanned.start, scanned.end]) * mm_per_unit
    if axes is not None:
        ends = axes.to_tank(ends)
    start, end = (point3(each) for each in ends)
    return replace(spec, tube=RoundBody(_NAME, start, end, scanned.diameter * mm_per_unit))
