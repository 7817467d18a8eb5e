"""A second scan brought to the tank: read, in mm, and placed in tank axes."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from app.job.choices import ScanFile, SecondScan
from app.job.rest.seat_step import spot_at
from geometry.arrays import FloatArray
from geometry.comparison import check_same_unit, placing_by
from geometry.gauges import TankAxes
from geometry.mesh import TriMesh
from geometry.progress import Report, part_of
from geometry.scan import MM_PER_UNIT, read_scan, scaled, sound_mesh

_SAME_UNIT = 0.1
"""Scales nearer to each other than this are of one unit: a scanner is never a tenth off."""

_CELL_MM = 4.0
_BESIDE_MM = 200.0


@dataclass(frozen=True)
class ScanAtHand:
    """What a job knows of a second scan besides what is decided of it.

    Attributes
    ----------
    kept : ScanFile or None
        The scan itself; None where it is read from its file.
    mm_per_unit : float or None
        Of the tank's scan, as its tapes proved it: in the same axes the second was scanned with it,
        and is as far off as it is, where its unit is the same.
    """

    kept: ScanFile | None = None
    mm_per_unit: float | None = None


@dataclass(frozen=True, eq=False)
class PlacedScan:
    """A second scan in tank axes.

    Attributes
    ----------
    name : str
        Of its file.
    mesh : TriMesh
    shown : TriMesh
        A coarse copy of what lies near the tank, for pictures only.
    off_mm : (k,) float
        How far each of the places given comes to lie from where it belongs.
    """

    name: str
    mesh: TriMesh
    shown: TriMesh
    off_mm: FloatArray


def placed_scan(
    second: SecondScan,
    axes: TankAxes,
    tank: TriMesh,
    *,
    at_hand: ScanAtHand | None = None,
    report: Report,
) -> PlacedScan:
    """Return a second scan where it stands to the tank.

    Parameters
    ----------
    second : SecondScan
    axes : TankAxes
        From the first scan's axes, mm: those the second is in where no places are given.
    tank : TriMesh
        In tank axes.
    at_hand : ScanAtHand, optional
        Without it the file is read.
    report : Report

    Raises
    ------
    UnreadableScanError
    SecondScanSizeError
        It would be far larger or smaller than a tank's surroundings: another unit.
    PlacingPlacesError
    """
    path = Path(second.path)
    kept, mm_per_unit = (None, None) if at_hand is None else (at_hand.kept, at_hand.mm_per_unit)
    raw = kept.raw if kept is not None else read_scan(path, report=part_of(report, 0.0, 0.4))
    sound = sound_mesh(raw, report=part_of(report, 0.4, 0.9))
    mesh = scaled(sound.mesh, _scale(second, mm_per_unit))
    check_same_unit(mesh, tank)
    off: FloatArray = np.zeros(0)
    if second.places:
        places = np.array([each.scan for each in second.places]) * MM_PER_UNIT[second.unit]
        placing = placing_by(places, np.stack([spot_at(each.tank) for each in second.places]))
        mesh, off = placing.placed(mesh), placing.off_mm
    else:
        mesh = TriMesh(axes.to_tank(mesh.vertices), mesh.faces)
    report(1.0, "second scan")
    return PlacedScan(path.name, mesh, coarse_near(mesh, tank), off)


def _scale(second: SecondScan, mm_per_unit: float | None) -> float:
    nominal = MM_PER_UNIT[second.unit]
    if second.places or mm_per_unit is None:
        return nominal
    return mm_per_unit if abs(mm_per_unit / nominal - 1.0) < _SAME_UNIT else nominal


def coarse_near(mesh: TriMesh, tank: TriMesh) -> TriMesh:
    """Return a coarse copy of what of a mesh lies near the tank: points in boxes of 4 mm made one.

    Raises nothing: where nothing is near it has no faces.
    """
    low = tank.vertices.min(axis=0) - _BESIDE_MM
    high = tank.vertices.max(axis=0) + _BESIDE_MM
    near = ((mesh.vertices > low) & (mesh.vertices < high)).all(axis=1)
    faces = mesh.faces[near[mesh.faces].any(axis=1)]
    cell = np.floor((mesh.vertices - low) / _CELL_MM).astype(np.int64)
    _, first, index = np.unique(cell, axis=0, return_index=True, return_inverse=True)
    coarse = index.reshape(-1)[faces]
    a, b, c = coarse.T
    coarse = coarse[(a != b) & (b != c) & (c != a)]
    _, once = np.unique(np.sort(coarse, axis=1), axis=0, return_index=True)
    coarse = coarse[np.sort(once)]
    used, number = np.unique(coarse, return_inverse=True)
    return TriMesh(mesh.vertices[first][used], number.reshape(-1, 3))
