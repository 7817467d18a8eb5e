"""The centre plane from picks: exact where they are, as sure as they are."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from geometry.arrays import FloatArray
from geometry.datum import PicksDoNotFixPlaneError, picks_off, plane_from_picks
from geometry.datum.centre_plane_picks import PICK_ERROR_MM

CENTRE = np.array([[560.0, 0, 75], [320, 0, 210], [30, 0, 100], [150, 0, 190]])
LEFT = np.array([[300.0, 120, 90], [100, 80, 40], [450, 95, 130]])
PAIRS = np.stack([LEFT, LEFT * np.array([1.0, -1.0, 1.0])], axis=1)
NO_POINTS, NO_PAIRS = np.empty((0, 3)), np.empty((0, 2, 3))


def placed(seed: int) -> tuple[Rotation, FloatArray]:
    turn = Rotation.random(random_state=seed)
    return turn, np.random.default_rng(seed).uniform(-400, 400, 3)


@pytest.mark.parametrize(
    ("centre", "pairs"), [(CENTRE, NO_PAIRS), (NO_POINTS, PAIRS), (CENTRE[:1], PAIRS[:1])]
)
@pytest.mark.parametrize("seed", range(3))
def test_exact_picks_give_the_plane_in_any_pose(
    seed: int, centre: FloatArray, pairs: FloatArray
) -> None:
    turn, shift = placed(seed)
    flat = turn.apply(pairs.reshape(-1, 3)) + shift
    plane = plane_from_picks(turn.apply(centre) + shift, flat.reshape(-1, 2, 3))
    assert np.linalg.norm(np.cross(plane.normal, turn.apply([0.0, 1, 0]))) < 1e-12
    assert abs(plane.off(shift)) < 1e-9
    assert plane.residual_mm < 1e-6


def test_one_pair_alone_fixes_the_plane() -> None:
    plane = plane_from_picks(NO_POINTS, PAIRS[:1])
    assert np.allclose(np.abs(plane.normal), [0, 1, 0])
    assert plane.spread_rad == pytest.approx(PICK_ERROR_MM * np.sqrt(2.0) / 240.0)
    assert plane.spread_mm == pytest.approx(PICK_ERROR_MM / np.sqrt(2.0))


def test_a_turned_pair_may_be_given_right_first() -> None:
    one = plane_from_picks(CENTRE, PAIRS)
    other = plane_from_picks(CENTRE, PAIRS[:, ::-1])
    assert np.allclose(one.normal, other.normal, atol=1e-12)


def test_what_it_says_of_its_sureness_is_how_far_it_scatters() -> None:
    """Picks off by 1.5 mm each way: error over spread has mean square 1 over many trials."""
    rng, turns, shifts = np.random.default_rng(8), [], []
    middle = np.concatenate([CENTRE, PAIRS.reshape(-1, 3)]).mean(axis=0)
    for _ in range(300):
        plane = plane_from_picks(
            CENTRE + rng.normal(0, 1.5, CENTRE.shape), PAIRS + rng.normal(0, 1.5, PAIRS.shape)
        )
        shifts.append(float(plane.off(middle)) / plane.spread_mm)
        turns.append(np.linalg.norm(plane.normal[[0, 2]]) / plane.spread_rad)
    assert np.sqrt(np.mean(np.square(shifts))) == pytest.approx(1.0, abs=0.2)
    assert 0.9 < np.sqrt(np.mean(np.square(turns))) < 1.6  # two directions, the worse one told


@pytest.mark.parametrize(
    ("centre", "pairs", "along"),
    [
        (CENTRE[:2], NO_PAIRS, False),
        (NO_POINTS, NO_PAIRS, False),
        (np.outer([0.0, 1, 2, 3], [50.0, 10, 5]), NO_PAIRS, True),
        (np.tile(CENTRE[0], (5, 1)), NO_PAIRS, True),
        (NO_POINTS, np.tile(CENTRE[0], (1, 2, 1)), True),
    ],
)
def test_picks_that_leave_the_plane_open_say_so(
    centre: FloatArray, pairs: FloatArray, along: bool
) -> None:
    with pytest.raises(PicksDoNotFixPlaneError) as caught:
        plane_from_picks(centre, pairs)
    assert (caught.value.on_centre, caught.value.pairs) == (len(centre), len(pairs))
    assert caught.value.along_a_line is along


def test_picks_nearly_along_a_line_say_that_the_plane_can_turn() -> None:
    near = np.array([[0.0, 0, 0], [200, 0, 15], [400, 0, 0]])
    assert "turn" in plane_from_picks(near, NO_PAIRS).weak[0]
    assert plane_from_picks(CENTRE, PAIRS).weak == ()


def test_one_wrong_pick_stands_out() -> None:
    wrong = PAIRS.copy()
    wrong[1, 0, 2] += 25.0
    off = picks_off(plane_from_picks(CENTRE, wrong), CENTRE, wrong)
    assert off.argmax() == len(CENTRE) + 1
    assert off.max() > 15.0
