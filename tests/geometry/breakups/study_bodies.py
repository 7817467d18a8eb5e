"""Bodies whose best break-ups can be told, and brute force over the same seams."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import product
from math import inf, pi, radians

import numpy as np

from geometry.arrays import FloatArray
from geometry.breakups.measured import LEAST_AREA
from geometry.breakups.piece import level_lines, parted
from geometry.breakups.piece_figures import PieceFigures, estimated_figures, piece_figures
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


NORMALS = np.array([n for n in product((-1.0, 0.0, 1.0), repeat=3) if n > (0.0, 0.0, 0.0)])
"""Thirteen ways to tilt a plane: along the axes, and between them."""

BOWS = (-0.4, -0.2, 0.0, 0.2, 0.4)
"""Of half the body's length along which a plane is bowed: about as far as the study may, on the
skin, of a seam's."""

LAID = 25
"""Of the cuts of one price, those that are laid flat: the best by estimate, and what lies evenly
among the others of each tilt."""


@dataclass(frozen=True)
class BowedCut:
    """Where a plane, bowed into a trough, parts a body.

    Attributes
    ----------
    normal : (3,) tuple of float
    turn : float, rad
        Of the way it is bowed along, within the plane.
    bow : float
        Of half the body's length that way.
    share : float
        Of the body's vertices that lie below it.
    """

    normal: tuple[float, float, float]
    turn: float
    bow: float
    share: float

    def heights(self, places: FloatArray) -> FloatArray:
        """Return how far places lie over it."""
        normal = np.array(self.normal) / np.linalg.norm(self.normal)
        across = np.linalg.svd(normal[None])[2][1:]
        off = places - (places.max(axis=0) + places.min(axis=0)) / 2.0
        along = off @ (np.cos(self.turn) * across[0] + np.sin(self.turn) * across[1])
        half = float(np.ptp(along)) / 2.0
        over = off @ normal - self.bow * half * (along / half) ** 2
        return np.asarray(over - np.quantile(over, self.share))


def bowed_cuts() -> list[BowedCut]:
    """Return cuts of thirteen tilts, bowed five ways along four directions, at seven places."""
    return [
        BowedCut(tuple(normal), turn, bow, share)
        for normal in NORMALS.tolist()
        for turn, bow in [(0.0, 0.0), *product(np.arange(4) * pi / 4.0, [b for b in BOWS if b])]
        for share in np.linspace(0.1, 0.9, 7).tolist()
    ]


def least_of_cuts(ground: StudyGround, prices: Sequence[float]) -> list[float]:
    """Return for every price the least of work + price x length over `bowed_cuts`.

    No search and no field. Estimates choose what is laid flat: the best few for each price, and
    the best of every tilt.
    """
    guesses = {}
    for cut in bowed_cuts():
        guess = _parts_of(ground, cut.heights(ground.root.outside), estimated_figures)
        if guess is not None:
            guesses[cut] = guess
    real: dict[BowedCut, tuple[float, float] | None] = {}
    least = []
    for price in prices:
        order = sorted(guesses, key=lambda each: guesses[each][0] + price * guesses[each][1])
        of_tilt = {each.normal: each for each in reversed(order)}
        best = inf
        for cut in dict.fromkeys([*order[:LAID], *of_tilt.values()]):
            if cut not in real:
                real[cut] = _parts_of(ground, cut.heights(ground.root.outside), piece_figures)
            found = real[cut]
            best = best if found is None else min(best, found[0] + price * found[1])
        least.append(best)
    return least


def cost_of(ground: StudyGround, heights: FloatArray, price: float) -> float:
    """Return work + price x length of parting the whole ground where heights pass zero."""
    found = _parts_of(ground, heights, piece_figures)
    return inf if found is None else found[0] + price * found[1]


def _parts_of(
    ground: StudyGround, heights: FloatArray, figures_of: Callable[..., PieceFigures]
) -> tuple[float, float] | None:
    """Return work and length of parting the ground in two, None where that cannot be."""
    both = parted(ground.root, heights)
    lines = level_lines(ground.root, heights)
    if both is None or lines is None:
        return None
    if min(both.low.area, both.high.area) < LEAST_AREA * ground.area:
        return None
    sides = [figures_of(side, joined=False) for side in (both.low, both.high)]
    if not all(side.stands for side in sides):
        return None
    length = sum(
        float(np.linalg.norm(np.diff(line.points, axis=0), axis=1).sum()) for line in lines
    )
    return sum(side.work for side in sides), length
