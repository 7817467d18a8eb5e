"""Bodies: closed, facing out, of the volume their formula says; and what they refuse."""

import numpy as np
import pytest

from geometry.comparison import BodySizeError, Steering, SteeringLockError, block, round_bar
from geometry.mesh import enclosed_volume, is_oriented, rims


@pytest.mark.parametrize("across", [3.0, 25.4, 90.0])
def test_a_round_bar_is_closed_and_holds_what_a_cylinder_does(across: float) -> None:
    """Radius true to 0.01 mm: the volume to 2 * 0.01 / radius."""
    start, end = np.array([5.0, 6, 7]), np.array([90.0, -20, 40])
    bar = round_bar(start, end, across)
    length = float(np.linalg.norm(end - start))
    assert not rims(bar)
    assert is_oriented(bar.faces)
    wanted = np.pi * across**2 / 4.0 * length
    assert enclosed_volume(bar.vertices, bar.faces) == pytest.approx(wanted, rel=0.04 / across)


@pytest.mark.parametrize("end", [[40.0, 0, 0], [0.0, 0, 40], [0.0, 0, -40], [3.0, 9, 30]])
def test_a_block_is_closed_and_holds_its_three_sizes_multiplied(end: list[float]) -> None:
    body = block(np.zeros(3), np.array(end), 20.0, 10.0)
    assert not rims(body)
    assert is_oriented(body.faces)
    wanted = float(np.linalg.norm(end)) * 200.0
    assert enclosed_volume(body.vertices, body.faces) == pytest.approx(wanted, rel=1e-9)


@pytest.mark.parametrize(
    ("size", "what"), [((0.0, 5.0), "across"), ((5.0, -1.0), "height"), ((np.nan, 5.0), "across")]
)
def test_a_body_without_size_is_refused(size: tuple[float, float], what: str) -> None:
    with pytest.raises(BodySizeError) as caught:
        block(np.zeros(3), np.array([9.0, 0, 0]), *size)
    assert caught.value.what == what


def test_a_bar_from_a_place_to_itself_is_refused() -> None:
    with pytest.raises(BodySizeError) as caught:
        round_bar(np.ones(3), np.ones(3), 20.0)
    assert caught.value.what == "length"


def test_turning_left_takes_what_is_ahead_to_the_left() -> None:
    steering = Steering(np.zeros(3), np.array([0.0, 0, 100]), np.radians(90))
    bar = round_bar(np.array([50.0, 0, 10]), np.array([60.0, 0, 10]), 4.0)
    turned = steering.turned(bar, np.radians(90)).vertices
    assert turned.mean(axis=0) == pytest.approx([0.0, 55.0, 10.0], abs=1e-9)


@pytest.mark.parametrize("lock_rad", [0.0, -0.5, np.radians(91.0), np.nan])
def test_a_lock_no_bars_have_is_refused(lock_rad: float) -> None:
    with pytest.raises(SteeringLockError):
        Steering(np.zeros(3), np.array([0.0, 0, 100]), lock_rad)


def test_a_steering_axis_without_length_is_refused() -> None:
    with pytest.raises(BodySizeError):
        Steering(np.zeros(3), np.zeros(3), 0.5)
