"""Gaps between meshes: closed forms of analytic bodies, brute force, bad input."""

import numpy as np
import pytest
import trimesh

from geometry.arrays import FloatArray
from geometry.comparison import GapFinder, block, round_bar
from geometry.comparison.triangle_pairs import nearest_of_triangles
from geometry.mesh import TriMesh
from geometry.progress import Cancelled
from tests.bodies import graph_patch, mesh_of


def _plane(half: float = 60.0, cells: int = 30) -> TriMesh:
    return graph_patch(np.zeros((cells + 1, cells + 1)), half, half)


def _ball(radius: float, centre: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> TriMesh:
    body = trimesh.creation.icosphere(subdivisions=5, radius=radius)
    return TriMesh(np.asarray(body.vertices) + centre, np.asarray(body.faces))


def _bar(start: list[float], end: list[float], across: float) -> TriMesh:
    return round_bar(np.array(start), np.array(end), across)


def test_a_bar_over_a_plane_is_as_far_off_as_its_axis_less_its_radius() -> None:
    gap = GapFinder(_plane()).gap(_bar([-30, 3, 22], [30, 3, 22], 25.0))
    assert gap.distance_mm == pytest.approx(22.0 - 12.5, abs=0.011)
    assert gap.side == "outside"
    assert gap.on_skin[2] == pytest.approx(0.0, abs=1e-9)
    below = GapFinder(_plane()).gap(_bar([-30, 3, -22], [30, 3, -22], 25.0))
    assert below.side == "inside"
    assert below.distance_mm == pytest.approx(9.5, abs=0.011)


def test_a_leaning_bar_is_nearest_with_the_edge_of_its_end() -> None:
    """Its end is flat: the edge lies sin(lean) radius lower than the axis' end, not a radius."""
    lean = np.radians(30.0)
    end = np.array([0.0, 0.0, 20.0])
    start = end + 80.0 * np.array([np.sin(lean), 0.0, np.cos(lean)])
    gap = GapFinder(_plane()).gap(round_bar(start, end, 16.0))
    assert gap.distance_mm == pytest.approx(20.0 - 8.0 * np.sin(lean), abs=0.011)


def test_a_ball_beside_a_bar() -> None:
    """Centres 50 from the axis: 50 - 20 - 8; the ball's mesh lies inside it by its sag."""
    ball = _ball(20.0, (0.0, 50.0, 10.0))
    gap = GapFinder(_bar([-70, 0, 10], [70, 0, 10], 16.0)).gap(ball)
    sag = 20.0 * (1.0 - np.cos(np.radians(63.43 / 2**5 / 2)))
    assert 22.0 - 0.011 <= gap.distance_mm <= 22.0 + sag + 0.011


def test_two_bars_crossing_are_apart_by_their_axes_less_both_radii() -> None:
    gap = GapFinder(_bar([-50, 0, 0], [50, 0, 0], 20.0)).gap(_bar([4, -50, 31], [4, 50, 31], 30.0))
    assert gap.distance_mm == pytest.approx(31.0 - 10.0 - 15.0, abs=0.021)
    assert gap.on_skin[:2] == pytest.approx([4.0, 0.0], abs=1.5)


def test_an_edge_across_an_edge_is_found_though_no_corner_is_near() -> None:
    """Two ridges crossing: corners of both are far, the gap lies between sides."""
    roof = mesh_of(
        [[-40, -30, -30], [40, -30, -30], [-40, 0, 0], [40, 0, 0], [-40, 30, -30], [40, 30, -30]],
        [[0, 1, 3], [0, 3, 2], [2, 3, 5], [2, 5, 4]],
    )
    over = mesh_of(
        [[5, -40, 7], [5, 40, 7], [-25, -40, 40], [-25, 40, 40], [35, -40, 40], [35, 40, 40]],
        [[0, 1, 3], [0, 3, 2], [0, 4, 5], [0, 5, 1]],
    )
    gap = GapFinder(roof).gap(over)
    assert gap.distance_mm == pytest.approx(7.0, abs=1e-9)
    assert gap.on_body == pytest.approx([5.0, 0.0, 7.0], abs=1e-9)


def test_the_least_of_all_pairs_by_brute_force() -> None:
    chance = np.random.default_rng(2)
    bumpy = graph_patch(chance.normal(size=(13, 13)) * 2.0, 40.0, 40.0)
    for number in range(4):
        start = np.array([-20.0 + 10 * number, -25.0, 9.0 + 4 * number])
        body = block(start, start + chance.normal(size=3) * 8 + [0, 30, 6], 9.0, 5.0)
        one = np.repeat(bumpy.vertices[bumpy.faces], len(body.faces), axis=0)
        other = np.tile(body.vertices[body.faces], (len(bumpy.faces), 1, 1))
        wanted = nearest_of_triangles(one, other)[0].min()
        assert GapFinder(bumpy).gap(body).distance_mm == pytest.approx(wanted, abs=0.0051)


def test_the_gap_is_the_same_either_way_round_and_wherever_both_stand() -> None:
    ball, bar = _ball(30.0), _bar([-60, 25, 40], [60, 35, 45], 22.0)
    there, back = GapFinder(ball).gap(bar).distance_mm, GapFinder(bar).gap(ball).distance_mm
    assert there == pytest.approx(back, abs=0.0051)
    far = np.array([900.0, -400.0, 70.0])
    moved = GapFinder(TriMesh(ball.vertices + far, ball.faces))
    other = moved.gap(TriMesh(bar.vertices + far, bar.faces)).distance_mm
    assert other == pytest.approx(there, abs=0.0051)


@pytest.mark.parametrize("height", [9.0, 3.0, -2.0])
def test_a_bar_through_a_plane_reaches_its_radius_less_its_height(height: float) -> None:
    gap = GapFinder(_plane()).gap(_bar([-30, 0, height], [30, 0, height], 25.0))
    assert gap.distance_mm == 0.0
    assert gap.side == "through"
    assert gap.reach_mm == pytest.approx(12.5 - abs(height), abs=0.02)
    assert abs(gap.deepest[2]) == pytest.approx(gap.reach_mm, abs=1e-9)
    lit = _bar([-30, 0, height], [30, 0, height], 25.0).faces[gap.through]
    assert 0 < len(lit) < 0.6 * len(gap.through)


def test_a_ball_in_a_ball_reaches_both_radii_less_their_centres() -> None:
    gap = GapFinder(_ball(50.0)).gap(_ball(12.0, (0.0, 59.0, 0.0)))
    assert gap.reach_mm == pytest.approx(50.0 + 12.0 - 59.0, abs=0.05)


def test_a_body_of_many_points_reaches_as_far_as_one_of_few() -> None:
    """Over 30,000 points are judged in boxes; a ball sunk by 7 mm reaches 7 mm through."""
    fine = trimesh.creation.icosphere(subdivisions=6, radius=30.0)
    ball = TriMesh(np.asarray(fine.vertices) + [3.0, 4.0, 23.0], np.asarray(fine.faces))
    assert len(ball.vertices) > 30_000
    gap = GapFinder(_plane()).gap(ball)
    assert gap.reach_mm == pytest.approx(7.0, abs=0.02)
    assert gap.deepest[:2] == pytest.approx([3.0, 4.0], abs=1.0)


def _strips(length: float, steps: int) -> TriMesh:
    """Return a half round in strips from end to end: 2 * steps triangles as long as it is."""
    turn = np.linspace(0.0, np.pi, steps + 1)
    ring = np.stack([np.zeros_like(turn), 40.0 * np.cos(turn), 40.0 * np.sin(turn)], axis=1)
    vertices = np.concatenate([ring, ring + [length, 0.0, 0.0]])
    at, far = np.arange(steps), np.arange(steps) + steps + 1
    faces = np.concatenate(
        [np.stack([at, at + 1, far], axis=1), np.stack([at + 1, far + 1, far], axis=1)]
    )
    return TriMesh(vertices, faces)


def test_a_skin_of_slender_triangles_is_measured_as_by_brute_force() -> None:
    skin, bar = _strips(200.0, 60), _bar([80, 3, 2], [120, -5, 7], 22.0)
    one = np.repeat(skin.vertices[skin.faces], len(bar.faces), axis=0)
    other = np.tile(bar.vertices[bar.faces], (len(skin.faces), 1, 1))
    wanted = nearest_of_triangles(one, other)[0].min()
    assert GapFinder(skin).gap(bar).distance_mm == pytest.approx(wanted, abs=0.005)


def test_a_body_off_the_edge_of_an_open_skin_has_no_side() -> None:
    gap = GapFinder(_plane()).gap(_bar([70, -5, 1], [90, -5, 1], 4.0))
    assert gap.side == "beyond"
    assert gap.distance_mm == pytest.approx(10.0, abs=1e-6)


def test_a_second_body_of_many_pieces_counts_only_what_goes_through() -> None:
    """A block on the far side that touches nothing is no reach of the one that goes through."""
    through = _bar([-30, 0, 10], [30, 0, 10], 25.0)
    apart = block(np.array([0.0, 0, -40]), np.array([9.0, 0, -40]), 9.0, 9.0)
    both = TriMesh(
        np.concatenate([through.vertices, apart.vertices]),
        np.concatenate([through.faces, apart.faces + len(through.vertices)]),
    )
    assert GapFinder(_plane()).gap(both).reach_mm == pytest.approx(2.5, abs=0.02)


def _scan_over(half: float, cells: int, height: float, sway: float) -> TriMesh:
    across = np.linspace(-1.0, 1.0, cells + 1)
    heights: FloatArray = height + sway * np.cos(5 * across)[:, None] * np.cos(4 * across)[None]
    return graph_patch(heights, half, half)


def test_progress_rises_and_stops_when_asked() -> None:
    seen: list[float] = []
    GapFinder(_plane()).gap(_ball(9.0, (0, 0, 30)), report=lambda done, stage: seen.append(done))
    assert seen == sorted(seen)
    assert seen[-1] == 1.0

    def stop(done: float, stage: str) -> None:
        if done > 0.2:
            raise Cancelled

    with pytest.raises(Cancelled):
        GapFinder(_plane()).gap(_ball(9.0, (0, 0, 30)), report=stop)


@pytest.mark.slow
def test_two_million_triangles_are_measured_in_seconds() -> None:
    """The gap is that of the lowest of the swaying sheet, known from its formula."""
    scan = _scan_over(250.0, 1000, 20.0, 6.0)
    assert len(scan.faces) == 2_000_000
    gap = GapFinder(_plane(200.0, 150)).gap(scan)
    assert gap.distance_mm == pytest.approx(scan.vertices[:, 2].min(), abs=0.0051)
