"""The tank's own axes for gauges: ahead, left and up, from its rear end, middle and foot."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import BoolArray, FloatArray, locked
from geometry.mesh import TriMesh

_WIDTH = (0.005, 0.995)


@dataclass(frozen=True, eq=False)
class TankAxes:
    """Where ahead, left and up are.

    Attributes
    ----------
    origin : (3,) float, mm
        As far back and as low as the skin goes, in the middle between left and right.
    axes : (3, 3) float
        Unit rows: to the front, to the rider's left, up.
    named : bool
        False where nobody said which way the tank faces: its longest way stands for the front.
    """

    origin: FloatArray
    axes: FloatArray
    named: bool

    def __post_init__(self) -> None:
        locked(self.origin)
        locked(self.axes)

    def to_tank(self, points: FloatArray) -> FloatArray:
        """Return (k, 3) places as ahead, left and up, mm."""
        return np.asarray((points - self.origin) @ self.axes.T)

    def from_tank(self, points: FloatArray) -> FloatArray:
        """Return (k, 3) ahead, left and up as places of the mesh."""
        return np.asarray(points @ self.axes + self.origin)


def tank_axes(
    mesh: TriMesh,
    front: FloatArray | None,
    up: FloatArray | None,
    on_centre: FloatArray | None = None,
    *,
    among: BoolArray | None = None,
) -> TankAxes:
    """Return the tank's axes.

    Parameters
    ----------
    mesh : TriMesh
        The skin, mm.
    front, up : (3,) float, optional
        Directions, of any length; up is kept, front is made square to it. Where one is not known
        the skin's longest and shortest ways stand for them.
    on_centre : (3,) float, optional
        A place of the centre plane; the middle of the skin's width if not given.
    among : (n,) bool, optional
        Vertices that say how far back and how low it goes; all that are used if not given.

    >>> corners = np.array([[0.0, 0, 0], [9, 0, 0], [0, 4, 0], [9, 4, 2]])
    >>> mesh = TriMesh(corners, np.array([[0, 1, 2], [1, 3, 2]]))
    >>> axes = tank_axes(mesh, np.array([1.0, 0, 0]), np.array([0.0, 0, 1]))
    >>> axes.to_tank(corners).tolist()[3]
    [9.0, 2.0, 2.0]
    """
    used = mesh.vertices[np.unique(mesh.faces)]
    centred = used - used.mean(axis=0)
    _, _, ways = np.linalg.svd(centred[:: max(1, len(centred) // 5000)], full_matrices=False)
    upward = _unit(ways[2] if up is None else np.asarray(up, np.float64))
    ahead = ways[0] if front is None else np.asarray(front, np.float64)
    ahead = ahead - (ahead @ upward) * upward
    if np.linalg.norm(ahead) < 1e-6:
        ahead = ways[1] - (ways[1] @ upward) * upward
    ahead = _unit(ahead)
    axes = np.stack([ahead, np.cross(upward, ahead), upward])
    counted = used if among is None else mesh.vertices[among]
    low = (counted @ axes.T).min(axis=0)
    across = np.quantile(used @ axes[1], _WIDTH)  # a spike at a corner moves no middle
    middle = float(across.mean() if on_centre is None else axes[1] @ on_centre)
    origin = np.array([low[0], middle, low[2]]) @ axes
    return TankAxes(origin, axes, front is not None and up is not None)


def _unit(vector: FloatArray) -> FloatArray:
    return np.asarray(vector / np.linalg.norm(vector))
