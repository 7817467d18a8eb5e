"""Panels with four free edges, against a two-dimensional spectral solution made apart from this.

Ritz in Legendre polynomials with exact Hessian, converged to about six digits away from corners;
energies weighted by formed area (eps^2). Full widths along the two middle lines and the corner.
"""

from functools import cache

import numpy as np
import pytest

from geometry.blank import FlatPanel, Work, flatten
from geometry.mesh import TriMesh
from tests.bodies import graph_patch, patch, tank_top, torus_patch
from tests.convergence import observed_order

HENCKY, MISES = Work("hencky", "formed"), Work("von_mises", "formed")


def _middle_widths(flat: FlatPanel, rows: int, columns: int) -> tuple[float, float]:
    """Return the distances between opposite edge middles of a grid panel."""
    place = flat.flat_vertices.reshape(rows, columns, 2)
    along = np.linalg.norm(place[-1, columns // 2] - place[0, columns // 2])
    across = np.linalg.norm(place[rows // 2, -1] - place[rows // 2, 0])
    return float(along), float(across)


@cache
def _tank(cells: int, work: Work) -> tuple[FlatPanel, float, float]:
    flat = flatten(tank_top(cells), work)
    return flat, *_middle_widths(flat, 20 * cells // 7 + 1, cells + 1)


@pytest.mark.parametrize(
    ("work", "length", "width", "energy"),
    [(HENCKY, 401.0622, 147.5667, 1.9644062), (MISES, 401.0616, 147.5639, 1.9640484)],
    ids=["hencky", "von_mises"],
)
def test_tank_like_top(work: Work, length: float, width: float, energy: float) -> None:
    """Panel z = -(x^2 / 1800 + y^2 / 240), +-200 x +-70 mm: to 0.02 mm with 5 mm triangles."""
    flat, along, across = _tank(28, work)
    assert flat.converged
    assert along == pytest.approx(length, abs=0.02)
    assert across == pytest.approx(width, abs=0.03)
    assert 2.0 * flat.energy == pytest.approx(energy, rel=0.03)
    assert 2.0 * flat.energy > energy  # fewer freedoms than the surface has


def test_tank_like_top_converges_with_order_two() -> None:
    order = observed_order(
        lambda h: abs(_tank(round(140 / h), MISES)[2] - 147.5639344), [10, 5, 2.5]
    )
    assert order == pytest.approx(2.0, abs=0.15)


def test_cylinder_control_is_free_of_strain() -> None:
    """Panel z = -y^2 / 240 alone: 400.0000 by the parabola's chords, no strain at all."""
    columns = 57
    y = np.linspace(-70.0, 70.0, columns)
    flat = flatten(graph_patch(np.broadcast_to(-(y**2) / 240.0, (81, columns)), 200.0, 70.0), MISES)
    along, across = _middle_widths(flat, 81, columns)
    chords = np.hypot(np.diff(y), np.diff(y**2 / 240.0)).sum()
    assert along == pytest.approx(400.0, abs=1e-7)
    assert across == pytest.approx(chords, abs=1e-7)
    assert np.abs(flat.stretches - 1.0).max() < 1e-8
    assert chords == pytest.approx(147.5769660, abs=2.5e-3)  # h^2 y''^2 / 24 of the width


def _sphere_patch(cells: int) -> TriMesh:
    lon, lat = np.meshgrid(*[np.radians(np.linspace(-30, 30, cells + 1))] * 2, indexing="ij")
    return patch(np.cos(lat) * np.cos(lon), np.cos(lat) * np.sin(lon), np.sin(lat))


@pytest.mark.parametrize(
    ("mesh", "work", "along", "across"),
    [
        (_sphere_patch(40), MISES, 2 * 0.5179590, 2 * 0.5180195),
        (_sphere_patch(40), HENCKY, 2 * 0.5180415, 2 * 0.5181064),
        (graph_patch(np.add.outer(*[np.linspace(-0.5, 0.5, 41) ** 2 / 2] * 2), 0.5, 0.5),
         HENCKY, 1.030463, 1.030463),
        (graph_patch(np.subtract.outer(*[np.linspace(-0.5, 0.5, 41) ** 2 / 2] * 2), 0.5, 0.5),
         HENCKY, 1.050225, 1.050225),
        (torus_patch(3.0, 1.0, np.radians(40), (np.radians(140), np.radians(220)), (40, 40)),
         MISES, 1.408801, 1.408472),
    ],
    ids=["sphere mises", "sphere hencky", "bowl", "saddle", "torus inside"],
)  # fmt: skip
def test_free_patches(mesh: TriMesh, work: Work, along: float, across: float) -> None:
    """40 cells a side: chord and element error about 1e-4 of the width."""
    flat = flatten(mesh, work)
    assert _middle_widths(flat, 41, 41) == pytest.approx((along, across), rel=3e-4)
