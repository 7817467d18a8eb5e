"""The outline to cut: right widths, exact corners, tight curves, and never a crossing."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.arrays import FloatArray
from geometry.pattern.allowance import AllowanceCorner
from geometry.pattern.allowance_outline import CutOutline, cut_outline
from geometry.pattern.allowance_strips import MITRE_REACH, Fold, FoldKind, Strip

CORNERS: tuple[AllowanceCorner, ...] = ("mitred", "notched", "round")


def _wavy_net(count: int = 900) -> FloatArray:
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


def closed(net: FloatArray, width: float, corner: AllowanceCorner = "round") -> list[Strip]:
    return [Strip(np.concatenate([net, net[:1]]), width, corner)]


def sides(
    net: FloatArray,
    widths: FloatArray | list[float],
    corner: AllowanceCorner = "mitred",
    fold: Fold | None = None,
) -> list[Strip]:
    """Return a strip for every side of a net of few points."""
    ends = np.stack([net, np.roll(net, -1, axis=0)], axis=1)
    return [
        Strip(pair, float(width), corner, fold) for pair, width in zip(ends, widths, strict=True)
    ]


def outlined(net: FloatArray, strips: list[Strip]) -> CutOutline:
    found = cut_outline(net, strips)
    assert found is not None
    return found


def distances(found: CutOutline, net: FloatArray, step: float = 0.5) -> FloatArray:
    dense = shapely.segmentize(shapely.LinearRing(found.points), step)
    points = shapely.points(np.array(dense.coords))
    return np.asarray(shapely.distance(points, shapely.LinearRing(net)))


@pytest.mark.parametrize("width", [12.7, 25.4])
@pytest.mark.parametrize("name", NETS)
def test_every_point_of_the_trim_line_lies_the_allowance_from_the_net(
    name: str, width: float
) -> None:
    """Tolerance: chords lie 0.005 mm inside a round, and thinning moves points by 0.002."""
    off = distances(outlined(NETS[name], closed(NETS[name], width)), NETS[name])
    assert off.min() > width - 0.008
    assert off.max() < width + 0.003


@pytest.mark.parametrize("name", NETS)
def test_the_trim_line_is_one_closed_simple_line_round_the_net(name: str) -> None:
    trim = outlined(NETS[name], closed(NETS[name], 12.7)).points
    ring = shapely.LinearRing(trim)
    assert ring.is_simple
    assert ring.is_ccw
    assert shapely.Polygon(trim).contains(shapely.Polygon(NETS[name]))
    assert np.linalg.norm(trim[0] - trim[-1]) > 1e-6


def test_area_and_length_grow_as_for_a_convex_shape() -> None:
    """Steiner: area + length d + pi d^2, length + 2 pi d. Chords fall short: sign asserted."""
    shape = shapely.Polygon(outlined(NETS["square"], closed(NETS["square"], 12.7)).points)
    area, length = 40000.0 + 800.0 * 12.7 + np.pi * 12.7**2, 800.0 + 2.0 * np.pi * 12.7
    assert 0.0 <= area - shape.area < 1e-3 * np.pi * 12.7**2 + 0.002 * length
    assert 0.0 <= length - shape.length < 1e-3 * 2.0 * np.pi * 12.7


def test_moving_and_turning_the_net_moves_and_turns_the_trim_line() -> None:
    net = NETS["wavy"]
    turn = np.array([[np.cos(0.7), np.sin(0.7)], [-np.sin(0.7), np.cos(0.7)]])
    before, after = (
        outlined(net, closed(net, 12.7)),
        outlined(net @ turn + 55.0, closed(net @ turn + 55.0, 12.7)),
    )
    moved = shapely.Polygon(before.points @ turn + 55.0)
    assert moved.symmetric_difference(shapely.Polygon(after.points)).area < 0.004 * moved.length


def test_a_net_that_crosses_itself_gets_no_trim_line() -> None:
    bow_tie = np.array([[0.0, 0], [100, 100], [100, 0], [0, 100]])
    assert cut_outline(bow_tie, closed(bow_tie, 12.7)) is None


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
        assert outlined(net, closed(net, 12.7)).closes_over == bridged


@pytest.mark.parametrize(("gap", "closes"), [(26.0, False), (25.0, True), (10.0, True)])
def test_a_slot_narrower_than_both_its_strips_closes_over(gap: float, closes: bool) -> None:
    """Two strips of 12.7 fill a slot of 25.4; without a strip on its walls it stays open."""
    low, high = 100.0 - gap / 2.0, 100.0 + gap / 2.0
    net = np.array(
        [[0.0, 0], [200, 0], [200, 90], [high, 90], [high, 30], [low, 30], [low, 90], [0, 90]]
    )
    assert outlined(net, closed(net, 12.7)).closes_over == closes
    walls = [12.7, 12.7, 12.7, 0.0, 0.0, 0.0, 12.7, 12.7]
    assert not outlined(net, sides(net, walls)).closes_over


def test_without_an_allowance_the_trim_line_is_the_net() -> None:
    assert np.array_equal(
        outlined(NETS["square"], closed(NETS["square"], 0.0)).points, NETS["square"]
    )
    none = outlined(NETS["square"], sides(NETS["square"], [0.0] * 4))
    assert np.array_equal(none.points, NETS["square"])
    assert not none.closes_over


def bitten(radius: float, depth: float = 60.0) -> FloatArray:
    """Return a 300 x 150 oblong with a round-bottomed bite of a radius into its upper side."""
    turn = np.linspace(0.0, -np.pi, 181)
    middle = np.array([150.0, 150.0 - depth + radius])
    bite = middle + radius * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    mouth = np.array([[150.0 - radius, 150.0], [0.0, 150.0]])
    start = np.array([[0.0, 0], [300, 0], [300, 150], [150.0 + radius, 150.0]])
    return np.concatenate([start, bite, mouth])


@pytest.mark.parametrize("radius", [13.0, 16.0, 30.0])
def test_in_a_tight_inside_curve_the_line_keeps_its_distance(radius: float) -> None:
    """Inside a bite of radius R the line is a round of radius R - w, to 0.1 mm and far better."""
    net, width = bitten(radius), 12.7
    found = outlined(net, closed(net, width))
    off = distances(found, net, 0.05)
    assert off.min() > width - 0.008
    assert off.max() < width + 0.008
    assert not found.closes_over
    middle = np.array([150.0, 90.0 + radius])
    inside = found.points[found.points[:, 1] < middle[1] - 0.1]
    inside = inside[inside[:, 1] > 60.0]
    far = np.linalg.norm(inside - middle, axis=1)
    assert np.abs(far - (radius - width)).max() < 0.01


@pytest.mark.parametrize("radius", [4.0, 9.0, 12.0])
def test_an_allowance_larger_than_an_inside_radius_closes_over_and_is_told(radius: float) -> None:
    net, width = bitten(radius), 12.7
    found = outlined(net, closed(net, width))
    assert found.closes_over
    assert shapely.LinearRing(found.points).is_simple
    off = distances(found, net)
    assert off.min() > width - 0.008
    assert off.max() < width + 0.008


@pytest.mark.parametrize("corner", CORNERS)
def test_an_oblong_with_four_widths_is_exact(corner: AllowanceCorner) -> None:
    """Mitred: the oblong grown side by side. Notched: less its four corners. Round: the wider
    side's round, so less a spandrel of each corner: ab - area of the box within radius max(a, b).
    """
    net = np.array([[0.0, 0], [200, 0], [200, 100], [0, 100]])
    below, right, above, left = 10.0, 20.0, 0.0, 25.4
    found = outlined(net, sides(net, [below, right, above, left], corner))
    assert [made.made for made in found.corners] == [corner] * 4
    area = shapely.Polygon(found.points).area
    whole = (200.0 + left + right) * (100.0 + below + above)
    boxes = [(below, right), (right, above), (above, left), (left, below)]
    if corner == "mitred":
        grown = [[-left, -below], [200 + right, -below], [200 + right, 100], [-left, 100]]
        assert np.array_equal(np.round(found.points, 9), np.array(grown))
        assert area == pytest.approx(whole, abs=1e-6)
    elif corner == "notched":
        assert area == pytest.approx(whole - sum(a * b for a, b in boxes), abs=1e-6)
        assert len(found.points) == 8  # the two corners without metal above have no step
    else:
        lost = 0.0
        for a, b in boxes:
            wide, slim = max(a, b), min(a, b)
            kept = 0.5 * slim * np.sqrt(wide**2 - slim**2) + 0.5 * wide**2 * np.arcsin(slim / wide)
            lost += a * b - kept
        assert 0.0 <= whole - lost - area < 0.005 * (below + right + left) * 2.0 + 0.002 * 660


@pytest.mark.parametrize("inner_deg", [30.0, 60.0, 90.0, 120.0, 150.0])
def test_a_mitre_reaches_its_width_over_the_sine_of_half_the_corner(inner_deg: float) -> None:
    """Two lines w outside the arms of a corner g cross at w / sin(g / 2) from it."""
    half = np.deg2rad(inner_deg) / 2.0
    tip = np.array([0.0, 0.0])
    arms = 200.0 * np.array([[np.sin(half), np.cos(half)], [-np.sin(half), np.cos(half)]])
    net = np.stack([tip, *arms])
    found = outlined(net, sides(net, [12.7] * 3))
    lowest = found.points[found.points[:, 1].argmin()]
    assert lowest == pytest.approx([0.0, -12.7 / np.sin(half)], abs=1e-9)


@pytest.mark.parametrize("inner_deg", [60.0, 90.0, 120.0])
def test_a_mitre_of_two_widths_lies_on_both_lines(inner_deg: float) -> None:
    """Along the edge before, past its end: (w' - w cos t) / sin t at a turn t = 180 - g."""
    turn = np.pi - np.deg2rad(inner_deg)
    direction = np.array([np.cos(turn), np.sin(turn)])
    net = np.stack([[-200.0, 0.0], [0.0, 0.0], 200.0 * direction])
    one, other = 12.7, 20.0
    found = outlined(net, sides(net, [one, other, 0.0]))
    wanted = np.array([(other - one * np.cos(turn)) / np.sin(turn), -one])
    assert np.linalg.norm(found.points - wanted, axis=1).min() < 1e-9


def test_a_mitre_sharper_than_it_may_reach_ends_square() -> None:
    net = np.array([[0.0, 0.0], [300.0, 0.0], [0.0, 40.0]])
    found = outlined(net, sides(net, [12.7] * 3))
    reach = np.linalg.norm(found.points - net[1], axis=1)
    beyond = reach[found.points[:, 0] > 300.0]
    half = np.arctan2(40.0, 300.0) / 2.0
    along = MITRE_REACH * 12.7
    across = (12.7 - along * np.sin(half)) / np.cos(half)
    assert beyond.max() == pytest.approx(np.hypot(along, across), abs=1e-6)


def test_where_an_edge_needs_no_trim_its_neighbour_keeps_all_of_its_own() -> None:
    """A flat corner: a mitre on the bare edge's line would eat into the trim before it."""
    net = np.array([[0.0, 0], [100, 0], [195, 30], [195, 120], [0, 120]])
    found = outlined(net, sides(net, [25.4, 0.0, 0.0, 0.0, 0.0]))
    shape = shapely.Polygon(found.points)
    assert shape.area == pytest.approx(shapely.Polygon(net).area + 100.0 * 25.4, abs=1e-6)
    assert shape.covers(shapely.box(0.0, -25.4, 100.0, 0.0).buffer(-1e-6))


def test_a_sharp_corner_within_a_mitred_edge_is_mitred_too() -> None:
    net = NETS["square"]
    found = outlined(net, closed(net, 12.7, "mitred"))
    assert np.array_equal(np.round(found.points, 9), net + 12.7 * np.sign(net - 100.0))


def test_one_width_in_many_edges_is_one_width_in_one() -> None:
    net = NETS["wavy"]
    ring = np.concatenate([net, net[:1]])
    parts = [Strip(ring[at : at + 226], 12.7, "round") for at in (0, 225, 450, 675)]
    one, many = outlined(net, closed(net, 12.7)), outlined(net, parts)
    between = shapely.Polygon(one.points) ^ shapely.Polygon(many.points)
    assert between.area < 0.004 * shapely.LinearRing(one.points).length
    assert distances(many, net).max() < 12.703


def test_widths_change_with_a_step_square_to_the_edge() -> None:
    net = np.array([[0.0, 0], [80, 0], [200, 0], [200, 100], [0, 100]])
    found = outlined(net, sides(net, [10.0, 25.0, 0.0, 0.0, 0.0]))
    below = found.points[found.points[:, 1] < -1.0]
    wanted = [[0.0, -10.0], [80.0, -10.0], [80.0, -25.0], [200.0, -25.0]]
    assert sorted(np.round(below, 9).tolist()) == sorted(wanted)


@pytest.mark.parametrize("corner", CORNERS[::2])
def test_no_hair_stays_between_strips_of_unlike_widths(corner: AllowanceCorner) -> None:
    """The last bits of places differ from pose to pose; the least width holds in every one."""
    for step in range(90):
        turn = 0.071 * step
        bend = np.deg2rad(0.4 + step % 30)
        net = np.array([[0.0, 0], [80, 0], [80 + 90 * np.cos(bend), 90 * np.sin(bend)], [40, 150]])
        net = net @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]]) / 1.3
        found = outlined(net, sides(net, [12.7, 13.1, 25.4, 14.3], corner))
        assert distances(found, net, 2.0).min() > 12.7 - 0.008


