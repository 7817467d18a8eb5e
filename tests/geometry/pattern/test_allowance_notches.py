"""Notches, slits and relief holes: folded edges meet at corners without colliding."""

from itertools import pairwise

import numpy as np
import pytest
import shapely

from geometry.arrays import FloatArray
from geometry.metal import BEHIND_TANGENT_MM, bend_zone_mm
from geometry.pattern.allowance import EdgeAllowance
from geometry.pattern.allowance_folds import BendStock, fold_of
from geometry.pattern.allowance_notches import set_back_mm
from geometry.pattern.allowance_outline import CutOutline, cut_outline
from geometry.pattern.allowance_strips import Fold, FoldKind, Strip

STOCK = BendStock(1.6, 1.6)


def fold(kind: FoldKind, angle_deg: float = 90.0) -> Fold:
    found = fold_of(EdgeAllowance(kind, 10.0, angle_deg), STOCK)
    assert found is not None
    return found


def rhombus(inner_deg: float, side: float = 150.0) -> FloatArray:
    """Return a rhombus whose first corner has an angle; its second has the rest of 180."""
    angle = np.deg2rad(inner_deg)
    up = side * np.array([np.cos(angle), np.sin(angle)])
    return np.stack([np.zeros(2), [side, 0.0], up + [side, 0.0], up])


def folded_all_round(net: FloatArray, width: float, how: Fold | list[Fold | None]) -> CutOutline:
    folds = how if isinstance(how, list) else [how] * len(net)
    ends = np.stack([net, np.roll(net, -1, axis=0)], axis=1)
    strips = [Strip(pair, width, "mitred", each) for pair, each in zip(ends, folds, strict=True)]
    found = cut_outline(net, strips)
    assert found is not None
    return found


def run_at(shape: shapely.Polygon, start: FloatArray, end: FloatArray, height: float) -> FloatArray:
    """Return the (2,) places along a side between which there is metal so far outside it."""
    along = (end - start) / np.linalg.norm(end - start)
    out = np.array([along[1], -along[0]])
    far = 60.0 * along
    line = shapely.LineString([start - far + height * out, end + far + height * out])
    middle = shapely.Point((start + end) / 2.0 + height * out)
    parts = shapely.get_parts(shape.intersection(line))
    own = min(parts, key=lambda part: float(part.distance(middle)))
    places = (shapely.get_coordinates(own) - start) @ along
    return np.array([places.min(), places.max()])


def standing_runs(
    found: CutOutline, net: FloatArray, angle_rad: float, width: float, level: float
) -> list[FloatArray]:
    """Return where each side's folded strip stands at a height over the panel, seen from above."""
    shape = shapely.Polygon(found.points)
    from_net = width * level
    runs = []
    for start, end in pairwise([*net, net[0]]):
        along = (end - start) / np.linalg.norm(end - start)
        out = np.array([along[1], -along[0]])
        kept = run_at(shape, start, end, from_net)
        at = start + kept[:, None] * along + from_net * np.cos(angle_rad) * out
        runs.append(at)
    return runs


@pytest.mark.parametrize("inner_deg", [60.0, 90.0, 120.0])
@pytest.mark.parametrize("angle_deg", [60.0, 90.0, 120.0, 150.0])
def test_flanges_stand_side_by_side_without_crossing(inner_deg: float, angle_deg: float) -> None:
    """Folded sharp by a, metal h outside the net stands h cos a outside it and h sin a high."""
    net, width = rhombus(inner_deg), 20.0
    found = folded_all_round(net, width, fold("flange", angle_deg))
    assert [corner.made for corner in found.corners] == ["notched"] * 4
    for level in (0.3, 0.6, 0.99):
        runs = standing_runs(found, net, np.deg2rad(angle_deg), width, level)
        lines = [shapely.LineString(run) for run in runs]
        for at, line in enumerate(lines):
            assert not line.intersects(lines[(at + 1) % 4])


@pytest.mark.parametrize("inner_deg", [60.0, 90.0, 120.0])
def test_hems_folded_back_lie_beside_each_other(inner_deg: float) -> None:
    """Folded back they are the strips mirrored in their fold lines: none lies on another."""
    net, width = rhombus(inner_deg), 15.0
    found = folded_all_round(net, width, fold("hem"))
    shape, mirrored = shapely.Polygon(found.points).difference(shapely.Polygon(net)), []
    for start, end in pairwise([*net, net[0]]):
        along = (end - start) / np.linalg.norm(end - start)
        out = np.array([along[1], -along[0]])
        strip = shape & shapely.Polygon(
            [start - 50 * along, end + 50 * along, end + 50 * along + 16 * out, start + 16 * out]
        )
        own = [part for part in shapely.get_parts(strip) if part.area > 100.0]
        assert len(own) == 1
        points = shapely.get_coordinates(own[0])
        mirrored.append(shapely.Polygon(points - 2.0 * ((points - start) @ out)[:, None] * out))
    for at, one in enumerate(mirrored):
        for other in mirrored[at + 1 :]:
            assert one.intersection(other).area < 1e-6


