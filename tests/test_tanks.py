"""The generated tanks are what they say."""

import numpy as np

from sample_data import truth
from tests.tanks import Dent, tank


def test_a_tank_without_noise_lies_on_the_formula() -> None:
    scanned = tank(6.0, dents=[Dent()])
    assert np.abs(truth.distance_to_tank(scanned.mesh.vertices)).max() < 1e-5


def test_its_side_line_is_the_samples() -> None:
    assert np.allclose(tank(9.0).side_line(1.0), truth.side_line(1.0), atol=1e-9)


def test_poses_and_missing_places_are_repeatable_and_told() -> None:
    one, other = (tank(8.0, seed=5, missing=0.3, missing_side=1.0, turned=True) for _ in range(2))
    assert np.array_equal(one.mesh.vertices, other.mesh.vertices)
    own = one.from_file(one.mesh.vertices)
    assert np.count_nonzero(own[:, 1] > 0.0) < 0.6 * np.count_nonzero(own[:, 1] < 0.0)
    turn_deg, off_mm = one.plane_errors(one.to_file(np.zeros((1, 3)))[0], one.left)
    assert turn_deg < 1e-6
    assert off_mm < 1e-9