@pytest.mark.parametrize("shift", range(0, 180, 20))
def test_a_jagged_edge_leaves_no_hair_either(shift: int) -> None:
    """Kinks of a third of a millimetre, as a scan's own edge has them; folds, laps and trims."""
    at = np.arange(900.0)
    kinks = 1.0 + 0.002 * np.sin(2.3 * at) * np.sin(0.7 * at + shift)
    net = NETS["wavy"] * kinks[:, None]
    ring = np.concatenate([net, net[:1]])
    ring = np.concatenate([np.roll(ring[:-1], -shift, axis=0), ring[shift : shift + 1]])
    hem, flange = Fold("hem", np.pi, 1.12, 3.175, 1.6), Fold("flange", 2.0, 1.8, 3.175, 1.6)
    kinds: list[tuple[float, AllowanceCorner, Fold | None]] = [
        (12.7, "round", None),
        (9.0, "round", hem),
        (20.0, "mitred", flange),
        (15.0, "notched", None),
        (13.1, "mitred", None),
    ]
    strips = [
        Strip(ring[180 * part : 180 * part + 181], width, corner, how)
        for part, (width, corner, how) in enumerate(kinds)
    ]
    found = outlined(net, strips)
    outline = shapely.LinearRing(found.points)
    assert outline.is_simple
    no_hairs = shapely.Polygon(found.points).buffer(0.001).buffer(-0.001)
    outer = shapely.get_exterior_ring(shapely.get_parts(no_hairs))
    assert outline.length - shapely.length(outer).sum() < 1.0
    middle = shapely.LineString(strips[0].points[60:121])
    off = shapely.distance(outline, shapely.points(middle.coords))
    assert off.min() > 12.7 - 0.008


