"""The minimiser: its stiffness is the derivative of its forces, steps never fold a face."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.blank import Work
from geometry.blank.elements import (
    Elements,
    FaceStiffness,
    face_forces,
    face_stiffness,
    largest_step,
    last_digit_force,
    nodal_forces,
)
from geometry.blank.minimise import minimise, relative_residual
from geometry.blank.ordering import nested_dissection
from geometry.blank.orientation import folded_or_flat
from geometry.blank.start import convex_rim_layout, fold_free_start
from geometry.blank.stiffness import StiffnessSolver
from geometry.blank.work import density
from geometry.mesh import TriMesh, edge_table, rims
from geometry.progress import Cancelled
from tests.bodies import cylinder_sheet, dome, tank_top

ONE = np.array([[0, 1, 2]])


WORKS = [
    Work("hencky", "formed"),
    Work("von_mises", "blank", bias=0.3),
    Work("von_mises", "blank", hardening=0.5),
]


def strained_dome(half_angle: float) -> tuple[Elements, FloatArray]:
    """Return a dome's elements and a layout far from its least work."""
    mesh = dome(50.0, half_angle, 3)
    return Elements.of(mesh), mesh.vertices[:, :2] * [0.8, 1.3]


@pytest.mark.parametrize("work", WORKS, ids=str)
def test_stiffness_is_the_derivative_of_the_forces(work: Work) -> None:
    """Central differences of step 1e-6 mm err by the third derivative times its square."""
    elements, flat = strained_dome(0.6)

    def forces(at: FloatArray) -> FloatArray:
        strained = elements.strained(at)
        pulls = face_forces(elements, strained, density(work, strained.s))
        return pulls.transpose(2, 1, 0).reshape(-1, 6)

    strained = elements.strained(flat)
    stiffness = face_stiffness(elements, strained, density(work, strained.s), least=-np.inf)
    push = np.random.default_rng(0).normal(size=flat.shape)
    step = 1e-6
    change = (forces(flat + step * push) - forces(flat - step * push)) / (2 * step)
    told = np.einsum("mij,mj->mi", stiffness.blocks, push[elements.faces].reshape(-1, 6))
    np.testing.assert_allclose(told, change, atol=2e-7 * np.abs(change).max())


def test_raised_stiffness_is_never_negative_and_raises_nothing_that_is_not() -> None:
    """Block by block: the raised block less the true one has no negative eigenvalue either."""
    elements, flat = strained_dome(1.2)
    strained = elements.strained(flat)
    d = density(Work(), strained.s)
    raised = face_stiffness(elements, strained, d).blocks
    true = face_stiffness(elements, strained, d, least=-np.inf).blocks
    size = np.abs(raised).max()
    assert np.linalg.eigvalsh(raised).min() > -1e-9 * size
    assert np.linalg.eigvalsh(true).min() < -1e-3 * size
    assert np.linalg.eigvalsh(raised - true).min() > -1e-9 * size


def test_the_assembled_stiffness_is_the_sum_of_the_faces() -> None:
    """Against a dense sum, by solving for the movement under a load that adds up to nothing."""
    elements, flat = strained_dome(0.6)
    strained = elements.strained(flat)
    faces = face_stiffness(elements, strained, density(Work(), strained.s))
    n = elements.vertex_count
    dense = np.zeros((2 * n, 2 * n))
    places = (2 * elements.faces[:, :, None] + np.arange(2)).reshape(-1, 6)
    for place, block in zip(places, faces.blocks, strict=True):
        dense[np.ix_(place, place)] += block
    load = np.random.default_rng(1).normal(size=(n, 2))
    load -= load.mean(axis=0)
    movement = StiffnessSolver(elements, flat).factorised(faces).solve(load)
    np.testing.assert_allclose(dense @ movement.ravel(), load.ravel(), atol=1e-6)


def test_old_factors_serve_a_stiffness_near_theirs_and_refuse_one_far_from_it() -> None:
    elements, flat = strained_dome(0.6)
    solver = StiffnessSolver(elements, flat)
    load = np.zeros_like(flat)
    load[[0, 5]] = (flat[0] - flat[5]) * [[1.0], [-1.0]]  # two pulls apart turn nothing

    def stiffness(layout: FloatArray) -> FaceStiffness:
        strained = elements.strained(layout)
        return face_stiffness(elements, strained, density(Work("hencky", "formed"), strained.s))

    old = solver.factorised(stiffness(flat))
    near = solver.assembled(stiffness(flat * [1.02, 1.0]))
    moved = near.solve_near(load, old, tolerance=1e-9, max_rounds=30)
    assert moved is not None
    answered = near.matrix @ old.in_order(moved)
    np.testing.assert_allclose(answered, old.in_order(load), atol=1e-6 * np.abs(load).max())
    far = solver.assembled(stiffness(flat * [9.0, 0.1]))
    assert far.solve_near(load, old, tolerance=1e-9, max_rounds=5) is None


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
    triangle = TriMesh(np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0]]), ONE)
    flat = triangle.vertices[:, :2]
    step = np.array(move, float)
    assert largest_step(Elements.of(triangle), flat, step) == pytest.approx(length)


@pytest.mark.parametrize("work", [Work(), *WORKS, Work(hardening=0.25)], ids=str)
@pytest.mark.parametrize("mesh", [dome(50.0, 0.9, 6), cylinder_sheet(50.0, 1.5, 60.0)])
def test_the_last_digit_makes_no_more_force_than_told(mesh: TriMesh, work: Work) -> None:
    """Places moved by half a digit at random, twenty times; a bound, yet not thirty times it."""
    elements = Elements.of(mesh)
    start, layout = fold_free_start(mesh, rims(mesh)[0])
    flat = minimise(elements, work, start, StiffnessSolver(elements, layout)).flat_vertices
    strained = elements.strained(flat)
    d = density(work, strained.s)
    told = last_digit_force(elements, strained, d, flat)
    before = nodal_forces(elements, strained, d)[0]
    random, digit = np.random.default_rng(4), np.spacing(np.abs(flat).max())
    most = 0.0
    for _ in range(20):
        there = elements.strained(flat + digit * random.integers(0, 2, flat.shape))
        after = nodal_forces(elements, there, density(work, there.s))[0]
        most = max(most, float(np.linalg.norm(after - before, axis=1).max()))
    assert told / 30.0 < most < told


def test_a_search_ends_before_a_face_is_crushed() -> None:
    """Straight down from the conformal start a dome of 140 degrees crushes its rim to nothing."""
    mesh = dome(100.0, np.radians(140.0), 12)
    elements = Elements.of(mesh)
    start, layout = fold_free_start(mesh, rims(mesh)[0])
    found = minimise(elements, Work(), start, StiffnessSolver(elements, layout))
    least = elements.strained(start).s.min()
    assert not found.converged
    assert elements.strained(found.flat_vertices).s.min() > 1e-6 * least


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
        assert not folded_or_flat(flat, mesh.faces).any()


def test_elimination_order_names_every_vertex_once() -> None:
    mesh = tank_top(20)
    order = nested_dissection(mesh.vertices[:, :2], edge_table(mesh.faces).edges)
    assert sorted(order) == list(range(len(mesh.vertices)))
