"""The room a filler's recess takes from the tank."""

from dataclasses import replace

import numpy as np

from geometry.arrays import FloatArray
from geometry.mesh import TriMesh, enclosed_volume
from geometry.tank.capacity import under_roof
from geometry.tank.filler import FillerSpec
from geometry.tank.fuel_space import FuelSpace, taken_off

_SIDES = 96
_OVER_MM = 100.0


def recess_off(space: FuelSpace, filler: FillerSpec, metal_mm: float) -> FuelSpace:
    """Return a space less the recess that hangs in it, as a plain drum with its metal.

    Its floor lies as deep under the roof's mean height below the outermost line as the recess is
    deep; it is taken to stand upright.

    Parameters
    ----------
    space : FuelSpace
        Tank axes.
    filler : FillerSpec
        Recessed.
    metal_mm : float

    Raises
    ------
    NoSpaceError
    """
    middle = np.array([filler.x_mm, filler.y_mm])
    edge = under_roof(space, middle + _ring(filler.reach_mm / 2.0))
    if not len(edge):
        return space
    floor = float(edge[:, 2].mean()) - filler.depth_mm
    top = float(space.mesh.vertices[:, 2].max()) + _OVER_MM
    # as wide as a circle of the same area
    wide = np.sqrt(2.0 * np.pi / (_SIDES * np.sin(2.0 * np.pi / _SIDES)))
    rim = middle + _ring((filler.recess_mm / 2.0 + metal_mm) * float(wide))
    left = taken_off(space.mesh, _drum(rim, floor, top))
    rest = float(enclosed_volume(left.vertices, left.faces))
    return replace(space, mesh=left, whole_mm3=rest + space.tunnel_mm3)


def _ring(radius: float) -> FloatArray:
    angle = 2.0 * np.pi * np.arange(_SIDES) / _SIDES
    return np.stack([np.cos(angle), np.sin(angle)], axis=1) * radius


def _drum(rim: FloatArray, low: float, high: float) -> TriMesh:
    """Return an upright prism over a ring that runs counter-clockwise."""
    count = len(rim)
    ends = [np.column_stack([rim, np.full(count, z)]) for z in (low, high)]
    i = np.arange(count)
    j = np.roll(i, -1)
    fan = np.stack([np.zeros(count - 2, np.int64), i[1:-1], i[2:]], axis=1)
    walls = [np.stack([i, j, j + count], 1), np.stack([i, j + count, i + count], 1)]
    return TriMesh(np.concatenate(ends), np.concatenate([*walls, fan[:, ::-1], fan + count]))
