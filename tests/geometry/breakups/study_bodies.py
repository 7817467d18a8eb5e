"""Bodies whose best break-ups can be told, and brute force over the same seams."""

from itertools import product
from math import inf, radians

import numpy as np

from geometry.arrays import FloatArray
from geometry.breakups.measured import LEAST_AREA
from geometry.breakups.piece import level_lines, parted
from geometry.breakups.piece_figures import piece_figures
from geometry.breakups.study_ground import StudyGround
from geometry.gauges import TankAxes
from geometry.mesh import TriMesh
from tests.bodies import band_of_revolution, dome, torus_patch

AXES = TankAxes(np.zeros(3), np.eye(3), False)
"""The body's own axes are the tank's; nobody says where front and top are, so all is seen."""


def half_dome() -> TriMesh:
    """Return a half of a sphere of radius 100 about +z, open below."""
    return dome(100.0, radians(90.0), 7)


def barrel() -> TriMesh:
    """Return the upper half of a barrel 240 mm long about x, 100 to 60 mm in radius."""
    x = np.linspace(-120.0, 120.0, 13)
    lying = band_of_revolution(60.0 + 40.0 * np.cos(np.pi * x / 240.0), x, radians(180.0), 12)
    turned = lying.vertices[:, [2, 1, 0]] * np.array([1.0, -1.0, 1.0])
    return TriMesh(turned, lying.faces[:, ::-1] if _faces_in(turned, lying) else lying.faces)


def _faces_in(places: FloatArray, mesh: TriMesh) -> bool:
    a, b, c = places[mesh.faces[0]]
    return bool(np.cross(b - a, c - a) @ (a * np.array([0.0, 1.0, 1.0])) < 0.0)


def torus() -> TriMesh:
    """Return the outer part of a torus of radii 150 and 60, a quarter turn of it, about z."""
    return torus_patch(150.0, 60.0, radians(90.0), (radians(-80.0), radians(80.0)), (16, 12))


def plane_cuts(ground: StudyGround, price: float, offsets: int = 9) -> float:
    """Return the least of work + price x length over plane cuts of many tilts and offsets.

    No search, no estimate, no field: every pair of pieces is laid flat.
    """
    best = inf
    for normal in NORMALS:
        heights = ground.root.outside @ (normal / np.linalg.norm(normal))
        low, high = np.quantile(heights, [0.06, 0.94])
        for level in np.linspace(low, high, offsets):
            best = min(best, cost_of(ground, heights - level, price))
    return best


NORMALS = np.array([n for n in product((-1.0, 0.0, 1.0), repeat=3) if n > (0.0, 0.0, 0.0)])
"""Thirteen ways to tilt a plane: along the axes, and between them."""


def cost_of(ground: StudyGround, heights: FloatArray, price: float) -> float:
    """Return work + price x length of parting the whole ground where heights pass zero."""
    both = parted(ground.root, heights)
    lines = level_lines(ground.root, heights)
    if both is None or lines is None:
        return inf
    if min(both.low.area, both.high.area) < LEAST_AREA * ground.area:
        return inf
    sides = [piece_figures(side, joined=False) for side in (both.low, both.high)]
    if not all(side.stands for side in sides):
        return inf
    length = sum(
        float(np.linalg.norm(np.diff(line.points, axis=0), axis=1).sum()) for line in lines
    )
    return sum(side.work for side in sides) + price * length
