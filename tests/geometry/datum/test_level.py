"""The level: exact on a flat edge, a flat underside and picks, and not led by holes."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from geometry.arrays import FloatArray
from geometry.datum import (
    CentrePlane,
    DirectionAcrossError,
    LevelPicksError,
    NoLevelError,
    level_from_edge,
    level_from_picks,
)
from geometry.datum.centre_plane_picks import PICK_ERROR_MM
from geometry.mesh import TriMesh, part_of_mesh
from tests.bodies import disk_rings, dome
from tests.tanks import tank

UP = np.array([0.0, 0.0, 1.0])


def shell(rings: int = 40) -> TriMesh:
    """Return half an egg, wider in front: x forward, y left, flat open edge at z = 0."""
    half = dome(1.0, np.pi / 2, rings).vertices
    return TriMesh(
        np.stack(
            [280 * half[:, 0], 120 * half[:, 1] * (1 + 0.3 * half[:, 0]), 180 * half[:, 2]], 1
        ),
        dome(1.0, np.pi / 2, rings).faces,
    )


def closed(rings: int = 40) -> TriMesh:
    """Return the same shell with a flat plate for an underside."""
    top = shell(rings)
    fraction, turn, faces = disk_rings(rings)
    x, y = fraction * np.cos(turn), fraction * np.sin(turn)
    plate = np.stack([280 * x, 120 * y * (1 + 0.3 * x), 0 * x], axis=1)
    own = np.where(fraction == 1.0, np.arange(len(x)), np.arange(len(x)) + len(top.vertices))
    return TriMesh(
        np.concatenate([top.vertices, plate]), np.concatenate([top.faces, own[faces[:, ::-1]]])
    )


def placed(mesh: TriMesh, seed: int) -> tuple[TriMesh, CentrePlane, FloatArray]:
    """Return the mesh in some pose, with its centre plane and up there."""
    turn = Rotation.random(random_state=seed)
    moved = TriMesh(turn.apply(mesh.vertices.copy()) + 250.0, mesh.faces)
    return moved, CentrePlane(np.full(3, 250.0), turn.apply([0.0, 1, 0]), 0.0, 0.0), turn.apply(UP)


@pytest.mark.parametrize("seed", range(3))
def test_a_flat_open_edge_levels_in_any_pose(seed: int) -> None:
    mesh, plane, up = placed(shell(), seed)
    level = level_from_edge(mesh, plane)
    assert level.up @ up > 1.0 - 1e-12
    assert level.share == 1.0
    assert level.residual_mm < 1e-6


def test_holes_and_a_notch_in_the_edge_do_not_tilt_it() -> None:
    """A frame tube's notch 60 mm high and holes higher up: the rest of the edge still levels."""
    mesh = shell(60)
    middle = mesh.vertices[mesh.faces].mean(axis=1)
    notch = (np.abs(middle[:, 0] - 190.0) < 40.0) & (middle[:, 2] < 60.0)
    hole = np.linalg.norm(middle - [-60.0, 0.0, 175.0], axis=1) < 50.0
    low_hole = np.linalg.norm(middle - [-150.0, 95.0, 40.0], axis=1) < 30.0
    torn, _ = part_of_mesh(mesh, np.flatnonzero(~(notch | hole | low_hole)))
    moved, plane, up = placed(torn, 3)
    assert np.degrees(np.arccos(level_from_edge(moved, plane).up @ up)) < 0.05


def test_noise_tilts_it_by_about_what_it_says() -> None:
    """Noise of 1 mm on every vertex of the edge: error over spread has mean square about 1."""
    mesh, over = shell(24), []
    plane, rng = CentrePlane(np.zeros(3), UP[[0, 2, 1]], 0.0, 0.0), np.random.default_rng(4)
    for _ in range(20):
        rough = TriMesh(mesh.vertices + rng.normal(0.0, 1.0, mesh.vertices.shape), mesh.faces)
        level = level_from_edge(rough, plane, up=UP)
        over.append(np.arcsin(level.up[0]) / level.spread_rad)
    assert 0.5 < np.sqrt(np.mean(np.square(over))) < 1.6


def test_a_closed_tank_is_levelled_by_its_flat_underside() -> None:
    mesh, plane, up = placed(closed(), 5)
    level = level_from_edge(mesh, plane)
    assert np.linalg.norm(np.cross(level.up, up)) < np.deg2rad(0.02)
    assert 0.2 < level.share < 0.5


def test_up_said_roughly_keeps_to_that_side() -> None:
    """An open box-like channel has edges on two sides: what the maker says decides."""
    mesh, plane, up = placed(shell(), 6)
    level = level_from_edge(mesh, plane, up=up + [0.2, 0.1, -0.2])
    assert level.up @ up > 1.0 - 1e-12
    with pytest.raises(NoLevelError):
        level_from_edge(mesh, plane, up=-up)


def test_a_ball_has_nothing_to_level_by() -> None:
    mesh, plane, _ = placed(dome(100.0, 0.999 * np.pi, 30), 7)
    with pytest.raises(NoLevelError):
        level_from_edge(mesh, plane)


def test_the_sample_tanks_wavy_edge_levels_within_what_it_says() -> None:
    """Its edge waves by 25 mm, so its level is sure to about half a degree only, and says so."""
    scanned = tank(4.0, noise_mm=0.1, seed=3, turned=True, missing=0.3)
    plane = CentrePlane(scanned.to_file(np.zeros((1, 3)))[0], scanned.left, 0.0, 0.0)
    level = level_from_edge(scanned.mesh, plane)
    off = np.arccos(np.clip(level.up @ scanned.up, -1.0, 1.0))
    assert np.degrees(level.spread_rad) > 0.2
    assert off < 4.0 * level.spread_rad
    assert level.residual_mm > 2.0


def test_picks_along_a_level_line_level_in_any_pose() -> None:
    _, plane, up = placed(shell(10), 8)
    front = np.cross(plane.normal, up)
    picks = 40.0 * up + np.outer([-200.0, 0.0, 150.0], front) + np.outer([90, -80, 5], plane.normal)
    for rough in (up, up + 0.6 * front):
        assert level_from_picks(plane, picks, up=rough).up @ up > 1.0 - 1e-12
    assert level_from_picks(plane, picks, up=-up).up @ up < -1.0 + 1e-12


def test_two_picks_are_as_sure_as_picks_are() -> None:
    plane = CentrePlane(np.zeros(3), np.array([0.0, 1.0, 0.0]), 0.0, 0.0)
    level = level_from_picks(plane, np.array([[-150.0, 10, 4], [150.0, -3, 4]]), up=UP)
    assert level.spread_rad == pytest.approx(PICK_ERROR_MM * np.sqrt(2.0) / 300.0)


@pytest.mark.parametrize(
    "picks",
    [[[1.0, 2, 3]], [], [[0.0, -90, 5], [0, 90, 5]], [[0.0, -90, 5], [2, 90, 5], [-2, 3, 5]]],
)
def test_too_few_picks_or_all_at_one_station_are_refused(picks: list[list[float]]) -> None:
    plane = CentrePlane(np.zeros(3), np.array([0.0, 1.0, 0.0]), 0.0, 0.0)
    with pytest.raises(LevelPicksError) as caught:
        level_from_picks(plane, np.array(picks).reshape(-1, 3), up=UP)
    assert caught.value.picks == len(picks)
    assert caught.value.apart_mm < 5.0


def test_up_said_across_the_plane_is_refused() -> None:
    mesh, plane, _ = placed(shell(10), 9)
    with pytest.raises(DirectionAcrossError):
        level_from_edge(mesh, plane, up=plane.normal)
