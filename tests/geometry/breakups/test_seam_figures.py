"""Bodies of round section: how far round from the top the skin faces is known."""

from math import pi

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.breakups import Sight, seam_figures, sight_of
from geometry.gauges import TankAxes

R = 80.0


def sight(length: float = 400.0) -> Sight:
    axes = TankAxes(np.zeros(3), np.eye(3), named=True)
    return sight_of(np.array([[0.0, -R, 0], [length, R, 2 * R]]), axes)


def hoop(along: float, turn: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return points and normals of a tube ahead, round from the top."""
    normals = np.stack([0 * turn, np.sin(turn), np.cos(turn)], axis=1)
    return R * normals + [along, 0.0, R], normals


def test_of_a_hoop_round_a_tube_the_third_that_faces_30_degrees_below_level_is_hidden() -> None:
    turn = np.linspace(0.0, 2 * pi, 1441)
    figures = seam_figures("hoop", *hoop(200.0, turn), sight())
    assert figures.length_mm == pytest.approx(2 * pi * R, rel=1e-5)
    assert figures.hidden_mm == pytest.approx(2 * pi * R / 3, abs=R * 2 * pi / 700)
    assert figures.seen_mm + figures.hidden_mm == pytest.approx(figures.length_mm, rel=1e-12)


def test_of_a_line_over_a_ball_both_ends_facing_ahead_and_back_are_hidden() -> None:
    """From pole to pole over the top: the last 45 degrees at either end, a half together."""
    turn = np.linspace(0.0, pi, 1001)
    normals = np.stack([np.cos(turn), 0 * turn, np.sin(turn)], axis=1)
    figures = seam_figures("over", R * normals + [R, 0, R], normals, sight(2 * R))
    assert figures.hidden_mm == pytest.approx(pi * R / 2, abs=R * pi / 400)


def test_a_face_looking_ahead_in_the_middle_of_the_tank_is_seen() -> None:
    normals = np.tile([1.0, 0.0, 0.0], (11, 1))
    points = np.stack([np.full(11, 200.0), np.linspace(-50, 50, 11), np.full(11, 90.0)], axis=1)
    assert seam_figures("step", points, normals, sight()).hidden_mm == 0.0
    assert seam_figures("neck", points + [150.0, 0, 0], normals, sight()).seen_mm == 0.0
    assert seam_figures("seat", points - [150.0, 0, 0], -normals, sight()).seen_mm == 0.0


def test_what_the_maker_says_overrules_where_the_skin_faces() -> None:
    points, normals = hoop(200.0, np.linspace(-pi / 3, pi / 3, 121))
    assert seam_figures("top", points, normals, sight()).hidden_mm == 0.0
    assert seam_figures("top", points, normals, sight(), mark="hidden").seen_mm == 0.0
    below, down = hoop(200.0, np.linspace(pi * 0.8, pi * 1.2, 121))
    assert seam_figures("under", below, down, sight()).seen_mm == 0.0
    assert seam_figures("under", below, down, sight(), mark="seen").hidden_mm == 0.0


def test_where_nobody_said_which_way_the_tank_stands_all_is_seen() -> None:
    points, normals = hoop(200.0, np.linspace(pi * 0.8, pi * 1.2, 121))
    figures = seam_figures("under", points, normals)
    assert figures.seen_mm == figures.length_mm > 0.0


def test_turning_the_whole_tank_changes_nothing() -> None:
    points, normals = hoop(200.0, np.linspace(0.0, 2.5, 121))
    turn = np.linalg.qr(np.random.default_rng(2).standard_normal((3, 3)))[0]
    axes = TankAxes(np.array([5.0, 6.0, 7.0]), turn.T, named=True)
    turned = Sight(axes, sight().length_mm)
    moved = seam_figures("s", points @ turn.T + [5.0, 6.0, 7.0], normals @ turn.T, turned)
    here = seam_figures("s", points, normals, sight())
    assert moved.hidden_mm == pytest.approx(here.hidden_mm, rel=1e-9)
    assert here.hidden_mm > 0.0
