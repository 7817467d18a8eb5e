"""Two shells of one body made one surface: sound, on the body, and open only where it was."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.mesh import (
    TriMesh,
    check_manifold,
    euler_characteristic,
    face_areas,
    face_normals,
    is_oriented,
    piece_of_face,
    rims,
)
from geometry.scan.shells import Joined, joined
from tests.geometry.scan.scans import grid_faces, rough, sheet, tube

RADIUS, LENGTH, OVERLAP = 60.0, 150.0, 4.0


def _checked(first: TriMesh, second: TriMesh) -> Joined:
    both = joined(first, second)
    assert both is not None
    check_manifold(both.mesh)
    assert is_oriented(both.mesh.faces)
    assert piece_of_face(both.mesh.faces).max() == 0
    np.testing.assert_array_equal(both.mesh.faces[: len(first.faces)], first.faces)
    np.testing.assert_array_equal(both.mesh.vertices[: len(first.vertices)], first.vertices)
    return both


def _off_the_tube(both: Joined, radius: float = RADIUS) -> float:
    """Return the farthest any face's middle lies off the tube."""
    middles = both.mesh.vertices[both.mesh.faces].mean(axis=1)
    return float(np.abs(np.hypot(middles[:, 0], middles[:, 1]) - radius).max())


def _facing(both: Joined) -> FloatArray:
    """Return the cosine between each face and the way out of the tube."""
    middles = both.mesh.vertices[both.mesh.faces].mean(axis=1) * [1, 1, 0]
    normals = face_normals(both.mesh.vertices, both.mesh.faces)
    return np.asarray((normals * middles).sum(axis=1) / np.linalg.norm(middles, axis=1))


@pytest.mark.parametrize(("spacing", "seed"), [(1.5, 0), (2.0, 1), (2.0, 2), (3.0, 3)])
def test_two_half_tubes_that_overlap_at_both_long_edges_become_one_tube(
    spacing: float, seed: int
) -> None:
    """Two seams, each an open chain; the tube is left with its two end rims."""
    over = OVERLAP / RADIUS
    one = rough(tube(RADIUS, LENGTH, spacing, sweep=np.pi), 0.05, seed)
    other = tube(RADIUS, LENGTH, 1.07 * spacing, start=np.pi - over, sweep=np.pi + 2 * over)
    both = _checked(one, rough(other, 0.05, seed + 100))
    assert len(rims(both.mesh)) == 2
    assert euler_characteristic(both.mesh.faces) == 0
    assert _off_the_tube(both) < 0.3  # six standard deviations
    assert _facing(both).min() > 0.6
    area = face_areas(both.mesh.vertices, both.mesh.faces)
    raw = 4 * 0.05**2 / spacing**2  # what noise adds, from docs/glossary: at most 4 s^2 / h^2
    wanted = 2 * np.pi * RADIUS * LENGTH
    assert wanted * (1 - 0.003) < area.sum() < wanted * (1.003 + raw)
    assert area[both.bridged].sum() < 2 * LENGTH * 3 * spacing


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_two_tubes_end_in_end_become_one_by_a_closed_chain(seed: int) -> None:
    one = rough(tube(RADIUS, 80.0, 2.0), 0.05, seed)
    upper = tube(RADIUS, 70.0, 1.9, start=0.37)
    other = TriMesh(upper.vertices + [0, 0, 80.0 - OVERLAP], upper.faces)
    both = _checked(one, rough(other, 0.05, seed + 100))
    assert len(rims(both.mesh)) == 2
    assert euler_characteristic(both.mesh.faces) == 0
    assert _off_the_tube(both) < 0.3
    assert _facing(both).min() > 0.6


def test_shells_a_little_out_of_line_are_still_joined() -> None:
    """0.4 mm of alignment error between the passes: the strip takes it up as a slope."""
    one = rough(tube(RADIUS, 80.0, 2.0), 0.05)
    upper = tube(RADIUS + 0.4, 70.0, 1.9, start=0.37)
    other = TriMesh(upper.vertices + [0.1, 0, 80.0 - OVERLAP], upper.faces)
    both = _checked(one, rough(other, 0.05, 5))
    assert len(rims(both.mesh)) == 2
    assert _off_the_tube(both) < 0.9


def _box_tank(start: float, end: float, step: float) -> TriMesh:
    """Return a stretch of a tank with a rounded box for its section, 240 x 180, along z."""
    turn = np.linspace(0, 2 * np.pi, round(800 / step), endpoint=False)
    rise = np.linspace(start, end, round((end - start) / step) + 1)
    z, t = np.meshgrid(rise, turn, indexing="ij")
    c, s = np.cos(t), np.sin(t)
    swell = 1.0 + 0.15 * np.cos(z / 160.0)
    x = 120.0 * swell * np.sign(c) * np.abs(c) ** 0.4
    y = 90.0 * swell * np.sign(s) * np.abs(s) ** 0.4
    points = np.stack([x, y, z], axis=2).reshape(-1, 3)
    return TriMesh(points, grid_faces(len(z), len(turn), closed=True))


def test_a_box_like_tank_in_two_shells_becomes_one() -> None:
    one = rough(_box_tank(0.0, 200.0, 4.0), 0.05)
    other = rough(_box_tank(196.0, 330.0, 3.7), 0.05, 7)
    both = _checked(one, other)
    assert len(rims(both.mesh)) == 2
    assert euler_characteristic(both.mesh.faces) == 0
    ends = sorted(float(both.mesh.vertices[loop, 2].mean()) for loop in rims(both.mesh))
    assert ends == pytest.approx([0.0, 330.0], abs=0.05)
    area = face_areas(both.mesh.vertices, both.mesh.faces)
    whole = _box_tank(0.0, 330.0, 4.0)
    assert area.sum() == pytest.approx(face_areas(whole.vertices, whole.faces).sum(), rel=0.005)


def test_long_rims_are_joined_in_parts_without_great_memory() -> None:
    """Rims of 2,000 points: the whole table of pairs would be four million."""
    one = rough(tube(200.0, 6.0, 0.6), 0.02)
    upper = tube(200.0, 6.0, 0.61, start=0.001)
    other = TriMesh(upper.vertices + [0, 0, 4.0], upper.faces)
    both = _checked(one, rough(other, 0.02, 3))
    assert len(rims(both.mesh)) == 2
    assert _off_the_tube(both, 200.0) < 0.15


def test_the_inner_wall_of_a_fold_is_not_taken_for_a_second_shell() -> None:
    """A sheet 1 mm under half of another, facing the other way: doubled metal, not a double."""
    top = sheet(40, 40, 2.0)
    under = TriMesh(top.vertices + [41.0, 1.0, -1.0], top.faces[:, ::-1])
    assert joined(top, under) is None


def test_shells_that_do_not_meet_are_not_joined() -> None:
    one = tube(RADIUS, 80.0, 2.0)
    assert joined(one, TriMesh(one.vertices + [0, 0, 120.0], one.faces)) is None


def test_a_shell_wholly_over_the_first_leaves_nothing_to_join() -> None:
    one = tube(RADIUS, 80.0, 2.0)
    small = tube(RADIUS + 0.1, 40.0, 2.0, sweep=1.5)
    assert joined(one, TriMesh(small.vertices + [0, 0, 20.0], small.faces)) is None
