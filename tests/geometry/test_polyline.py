"""Lengths of lines: of a helix against its closed form, from below; and along it, the same sum."""

import numpy as np
import pytest

from geometry.polyline import (
    in_pieces,
    lengths_along,
    line_length,
    outward_of_loop,
    points_along,
)


def helix(count: int) -> np.ndarray:
    """Return two turns of radius 30 and pitch 20: sqrt((2 pi 30)^2 + 20^2) long each."""
    turn = np.linspace(0.0, 4.0 * np.pi, count)
    return np.column_stack([30.0 * np.cos(turn), 30.0 * np.sin(turn), 20.0 * turn / (2.0 * np.pi)])


def test_chords_of_a_helix_come_to_its_length_from_below() -> None:
    true = 2.0 * np.hypot(2.0 * np.pi * 30.0, 20.0)
    coarse, fine = (true - line_length(helix(count)) for count in (201, 401))
    assert 0.0 < fine < coarse
    assert coarse / fine == pytest.approx(4.0, rel=0.01)  # chords are of second order


def test_lengths_along_begin_at_nothing_rise_and_end_at_the_length() -> None:
    line = helix(301)
    along = lengths_along(line)
    assert along[0] == 0.0
    assert np.all(np.diff(along) > 0.0)
    assert along[-1] == pytest.approx(line_length(line), rel=1e-12)
    assert along[150] == pytest.approx(line_length(line[:151]), rel=1e-12)


def test_a_point_has_no_length() -> None:
    assert line_length(np.zeros((1, 2))) == 0.0
    assert lengths_along(np.zeros((1, 2))).tolist() == [0.0]


def test_pieces_of_a_straight_line_are_of_one_length_and_its_ends_are_kept() -> None:
    line = np.array([[0.0, 0.0, 0.0], [1.0, 2.0, 2.0], [4.0, 8.0, 8.0]])  # 12 long
    parted = in_pieces(line, 5)
    np.testing.assert_allclose(np.linalg.norm(np.diff(parted, axis=0), axis=1), 2.4, rtol=1e-12)
    np.testing.assert_array_equal(parted[[0, -1]], line[[0, -1]])
    np.testing.assert_allclose(
        points_along(line, np.array([-1.0, 6.0, 99.0])), [line[0], [2.0, 4.0, 4.0], line[-1]]
    )


def test_out_of_a_circle_is_away_from_its_middle() -> None:
    turn = np.linspace(0.0, 2.0 * np.pi, 90, endpoint=False)
    circle = np.column_stack([5.0 + 3.0 * np.cos(turn), 3.0 * np.sin(turn) - 1.0])
    away = np.column_stack([np.cos(turn), np.sin(turn)])
    np.testing.assert_allclose(outward_of_loop(circle), away, atol=1e-12)