@pytest.mark.parametrize("inner_deg", [60.0, 90.0, 120.0])
def test_a_hem_ends_on_the_line_that_halves_its_corner(inner_deg: float) -> None:
    """So much as w / tan(g / 2) back over the width, from where the bends' tangents cross."""
    net, width, how = rhombus(inner_deg), 15.0, fold("hem")
    found = folded_all_round(net, width, how)
    half = np.deg2rad(inner_deg) / 2.0
    back = how.half_zone_mm / np.tan(half) + width / np.tan(half)
    run = run_at(shapely.Polygon(found.points), net[0], net[1], width - 1e-6)
    assert run[0] == pytest.approx(back, abs=0.003)
    other = np.pi / 2.0 - half
    back = how.half_zone_mm / np.tan(other) + width / np.tan(other)
    assert 150.0 - run[1] == pytest.approx(back, abs=0.003)


def test_folds_of_unlike_angles_are_set_back_by_where_they_would_cross() -> None:
    """A flange of 120 degrees beside one of 90, right angle: w sin 30 inside, so none along;
    the other ends nothing back; beside a hem the 90 degree one stands on its own line.
    """
    leaning, square, hem = fold("flange", 120.0), fold("flange", 90.0), fold("hem")
    right = np.pi / 2.0
    assert set_back_mm(right, 20.0, leaning, square) == pytest.approx(0.0, abs=1e-9)
    assert set_back_mm(right, 20.0, square, leaning) == 0.0
    assert set_back_mm(right, 20.0, leaning, leaning) == pytest.approx(10.0)
    assert set_back_mm(right, 20.0, hem, square) == pytest.approx(0.0, abs=1e-9)
    sharp = np.deg2rad(120.0)  # a corner of 60 degrees
    assert set_back_mm(sharp, 20.0, hem, square) == pytest.approx(20.0 / np.tan(np.pi / 3.0))
    assert set_back_mm(sharp, 20.0, hem, hem) == pytest.approx(20.0 / np.tan(np.pi / 6.0))
    up, down = fold("flange", 120.0), fold("flange", -120.0)
    assert set_back_mm(right, 20.0, up, down) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("inner_deg", [60.0, 90.0, 120.0])
def test_a_relief_hole_reaches_a_sixteenth_behind_the_tangent_lines(inner_deg: float) -> None:
    """At least 1/8 in across in sheet up to .064, its far side 1/16 in behind both inside tangent
    lines, which lie half a bend's zone within the net; the cut line runs round it.
    """
    net, how = rhombus(inner_deg), fold("flange", 90.0)
    found = folded_all_round(net, 20.0, how)
    zone = bend_zone_mm(np.pi / 2.0, 1.6, 1.6) / 2.0
    ring = shapely.LinearRing(found.points)
    assert len(found.reliefs) == 4
    for relief in found.reliefs:
        assert relief.diameter_mm == 3.175
        assert relief.on_outline
        corner = net[relief.after]
        for start, end in ((net[relief.before], corner), (corner, net[(relief.after + 1) % 4])):
            along = (end - start) / np.linalg.norm(end - start)
            within = (relief.place - start) @ np.array([-along[1], along[0]])
            assert within + relief.diameter_mm / 2.0 == pytest.approx(zone + BEHIND_TANGENT_MM)
        assert ring.distance(shapely.Point(relief.place)) == pytest.approx(3.175 / 2, abs=0.008)
        assert not shapely.Polygon(found.points).contains(shapely.Point(corner))


def test_a_notch_is_open_between_the_tangent_lines() -> None:
    """Square flanges of an oblong end where the other bend begins: half a zone from the corner."""
    net = np.array([[0.0, 0], [150, 0], [150, 80], [0, 80]])
    how = fold("flange", 90.0)
    found = folded_all_round(net, 20.0, how)
    run = run_at(shapely.Polygon(found.points), net[0], net[1], 10.0)
    assert run == pytest.approx([how.half_zone_mm, 150.0 - how.half_zone_mm], abs=1e-9)


