"""Moving inward: exact on planes, mitred at folds, sound at creases tighter than the move."""

import numpy as np
import pytest

from geometry.mesh import NearestPoint, TriMesh, check_manifold, face_normals
from geometry.surface import offset_inward, working_surface
from geometry.surface.net import evenness
from tests.bodies import dome, patch
from tests.geometry.surface.scans import creased_scan


def gable(turn: float) -> TriMesh:
    """Return a sheet folded sharply along y, both halves sloping down by turn / 2."""
    x, y = np.meshgrid(np.arange(-10.0, 11.0, 2.0), np.arange(0.0, 21.0, 2.0), indexing="ij")
    return patch(x * np.cos(turn / 2), y, -np.abs(x) * np.sin(turn / 2))


@pytest.mark.parametrize("turn", [0.3, 1.0, np.pi / 2])
def test_a_fold_moves_to_its_mitre(turn: float) -> None:
    """Planes moved by d meet d / cos(turn / 2) below the fold; all faces move by d exactly."""
    mesh = gable(turn)
    moved = offset_inward(mesh, 0.8)
    fold = np.abs(mesh.vertices[:, 0]) < 1e-9
    assert moved[fold, 2] == pytest.approx(-0.8 / np.cos(turn / 2), abs=1e-9)
    normals = face_normals(mesh.vertices, mesh.faces)
    before = (mesh.vertices[mesh.faces].mean(axis=1) * normals).sum(axis=1)
    after = (moved[mesh.faces].mean(axis=1) * normals).sum(axis=1)
    assert before - after == pytest.approx(0.8, abs=1e-9)


def test_a_corner_of_three_planes_moves_to_where_the_moved_planes_meet() -> None:
    points = np.vstack([np.zeros(3), -5.0 * np.eye(3)])
    corner = TriMesh(points, np.array([[0, 1, 2], [0, 2, 3], [0, 3, 1]]))
    assert offset_inward(corner, 0.5)[0] == pytest.approx([-0.5, -0.5, -0.5], abs=1e-9)


def test_a_dome_moves_to_the_smaller_radius() -> None:
    moved = offset_inward(dome(100.0, 0.6, 40), 0.8)
    assert np.linalg.norm(moved, axis=1) == pytest.approx(99.2, abs=1e-3)


@pytest.mark.parametrize("turn_deg", [60.0, 90.0])
@pytest.mark.parametrize("inward", [0.8, 1.5])
def test_a_crease_tighter_than_the_move_comes_out_without_folds(
    turn_deg: float, inward: float
) -> None:
    """A crease of tip radius 1: inside, both flats meet in a mitre and no face looks the wrong way.

    The flats look up by cos(turn / 2); rough places of the tip may be steeper, here by up to 30
    degrees, but never turned over.
    """
    surface = working_surface(creased_scan(np.radians(turn_deg), 1.0), inward_mm=inward)
    mesh = surface.mesh
    check_manifold(mesh)
    steepest = np.cos(np.radians(turn_deg / 2 + 30.0))
    assert face_normals(mesh.vertices, mesh.faces)[:, 2].min() > steepest
    assert evenness(mesh.vertices, mesh.faces).min() > 0.1
    flat = np.abs(mesh.vertices[:, 0]) > 4.0
    outside = NearestPoint(TriMesh(surface.outside, mesh.faces)).find(mesh.vertices)
    assert outside.distances[flat] == pytest.approx(inward, abs=0.02)
