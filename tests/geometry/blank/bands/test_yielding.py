"""Forces when the formed panel is a little different: the derivative itself."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.blank import Work
from geometry.blank.bands.yielding import (
    forces_by_formed_strain,
    mean_strain_of_slopes,
    slopes_of_faces,
    strain_by_movement,
)
from geometry.blank.elements import Elements, face_forces
from geometry.blank.work import density
from geometry.mesh import TriMesh, face_areas, vertex_normals
from tests.bodies import dome


def bumpy_dome() -> TriMesh:
    mesh = dome(50.0, 0.6, 3)
    bumps = np.random.default_rng(0).normal(size=mesh.vertices.shape)
    return TriMesh(mesh.vertices + bumps, mesh.faces)


@pytest.mark.parametrize(
    "work",
    [
        Work("hencky", "formed"),
        Work("von_mises", "blank", bias=0.3),
        Work("von_mises", "blank", hardening=0.5),
    ],
    ids=str,
)
def test_forces_change_with_the_formed_shape_as_told(work: Work) -> None:
    """Central differences of step 1e-6 mm: their own error is some 1e-9."""
    mesh = bumpy_dome()
    flat = mesh.vertices[:, :2] * [0.8, 1.3]
    push = np.random.default_rng(1).normal(size=mesh.vertices.shape)

    def forces(vertices: FloatArray) -> FloatArray:
        elements = Elements.of(TriMesh(vertices, mesh.faces))
        strained = elements.strained(flat)
        pulls = face_forces(elements, strained, density(work, strained.s))
        return pulls.transpose(2, 1, 0).reshape(-1, 6)

    change = (forces(mesh.vertices + 1e-6 * push) - forces(mesh.vertices - 1e-6 * push)) / 2e-6
    elements = Elements.of(mesh)
    strained = elements.strained(flat)
    by_strain = forces_by_formed_strain(elements, flat, strained, density(work, strained.s))
    strain = strain_by_movement(elements, mesh.vertices, push).sum(axis=2)
    told = np.einsum("mij,mj->mi", by_strain, strain)
    np.testing.assert_allclose(told, change, atol=1e-8 * np.abs(change).max())


def test_turning_the_formed_panel_is_no_strain_and_growing_it_is_even() -> None:
    mesh = bumpy_dome()
    elements = Elements.of(mesh)
    turning = np.cross([0.3, -0.2, 0.9], mesh.vertices)
    assert np.abs(strain_by_movement(elements, mesh.vertices, turning).sum(axis=2)).max() < 1e-14
    growing = strain_by_movement(elements, mesh.vertices, mesh.vertices).sum(axis=2)
    np.testing.assert_allclose(growing, np.tile([1.0, 1.0, 0.0], (len(mesh.faces), 1)), atol=1e-13)


def test_white_scatter_adds_twice_its_square_over_the_side_squared_of_area() -> None:
    """On equilateral triangles of side h: 2 s^2 / h^2; and no shear."""
    height = np.sqrt(3.0) / 2.0
    corners = 3.0 * np.array([[0.0, 0, 0], [1, 0, 0], [0.5, height, 0]])
    triangle = TriMesh(corners, np.array([[0, 1, 2]]))
    elements = Elements.of(triangle)
    normals = np.tile([0.0, 0.0, 1.0], (3, 1))
    slopes = slopes_of_faces(elements, triangle.vertices, normals)
    strain = mean_strain_of_slopes(slopes, 0.05**2 * np.eye(3)[None])
    np.testing.assert_allclose(strain, [[0.05**2 / 9.0, 0.05**2 / 9.0, 0.0]], atol=1e-17)


def test_slopes_lengthen_a_flat_face_by_half_their_square() -> None:
    """Area sqrt(1 + p^2 + q^2) of a tilted face against 1 + (p^2 + q^2) / 2: error p^4 / 8."""
    mesh = TriMesh(np.array([[0.0, 0, 0], [4, 0, 0], [1, 3, 0]]), np.array([[0, 1, 2]]))
    rise = np.array([0.0, 0.02, -0.03])
    elements = Elements.of(mesh)
    slopes = slopes_of_faces(elements, mesh.vertices, vertex_normals(mesh.vertices, mesh.faces))
    strain = mean_strain_of_slopes(slopes, np.outer(rise, rise)[None])
    raised = face_areas(mesh.vertices + rise[:, None] * [0.0, 0.0, 1.0], mesh.faces)
    grown = raised[0] / face_areas(mesh.vertices, mesh.faces)[0] - 1.0
    assert strain[0, :2].sum() == pytest.approx(grown, rel=1e-4)
