"""Whole numbers in order against the sort of a library, whether or not they have room."""

import numpy as np
import pytest

from geometry.mesh import ordered


@pytest.mark.parametrize("lowest", [0, -5, 2**61, -(2**62)])
@pytest.mark.parametrize("count", [0, 1, 2, 1000])
def test_equal_numbers_stay_as_they_came(lowest: int, count: int) -> None:
    keys = np.random.default_rng(3).integers(0, 40, count) + lowest
    rising, order = ordered(keys)
    np.testing.assert_array_equal(order, np.argsort(keys, kind="stable"))
    np.testing.assert_array_equal(rising, np.sort(keys))


@pytest.mark.parametrize("highest", [2**59 - 1, 2**59, 2**59 + 1, 2**63 - 1])
def test_the_largest_that_has_room_and_the_next_are_told_apart(highest: int) -> None:
    """Ten numbers take four bits for their places, which leaves 59 for themselves."""
    keys = np.array([highest, 0, highest - 1, 1, highest, 0, 5, 5, highest, 2])
    rising, order = ordered(keys)
    assert rising.tolist() == sorted(keys.tolist())
    np.testing.assert_array_equal(order, np.argsort(keys, kind="stable"))


def test_what_is_given_stays() -> None:
    keys = np.array([3, 1, 2])
    ordered(keys)
    assert keys.tolist() == [3, 1, 2]
