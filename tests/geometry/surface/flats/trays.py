"""A flat round plate with a rolled edge and a wall below it, its place and shape known."""

import numpy as np

from geometry.arrays import FloatArray
from geometry.mesh import TriMesh
from tests import bodies
from tests.geometry.surface.crown.skins import noisy

FLAT_RADIUS = 45.0
_WALL = 15.0


def tray(
    edge_radius: float, *, noise_mm: float = 0.0, warp_mm: float = 0.0, spacing: float = 1.4
) -> TriMesh:
    """Return a plate facing +z, flat within 45 mm of z, then turning 75 degrees into a wall.

    Warped, it stands `warp_mm` higher in its middle than at its edge, by half a cosine.
    """
    turn = 1.3
    arc = edge_radius * turn
    run = np.concatenate(
        [
            np.arange(0.0, FLAT_RADIUS, spacing),
            FLAT_RADIUS + np.linspace(0.0, arc, 2 + int(3.0 * arc / min(spacing, edge_radius))),
            FLAT_RADIUS + arc + np.arange(spacing, _WALL, spacing),
        ]
    )
    share, phi, faces = bodies.disk_rings(len(run) - 1)
    place = np.interp(share * (len(run) - 1), np.arange(len(run)), run)
    x, z = _profile(place, edge_radius, turn)
    z = z + warp_mm / 2.0 * np.cos(np.pi * np.minimum(x, FLAT_RADIUS) / FLAT_RADIUS)
    points = np.stack([x * np.cos(phi), x * np.sin(phi), z], axis=1)
    return noisy(TriMesh(points, faces), noise_mm)


def _profile(run: FloatArray, radius: float, turn: float) -> tuple[FloatArray, FloatArray]:
    angle = np.clip((run - FLAT_RADIUS) / radius, 0.0, turn)
    down = np.maximum(run - FLAT_RADIUS - radius * turn, 0.0)
    x = np.minimum(run, FLAT_RADIUS) + radius * np.sin(angle) + down * np.cos(turn)
    return x, -radius * (1.0 - np.cos(angle)) - down * np.sin(turn)
