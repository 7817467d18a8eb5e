"""Character lines found: straight, curved, closed, fading, meeting; and none where none are."""

from collections.abc import Callable

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.mesh import TriMesh, part_of_mesh
from geometry.progress import Cancelled
from geometry.surface.character import CharacterLine, character_lines
from geometry.surface.character.find import runs_of
from tests.geometry.surface.character.ridges import (
    Line,
    dent,
    fading,
    height_scan,
    hip,
    line_scan,
    off_line,
    ring,
)
from tests.geometry.surface.scans import cylinder_scan

RIDGE = Line(3.0, np.radians(60.0), 1 / 150)


def length(line: CharacterLine) -> float:
    return float(np.linalg.norm(np.diff(line.points, axis=0), axis=1).sum())


def the_line(mesh: TriMesh) -> CharacterLine:
    (line,) = character_lines(mesh)
    return line


@pytest.mark.parametrize(
    "body",
    [RIDGE, Line(3.0, np.radians(60.0), 1 / 150, 70.0), Line(8.0, np.radians(45.0), 1 / 200)],
    ids=["straight", "curved", "round"],
)
def test_a_line_is_found_along_its_whole_length_where_it_runs(body: Line) -> None:
    line = the_line(line_scan(body, length=80.0))
    assert abs(length(line) - 80.0) < 5.0
    assert off_line(body, line.points[2:-2]).max() < 0.15
    assert abs(np.median(line.radius_mm) / body.radius - 1.0) < 0.1
    assert abs(np.degrees(np.median(line.opening_rad) - body.opening)) < 0.6
    assert line.standing == "ridge"
    assert not line.is_closed
    assert line.confidence > 0.9


def test_height_is_how_far_the_tip_stands_over_the_flanks_10_mm_off() -> None:
    along = np.linspace(0.0, 20.0, 20001)
    place = RIDGE.profile(along)[0]
    wanted = -float(np.interp(10.0, place[:, 0], place[:, 1]))
    line = the_line(line_scan(RIDGE, length=60.0))
    np.testing.assert_allclose(line.height_mm, wanted, atol=0.1)


def test_a_valley_is_a_ridge_seen_from_the_other_side() -> None:
    scan = line_scan(RIDGE, length=60.0)
    turned = TriMesh(scan.vertices, scan.faces[:, ::-1])
    ridge, valley = the_line(scan), the_line(turned)
    assert (ridge.standing, valley.standing) == ("ridge", "valley")
    assert abs(np.median(valley.height_mm) + np.median(ridge.height_mm)) < 1e-6
    assert abs(np.median(valley.radius_mm) - np.median(ridge.radius_mm)) < 1e-6


def test_lines_move_and_turn_with_the_scan() -> None:
    scan = line_scan(RIDGE, length=60.0)
    turn = np.linalg.qr(np.random.default_rng(5).normal(size=(3, 3)))[0]
    turn *= np.sign(np.linalg.det(turn))
    there = the_line(TriMesh(scan.vertices @ turn.T + [200.0, -90.0, 31.0], scan.faces))
    back = (there.points - [200.0, -90.0, 31.0]) @ turn
    assert off_line(RIDGE, back[2:-2]).max() < 0.15
    assert abs(length(there) - 60.0) < 5.0


def test_a_ring_comes_back_to_its_start() -> None:
    line = the_line(height_scan(ring(Line(3.0, np.radians(50.0), 1 / 200), 30.0)))
    assert line.is_closed
    np.testing.assert_array_equal(line.points[0], line.points[-1])
    off = np.hypot(*line.points[:, :2].T) - 30.0
    assert np.abs(off).max() < 0.15
    assert abs(length(line) - 60.0 * np.pi) < 1.0


def test_three_lines_that_meet_are_found_up_to_where_they_meet() -> None:
    lines = character_lines(height_scan(hip(0.5)))
    assert len(lines) == 3
    for line in lines:
        assert np.linalg.norm(line.points, axis=1).min() < 8.0
        assert length(line) > 38.0


