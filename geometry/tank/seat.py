"""A place on the skin where something round is set: its axis, and circles carried onto the skin."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.errors import GeometryError
from geometry.fitting import fit_plane
from geometry.mesh import TriMesh
from geometry.tank.depth import ASIDE_MM, Uprights, upright_hits

_AROUND = 96
_TURNS = 4
_ALONG = np.arange(1, 6) / 5.0


class SeatOffTankError(GeometryError):
    """A round thing that does not lie wholly on the skin.

    Attributes
    ----------
    name : str
    place : (2,) float, mm
        Ahead and left.
    across_mm : float
    """

    def __init__(self, name: str, place: FloatArray, across_mm: float) -> None:
        self.name, self.place, self.across_mm = name, place, across_mm
        super().__init__(f"{name} does not lie on the skin")


@dataclass(frozen=True, eq=False)
class Seat:
    """A place on the skin with the axis of what stands there.

    Attributes
    ----------
    name : str
    centre : (3,) float, mm
        On the skin, tank axes.
    axis : (3,) float
        Out of the tank, square to the skin as a whole within the circle it was fitted on.
    skin : TriMesh
    """

    name: str
    centre: FloatArray
    axis: FloatArray
    skin: TriMesh

    def __post_init__(self) -> None:
        locked(self.centre)
        locked(self.axis)

    @property
    def frame(self) -> FloatArray:
        """(3, 3) Unit rows: ahead, across, out."""
        ahead = np.array([1.0, 0.0, 0.0]) - self.axis[0] * self.axis
        if np.linalg.norm(ahead) < 1e-6:
            ahead = np.array([0.0, 0.0, 1.0]) - self.axis[2] * self.axis
        ahead = ahead / np.linalg.norm(ahead)
        return np.stack([ahead, np.cross(self.axis, ahead), self.axis])

    def circle(self, across_mm: float, count: int = _AROUND) -> FloatArray:
        """Return (count, 3) places where a round tube along the axis meets the skin.

        From straight ahead of the centre, counter-clockwise seen from outside.

        Raises
        ------
        SeatOffTankError
        """
        angle = 2.0 * np.pi * np.arange(count) / count
        flat = across_mm / 2.0 * np.stack([np.cos(angle), np.sin(angle)], axis=1)
        points = (self.skin.vertices - self.centre) @ self.frame.T
        flat_faces = points[self.skin.faces][:, :, :2]
        reach = across_mm / 2.0
        near = (flat_faces.min(axis=1) <= reach) & (flat_faces.max(axis=1) >= -reach)
        faces = self.skin.faces[near[:, 0] & near[:, 1]]
        uprights = Uprights(points, faces)
        heights = np.array([_nearest_hit(uprights, place) for place in flat])
        if np.isnan(heights).any():
            raise SeatOffTankError(self.name, self.centre[:2].copy(), across_mm)
        return np.column_stack([flat, heights]) @ self.frame + self.centre

    def laid(self, across_mm: float, count: int = _AROUND) -> FloatArray:
        """Return (count, 2) the outline of a template that, laid on the skin, ends on a circle.

        Each of its rays from the middle is as long as the skin is from there to the circle, in the
        plane through the axis; x ahead. Where the skin curves both ways at once a flat template
        still has to be pressed down: the rays are right, what lies between them bridges or tucks.
        """
        rings = [self.circle(across_mm * share, count) for share in _ALONG]
        last = np.broadcast_to(self.centre, rings[0].shape)
        length = np.zeros(count)
        for ring in rings:
            length += np.linalg.norm(ring - last, axis=1)
            last = ring
        angle = 2.0 * np.pi * np.arange(count) / count
        return np.asarray(length[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=1))


def _nearest_hit(uprights: Uprights, place: FloatArray) -> float:
    heights, _ = uprights.hits(place + ASIDE_MM)
    return float(heights[np.argmin(np.abs(heights))]) if len(heights) else float("nan")


def seat_on(
    skin: TriMesh,
    name: str,
    x_mm: float,
    y_mm: float,
    across_mm: float,
    *,
    below: bool = False,
    on_centre: bool = False,
) -> Seat:
    """Return the seat of something round on the skin, its axis square to the skin under its edge.

    Parameters
    ----------
    skin : TriMesh
        Tank axes, mm.
    name : str
    x_mm, y_mm : float
        Ahead and left.
    across_mm : float
        The circle the axis is fitted on.
    below : bool
        On the bottom; else on top.
    on_centre : bool
        The axis is kept in the centre plane.

    Raises
    ------
    SeatOffTankError
    """
    heights, _ = upright_hits(skin.vertices, skin.faces, np.array([x_mm, y_mm]) + ASIDE_MM)
    if not len(heights):
        raise SeatOffTankError(name, np.array([x_mm, y_mm]), across_mm)
    centre = np.array([x_mm, y_mm, heights[0] if below else heights[-1]])
    axis = np.array([0.0, 0.0, -1.0 if below else 1.0])
    for _ in range(_TURNS):
        rim = Seat(name, centre, axis, skin).circle(across_mm)
        normal = fit_plane(rim).normal
        normal = normal * np.sign(normal @ axis)
        if on_centre:
            normal = normal * [1.0, 0.0, 1.0]
        axis = normal / np.linalg.norm(normal)
    return Seat(name, centre, axis, skin)
