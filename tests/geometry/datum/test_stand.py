"""The datum's frame: there and back, and which way is left."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from geometry.datum import CentrePlane, Datum, DirectionAcrossError
from geometry.datum.stand import direction_in_plane


def datum_turned(seed: int) -> Datum:
    front, left, up = Rotation.random(random_state=seed).as_matrix()
    origin = np.random.default_rng(seed).uniform(-300, 300, 3)
    return Datum(CentrePlane(origin + 40.0 * up, left, 0.0, 0.0), up, front, origin)


@pytest.mark.parametrize("seed", range(3))
def test_there_and_back_is_the_same_place(seed: int) -> None:
    datum = datum_turned(seed)
    points = np.random.default_rng(seed).uniform(-500, 500, (50, 3))
    assert np.allclose(datum.from_datum(datum.to_datum(points)), points, atol=1e-9)
    assert np.linalg.det(datum.axes) == pytest.approx(1.0)


def test_left_is_left_as_the_rider_sits() -> None:
    datum = datum_turned(4)
    places = datum.origin + 10.0 * np.stack([datum.front, datum.left, datum.up])
    assert np.allclose(datum.to_datum(places), 10.0 * np.eye(3), atol=1e-9)
    assert np.allclose(datum.plane.off(places), [0.0, 10.0, 0.0], atol=1e-9)


def test_mirroring_twice_is_the_same_place_and_turns_y_over() -> None:
    datum = datum_turned(5)
    points = np.random.default_rng(5).uniform(-500, 500, (20, 3))
    mirrored = datum.plane.mirrored(points)
    assert np.allclose(datum.plane.mirrored(mirrored), points, atol=1e-9)
    assert np.allclose(datum.to_datum(mirrored), datum.to_datum(points) * [1, -1, 1], atol=1e-9)


def test_a_left_handed_frame_is_refused() -> None:
    left = np.array([0.0, 1.0, 0.0])
    plane = CentrePlane(np.zeros(3), left, 0.0, 0.0)
    with pytest.raises(ValueError, match="left"):
        Datum(plane, np.array([0.0, 0, 1]), np.array([-1.0, 0, 0]), np.zeros(3))
    with pytest.raises(ValueError, match="square"):
        Datum(plane, np.array([0.0, 0, 1]), np.array([0.6, 0, 0.8]), np.zeros(3))


@pytest.mark.parametrize("direction", [[0.0, 0, 0], [0.1, 3, 0]])
def test_a_direction_across_the_plane_is_refused(direction: list[float]) -> None:
    with pytest.raises(DirectionAcrossError) as caught:
        direction_in_plane("front", np.array(direction), np.array([0.0, 1.0, 0.0]))
    assert caught.value.which == "front"
    assert caught.value.off_rad > np.deg2rad(60.0)