def test_a_line_that_fades_ends_where_it_is_nearly_flat() -> None:
    """Between the ends its flanks' slope falls from 0.5 to 0 over 90 mm."""
    line = the_line(height_scan(fading(0.5, 90.0)))
    end = line.points[np.argmax(line.points[:, 1])]
    turn_there = 2.0 * np.degrees(np.arctan(0.5 * (0.5 - end[1] / 90.0)))
    assert 5.0 < turn_there < 25.0
    assert line.points[:, 1].min() < -42.0


def test_a_hole_of_8_mm_on_a_line_does_not_part_it() -> None:
    scan = line_scan(RIDGE, length=80.0)
    middle = scan.vertices[scan.faces].mean(axis=1)
    away = np.hypot(middle[:, 0], middle[:, 1] - 40.0)
    holed, _ = part_of_mesh(scan, np.flatnonzero(away > 4.0))
    assert abs(length(the_line(holed)) - 80.0) < 5.0


NO_LINES: dict[str, Callable[[FloatArray, FloatArray], FloatArray]] = {
    "plane": lambda x, y: 0.0 * x + 0.0 * y,
    "dome of 90": lambda x, y: np.sqrt(90.0**2 - x * x - y * y),
    "saddle": lambda x, y: (x * x - y * y) / 120.0,
    "dent": dent(2.0, 30.0),
    "deep dent": dent(5.0, 30.0),
}


@pytest.mark.parametrize("body", NO_LINES)
@pytest.mark.parametrize(("noise", "slow"), [(0.1, 0.0), (0.05, 0.03)], ids=["white", "slow"])
def test_no_line_where_there_is_none(body: str, noise: float, slow: float) -> None:
    scan = height_scan(NO_LINES[body], width=70.0, noise=noise, slow=slow)
    assert character_lines(scan) == ()


@pytest.mark.parametrize("radius", [20.0, 30.0, 60.0])
def test_no_line_on_a_rolled_sheet(radius: float) -> None:
    assert character_lines(cylinder_scan(radius, 60.0, 1.0, 0.1)) == ()


def test_no_line_along_the_rim_of_a_hole() -> None:
    scan = height_scan(NO_LINES["dome of 90"], width=70.0)
    middle = scan.vertices[scan.faces].mean(axis=1)
    holed, _ = part_of_mesh(scan, np.flatnonzero(np.hypot(*middle[:, :2].T) > 12.0))
    assert character_lines(holed) == ()


def test_less_of_a_line_is_less_sure() -> None:
    noisy = line_scan(Line(3.0, np.radians(10.0), 1 / 150), length=60.0, noise=0.1)
    clear = line_scan(Line(3.0, np.radians(40.0), 1 / 150), length=60.0, noise=0.05)
    found = [line.confidence for line in character_lines(noisy)]
    assert max(found, default=0.0) < the_line(clear).confidence


def test_a_mesh_of_one_triangle_has_no_lines() -> None:
    one = TriMesh(np.eye(3), np.array([[0, 1, 2]]))
    assert character_lines(one) == ()


def test_progress_rises_and_work_can_be_stopped() -> None:
    scan = line_scan(RIDGE, length=40.0)
    seen: list[float] = []
    character_lines(scan, report=lambda done, stage: seen.append(done))
    assert seen == sorted(seen)
    assert len(seen) > 8
    assert seen[-1] == 1.0

    def stop(done: float, stage: str) -> None:
        if done > 0.5:
            raise Cancelled

    with pytest.raises(Cancelled):
        character_lines(scan, report=stop)


def test_runs_of_a_closed_line_go_round() -> None:
    good = np.array([1, 1, 0, 0, 0, 1, 1], bool)
    (run,) = runs_of(good, 1, True)
    assert run.tolist() == [5, 6, 0, 1]
    (whole,) = runs_of(good, 3, True)
    assert whole.tolist() == list(range(7))
