"""A tank with closed forms for tests of tunnels: half a round barrel, flat walls at both ends."""

import numpy as np

from geometry.mesh import TriMesh
from geometry.tank import TunnelGround, tank_bottom

LONG_MM, RADIUS_MM = 400.0, 100.0


def barrel(*, rise: float = 0.0) -> TriMesh:
    """Return the skin: x from 0 to 400, its bottom open at z = 0, lifted by `rise` for each mm."""
    turn = np.linspace(0.0, np.pi, 61)
    ring = np.column_stack([0.0 * turn, RADIUS_MM * np.cos(turn), RADIUS_MM * np.sin(turn)])
    stations = np.linspace(0.0, LONG_MM, 41)
    rings = ring + stations[:, None, None] * [1.0, 0.0, 0.0]
    wide = len(ring)
    grid = np.arange(len(stations) * wide).reshape(len(stations), wide)
    a, b, c, d = grid[:-1, :-1], grid[1:, :-1], grid[1:, 1:], grid[:-1, 1:]
    side = np.concatenate([np.stack(f, axis=-1).reshape(-1, 3) for f in ((a, b, c), (a, c, d))])
    rear, front = grid.size, grid.size + 1
    walls = [[rear, grid[0, k], grid[0, k + 1]] for k in range(wide - 1)]
    walls += [[front, grid[-1, k + 1], grid[-1, k]] for k in range(wide - 1)]
    vertices = np.concatenate([rings.reshape(-1, 3), [[0.0, 0, 0], [LONG_MM, 0, 0]]])
    vertices[:, 2] += rise * vertices[:, 0]
    return TriMesh(vertices, np.concatenate([side, np.array(walls)]))


def ground(*, rise: float = 0.0) -> TunnelGround:
    """Return what a tunnel is laid out for."""
    skin = barrel(rise=rise)
    return TunnelGround(skin, np.zeros(len(skin.faces), bool), tank_bottom(skin))
