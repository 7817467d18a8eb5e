"""Torn places of an edge: found on one hand only, true shapes of both hands let be."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.gauges import off_course, torn_places
from geometry.gauges.torn_edge import without_torn

STEP_MM = 3.5


def edge(side: float, *, noise_mm: float = 0.03, seed: int = 4) -> FloatArray:
    """An edge of one hand, from the rear ahead: bowed in plan and from the side, as scanned."""
    x = np.arange(0.0, 500.0, STEP_MM)
    y = 90.0 - 40.0 * ((x - 300.0) / 300.0) ** 2
    z = 6.0 * np.sin(x / 120.0)
    scatter = np.random.default_rng(seed).normal(size=(len(x), 3)) * noise_mm
    return np.asarray(np.column_stack([x, side * y, z]) + scatter)


def kinked(line: FloatArray) -> FloatArray:
    """The same with a step of 8 mm in plan over 12 mm, as a bracket's clearance has."""
    out = line.copy()
    x = line[:, 0]
    out[:, 1] -= np.sign(line[:, 1]) * 8.0 * np.clip((x - 200.0) / 6.0, 0.0, 1.0) * (x < 230.0)
    return out


def test_a_whole_edge_is_torn_nowhere() -> None:
    assert torn_places(edge(1.0), edge(-1.0, seed=5)) == ()


@pytest.mark.parametrize("hand", ["left", "right"])
@pytest.mark.parametrize("off_mm", [1.0, 2.6, -4.0])
def test_a_point_thrown_out_on_one_hand_is_found_where_it_is(hand: str, off_mm: float) -> None:
    lines = {"left": edge(1.0), "right": edge(-1.0, seed=5)}
    lines[hand][60, 1] += off_mm
    (place,) = torn_places(lines["left"], lines["right"])
    assert place.hand == hand
    assert place.at.tolist() == lines[hand][60].tolist()
    # Square to an edge that runs aslant by 0.08 there; six times the scatter of 0.03 mm.
    assert place.off_mm == pytest.approx(abs(off_mm) * np.cos(np.arctan(0.08)), abs=0.18)
    assert place.over_mm == pytest.approx(2.0 * STEP_MM, abs=abs(off_mm) + 1.0)
    assert place.points.tolist() == [60]


def test_a_stretch_of_edge_lost_is_one_place() -> None:
    left, right = edge(1.0), edge(-1.0, seed=5)
    left[50:53, 1] -= [1.5, 2.5, 1.5]
    (place,) = torn_places(left, right)
    assert place.points.tolist() == [50, 51, 52]
    assert place.over_mm == pytest.approx(4.0 * STEP_MM, abs=3.0)


def test_a_shape_that_both_hands_have_is_no_tear() -> None:
    left, right = kinked(edge(1.0)), kinked(edge(-1.0, seed=5))
    assert off_course(left).max() > 1.0
    assert torn_places(left, right) == ()
    assert torn_places(left, edge(-1.0, seed=5)) != ()


def test_turned_over_the_tears_change_hands() -> None:
    left, right = edge(1.0), edge(-1.0, seed=5)
    left[60, 1] += 2.0
    over = np.array([1.0, -1.0, 1.0])
    (place,), (turned,) = torn_places(left, right), torn_places(right * over, left * over)
    assert (place.hand, turned.hand) == ("left", "right")
    assert turned.off_mm == pytest.approx(place.off_mm, abs=1e-9)


def test_without_its_torn_places_a_line_is_bridged_straight() -> None:
    left, right = edge(1.0), edge(-1.0, seed=5)
    whole = left.copy()
    left[60, 1] += 2.0
    bridged = without_torn(left, torn_places(left, right))
    assert bridged.tolist() == np.delete(whole, 60, axis=0).tolist()


def test_an_edge_of_a_few_points_has_no_course() -> None:
    few = edge(1.0)[:4]
    assert off_course(few).tolist() == [0.0] * 4
    assert torn_places(few, few * [1.0, -1.0, 1.0]) == ()
