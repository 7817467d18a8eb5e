"""The trim line and patches nobody scanned."""

import numpy as np
import pytest
import shapely

from geometry.pattern.outlines import closes_over, patches, trim_outline
from tests.geometry.pattern.stand_ins import grid


def _wavy_net(count: int = 900) -> np.ndarray:
    turn = 2.0 * np.pi * np.arange(count) / count
    far = 160.0 + 30.0 * np.cos(3.0 * turn) + 9.0 * np.sin(11.0 * turn) + 0.3 * np.sin(97.0 * turn)
    return np.stack([1.6 * far * np.cos(turn), far * np.sin(turn)], axis=1)


NETS = {
    "wavy": _wavy_net(),
    "square": np.array([[0.0, 0], [200, 0], [200, 200], [0, 200]]),
    "spike": np.array([[0.0, 0], [300, 0], [300, 8], [40, 12], [0, 90]]),
    "notched": np.array(
        [[0.0, 0], [200, 0], [200, 100], [130, 100], [130, 40], [70, 40], [70, 100], [0, 100]]
    ),
}


@pytest.mark.parametrize("name", NETS)
def test_every_point_of_the_trim_line_lies_the_allowance_from_the_net(name: str) -> None:
    """Tolerance: chords of 90/24 degrees on 12.7 mm lie 0.007 mm inside the arc, thinning 0.002."""
    net = shapely.LinearRing(NETS[name])
    trim = trim_outline(NETS[name], 12.7)
    assert trim is not None
    dense = shapely.segmentize(shapely.LinearRing(trim), 0.5)
    distance = shapely.distance(shapely.points(np.array(dense.coords)), net)
    assert distance.min() > 12.7 - 0.010
    assert distance.max() < 12.7 + 0.010


@pytest.mark.parametrize("name", NETS)
def test_the_trim_line_is_one_closed_simple_line_round_the_net(name: str) -> None:
    trim = trim_outline(NETS[name], 12.7)
    assert trim is not None
    ring = shapely.LinearRing(trim)
    assert ring.is_simple
    assert ring.is_ccw
    assert shapely.Polygon(trim).contains(shapely.Polygon(NETS[name]))
    assert np.linalg.norm(trim[0] - trim[-1]) > 1e-6


def test_area_and_length_grow_as_for_a_convex_shape() -> None:
    """Steiner: area + length d + pi d^2, length + 2 pi d. Chords fall short: sign asserted."""
    trim = trim_outline(NETS["square"], 12.7)
    assert trim is not None
    area, length = 40000.0 + 800.0 * 12.7 + np.pi * 12.7**2, 800.0 + 2.0 * np.pi * 12.7
    shape = shapely.Polygon(trim)
    assert 0.0 <= area - shape.area < 1e-3 * np.pi * 12.7**2 + 0.002 * length
    assert 0.0 <= length - shape.length < 1e-3 * 2.0 * np.pi * 12.7


def test_moving_and_turning_the_net_moves_and_turns_the_trim_line() -> None:
    turn = np.array([[np.cos(0.7), np.sin(0.7)], [-np.sin(0.7), np.cos(0.7)]])
    before, after = trim_outline(NETS["wavy"], 12.7), trim_outline(NETS["wavy"] @ turn + 55.0, 12.7)
    assert before is not None
    assert after is not None
    moved = shapely.Polygon(before @ turn + 55.0)
    assert moved.symmetric_difference(shapely.Polygon(after)).area < 0.004 * moved.length


def test_a_net_that_crosses_itself_gets_no_trim_line() -> None:
    bow_tie = np.array([[0.0, 0], [100, 100], [100, 0], [0, 100]])
    assert trim_outline(bow_tie, 12.7) is None


def test_a_gap_bridged_by_the_trim_line_is_noticed() -> None:
    deep = NETS["notched"]
    narrow = np.array(
        [
            [0.0, 0],
            [300, 0],
            [300, 200],
            [160, 200],
            [160, 190],
            [220, 190],
            [220, 60],
            [80, 60],
            [80, 190],
            [140, 190],
            [140, 200],
            [0, 200],
        ]
    )
    for net, bridged in ((deep, False), (narrow, True)):
        trim = trim_outline(net, 12.7)
        assert trim is not None
        assert closes_over(net, trim, 12.7) == bridged


def test_without_an_allowance_the_trim_line_is_the_net() -> None:
    trim = trim_outline(NETS["square"], 0.0)
    assert trim is not None
    assert np.array_equal(trim, NETS["square"])


def test_patches_cover_exactly_the_faces_chosen() -> None:
    flat, faces = grid(12, 8, 120.0, 80.0)
    middle = flat[faces].mean(axis=1)
    ring = (np.hypot(*(middle - [60.0, 40.0]).T) < 32.0) & (
        np.hypot(*(middle - [60.0, 40.0]).T) > 12.0
    )
    corner = (middle[:, 0] < 12.0) & (middle[:, 1] < 12.0)
    found = patches(flat, faces, ring | corner)
    assert [len(region.holes) for region in found] == [1, 0]
    area = sum(shapely.Polygon(region.outline, region.holes).area for region in found)
    assert area == pytest.approx((ring | corner).sum() * 50.0, abs=1e-9)
    assert patches(flat, faces, np.zeros(len(faces), bool)) == ()