def test_a_folded_edge_beside_a_trimmed_one_ends_square_without_a_hole() -> None:
    net = np.array([[0.0, 0], [150, 0], [150, 80], [0, 80]])
    found = folded_all_round(net, 20.0, [fold("flange"), None, None, None])
    assert [corner.made for corner in found.corners] == ["notched", "mitred", "mitred", "notched"]
    assert found.reliefs == ()
    run = run_at(shapely.Polygon(found.points), net[0], net[1], 10.0)
    assert run == pytest.approx([0.0, 150.0], abs=1e-9)


def test_a_fold_that_goes_on_along_the_next_edge_is_not_parted() -> None:
    net = np.array([[0.0, 0], [70, 0], [150, 5], [150, 80], [0, 80]])
    hem = fold("hem")
    found = folded_all_round(net, 12.0, [hem, hem, None, None, None])
    assert found.corners[0].made == "round"
    assert not any(relief.before == 0 for relief in found.reliefs)
    ends = np.stack([net, np.roll(net, -1, axis=0)], axis=1)
    widths, folds = [12.0, 12.6, 0.0, 0.0, 0.0], [hem, hem, None, None, None]
    grown = cut_outline(
        net, [Strip(e, w, "round", f) for e, w, f in zip(ends, widths, folds, strict=True)]
    )
    assert grown is not None
    assert grown.corners[0].made == "round"
    unlike = folded_all_round(net, 12.0, [hem, fold("flange"), None, None, None])
    assert unlike.corners[0].made == "slit"
    assert [relief.before for relief in unlike.reliefs] == [0]


def test_a_hairs_kink_where_two_edges_meet_parts_no_fold() -> None:
    """Half a millimetre at 20 degrees to a straight run: by its last piece it would be a corner."""
    kink = 0.5 * np.array([np.cos(np.deg2rad(20.0)), -np.sin(np.deg2rad(20.0))])
    meet = np.array([70.0, 0.0]) + kink
    net = np.array([[0.0, 0], [70, 0], meet, [150, 0], [150, 80], [0, 80]])
    hem = fold("hem")
    runs = [net[:3], net[2:4], net[3:5], net[4:], np.stack([net[-1], net[0]])]
    folds = [hem, hem, None, None, None]
    strips = [Strip(run, 12.0, "round", how) for run, how in zip(runs, folds, strict=True)]
    found = cut_outline(net, strips)
    assert found is not None
    assert found.corners[0].made == "round"
    assert abs(found.corners[0].turn_rad) < np.deg2rad(10.0)
    assert not any(relief.before == 0 for relief in found.reliefs)


@pytest.mark.parametrize("outer_deg", [60.0, 90.0, 130.0])
def test_at_an_inward_corner_a_slit_a_sheet_wide_parts_the_folds(outer_deg: float) -> None:
    """Halfway between them, from the relief hole to the outer side."""
    lean = np.deg2rad(outer_deg) / 2.0
    arm = 90.0 * np.array([np.sin(lean), np.cos(lean)])
    net = np.array([[-120.0, -80], [120, -80], [120, arm[1]], arm, [0, 0], arm * [-1, 1]])
    net = np.concatenate([net, [[-120.0, arm[1]]]])
    flange = fold("flange", 90.0)
    found = folded_all_round(net, 12.0, [None, None, None, flange, flange, None, None])
    corner = found.corners[3]
    assert corner.made == "slit"
    assert corner.place == pytest.approx([0.0, 0.0])
    shape = shapely.Polygon(found.points)
    top = 12.0 / np.sin(lean)  # where the outer sides of both strips cross
    for height in (1.0, 0.5 * top, 0.95 * top):
        level = shapely.LineString([[-4.0, height], [4.0, height]])
        gap = level.difference(shape)
        wedge = 2.0 * height * np.tan(lean)  # near its foot it is narrower than the slit
        assert gap.length == pytest.approx(min(STOCK.sheet_mm, wedge), abs=1e-6)
        assert gap.centroid.x == pytest.approx(0.0, abs=1e-9)
    (relief,) = found.reliefs
    assert relief.on_outline
    assert relief.place[0] == pytest.approx(0.0, abs=1e-9)
    assert relief.place[1] < 0.0
    strips = shape.difference(shapely.Polygon(net))
    assert strips.intersection(shapely.box(-0.79, 0.0, 0.79, 30.0)).area < 1e-6  # its grid


def test_a_short_edge_between_two_hems_comes_to_a_point() -> None:
    """A hem wider than its corner lines leave room for is a triangle, no crossing."""
    net = np.array([[0.0, 0], [16, 0], [16, 90], [0, 90]])
    found = folded_all_round(net, 12.0, fold("hem"))
    assert shapely.LinearRing(found.points).is_simple
    below = found.points[found.points[:, 1] < -1.0]
    zone = fold("hem").half_zone_mm
    assert below[:, 1].min() == pytest.approx(-(8.0 - zone), abs=0.01)
