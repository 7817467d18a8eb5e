"""Placing a second scan: places come back, mirrors and lines are refused, other units are told."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from geometry.arrays import FloatArray
from geometry.comparison import (
    PlacingPlacesError,
    SecondScanSizeError,
    check_same_unit,
    placing_by,
    round_bar,
)
from geometry.mesh import TriMesh

PLACES = np.array([[0.0, 0, 0], [300, 10, 0], [20, 200, 40], [100, 50, 90]])


def test_a_scan_turned_and_moved_is_brought_back() -> None:
    turn = Rotation.from_euler("xyz", [0.4, -2.0, 1.0]).as_matrix()
    placing = placing_by(PLACES @ turn.T + [5.0, 6, 7], PLACES)
    assert placing.off_mm.max() < 1e-9
    bar = round_bar(np.zeros(3), np.array([0.0, 0, 90]), 20.0)
    moved = TriMesh(bar.vertices @ turn.T + [5.0, 6, 7], bar.faces)
    assert placing.placed(moved).vertices == pytest.approx(bar.vertices, abs=1e-9)


def test_how_far_places_miss_is_told() -> None:
    """One of three on an even triangle moved square to it by d: all three miss by d / 3 or less."""
    wrong = PLACES[:3].copy()
    wrong[0] += [0.0, 0, 3.0]
    off = placing_by(wrong, PLACES[:3]).off_mm
    assert 0.0 < off.max() <= 3.0


@pytest.mark.parametrize("places", [PLACES[:2], np.arange(3.0)[:, None] * [1.0, 2, 3]])
def test_too_few_places_and_places_on_a_line_are_refused(places: FloatArray) -> None:
    with pytest.raises(PlacingPlacesError):
        placing_by(places, places)


@pytest.mark.parametrize("times", [1000.0, 0.001])
def test_a_scan_in_another_unit_is_refused(times: float) -> None:
    bar = round_bar(np.zeros(3), np.array([500.0, 0, 0]), 30.0)
    with pytest.raises(SecondScanSizeError) as caught:
        check_same_unit(TriMesh(bar.vertices * times, bar.faces), bar)
    assert caught.value.length_mm == pytest.approx(times * 500.0)
    check_same_unit(TriMesh(bar.vertices * 3.0, bar.faces), bar)
