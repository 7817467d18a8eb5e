"""Panels with four free edges, against a two-dimensional spectral solution made apart from this.

Own two-dimensional computation: Ritz in Legendre polynomials with exact Hessian, converged to about
six digits away from corners, kept in free_patches.csv; formed weight, energy the integral of eps^2.
u runs along the first half-extent, v along the second; places are from the middle; the other
columns are flat over formed along u and along v, in the middle and at the middles of two edges.
"""

from collections.abc import Callable
from functools import cache

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.blank import FlatPanel, Measure, Work, flatten
from geometry.mesh import TriMesh
from tests.bodies import graph_patch, patch, sphere_patch, torus_patch
from tests.convergence import extrapolated, observed_order
from tests.validation.figures import figures, numbers

ROWS = figures("free_patches")
NAMES = [f"{row['body']} {row['measure']}" for row in ROWS]
Cells = tuple[int, int]


def _sheet(half: tuple[float, float], bend: tuple[float, float], cells: Cells) -> TriMesh:
    """Return z = bend_x x^2 + bend_y y^2 over a rectangle of those half-extents."""
    x, y = (np.linspace(-h, h, n + 1) for h, n in zip(half, cells, strict=True))
    heights = np.add.outer(bend[0] * x**2, bend[1] * y**2)
    return patch(*np.meshgrid(x, y, indexing="ij"), heights)


def _torus(low: float, high: float, cells: Cells) -> TriMesh:
    return torus_patch(3.0, 1.0, np.radians(40), (np.radians(low), np.radians(high)), cells)


BODIES: dict[str, tuple[int, Callable[[Cells], TriMesh]]] = {
    # cells along u for each across, so that they are about square; the mesh
    "sphere 20 x 20": (1, lambda cells: sphere_patch((np.pi / 9, np.pi / 9), cells)),
    "sphere 30 x 30": (1, lambda cells: sphere_patch((np.pi / 6, np.pi / 6), cells)),
    "sphere 45 x 15": (3, lambda cells: sphere_patch((np.pi / 4, np.pi / 12), cells)),
    "torus outside": (2, lambda cells: _torus(-40.0, 40.0, cells)),
    "torus inside": (1, lambda cells: _torus(140.0, 220.0, cells)),
    "saddle": (1, lambda cells: _sheet((0.5, 0.5), (0.5, -0.5), cells)),
    "bowl": (1, lambda cells: _sheet((0.5, 0.5), (0.5, 0.5), cells)),
    "tank top": (3, lambda cells: _sheet((200.0, 70.0), (-1.0 / 1800.0, -1.0 / 240.0), cells)),
}

# How far, of itself, a value extrapolated from 32 and 64 cells across may be from the table's:
# its own last digits, more at corners, and the next order. The strain square to an edge is read by
# a parabola from the thickness of the last three rows of cells.
LIMITS = {
    "blank_area": 1e-7,
    "energy": 6e-5,
    "centre_u": 1.5e-6,
    "centre_v": 1.5e-6,
    "u_edge_x": 2.5e-6,
    "u_edge_along_u": 1.5e-5,
    "u_edge_along_v": 3e-6,
    "v_edge_y": 2.5e-6,
    "v_edge_along_u": 3e-6,
    "v_edge_along_v": 1.5e-5,
    "corner_x": 4e-6,
    "corner_y": 4e-6,
}


@cache
def _blank(body: str, measure: Measure, across: int) -> FlatPanel:
    along, make = BODIES[body]
    flat = flatten(make((along * across, across)), Work(measure, "formed"))
    assert flat.converged
    return flat


def _squared_up(flat: FloatArray) -> FloatArray:
    """Return a grid's flat places with the middle at nothing, u along x and v along y."""
    m, n = flat.shape[0] // 2, flat.shape[1] // 2
    flat = flat - flat[m, n]
    along = flat[-1, n] - flat[0, n]
    along /= np.linalg.norm(along)
    turned: FloatArray = np.stack([flat @ along, flat @ [-along[1], along[0]]], axis=2)
    return turned


def _at_the_edge(thickness: FloatArray) -> float:
    """Return the thickness at the far end of rows of cells, by a parabola through three."""
    last, before, third = thickness.mean(axis=1)[[-1, -2, -3]]
    return float((15.0 * last - 10.0 * before + 3.0 * third) / 8.0)