@st.composite
def stars(draw: st.DrawFn) -> tuple[FloatArray, list[Strip]]:
    """Return a net of 5 to 24 corners, some of them deep, and a strip on every few sides."""
    count = draw(st.integers(5, 24))
    far = np.array(draw(st.lists(st.floats(15.0, 200.0), min_size=count, max_size=count)))
    turn = 2.0 * np.pi * np.arange(count) / count
    net = far[:, None] * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    ring = np.concatenate([net, net[:1]])
    strips, at = [], 0
    while at < count:
        end = min(count, at + draw(st.integers(1, 4)))
        width = draw(st.one_of(st.just(0.0), st.floats(0.5, 40.0)))
        corner = draw(st.sampled_from(CORNERS))
        fold = None
        if width > 6.0:
            angle = draw(st.sampled_from([None, np.pi / 2.0, -np.pi / 2.0, 2.4, np.pi, 0.0]))
            kind: FoldKind = "hem" if angle == np.pi else "flange" if angle else "joggle"
            fold = None if angle is None else Fold(kind, angle, 1.8, 3.175, 1.6)
        strips.append(Strip(ring[at : end + 1], width, corner, fold))
        at = end
    return net, strips


@given(stars())
@settings(max_examples=60, deadline=None, derandomize=True)
def test_whatever_is_asked_the_line_never_crosses_itself_and_holds_the_net(
    asked: tuple[FloatArray, list[Strip]],
) -> None:
    """But for where folds cross: there notch and relief hole take a little from the net.

    Tolerance: thinning moves a line by 0.002 mm.
    """
    net, strips = asked
    found = outlined(net, strips)
    ring = shapely.LinearRing(found.points)
    assert ring.is_simple
    assert ring.is_ccw
    assert np.isfinite(found.points).all()
    corner_of = {corner.before: corner.place for corner in found.corners}
    back = [np.linalg.norm(relief.place - corner_of[relief.before]) for relief in found.reliefs]
    taken = shapely.buffer([shapely.Point(relief.place) for relief in found.reliefs], back)
    inside = shapely.Polygon(net).difference(shapely.union_all(taken).buffer(5.0)).buffer(-0.005)
    shape = shapely.Polygon(found.points).buffer(0.005)
    assert shape.covers(inside)
    widest = max(strip.width_mm for strip in strips)
    no_hairs = shapely.Polygon(found.points).buffer(0.001).buffer(-0.001)
    outer = shapely.get_exterior_ring(shapely.get_parts(no_hairs))
    assert ring.length - shapely.length(outer).sum() < 2.0
    needles = {at for c in found.corners if c.turn_rad > 2.6 for at in (c.before, c.after)}
    for index, strip in enumerate(strips):
        if index in needles or (strip.fold is not None and abs(strip.fold.angle_rad) > 2.0):
            continue  # it may be set back past its middle
        ends = np.stack([strip.points[:-1], strip.points[1:]], axis=1)
        long = ends[np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1) > 60.0]
        step = long[:, 1] - long[:, 0]
        out = np.stack([step[:, 1], -step[:, 0]], axis=1) / np.linalg.norm(step, axis=1)[:, None]
        beside = long.mean(axis=1) + min(0.3, strip.width_mm - 0.01) * out
        assert strip.width_mm <= 0.0 or shapely.covers(shape, shapely.points(beside)).all()
    # A mitre cut square is at most a width to either side of its middle.
    assert distances(found, net, 2.0).max() <= widest * np.hypot(MITRE_REACH, 1.0) + 1e-6


@given(stars())
@settings(max_examples=40, deadline=None, derandomize=True)
def test_with_one_width_and_round_corners_the_line_lies_the_width_off_everywhere(
    asked: tuple[FloatArray, list[Strip]],
) -> None:
    net, strips = asked
    found = outlined(net, [Strip(strip.points, 12.7, "round") for strip in strips])
    off = distances(found, net)
    assert off.min() > 12.7 - 0.008
    assert off.max() < 12.7 + 0.003
