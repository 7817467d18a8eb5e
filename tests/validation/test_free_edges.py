"""What least work asks of a smooth free edge, whatever the panel's shape: identities, no figures.

Along the edge let e_t be the log of flat over formed edge length and e_n the same square to it.
Nothing pulls on the edge, so the work's derivative by e_n vanishes there (own derivation, the
natural boundary condition of the least work):

- formed weight, von Mises, any hardening: 2 e_n + e_t = 0, so thickness = sqrt(edge ratio);
- formed weight, Hencky: e_n = 0, so thickness = the edge ratio itself;
- blank weight: w + dw/d(e_n) = 0, as a thinner blank edge is also less metal.

A triangle has one strain and its middle stands a third of its height inside the edge, where e_n has
moved by that third times its slope: the identities are met to the first order in triangle size.
"""

from collections.abc import Callable
from functools import cache

import numpy as np
import pytest

from geometry.arrays import BoolArray, FloatArray
from geometry.blank import Measure, Work, flatten
from geometry.blank.elements import Elements
from geometry.blank.minimise import minimise
from geometry.blank.stiffness import StiffnessSolver
from geometry.mesh import TriMesh
from tests.bodies import dome, hyperbolic_saddle, tank_top
from tests.convergence import extrapolated, observed_order

BODIES: dict[str, Callable[[int], TriMesh]] = {
    "dome": lambda cells: dome(1.0, np.pi / 4, cells),
    "saddle": lambda cells: hyperbolic_saddle(1.0, np.pi / 4, cells),
    "tank top": lambda cells: tank_top(7 * cells // 4),
}


def _formed_below_one(measure: Measure, hardening: float) -> Work:
    """Return a formed-weight work below hardening 1, stationary only, for this check alone."""
    work = Work(measure, "formed")
    object.__setattr__(work, "hardening", hardening)
    return work


def _layout(mesh: TriMesh, work: Work) -> FloatArray:
    if work.weight == "blank" or work.hardening == 1.0:
        flat = flatten(mesh, work)
        assert flat.converged
        return flat.flat_vertices
    layout = flatten(mesh, Work(work.measure, "formed")).flat_vertices
    elements = Elements.of(mesh)
    solver = StiffnessSolver(elements, layout)
    for hardening in (0.85, 0.7, 0.6, 0.5):
        step = minimise(elements, _formed_below_one(work.measure, hardening), layout, solver)
        assert step.converged
        layout = step.flat_vertices
    return layout


def _far_from_corners(middles: FloatArray) -> BoolArray:
    """Return which places on the sides x = +-200, y = +-70 are well inside them."""
    x, y = np.abs(middles[:, :2]).T
    inside: BoolArray = np.where(x > 199.9, y < 50.0, x < 160.0)
    return inside


@cache
def _edge_strains(body: str, cells: int, work: Work) -> tuple[FloatArray, FloatArray]:
    """Return (e_t, e_n) of the faces with an edge on the rim, away from corners."""
    mesh = BODIES[body](cells)
    layout = _layout(mesh, work)
    edges = mesh.faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2)
    _, first, count = np.unique(
        np.sort(edges, axis=1), axis=0, return_index=True, return_counts=True
    )
    rim = first[count == 1]
    if body == "tank top":
        rim = rim[_far_from_corners(mesh.vertices[edges[rim]].mean(axis=1))]
    start, end = edges[rim].T
    along = np.log(
        np.linalg.norm(layout[end] - layout[start], axis=1)
        / np.linalg.norm(mesh.vertices[end] - mesh.vertices[start], axis=1)
    )
    thickness = Elements.of(mesh).strained(layout).s.prod(axis=1)[rim // 3]
    return along, np.log(thickness) - along


def _missed(work: Work, e_t: FloatArray, e_n: FloatArray) -> FloatArray:
    """Return by how much e_n misses its identity on each edge, over the edge's mean e_t."""
    n = work.hardening
    if work.measure == "von_mises":
        eps = np.sqrt(4.0 / 3.0 * (e_n**2 + e_n * e_t + e_t**2))
        stiff, pull = 4.0 / 3.0, 2.0 / 3.0 * (2.0 * e_n + e_t)
    else:
        eps = np.hypot(e_n, e_t)
        stiff, pull = 1.0, e_n
    if work.weight == "blank":
        pull = pull + eps**2 / (n + 1.0)
    missed: FloatArray = pull / (stiff * e_t.mean())
    return missed


WORKS = [
    Work("von_mises", "formed"),
    _formed_below_one("von_mises", 0.5),
    Work("hencky", "formed"),
    Work("von_mises", "blank"),
    Work("hencky", "blank"),
    Work("von_mises", "blank", 0.5),
    Work("von_mises", "blank", 0.25),
]


def _at_no_size(values: list[float]) -> float:
    """Return the limit of values at three sizes, each half the last, whose error is C h + D h^2."""
    coarse, middle, fine = values
    return extrapolated(
        extrapolated(coarse, middle, order=1.0), extrapolated(middle, fine, order=1.0), order=2.0
    )


@pytest.mark.parametrize(
    ("body", "work"),
    [
        pytest.param(
            body,
            work,
            id=f"{body} {work.measure} {work.weight} {work.hardening}",
            marks=[pytest.mark.slow] if body == "tank top" and work.hardening < 1.0 else [],
        )
        for body in BODIES
        for work in WORKS
    ],
)
def test_free_edges_meet_their_identity_to_the_first_order(body: str, work: Work) -> None:
    """The order is 1, and what a parabola to no size leaves is next to nothing."""

    def missed(size: float) -> FloatArray:
        return _missed(work, *_edge_strains(body, round(1 / size), work))

    def size_of(size: float) -> float:
        return float(np.sqrt((missed(size) ** 2).mean()))

    assert observed_order(size_of, [1 / 8, 1 / 16, 1 / 32]) == pytest.approx(1.0, abs=0.15)
    assert size_of(1 / 32) < 0.04
    rest = _at_no_size([float(missed(1 / cells).mean()) for cells in (8, 16, 32)])
    assert rest == pytest.approx(0.0, abs=5e-4)


@pytest.mark.parametrize("body", BODIES)
def test_edge_thickness_follows_the_edge_ratio(body: str) -> None:
    """Formed weight: sqrt(blank edge / formed edge) for von Mises, the ratio itself for Hencky.

    Read edge by edge on the finest mesh, extrapolated in the mean as above.
    """
    for work, power in ((Work("von_mises", "formed"), 0.5), (Work("hencky", "formed"), 1.0)):
        off = []
        for cells in (8, 16, 32):
            e_t, e_n = _edge_strains(body, cells, work)
            off.append(float((e_n + e_t - power * e_t).mean()))
        assert np.exp(_at_no_size(off)) == pytest.approx(1.0, abs=1.5e-4)
