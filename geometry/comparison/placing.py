"""Where a second scan stands to the tank: by three places or more known on both."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial.transform import Rotation

from geometry.arrays import FloatArray, locked
from geometry.errors import GeometryError
from geometry.mesh import TriMesh

LEAST_PLACES = 3
"""So many places fix a scan, where they are not all on a line."""

_LARGEST_TIMES, _LEAST_SHARE = 20.0, 0.02
_LEAST_WIDTH = 0.02


class SecondScanSizeError(GeometryError):
    """A second scan is of another size than anything about a tank: most likely another unit.

    Attributes
    ----------
    length_mm, tank_mm : float
        The longest way of each.
    """

    def __init__(self, length_mm: float, tank_mm: float) -> None:
        self.length_mm, self.tank_mm = length_mm, tank_mm
        super().__init__(f"second scan {length_mm:.4g} mm long, tank {tank_mm:.4g} mm")


class PlacingPlacesError(GeometryError):
    """Fewer than three places to place a scan by, or all on one line.

    Attributes
    ----------
    count : int
    """

    def __init__(self, count: int) -> None:
        self.count = count
        super().__init__(f"{count} places do not fix a scan")


@dataclass(frozen=True, eq=False)
class Placing:
    """How a scan is moved.

    Attributes
    ----------
    turn : (3, 3) float
    shift : (3,) float, mm
        A place goes to turn @ place + shift.
    off_mm : (k,) float
        How far each of the places given comes to lie from where it belongs.
    """

    turn: FloatArray
    shift: FloatArray
    off_mm: FloatArray

    def __post_init__(self) -> None:
        for array in (self.turn, self.shift, self.off_mm):
            locked(array)

    def placed(self, mesh: TriMesh) -> TriMesh:
        """Return the scan where it belongs."""
        return TriMesh(mesh.vertices @ self.turn.T + self.shift, mesh.faces)


def placing_by(places: FloatArray, belong: FloatArray) -> Placing:
    """Return the move, without stretch or mirror, that brings places (k, 3) nearest to others.

    Source: the rotation with the least sum of squares, by singular values (from memory; scipy's
    `Rotation.align_vectors`).

    Raises
    ------
    PlacingPlacesError
        Fewer than three, or all of them on a line.
    """
    if len(places) < LEAST_PLACES:
        raise PlacingPlacesError(len(places))
    here, there = places - places.mean(axis=0), belong - belong.mean(axis=0)
    for each in (here, there):
        width = np.linalg.svd(each, compute_uv=False)
        if width[1] < _LEAST_WIDTH * max(width[0], 1e-9):
            raise PlacingPlacesError(len(places))
    turn = Rotation.align_vectors(there, here)[0].as_matrix()
    shift = belong.mean(axis=0) - turn @ places.mean(axis=0)
    off = np.linalg.norm(places @ turn.T + shift - belong, axis=1)
    return Placing(turn, shift, off)


def check_same_unit(scan: TriMesh, tank: TriMesh) -> None:
    """Refuse a second scan that is far larger or smaller than anything about the tank.

    Twenty times its length, or a fiftieth: common practice, no source.

    Raises
    ------
    SecondScanSizeError
    """
    length, tank_length = _longest(scan), _longest(tank)
    if not _LEAST_SHARE * tank_length <= length <= _LARGEST_TIMES * tank_length:
        raise SecondScanSizeError(length, tank_length)


def _longest(mesh: TriMesh) -> float:
    used = mesh.vertices[np.unique(mesh.faces)]
    return float(np.ptp(used, axis=0).max()) if len(used) else 0.0
