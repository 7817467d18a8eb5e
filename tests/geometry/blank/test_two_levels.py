"""Few triangles help to answer loads: the same movement as by factors, in rounds that stay few."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.blank import Work
from geometry.blank.coarse import CoarsePanel, coarse_panel
from geometry.blank.elements import Elements, FaceStiffness, face_stiffness, nodal_forces
from geometry.blank.minimise import minimise
from geometry.blank.stiffness import StiffnessSolver
from geometry.blank.two_levels import HIGHEST, TwoLevels
from geometry.blank.work import density
from geometry.mesh import TriMesh, edge_table
from tests.bodies import dome

HENCKY = Work("hencky", "formed")


def pressed_flat(rings: int) -> tuple[TriMesh, FloatArray, CoarsePanel]:
    """Return a shallow dome, its vertices dropped onto the plane, and its few triangles."""
    mesh = dome(100.0, 0.4, rings)
    coarse = coarse_panel(mesh)
    assert coarse is not None
    return mesh, mesh.vertices[:, :2].copy(), coarse


def loads_and_stiffness(mesh: TriMesh, flat: FloatArray) -> tuple[FloatArray, FaceStiffness]:
    elements = Elements.of(mesh)
    strained = elements.strained(flat)
    d = density(HENCKY, strained.s)
    return -nodal_forces(elements, strained, d)[0], face_stiffness(elements, strained, d)


def test_the_movement_is_the_one_by_factors() -> None:
    mesh, flat, coarse = pressed_flat(24)
    elements = Elements.of(mesh)
    loads, faces = loads_and_stiffness(mesh, flat)
    levels = TwoLevels(elements, coarse)
    few = levels.factors_of_few(HENCKY, flat)
    assert few is not None
    moved = levels.movement(faces, loads, few, tolerance=1e-10)
    assert moved is not None
    told = StiffnessSolver(elements, flat).factorised(faces).solve(loads)
    apart = (moved - moved.mean(axis=0)) - (told - told.mean(axis=0))
    np.testing.assert_allclose(apart, 0.0, atol=1e-6 * np.abs(told).max())


@pytest.mark.parametrize("rings", [20, 40])
def test_as_few_rounds_serve_a_fine_panel_as_a_coarse_one(rings: int) -> None:
    """A thousandth of the load is left within the rounds allowed, whatever the triangles."""
    mesh, flat, coarse = pressed_flat(rings)
    levels = TwoLevels(Elements.of(mesh), coarse)
    loads, faces = loads_and_stiffness(mesh, flat)
    few = levels.factors_of_few(HENCKY, flat)
    assert few is not None
    assert levels.movement(faces, loads, few, tolerance=1e-3) is not None


def test_no_movement_is_stiffer_than_three_times_its_vertices() -> None:
    """The bound behind the evening out: the largest eigenvalue, found densely."""
    mesh, flat, _ = pressed_flat(8)
    _, faces = loads_and_stiffness(mesh, flat)
    stiffness = StiffnessSolver(Elements.of(mesh), None).assembled(faces)
    whole = stiffness.matrix.toarray()
    own = np.zeros_like(whole)
    for vertex, block in enumerate(stiffness.own):
        own[2 * vertex : 2 * vertex + 2, 2 * vertex : 2 * vertex + 2] = block
    assert np.linalg.eigvals(np.linalg.solve(own, whole)).real.max() < HIGHEST


def test_a_layout_that_folds_the_few_triangles_gives_no_factors() -> None:
    mesh, flat, coarse = pressed_flat(20)
    levels = TwoLevels(Elements.of(mesh), coarse)
    assert levels.factors_of_few(HENCKY, flat * [1.0, -1.0]) is None


def test_the_least_work_is_the_same_with_their_help_and_without() -> None:
    """Every edge to 0.1 um, however the blank is turned: both stop at a residual of 1e-8."""
    mesh, flat, coarse = pressed_flat(24)
    elements = Elements.of(mesh)
    alone = minimise(elements, Work(), flat, StiffnessSolver(elements, flat))
    helped = minimise(
        elements,
        Work(),
        flat,
        StiffnessSolver(elements, flat),
        levels=TwoLevels(elements, coarse),
    )
    assert alone.converged
    assert helped.converged
    assert helped.energy == pytest.approx(alone.energy, rel=1e-12)
    edges = edge_table(mesh.faces).edges
    one, two = (
        np.linalg.norm(np.diff(place.flat_vertices[edges], axis=1), axis=2)
        for place in (alone, helped)
    )
    np.testing.assert_allclose(one, two, atol=1e-4)
