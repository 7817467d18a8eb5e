"""The minimiser: its stiffness is the derivative of its forces, steps never fold a face."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.blank import Work
from geometry.blank.minimise import (
    Elements,
    StiffnessSolver,
    face_forces,
    folded_faces,
    largest_step,
    minimise,
    relative_residual,
    stiffness_blocks,
)
from geometry.blank.ordering import nested_dissection
from geometry.blank.start import convex_rim_layout, fold_free_start
from geometry.blank.work import density
from geometry.mesh import TriMesh, edge_table, rims
from geometry.progress import Cancelled
from tests.bodies import dome, tank_top

ONE = np.array([[0, 1, 2]])


def test_stiffness_is_the_derivative_of_the_forces_where_work_is_convex() -> None:
    """Where every stretch flat over formed is above 1 nothing is projected away."""
    mesh = dome(50.0, 0.3, 3)
    elements = Elements.of(mesh)
    flat = 1.05 * fold_free_start(mesh, rims(mesh)[0])[0]
    work = Work("von_mises", "formed")

    def forces(at: FloatArray) -> FloatArray:
        turned = elements.stretches(at)
        return face_forces(elements, turned, density(work, turned.s)).reshape(-1, 6)

    turned = elements.stretches(flat)
    blocks = stiffness_blocks(elements, turned, density(work, turned.s))
    push = np.random.default_rng(0).normal(size=flat.shape)
    step = 1e-6
    change = (forces(flat + step * push) - forces(flat - step * push)) / (2 * step)
    told = np.einsum("mij,mj->mi", blocks, push[mesh.faces].reshape(-1, 6))
    np.testing.assert_allclose(change, told, atol=1e-7 * np.abs(told).max())


def test_stiffness_is_never_negative_however_strained() -> None:
    mesh = dome(50.0, 1.2, 3)
    elements = Elements.of(mesh)
    flat = mesh.vertices[:, :2] * [0.3, 2.5]
    turned = elements.stretches(flat)
    blocks = stiffness_blocks(elements, turned, density(Work(), turned.s))
    assert np.linalg.eigvalsh(blocks).min() > -1e-9 * np.abs(blocks).max()


@pytest.mark.parametrize(
    ("move", "length"),
    [
        ([[0, 0], [0, 0], [0, -1]], 1.0),  # the tip falls straight onto the base
        ([[0, 0], [0, 0], [0, 1]], np.inf),  # it only rises
        ([[0, 0], [-2, 0], [0, 0]], 0.5),
        ([[0, 0], [0, 0], [0, -4]], 0.25),
    ],
)
def test_the_largest_step_ends_where_a_face_loses_its_area(
    move: list[list[float]], length: float
) -> None:
    flat = np.array([[0.0, 0], [1, 0], [0, 1]])
    assert largest_step(flat, np.array(move, float), ONE) == pytest.approx(length)


def test_residual_is_unchanged_by_scale_place_and_numbering() -> None:
    mesh = dome(80.0, 0.5, 6)
    elements = Elements.of(mesh)
    flat, _ = fold_free_start(mesh, rims(mesh)[0])
    flat = flat * [1.01, 0.99]
    before = relative_residual(elements, Work(), flat)
    order = np.random.default_rng(2).permutation(len(flat))
    place = np.argsort(order)
    other = TriMesh(7.0 * mesh.vertices[order] + 3.0, place[mesh.faces])
    after = relative_residual(Elements.of(other), Work(), 7.0 * flat[order] - 11.0)
    assert after == pytest.approx(before, rel=1e-9)
    assert before > 1e-3


def test_progress_rises_and_can_stop_half_way() -> None:
    mesh = tank_top(14)
    elements = Elements.of(mesh)
    start, layout = fold_free_start(mesh, rims(mesh)[0])
    solver = StiffnessSolver(elements, layout)
    seen: list[float] = []
    minimise(elements, Work(), start, solver, report=lambda done, _: seen.append(done))
    assert seen == sorted(seen)
    assert len(seen) >= 3
    assert seen[-1] == 1.0

    def stop(done: float, stage: str) -> None:
        if done > 0.1:
            raise Cancelled

    with pytest.raises(Cancelled):
        minimise(elements, Work(), start, solver, report=stop)


def test_the_convex_start_never_folds() -> None:
    for mesh in (dome(1.0, 2.6, 20), tank_top(14)):
        flat = convex_rim_layout(mesh, rims(mesh)[0])
        assert not folded_faces(flat, mesh.faces).any()


def test_elimination_order_names_every_vertex_once() -> None:
    mesh = tank_top(20)
    order = nested_dissection(mesh.vertices[:, :2], edge_table(mesh.faces).edges)
    assert sorted(order) == list(range(len(mesh.vertices)))
