"""Tunnels set on bottoms of closed form."""

import numpy as np
import pytest

from geometry.tank import (
    Span,
    TankBottom,
    TunnelEnd,
    TunnelPlace,
    TunnelSeat,
    cut_off_down,
    flat_bottom,
    half_net,
    round_form,
    seated,
    tank_bottom,
)
from geometry.tank.tunnel_seat import positions
from tests.geometry.tank.tunnel_tanks import LONG_MM, RADIUS_MM, barrel


def test_the_open_edge_of_a_skin_is_its_bottom() -> None:
    bottom = tank_bottom(barrel(rise=0.05))
    x = np.array([50.0, 200.0, 350.0])
    for side in (60.0, -60.0, 0.0):
        np.testing.assert_allclose(bottom.height(x, np.full(3, side)), 0.05 * x, atol=1e-6)
    assert bottom.left[:, 1] == pytest.approx(RADIUS_MM, abs=1e-6)
    assert bottom.reach[0] < 5.0
    assert bottom.reach[1] > LONG_MM - 5.0


def test_between_unlike_edges_the_bottom_runs_straight_across() -> None:
    edge = np.array([[0.0, 50.0, 10.0], [300.0, 50.0, 10.0]])
    bottom = TankBottom(edge, edge * [1.0, -1.0, 0.0])
    height = bottom.height(np.zeros(3), np.array([25.0, 0.0, -50.0]))
    np.testing.assert_allclose(height, [7.5, 5.0, 0.0])


def test_a_seat_takes_places_there_and_back() -> None:
    seat = TunnelSeat(40.0, 6.0, 0.1)
    places = np.random.default_rng(2).normal(0.0, 100.0, (20, 3))
    np.testing.assert_allclose(seat.from_tank(seat.to_tank(places)), places, atol=1e-12)
    np.testing.assert_allclose(
        seat.to_tank(np.array([100.0, 0.0, 0.0])),
        [40.0 + 100.0 * np.cos(0.1), 0.0, 6.0 + 100.0 * np.sin(0.1)],
    )


def test_the_foot_line_sits_level_with_a_bowed_bottom() -> None:
    """Of z = a x (L - x) the nearest straight line is level, a L^2 / 6 up, by its mean."""
    x = np.linspace(0.0, 300.0, 301)
    line = np.column_stack([x, np.full_like(x, 80.0), 1e-4 * x * (300.0 - x)])
    seat = seated(TunnelPlace(0.0), TankBottom(line, line * [1, -1, 1]), 300.0, 25.0)
    assert seat.nose_up_rad == pytest.approx(0.0, abs=1e-6)
    assert seat.foot_mm == pytest.approx(1e-4 * 300.0**2 / 6.0, rel=2e-2)


def test_a_height_that_is_said_stays() -> None:
    seat = seated(TunnelPlace(10.0, 7.0, 0.02), flat_bottom(3.0), 300.0, 25.0)
    assert seat == TunnelSeat(10.0, 7.0, 0.02)


@pytest.mark.parametrize("flare", [0.0, 0.2])
def test_the_cut_off_lies_on_the_bottom(flare: float) -> None:
    end = TunnelEnd(70.0, 50.0)
    net = half_net(round_form(Span(0.0, 300.0, end, end), flare), 1.6)
    edge = np.array([[-500.0, 90.0, -20.0], [900.0, 90.0, 50.0]])
    bottom = TankBottom(edge, edge * [1, -1, 1] + [0.0, 0.0, 4.0])
    seat = TunnelSeat(40.0, 3.0, -0.03)
    x = np.linspace(0.0, 300.0, 7)
    for side in (1.0, -1.0):
        down = cut_off_down(net, seat, bottom, side, x)
        place = seat.to_tank(net.leg_at(x, down) * [1.0, side, 1.0])
        np.testing.assert_allclose(place[:, 2], bottom.height(place[:, 0], place[:, 1]), atol=1e-8)


def test_on_a_level_bottom_the_band_is_what_may_be_off_in_height() -> None:
    place = TunnelPlace(0.0, fore_aft_mm=5.0, up_down_mm=3.0)
    found = list(positions(place, flat_bottom(), 300.0, 25.0))
    assert {round(seat.rear_mm, 6) for seat in found} == {-5.0, -2.5, 0.0, 2.5, 5.0}
    assert {round(seat.foot_mm, 6) for seat in found} == {-3.0, 0.0, 3.0}


def test_an_edge_knows_where_nobody_scanned_it() -> None:
    """The barrel's faces low on its left from 120 to 200 are a guess: so is its edge."""
    skin = barrel()
    middles = skin.vertices[skin.faces].mean(axis=1)
    guessed = (middles[:, 1] > 0.9 * RADIUS_MM) & (middles[:, 0] > 120.0) & (middles[:, 0] < 200.0)
    bottom = tank_bottom(skin, guessed)
    assert bottom.left_guessed is not None
    at = bottom.left[bottom.left_guessed, 0]
    assert at.min() == pytest.approx(120.0, abs=5.0)
    assert at.max() == pytest.approx(200.0, abs=5.0)
    assert bottom.right_guessed is not None
    assert not bottom.right_guessed.any()
    x = np.array([60.0, 116.0, 160.0, 204.0, 300.0])
    assert bottom.is_guessed(x, 10.0).tolist() == [False, True, True, True, False]
    assert not tank_bottom(skin).is_guessed(x, 10.0).any()
