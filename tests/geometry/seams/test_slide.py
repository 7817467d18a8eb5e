import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.progress import Cancelled
from geometry.seams import SeamGround, slid_to_least_shape
from tests.bodies import patch, ring_of_revolution

RING, TUBE = 100.0, 30.0


def torus_top(cells: int) -> tuple[SeamGround, FloatArray]:
    """Return the upper part of a torus and the absolute product of its curvatures.

    cos(v) / (tube (ring + tube cos(v))), v the angle about the tube: nothing on the top circle.
    """
    u, v = np.meshgrid(np.linspace(-1, 1, 2 * cells), np.linspace(0.2, 2.9, cells), indexing="ij")
    reach = RING + TUBE * np.cos(v)
    mesh = patch(reach * np.cos(u), reach * np.sin(u), TUBE * np.sin(v))
    return SeamGround(mesh), np.abs(np.cos(v) / (TUBE * reach)).ravel()


def drawn_beside_top(ground: SeamGround, off_mm: float, waver_mm: float = 0.0) -> FloatArray:
    u = np.linspace(-0.9, 0.9, 8)
    v = np.pi / 2 + off_mm / TUBE + waver_mm / TUBE * (-1.0) ** np.arange(8)
    reach = RING + TUBE * np.cos(v)
    points = np.stack([reach * np.cos(u), reach * np.sin(u), TUBE * np.sin(v)], axis=1)
    return ground.nearest(points).points


def off_top(points: FloatArray) -> FloatArray:
    return np.abs(np.hypot(points[:, 0], points[:, 1]) - RING)


@pytest.mark.parametrize("off", [-8.0, 8.0])
@pytest.mark.parametrize("cells", [40, 80])
def test_on_a_torus_the_line_slides_to_the_top_circle(off: float, cells: int) -> None:
    """To within a face: between two rows of vertices the shape given has no lower place."""
    ground, shape = torus_top(cells)
    slid = slid_to_least_shape(ground, drawn_beside_top(ground, off, 1.0), shape)
    inner = off_top(slid.points)[3:-3]
    assert inner.max() < 2.7 / (cells - 1) * TUBE
    assert slid.shape_after < 0.3 * slid.shape_before


def test_ends_are_held_or_slide_along_what_they_are_snapped_to() -> None:
    ground, shape = torus_top(60)
    drawn = drawn_beside_top(ground, 7.0)
    held = slid_to_least_shape(ground, drawn, shape)
    assert held.points[[0, -1]] == pytest.approx(drawn[[0, -1]], abs=1e-9)
    rails = []
    for u in (-0.9, 0.9):
        v = np.linspace(0.3, 2.8, 80)
        reach = RING + TUBE * np.cos(v)
        rails.append(np.stack([reach * np.cos(u), reach * np.sin(u), TUBE * np.sin(v)], axis=1))
    free = slid_to_least_shape(ground, drawn, shape, along=(rails[0], rails[1]))
    assert off_top(free.points).max() < 2.7 / 59 * TUBE
    assert np.arctan2(free.points[[0, -1], 1], free.points[[0, -1], 0]) == pytest.approx(
        [-0.9, 0.9], abs=1e-3
    )
    assert free.shape_after < held.shape_after


@pytest.mark.parametrize("within", [2.0, 5.0])
def test_no_place_slides_farther_than_allowed(within: float) -> None:
    """12 mm off the top circle, all that is allowed is used, towards it."""
    ground, shape = torus_top(60)
    slid = slid_to_least_shape(ground, drawn_beside_top(ground, 12.0), shape, within_mm=within)
    assert np.abs(slid.moved_mm).max() <= within
    assert np.abs(slid.moved_mm)[4:-4] == pytest.approx(
        np.full(len(slid.moved_mm) - 8, within), abs=1e-9
    )


def test_a_ring_slides_all_round() -> None:
    """Round the top circle of a ring of the torus's upper part."""
    v = np.linspace(2.5, 0.6, 40)
    reach = RING + TUBE * np.cos(v)
    ground = SeamGround(ring_of_revolution(reach, TUBE * np.sin(v), 120))
    shape = np.tile(np.abs(np.cos(v) / (TUBE * reach)), 120)
    around = np.linspace(0, 2 * np.pi, 13)[:-1]
    out = RING + 6.0 + np.sin(3 * around)
    drawn = np.stack([out * np.cos(around), out * np.sin(around), np.full(12, TUBE)], axis=1)
    drawn = ground.nearest(drawn).points
    slid = slid_to_least_shape(ground, drawn, shape, closed=True, spacing_mm=15.0)
    assert off_top(slid.points).max() < 1.9 / 39 * TUBE
    turn = np.unwrap(np.arctan2(slid.points[:, 1], slid.points[:, 0]))
    assert abs(turn[-1] - turn[0]) > 6.0


def test_where_there_is_no_shape_a_straight_line_stays_straight() -> None:
    x, y = np.meshgrid(np.linspace(0, 200, 68), np.linspace(0, 120, 41), indexing="ij")
    ground = SeamGround(patch(x, y, np.zeros_like(x)))
    line = np.array([[20.0, 60, 0], [180, 60, 0]])
    slid = slid_to_least_shape(ground, line, np.zeros(len(ground.mesh.vertices)))
    assert np.abs(slid.moved_mm).max() < 1e-9


@pytest.mark.parametrize("shape", [np.zeros(3), "below nothing"])
def test_a_shape_that_is_none_is_refused(shape: FloatArray | str) -> None:
    ground, good = torus_top(20)
    given = -good if isinstance(shape, str) else shape
    with pytest.raises(ValueError, match="shape"):
        slid_to_least_shape(ground, drawn_beside_top(ground, 5.0), given)


def test_sliding_tells_how_far_it_is_and_can_be_stopped() -> None:
    ground, shape = torus_top(40)
    drawn = drawn_beside_top(ground, 5.0)
    seen: list[float] = []
    slid_to_least_shape(ground, drawn, shape, report=lambda done, stage: seen.append(done))
    assert seen == sorted(seen)
    assert seen[-1] == 1.0
    assert len(seen) > 4

    def stop(done: float, stage: str) -> None:
        if done > 0.4:
            raise Cancelled

    with pytest.raises(Cancelled):
        slid_to_least_shape(ground, drawn, shape, report=stop)
