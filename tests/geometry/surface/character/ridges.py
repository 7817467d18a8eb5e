"""Scans of lines with closed forms: an arc between two crowned flanks, swept straight or round."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray
from geometry.mesh import TriMesh
from tests.geometry.surface.scans import scanned, scattered


@dataclass(frozen=True)
class Line:
    """A rolled line.

    Attributes
    ----------
    radius, turn : float
        Of the arc, mm and rad.
    crown : float, 1/mm
        Curvature of the flanks, bulging outward.
    round_about : float, mm
        Radius of the line in plan; 0 runs straight along y.
    standing : int
        +1 a ridge, -1 a valley.
    """

    radius: float
    turn: float
    crown: float = 0.0
    round_about: float = 0.0
    standing: int = 1

    @property
    def opening(self) -> float:
        """The angle between the flanks where they meet, drawn out at their own crown, rad."""
        half = self.turn / 2.0
        if self.crown == 0.0:
            return np.pi - self.turn
        # The flank's circle goes on over the arc to the middle: x = r sin(half) away from it.
        sine = np.sin(half) - self.crown * self.radius * np.sin(half)
        return float(np.pi - 2.0 * np.arcsin(sine))

    def profile(self, along: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return (k, 2) places x, z and normals at distances from the middle; x = z = 0 there."""
        wide = self.radius * self.turn / 2.0
        s, sign = np.abs(along), np.sign(along)
        on_arc = np.minimum(s, wide)
        beyond = np.maximum(s - wide, 0.0)
        start = on_arc / self.radius
        x = self.radius * np.sin(start)
        z = self.radius * (np.cos(start) - 1.0)
        angle = start + self.crown * beyond
        if self.crown > 0.0:
            x = x + (np.sin(angle) - np.sin(start)) / self.crown
            z = z + (np.cos(angle) - np.cos(start)) / self.crown
        else:
            x, z = x + beyond * np.cos(start), z - beyond * np.sin(start)
        return (
            np.stack([sign * x, self.standing * z], axis=1),
            np.stack([self.standing * sign * np.sin(angle), np.cos(angle)], axis=1),
        )


def line_scan(
    line: Line,
    *,
    width: float = 80.0,
    length: float = 120.0,
    spacing: float = 1.0,
    noise: float = 0.05,
    seed: int = 12,
) -> TriMesh:
    """Return a sheet with a line along its middle, scanned; the line's tip lies in z = 0."""
    flat, faces = scattered(width, length, spacing)
    place, normal = line.profile(flat[:, 0] - width / 2.0)
    if line.round_about == 0.0:
        points = np.column_stack([place[:, 0], flat[:, 1], place[:, 1]])
        normals = np.column_stack([normal[:, 0], 0.0 * flat[:, 1], normal[:, 1]])
    else:
        angle = (flat[:, 1] - length / 2.0) / line.round_about
        out = np.column_stack([np.cos(angle), np.sin(angle), 0.0 * angle])
        up = np.array([0.0, 0.0, 1.0])
        points = (line.round_about + place[:, :1]) * out + place[:, 1:] * up
        normals = normal[:, :1] * out + normal[:, 1:] * up
    return scanned(points, normals, faces, noise, seed)


def off_line(line: Line, points: FloatArray) -> FloatArray:
    """Return how far (k, 3) points lie from the tip of the line."""
    if line.round_about == 0.0:
        return np.hypot(points[:, 0], points[:, 2])
    out = np.hypot(points[:, 0], points[:, 1]) - line.round_about
    return np.asarray(np.hypot(out, points[:, 2]))


def height_scan(
    height: Callable[[FloatArray, FloatArray], FloatArray],
    *,
    width: float = 90.0,
    spacing: float = 1.0,
    noise: float = 0.05,
    slow: float = 0.0,
    seed: int = 12,
) -> TriMesh:
    """Return a square of a surface given by its height over x and y about 0, scanned.

    `slow`: standard deviation of noise that varies over 14 to 45 mm, mm.
    """
    flat, faces = scattered(width, width, spacing)
    x, y = (flat - width / 2.0).T
    step = 1e-4
    normals = np.column_stack(
        [
            (height(x - step, y) - height(x + step, y)) / (2.0 * step),
            (height(x, y - step) - height(x, y + step)) / (2.0 * step),
            np.ones_like(x),
        ]
    )
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    points = np.column_stack([x, y, height(x, y)])
    if slow > 0.0:
        waves = slow_waves(np.random.default_rng(seed))
        points = points + slow * waves(points)[:, None] * normals
    return scanned(points, normals, faces, noise, seed)


def slow_waves(rng: np.random.Generator) -> Callable[[FloatArray], FloatArray]:
    """Return a smooth random field of standard deviation 1: plane waves 14 to 45 mm long."""
    ways = rng.normal(size=(64, 3))
    ways *= (2.0 * np.pi / rng.uniform(14.0, 45.0, 64) / np.linalg.norm(ways, axis=1))[:, None]
    phases = rng.uniform(0.0, 2.0 * np.pi, 64)

    def field(points: FloatArray) -> FloatArray:
        return np.asarray(np.cos(points @ ways.T + phases).sum(axis=1) * np.sqrt(2.0 / 64.0))

    return field


def ring(line: Line, about: float) -> Callable[[FloatArray, FloatArray], FloatArray]:
    """Return the height of a lid: a line that closes in a ring of some radius in plan."""
    along = np.linspace(-about, 60.0, 4001)
    place = line.profile(along)[0]

    def height(x: FloatArray, y: FloatArray) -> FloatArray:
        return np.asarray(np.interp(np.hypot(x, y) - about, place[:, 0], place[:, 1]))

    return height


def dent(depth: float, radius: float) -> Callable[[FloatArray, FloatArray], FloatArray]:
    """Return the height of a dent in a crowned sheet of sweep 300 mm."""

    def height(x: FloatArray, y: FloatArray) -> FloatArray:
        away2 = x * x + y * y
        sunk = depth * np.maximum(0.0, 1.0 - away2 / radius**2) ** 3
        return np.asarray(-away2 / 600.0 - sunk)

    return height


def hip(slope: float) -> Callable[[FloatArray, FloatArray], FloatArray]:
    """Return the height of three flat faces of some slope that meet in three sharp lines."""

    def height(x: FloatArray, y: FloatArray) -> FloatArray:
        ways = [0.5 * np.pi, 0.5 * np.pi + 2.0 * np.pi / 3.0, 0.5 * np.pi - 2.0 * np.pi / 3.0]
        faces = [np.cos(a) * x + np.sin(a) * y for a in ways]
        return np.asarray(-slope * np.max(faces, axis=0))

    return height


def fading(crisp: float, length: float) -> Callable[[FloatArray, FloatArray], FloatArray]:
    """Return the height of a line along y whose flanks' slope falls from `crisp` to nothing."""

    def height(x: FloatArray, y: FloatArray) -> FloatArray:
        slope = crisp * np.clip(0.5 - y / length, 0.0, 1.0)
        return np.asarray(-slope * (np.sqrt(x * x + 4.0) - 2.0) - x * x / 600.0)

    return height
