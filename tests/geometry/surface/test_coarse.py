"""The working surface with larger triangles says what the fine one says."""

import numpy as np
import pytest

from geometry.mesh import TriMesh, edge_lengths, edge_table, face_areas, nearest_points, rims
from geometry.panels import Seam, cut_along
from geometry.surface import CoarseSurface, WorkingSurface, coarsened, working_surface
from tests.bodies import dome


@pytest.fixture(scope="module")
def fine() -> WorkingSurface:
    return working_surface(dome(100.0, 1.2, 28), inward_mm=0.8)


@pytest.fixture(scope="module")
def coarse(fine: WorkingSurface) -> CoarseSurface:
    return coarsened(fine)


def test_its_edges_are_as_long_as_asked(coarse: CoarseSurface) -> None:
    assert np.median(
        edge_lengths(coarse.mesh.vertices, edge_table(coarse.mesh.faces).edges)
    ) == pytest.approx(8.0, rel=0.15)


def test_it_lies_on_the_fine_one_and_its_outside_half_the_sheet_above(
    fine: WorkingSurface, coarse: CoarseSurface
) -> None:
    off = nearest_points(fine.mesh, coarse.mesh.vertices).distances
    assert off.max() < 0.05
    apart = np.linalg.norm(coarse.outside - coarse.mesh.vertices, axis=1)
    assert np.abs(apart - 0.8).max() < 0.02


def test_area_and_rim_are_those_of_the_fine_one_but_for_the_sag_of_its_edges(
    fine: WorkingSurface, coarse: CoarseSurface
) -> None:
    """A chord of 8 mm on R 100 sags by 0.08 mm: 1 part in 1,000 of the area."""
    areas = [face_areas(each.mesh.vertices, each.mesh.faces).sum() for each in (coarse, fine)]
    assert areas[0] == pytest.approx(areas[1], rel=2e-3)
    (one,), (other,) = rims(coarse.mesh), rims(fine.mesh)
    off = nearest_points(fine.mesh, coarse.mesh.vertices[one]).distances
    assert off.max() < 1e-6
    assert len(one) < len(other)


def test_guessed_and_copied_faces_keep_their_marks() -> None:
    body = dome(100.0, 1.2, 28)
    right = body.vertices[body.faces].mean(axis=1)[:, 0] > 20.0
    left = body.vertices[body.faces].mean(axis=1)[:, 0] < -20.0
    marked = working_surface(body, guessed=right, copied=left)
    found = coarsened(marked)
    middle = found.outside[found.mesh.faces].mean(axis=1)[:, 0]
    away = np.abs(np.abs(middle) - 20.0) > 8.0
    np.testing.assert_array_equal(found.filled[away], (middle > 20.0)[away])
    np.testing.assert_array_equal(found.copied[away], (middle < -20.0)[away])


def test_locked_lines_keep_their_course() -> None:
    across = np.linspace(-60.0, 60.0, 61)
    line = np.stack([across, np.zeros(61), np.sqrt(100.0**2 - across**2)], axis=1)
    marked = working_surface(dome(100.0, 1.2, 28), lines=[line])
    found = coarsened(marked)
    (passed,) = found.lines
    places = found.mesh.vertices[passed]
    assert np.abs(places[:, 1]).max() < 0.3
    assert np.linalg.norm(np.diff(places, axis=0), axis=1).max() < 16.0
    assert np.ptp(places[:, 0]) > 110.0


def test_it_can_be_cut(coarse: CoarseSurface) -> None:
    across = np.linspace(-93.0, 93.0, 9)
    drawn = np.stack([across, np.zeros(9), np.sqrt(100.0**2 - across**2)], axis=1)
    cut = cut_along(coarse, [Seam("middle", drawn)])
    assert sorted(np.unique(cut.panel_of_face)) == [0, 1]
    assert isinstance(cut.mesh, TriMesh)
