"""Places linked into chains, and chains joined."""

import numpy as np

from geometry.arrays import FloatArray
from geometry.surface.character.chain import chains_of, joined_chains
from geometry.surface.character.places import RIDGE, VALLEY, RidgePlaces
from geometry.surface.character.stations import RoughLine


def places_along(points: FloatArray, ahead: FloatArray, kind: int = RIDGE) -> RidgePlaces:
    count = len(points)
    return RidgePlaces(points, ahead, np.ones(count), np.full(count, kind), 3.0, 1.2)


def straight(start: float, end: float, aside: float = 0.0) -> FloatArray:
    y = np.arange(start, end, 0.7)
    return np.column_stack([aside + 0.0 * y, y, 0.0 * y])


def test_scattered_places_along_a_line_become_one_chain_their_length_long() -> None:
    rng = np.random.default_rng(3)
    points = straight(0.0, 60.0)
    points[:, 0] += rng.normal(0.0, 0.3, len(points))
    sign = rng.choice([-1.0, 1.0], len(points))  # directions have either sign
    ahead = sign[:, None] * np.array([0.0, 1.0, 0.0])
    (chain,) = chains_of([places_along(points, ahead)])
    assert not chain.closed
    assert abs(np.ptp(chain.points[:, 1]) - 60.0) < 2.5


def test_places_round_a_circle_become_a_closed_chain() -> None:
    angle = np.arange(0.0, 2.0 * np.pi, 0.035)
    points = 20.0 * np.column_stack([np.cos(angle), np.sin(angle), 0.0 * angle])
    ahead = np.column_stack([-np.sin(angle), np.cos(angle), 0.0 * angle])
    (chain,) = chains_of([places_along(points, ahead)])
    assert chain.closed
    assert abs(chain.length_mm + 1.2 - 40.0 * np.pi) < 3.0


def test_wide_places_beside_a_sharp_chain_make_no_second_one() -> None:
    ahead = np.array([0.0, 1.0, 0.0])
    sharp = straight(0.0, 40.0)
    wide = straight(0.0, 80.0, 2.0)
    levels = [
        places_along(sharp, np.tile(ahead, (len(sharp), 1))),
        RidgePlaces(
            wide,
            np.tile(ahead, (len(wide), 1)),
            np.ones(len(wide)),
            np.zeros(len(wide), np.int64),
            6.0,
            2.4,
        ),
    ]
    (chain,) = chains_of(levels)
    assert np.ptp(chain.points[:, 1]) > 74.0  # the wide places beyond its end lead it on


def test_a_ridge_and_a_valley_side_by_side_stay_two() -> None:
    ahead = np.array([0.0, 1.0, 0.0])
    one, other = straight(0.0, 40.0), straight(0.0, 40.0, 0.5)
    level = RidgePlaces(
        np.concatenate([one, other]),
        np.tile(ahead, (len(one) + len(other), 1)),
        np.ones(len(one) + len(other)),
        np.repeat([RIDGE, VALLEY], [len(one), len(other)]),
        3.0,
        1.2,
    )
    assert sorted(chain.kind for chain in chains_of([level])) == [RIDGE, VALLEY]


def test_chains_are_joined_over_gaps_that_run_on_and_not_round_corners() -> None:
    first, second = straight(0.0, 30.0), straight(40.0, 70.0)
    corner = np.column_stack([np.arange(5.0, 35.0), np.full(30, 75.0), np.zeros(30)])
    chains = [RoughLine(points, RIDGE, False) for points in (first, second[::-1], corner)]
    joined = sorted(joined_chains(chains), key=lambda chain: -chain.length_mm)
    assert len(joined) == 2
    assert abs(joined[0].length_mm - 69.3) < 1.0
    np.testing.assert_array_equal(joined[1].points, corner)


def test_chains_far_aside_of_each_other_stay_apart() -> None:
    chains = [
        RoughLine(straight(0.0, 30.0), RIDGE, False),
        RoughLine(straight(33.0, 60.0, 6.0), RIDGE, False),
    ]
    assert len(joined_chains(chains)) == 2
