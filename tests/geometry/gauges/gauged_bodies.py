"""Skins in tank axes with closed forms, for gauges: x ahead, y left, z up."""

from collections.abc import Callable

import numpy as np

from geometry.arrays import FloatArray
from geometry.gauges.gauged_skin import GaugedSkin
from geometry.mesh import TriMesh
from tests.bodies import patch

Profile = Callable[[FloatArray], FloatArray]


def skin_of(mesh: TriMesh, inward_mm: float = 0.0) -> GaugedSkin:
    """Return a skin all of which was scanned."""
    nowhere = np.zeros(len(mesh.faces), bool)
    return GaugedSkin(mesh, inward_mm, nowhere, nowhere)


def round_skin(
    radius: Profile,
    *,
    length: float = 400.0,
    height: float = 100.0,
    under: float = np.pi / 2.0,
    right: float = 1.0,
    cells: tuple[int, int] = (80, 120),
) -> TriMesh:
    """Return a round skin about a line along x at a height, open below.

    Parameters
    ----------
    radius : function of x (k,)
    under : float, rad
        How far round it goes from the top on either hand: beyond half a right angle it hangs under.
    right : float
        How much wider its right hand is than its left.
    """
    x, turn = np.meshgrid(
        np.linspace(0.0, length, cells[0] + 1),
        np.linspace(-under, under, cells[1] + 1),
        indexing="ij",
    )
    reach = radius(x)
    y = reach * np.sin(turn) * np.where(turn < 0.0, right, 1.0)
    return patch(x, y, height + reach * np.cos(turn))


def barrel(x: FloatArray) -> FloatArray:
    """Return the radius of a barrel, thickest at x = 230."""
    return np.asarray(90.0 - (x - 230.0) ** 2 / 1500.0)


def closed_tank(length: float = 300.0, wide: float = 120.0, high: float = 90.0) -> TriMesh:
    """Return a closed box of square sections, its ends closed: its bottom edges are its corners."""
    square = np.array([[-1.0, 0], [-1, 1], [1, 1], [1, 0]]) * [wide / 2.0, high]
    x = np.linspace(0.0, length, 31)
    vertices = np.concatenate(
        [np.column_stack([np.full(4, at), square]) for at in x.tolist()]
        + [np.array([[0.0, 0, high / 2.0], [length, 0, high / 2.0]])]
    )
    faces: list[tuple[int, int, int]] = []
    for i in range(30):
        for k in range(4):
            a, b = 4 * i + k, 4 * i + (k + 1) % 4
            faces += [(a, b + 4, b), (a, a + 4, b + 4)]
    rear, front = 4 * 31, 4 * 31 + 1
    for k in range(4):
        faces += [(rear, k, (k + 1) % 4), (front, 120 + (k + 1) % 4, 120 + k)]
    return TriMesh(vertices, np.array(faces))
