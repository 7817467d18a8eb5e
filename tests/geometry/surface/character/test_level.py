"""Curvature over a reach: closed forms, and the standard error it tells."""

import numpy as np
import pytest

from geometry.mesh import TriMesh, vertex_normals
from geometry.surface.character.level import CELLS_A_REACH, Curvatures, cells_of, curvatures
from tests.geometry.surface.scans import cylinder_scan, dome_scan, sheet_scan


def level_of(mesh: TriMesh, reach: float, noise: float) -> Curvatures:
    normals = vertex_normals(mesh.vertices, mesh.faces)
    cells = cells_of(mesh.vertices, normals, np.ones(len(normals)), reach / CELLS_A_REACH)
    return curvatures(cells, np.ones(len(cells.points), bool), reach, noise)


def test_a_rolled_sheet_is_bent_by_its_radius_across_and_not_along() -> None:
    level = level_of(cylinder_scan(25.0, 60.0, 1.0, 0.0), 6.0, 0.01)
    bent = level.bent[level.known]
    np.testing.assert_allclose(np.median(bent, axis=0), [1 / 25.0, 0.0], atol=6e-4)
    across = level.across[level.known, 0]
    assert np.abs(across[:, 1]).max() < 0.05  # the sheet runs along y


def test_a_dome_is_bent_alike_both_ways() -> None:
    level = level_of(dome_scan(60.0, 50.0, 1.0, 0.0), 6.0, 0.01)
    bent = level.bent[level.known]
    np.testing.assert_allclose(np.median(bent, axis=0), [1 / 60.0, -1 / 60.0], atol=4e-4)


@pytest.mark.parametrize(("spacing", "noise", "reach"), [(1.0, 0.1, 6.0), (1.0, 0.05, 4.0)])
def test_the_standard_error_is_what_noise_does(spacing: float, noise: float, reach: float) -> None:
    """On a flat sheet the mean of the squares of both curvatures is that of one direction's."""
    level = level_of(sheet_scan(60.0, 60.0, spacing, noise), reach, noise)
    inner = (np.abs(level.points[:, :2] - 30.0) < 22.0).all(axis=1)
    met = np.sqrt((level.bent[inner] ** 2).mean())
    assert 0.75 < met / np.median(level.error[inner]) < 1.4


def test_places_at_rims_are_not_known() -> None:
    level = level_of(sheet_scan(40.0, 40.0, 1.0, 0.05), 6.0, 0.05)
    at_rim = (np.abs(level.points[:, :2] - 20.0).max(axis=1)) > 19.0
    assert not level.known[at_rim].any()
    assert level.known[(np.abs(level.points[:, :2] - 20.0).max(axis=1)) < 13.0].all()


def test_two_sides_of_a_wall_stay_apart() -> None:
    """Two sheets 0.5 mm apart, facing away from each other."""
    sheet = sheet_scan(30.0, 30.0, 1.0, 0.0)
    under = sheet.vertices - [0.0, 0.0, 0.5]
    points = np.concatenate([sheet.vertices, under])
    up = np.tile([0.0, 0.0, 1.0], (len(under), 1))
    cells = cells_of(points, np.concatenate([up, -up]), np.ones(len(points)), 2.0)
    height = np.unique(np.round(cells.points[:, 2], 9))
    np.testing.assert_allclose(height, [-0.5, 0.0])
