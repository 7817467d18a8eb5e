"""The cut line past nicks: never inward, never nearer than the allowance, corners kept."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.arrays import FloatArray
from geometry.pattern.allowance_easing import led_past_nicks
from geometry.pattern.allowance_outline import CutOutline, cut_outline
from geometry.pattern.allowance_strips import Fold, Strip

WIDE = 12.7


def plate(*nicked: tuple[float, float]) -> FloatArray:
    """Return a plate of 300 x 150 mm whose lower side runs through some places more."""
    return np.array([[0.0, 0.0], *nicked, [300.0, 0.0], [300.0, 150.0], [0.0, 150.0]])


def strips(net: FloatArray, width: float = WIDE, fold: Fold | None = None) -> list[Strip]:
    return [Strip(np.concatenate([net, net[:1]]), width, "round", fold)]


def cuts(net: FloatArray, width: float = WIDE) -> tuple[CutOutline, CutOutline]:
    """Return the line that follows everything, and the one led past nicks."""
    exact = cut_outline(net, strips(net, width))
    assert exact is not None
    return exact, led_past_nicks(exact, strips(net, width))


def sharpest_inward_turn(points: FloatArray) -> float:
    """Return by how much a closed line turns right within 2 mm at most, degrees."""
    ring = shapely.LinearRing(points)
    at = np.arange(0.0, ring.length, 0.1)
    places = shapely.get_coordinates(shapely.line_interpolate_point(ring, at))
    back, ahead = places - np.roll(places, 10, axis=0), np.roll(places, -10, axis=0) - places
    cross = back[:, 0] * ahead[:, 1] - back[:, 1] * ahead[:, 0]
    return float(-np.degrees(np.arctan2(cross, (back * ahead).sum(axis=1))).min())


NICKS = {
    "notch": plate((147.0, 0.0), (150.0, 2.5), (153.0, 0.0)),
    "wide notch": plate((145.0, 0.0), (150.0, 3.0), (155.0, 0.0)),
    "step": np.array([[0.0, 0.0], [150, 0], [150.5, 2.5], [300, 2.5], [300, 150], [0, 150]]),
    "beside a corner": plate((280.0, 0.0), (284.0, 2.5), (294.0, 0.5)),
}
FOLLOWED = {
    "straight": plate(),
    "inside corner": np.array([[0.0, 0], [150, 0], [150, 60], [300, 60], [300, 150], [0, 150]]),
    "blunt inside corner": plate((150.0, 20.0)),
    "hollow of R 60": plate(
        *(
            (150.0 + 60.0 * np.sin(at), 60.0 * np.cos(at) - 60.0 * np.cos(0.8))
            for at in np.linspace(-0.8, 0.8, 60)
        )
    ),
}


@pytest.mark.parametrize("name", NICKS)
def test_snips_can_follow_the_cut_past_a_nick(name: str) -> None:
    exact, led = cuts(NICKS[name])
    assert sharpest_inward_turn(exact.points) > 15.0
    assert sharpest_inward_turn(led.points) < 12.0
    assert led.passes_nicks


@pytest.mark.parametrize("name", NICKS)
def test_the_cut_moves_outward_only_and_only_near_the_nick(name: str) -> None:
    """Thinning moves points by 0.002 mm, chords of a round lie 0.005 inside it."""
    exact, led = (shapely.Polygon(each.points) for each in cuts(NICKS[name]))
    assert led.buffer(0.008).contains(exact)
    moved = (led - exact).buffer(-0.05)
    assert not moved.is_empty
    low, high = moved.bounds[0], moved.bounds[2]
    assert high - low < 3.0 * WIDE
    dense = shapely.points(shapely.segmentize(led.exterior, 0.5).coords[:])
    off = shapely.distance(dense, shapely.LinearRing(NICKS[name]))
    away = np.abs(shapely.get_x(dense) - (low + high) / 2.0) > 2.0 * WIDE
    assert np.abs(off[away] - WIDE).max() < 0.1


@pytest.mark.parametrize("name", FOLLOWED)
def test_inside_corners_and_curves_stay_followed(name: str) -> None:
    exact, led = cuts(FOLLOWED[name])
    assert led is exact


def test_a_round_over_a_notch_is_as_deep_as_the_circles_say() -> None:
    """Closed form: a disc of 4 w on two rounds of w at either end of a gap g of sharp corners."""
    exact, led = cuts(NICKS["notch"])
    half, far = 3.0, 4.0 * WIDE
    kink = -np.sqrt(WIDE**2 - half**2)
    lowest = -np.sqrt((WIDE + far) ** 2 - half**2) + far
    ring = shapely.Polygon(led.points)
    below = shapely.LineString([[150.0, -30.0], [150.0, 5.0]])
    assert shapely.intersection(ring, below).bounds[1] == pytest.approx(lowest, abs=0.01)
    ring = shapely.Polygon(exact.points)
    assert shapely.intersection(ring, below).bounds[1] == pytest.approx(kink, abs=0.01)


def test_beside_a_fold_and_on_a_bare_edge_nothing_is_led_past() -> None:
    net = NICKS["notch"]
    fold = Fold("hem", np.pi, 1.0, 3.2, 1.6)
    for bare in (strips(net, 0.0), strips(net, WIDE, fold)):
        exact = cut_outline(net, bare)
        assert exact is not None
        assert led_past_nicks(exact, bare) is exact


@given(
    st.lists(st.tuples(st.floats(20.0, 280.0), st.floats(-3.0, 3.0)), min_size=1, max_size=12),
    st.sampled_from([3.0, 6.35, 12.7, 25.4]),
)
@settings(max_examples=40, deadline=None)
def test_the_cut_is_never_nearer_to_the_net_than_its_allowance(
    places: list[tuple[float, float]], width: float
) -> None:
    net = plate(*sorted(places))
    if len(np.unique(net[:, 0].round(3))) < len(net) - 2 or not shapely.Polygon(net).is_valid:
        return
    exact, led = cuts(net, width)
    ring = shapely.LinearRing(led.points)
    assert ring.is_simple
    dense = shapely.points(shapely.segmentize(ring, 0.5).coords[:])
    assert shapely.distance(dense, shapely.LinearRing(net)).min() > width - 0.008
    assert shapely.Polygon(led.points).buffer(0.01).contains(shapely.Polygon(exact.points))
