"""Joining of points: exact by hash, near by distance, nothing else."""

import numpy as np
import pytest
from numpy.typing import NDArray

from geometry.scan.weld import near_places, same_places


def test_equal_points_share_the_first_and_others_stay() -> None:
    """Compared with numpy's own unique rows."""
    random = np.random.default_rng(0)
    points = random.integers(-4, 5, (3000, 3)).astype(np.float32)
    _, first, inverse = np.unique(points, axis=0, return_index=True, return_inverse=True)
    np.testing.assert_array_equal(same_places(points), first[inverse.ravel()])


@pytest.mark.parametrize("kind", [np.float32, np.float64])
def test_the_last_bit_tells_points_apart(kind: type) -> None:
    one: NDArray[np.floating] = np.array([1.5, 2.5, 3.5], kind)
    points = np.stack([one, np.nextafter(one, kind(9)), one])
    assert same_places(points).tolist() == [0, 1, 0]


def test_places_with_the_same_hash_are_still_told_apart(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hashes with all but three bits thrown away meet in nearly every point."""
    from geometry.scan import weld

    full = weld._hashes
    monkeypatch.setattr(weld, "_hashes", lambda *given: full(*given) & np.uint64(7))
    points = np.random.default_rng(1).integers(0, 3, (200, 3)).astype(np.float64)
    _, first, inverse = np.unique(points, axis=0, return_index=True, return_inverse=True)
    np.testing.assert_array_equal(same_places(points), first[inverse.ravel()])


def test_near_points_are_joined_in_chains_within_the_tolerance() -> None:
    points = np.array([[0.0, 0, 0], [0.9, 0, 0], [1.8, 0, 0], [2.9, 0, 0]])
    assert near_places(points, 1.0).tolist() == [0, 0, 0, 3]


def test_no_points_are_no_places() -> None:
    assert len(same_places(np.empty((0, 3)))) == 0
    assert len(near_places(np.empty((0, 3)), 1.0)) == 0