def _readings(body: str, measure: Measure, across: int) -> dict[str, float]:
    """Return what the table's columns name, read from a blank."""
    flat = _blank(body, measure, across)
    cells = (BODIES[body][0] * across, across)
    m, n = cells[0] // 2, cells[1] // 2
    formed = flat.vertices.reshape(cells[0] + 1, cells[1] + 1, 3)
    lay = _squared_up(flat.flat_vertices.reshape(cells[0] + 1, cells[1] + 1, 2))
    volumes, areas = flat.thickness * flat.formed_areas, flat.formed_areas
    half = len(areas) // 2  # two triangles a cell, listed one half after the other
    thickness = (volumes[:half] + volumes[half:]) / (areas[:half] + areas[half:])
    thickness = thickness.reshape(cells)

    def over(a: Cells, b: Cells) -> float:
        return float(np.linalg.norm(lay[a] - lay[b]) / np.linalg.norm(formed[a] - formed[b]))

    u_edge_along_v = over((-1, n + 1), (-1, n - 1))
    v_edge_along_u = over((m + 1, -1), (m - 1, -1))
    return {
        "blank_area": flat.blank_area,
        "energy": 2.0 * flat.energy,  # the table counts eps^2, this program eps^2 / 2
        "centre_u": over((m + 1, n), (m - 1, n)),
        "centre_v": over((m, n + 1), (m, n - 1)),
        "u_edge_x": float(lay[-1, n, 0] - lay[0, n, 0]) / 2.0,
        "u_edge_along_u": _at_the_edge(thickness[:, n - 1 : n + 1]) / u_edge_along_v,
        "u_edge_along_v": u_edge_along_v,
        "v_edge_y": float(lay[m, -1, 1] - lay[m, 0, 1]) / 2.0,
        "v_edge_along_u": v_edge_along_u,
        "v_edge_along_v": _at_the_edge(thickness[m - 1 : m + 1].T) / v_edge_along_u,
        "corner_x": float(lay[-1, -1, 0]),
        "corner_y": float(lay[-1, -1, 1]),
    }


@pytest.mark.parametrize("row", ROWS, ids=NAMES)
def test_free_patches_agree_with_the_two_dimensional_solution(row: dict[str, str]) -> None:
    """Area, work, half-extents, corner, and the stretches in the middle and at edge middles."""
    told = numbers(row)
    body, measure = row["body"], row["measure"]
    coarse, fine = (_readings(body, measure, cells) for cells in (32, 64))  # type: ignore[arg-type]
    for name, limit in LIMITS.items():
        assert extrapolated(coarse[name], fine[name]) == pytest.approx(told[name], rel=limit), name
    assert fine["energy"] > told["energy"]  # fewer freedoms than the surface has


@pytest.mark.parametrize("row", ROWS, ids=NAMES)
def test_free_patches_converge_with_order_two(row: dict[str, str]) -> None:
    told = numbers(row)

    def order(name: str) -> float:
        def error(size: float) -> float:
            found = _readings(row["body"], row["measure"], round(1 / size))  # type: ignore[arg-type]
            return abs(found[name] - told[name])

        return observed_order(error, [1 / 16, 1 / 32, 1 / 64])

    for name in ("blank_area", "energy"):
        assert order(name) == pytest.approx(2.0, abs=0.1), name
    # Half-extents, where the middle's error and the edge layer's can nearly cancel on one mesh.
    steady = "v_edge_y" if row["body"] == "torus outside" else "u_edge_x"
    assert order(steady) == pytest.approx(2.0, abs=0.3)
    sliding = "u_edge_along_v"
    assert order(sliding) == pytest.approx(2.0, abs=0.1)


def test_tank_top_in_millimetres() -> None:
    """The same panel with 5 mm triangles, no extrapolation: 401.06 x 147.56 to 0.02 mm."""
    for measure, length, width in (
        ("hencky", 401.0622, 147.5667),
        ("von_mises", 401.0616, 147.5639),
    ):
        found = _readings("tank top", measure, 28)  # type: ignore[arg-type]
        assert 2.0 * found["u_edge_x"] == pytest.approx(length, abs=0.02)
        assert 2.0 * found["v_edge_y"] == pytest.approx(width, abs=0.02)


def test_parabolic_sheet_is_free_of_strain() -> None:
    """Panel z = -y^2 / 240 alone: 400.0000 by the parabola's chords, no strain at all."""
    columns = 57
    y = np.linspace(-70.0, 70.0, columns)
    mesh = graph_patch(np.broadcast_to(-(y**2) / 240.0, (81, columns)), 200.0, 70.0)
    flat = flatten(mesh, Work("von_mises", "formed"))
    lay = _squared_up(flat.flat_vertices.reshape(81, columns, 2))
    chords = np.hypot(np.diff(y), np.diff(y**2 / 240.0)).sum()
    assert lay[-1, 28, 0] - lay[0, 28, 0] == pytest.approx(400.0, abs=1e-7)
    assert lay[40, -1, 1] - lay[40, 0, 1] == pytest.approx(chords, abs=1e-7)
    assert np.abs(flat.stretches - 1.0).max() < 1e-8
    assert chords == pytest.approx(147.5769660, abs=2.5e-3)  # h^2 y''^2 / 24 of the width
