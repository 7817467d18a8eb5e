"""What planes cut out of the skin: the face asked for, moved as a surface, told where unscanned."""

import numpy as np
import pytest

from geometry.gauges.gauged_skin import GaugedSkin, in_tank, on_board
from geometry.mesh import enclosed_volume
from tests.bodies import patch
from tests.geometry.gauges.gauged_bodies import closed_tank, round_skin, skin_of

SHEET_MM = 1.6


def test_the_bodies_face_out() -> None:
    tank = closed_tank()
    assert enclosed_volume(tank.vertices, tank.faces) == pytest.approx(300.0 * 120.0 * 90.0)


@pytest.mark.parametrize("slope", [0.0, 0.5, 1.0])
def test_the_inner_face_of_a_cylinder_or_cone_is_right_across_its_axis(slope: float) -> None:
    """Moved along its normal a cone's radius shrinks by t / cos a, not by t: 0.05 mm asked."""
    mesh = round_skin(lambda x: 80.0 + slope * x, length=60.0, cells=(40, 300))
    outline = skin_of(mesh, SHEET_MM).cut(0, 31.0).lines[0]
    radius = np.hypot(outline[:, 0], outline[:, 1] - 100.0)[3:-3]
    wanted = 80.0 + slope * 31.0 - SHEET_MM * np.sqrt(1.0 + slope**2)
    # Chords of 300 facets over half a turn stand off by r (1 - cos(half a step)): 0.002 mm.
    assert np.abs(radius - wanted).max() < 0.01
    if slope:
        assert abs(wanted - (80.0 + slope * 31.0 - SHEET_MM)) > 0.1  # in the plane it would be off


def test_the_inner_face_of_a_roof_tilted_both_ways_is_exact_with_its_ridge() -> None:
    """Z = 200 - a |y| - b x moved in by t lies t sqrt(1 + a2 + b2) lower, its ridge a corner."""
    a, b = 0.8, 0.4
    x, y = np.meshgrid(np.linspace(0, 100, 21), np.linspace(-60, 60, 25), indexing="ij")
    mesh = patch(x, y, 200.0 - a * np.abs(y) - b * x)
    outline = skin_of(mesh, SHEET_MM).cut(0, 40.0).lines[0]
    wanted = 200.0 - a * np.abs(outline[:, 0]) - b * 40.0 - SHEET_MM * np.sqrt(1 + a**2 + b**2)
    inside = np.abs(outline[:, 0]) < 55.0
    assert np.abs(outline[inside, 1] - wanted[inside]).max() < 1e-9


def test_a_sheet_thicker_than_a_bend_is_round_meets_in_a_corner_and_says_so() -> None:
    """A bend of 1 mm outside radius between flats 90 degrees apart, 2 mm sheet: inside, a corner.

    The inner faces meet 2 mm inside the outer ones, at (8, 8) of the outer corner (10, 10).
    """
    turn = np.linspace(0.0, np.pi / 2.0, 31)
    profile = np.concatenate(
        [
            np.column_stack([np.full(46, 10.0), np.linspace(-100.0, 8.9, 46)]),
            np.column_stack([9.0 + np.cos(turn), 9.0 + np.sin(turn)]),
            np.column_stack([np.linspace(8.9, -100.0, 46), np.full(46, 10.0)]),
        ]
    )
    x = np.linspace(0.0, 20.0, 11)[:, None]
    grid = np.broadcast_to
    shape = (11, len(profile))
    mesh = patch(grid(x, shape), grid(-profile[:, 0], shape), grid(profile[:, 1], shape))
    mesh = mesh if _faces_up(mesh) else type(mesh)(mesh.vertices, mesh.faces[:, ::-1])
    cut = skin_of(mesh, 2.0).cut(0, 9.0)
    outline = cut.lines[0]
    assert cut.folds == 1
    near = outline[np.linalg.norm(outline - [8.0, 8.0], axis=1).argmin()]
    assert np.linalg.norm(near - [8.0, 8.0]) < 0.05
    off = np.minimum(np.abs(outline[:, 0] - 8.0), np.abs(outline[:, 1] - 8.0))
    assert off.max() < 0.07


def _faces_up(mesh: object) -> bool:
    cut = skin_of(mesh, 2.0).cut(0, 9.0).lines[0]  # type: ignore[arg-type]
    return bool(cut[:, 1].max() < 9.5)


def test_stretches_nobody_scanned_are_found_on_the_outline() -> None:
    mesh = round_skin(lambda x: 80.0 + 0.0 * x)
    middles = mesh.vertices[mesh.faces].mean(axis=1)
    filled = (middles[:, 1] > 20.0) & (middles[:, 1] < 50.0)
    nowhere = np.zeros(len(mesh.faces), bool)
    cut = GaugedSkin(mesh, 0.0, filled, nowhere).cut(0, 123.4)
    length = sum(float(np.linalg.norm(np.diff(run, axis=0), axis=1).sum()) for run in cut.filled)
    wanted = 80.0 * (np.arcsin(50.0 / 80.0) - np.arcsin(20.0 / 80.0))
    assert abs(length - wanted) < 4.0  # a triangle at either end
    assert all((run[:, 0] < 0.0).all() for run in cut.filled)  # the left lies on the left
    assert cut.copied == ()


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_places_on_a_board_go_back_into_the_tank(axis: int) -> None:
    points = np.array([[3.0, -4.0, 5.0], [1.0, 2.0, 9.0]])
    points[:, axis] = 7.0
    assert np.array_equal(in_tank(on_board(points, axis), axis, 7.0), points)
