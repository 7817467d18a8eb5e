"""Filler, recess and bosses on skins whose answers are known."""

import numpy as np
import pytest

from geometry.mesh import TriMesh
from geometry.tank import (
    BossSpec,
    EdgeTooTightError,
    FillerOnSeamError,
    FillerSpec,
    NoThreadError,
    SeatOffTankError,
    TooShallowError,
    boss_set,
    filler_set,
    patch_blank_mm,
    recess_blank,
    seat_on,
)
from tests.geometry.tank.bodies_to_fill import box, ellipsoid

BALL = ellipsoid(300.0, 300.0, 300.0, 90)


def test_a_filler_on_the_centre_plane_sits_on_it() -> None:
    """Hole and ring lie alike to both sides: their middle is on the plane; 0.1 mm is asked."""
    found = filler_set(ellipsoid(260.0, 130.0, 110.0, 80), FillerSpec(40.0), metal_mm=1.6)
    assert found.seat.centre[1] == 0.0
    assert found.seat.axis[1] == 0.0
    for line in found.lines:
        assert line.points[:, 1].mean() == pytest.approx(0.0, abs=1e-3)
        assert np.ptp(line.points[:, 1]) == pytest.approx(line.across_mm, abs=0.01)


@pytest.mark.parametrize("place", [(0.0, 0.0), (80.0, 60.0), (-120.0, 40.0)])
def test_on_a_ball_the_axis_runs_through_the_middle(place: tuple[float, float]) -> None:
    seat = seat_on(BALL, "filler", *place, 70.0)
    out = seat.centre / np.linalg.norm(seat.centre)
    assert np.linalg.norm(np.cross(seat.axis, out)) < np.radians(0.1)  # facets of 2 degrees
    rim = seat.circle(70.0)
    assert np.linalg.norm(rim, axis=1) == pytest.approx(np.full(len(rim), 300.0), abs=0.2)


def test_a_cap_on_a_ball_stands_up_by_its_height_and_the_fall_of_the_skin() -> None:
    """Seat at the ring, cap narrower than it: height less the sagitta between the two circles."""
    spec = FillerSpec(0.0, ring_mm=80.0, cap_mm=60.0, cap_height_mm=20.0)
    found = filler_set(BALL, spec, metal_mm=1.6)

    def sagitta(across: float) -> float:
        return 300.0 - float(np.sqrt(300.0**2 - (across / 2.0) ** 2))

    expected = 20.0 - (sagitta(80.0) - sagitta(60.0))
    assert found.rear_stands_mm == pytest.approx(expected, abs=0.15)
    assert found.most_stands_mm == pytest.approx(expected, abs=0.15)


def test_a_recess_takes_its_depth_off_what_the_cap_stands_up_by() -> None:
    flat = box(400.0, 250.0, 200.0)
    spec = FillerSpec(200.0, seat="recessed", depth_mm=12.0, cap_height_mm=22.0)
    found = filler_set(flat, spec, metal_mm=1.6)
    assert found.rear_stands_mm == pytest.approx(10.0, abs=1e-9)
    assert found.off_flat_mm == pytest.approx(0.0, abs=1e-9)
    assert [line.what for line in found.lines] == ["hole", "flange"]
    assert found.lines[0].across_mm == 98.0  # the mouth and its beaten edge


def test_the_rear_edge_is_the_rear_edge() -> None:
    """On a skin that falls to the rear, the cap's rear edge stands up more than its front one."""
    skin = ellipsoid(260.0, 130.0, 110.0, 80)
    level = filler_set(skin, FillerSpec(0.0), metal_mm=1.6)
    behind = filler_set(skin, FillerSpec(0.0, ring_mm=60.0, cap_mm=90.0), metal_mm=1.6)
    assert behind.rear_stands_mm > level.rear_stands_mm  # the cap reaches out over the fall
    assert behind.most_stands_mm >= behind.rear_stands_mm  # it falls faster to the sides


def test_a_filler_over_a_seam_or_off_the_tank_is_refused() -> None:
    flat = box(400.0, 250.0, 200.0)
    seam = np.array([[0.0, 30.0, 200.0], [400.0, 30.0, 200.0]])
    with pytest.raises(FillerOnSeamError) as caught:
        filler_set(flat, FillerSpec(200.0), metal_mm=1.6, seams=[("top seam", seam)])
    assert caught.value.seam == "top seam"
    assert caught.value.distance_mm == pytest.approx(30.0)
    assert caught.value.needed_mm == pytest.approx(38.0)
    below = seam - [0.0, 0.0, 200.0]
    filler_set(flat, FillerSpec(200.0), metal_mm=1.6, seams=[("bottom seam", below)])
    for x, y in ((390.0, 0.0), (900.0, 0.0)):
        with pytest.raises(SeatOffTankError):
            filler_set(flat, FillerSpec(x, y), metal_mm=1.6)


@pytest.mark.parametrize(
    ("mouth", "flange_across", "depth", "blank"),
    [(50.0, 70.0, 30.0, 104.4031), (25.0, 25.0, 15.0, 46.0977), (50.0, 50.0, 50.0, 111.8034)],
)
def test_sharp_cups_have_the_handbook_blanks(
    mouth: float, flange_across: float, depth: float, blank: float
) -> None:
    """sqrt(d2^2 + 4 d1 h): [machinery], "Diameters of Shell Blanks"; 46 mm is published too."""
    found = recess_blank(mouth, depth, flange_mm=(flange_across - mouth) / 2.0)
    assert found.blank_mm == pytest.approx(blank, abs=5e-5)


def test_radii_make_a_recess_blank_smaller_and_keep_the_circles_in_order() -> None:
    sharp = recess_blank(90.0, 12.0, flange_mm=14.0, metal_mm=1.6)
    round_one = recess_blank(
        90.0, 12.0, flange_mm=10.0, floor_corner_mm=3.0, edge_radius_mm=4.0, metal_mm=1.6
    )
    assert round_one.blank_mm < sharp.blank_mm + 2 * 0.8
    circles = [
        round_one.floor_mm,
        round_one.wall_mm,
        round_one.edge_mm,
        round_one.lip_mm,
        round_one.blank_mm,
    ]
    assert circles == sorted(circles)


def area_across(profile: np.ndarray) -> float:
    """Return across a disc of the area of a profile (k, 2), radius and height, turned round."""
    steps = np.linalg.norm(np.diff(profile, axis=0), axis=1)
    area = 2.0 * np.pi * float((steps * (profile[1:, 0] + profile[:-1, 0]) / 2.0).sum())
    return float(2.0 * np.sqrt(area / np.pi))


def test_a_recess_s_blank_is_the_area_of_what_is_seen_moved_in_by_half_the_metal() -> None:
    """The upper side drawn point by point: floor, corner, wall, edge, and the flange from the
    hole cut in the skin to its outermost line; then its middle by normals, and the area of that.
    """
    spec, metal = FillerSpec(200.0, seat="recessed"), 1.6
    turn = np.linspace(0.0, np.pi / 2.0, 2001)[:, None]
    corner, edge = spec.floor_corner_mm, spec.edge_radius_mm
    deep, mouth = spec.depth_mm - metal, spec.recess_mm / 2.0  # the flange lies under the skin
    low = [mouth - corner, corner - deep] + corner * np.hstack([np.sin(turn), -np.cos(turn)])
    high = [mouth + edge, -edge] + edge * np.hstack([-np.cos(turn), np.sin(turn)])
    down = metal / 2.0
    low_in = low + down * np.hstack([np.sin(turn), -np.cos(turn)])
    high_in = high - down * np.hstack([-np.cos(turn), np.sin(turn)])
    flange = np.array([[spec.cut_mm / 2.0, -down], [spec.reach_mm / 2.0, -down]])
    profile = np.concatenate([[[0.0, -deep - down]], low_in, high_in, flange])
    found = recess_blank(
        spec.recess_mm,
        spec.depth_mm,
        flange_mm=spec.flange_mm,
        floor_corner_mm=corner,
        edge_radius_mm=edge,
        metal_mm=metal,
        under_mm=metal,
    )
    assert found.blank_mm == pytest.approx(area_across(profile), abs=1e-4)
    assert found.lip_mm == pytest.approx(area_across(profile[:-1]), abs=1e-4)
    skin = box(400.0, 250.0, 200.0)
    assert filler_set(skin, spec, metal_mm=metal).recess == found


def test_an_edge_tighter_on_top_than_the_metal_is_thick_is_refused() -> None:
    with pytest.raises(EdgeTooTightError):
        recess_blank(90.0, 12.0, flange_mm=10.0, edge_radius_mm=1.2, metal_mm=1.6)
    recess_blank(90.0, 12.0, flange_mm=10.0, edge_radius_mm=1.6, metal_mm=1.6)


def test_a_recess_shallower_than_its_bends_is_refused() -> None:
    with pytest.raises(TooShallowError) as deep:
        recess_blank(90.0, 6.0, flange_mm=10.0, floor_corner_mm=3.0, edge_radius_mm=4.0)
    assert (deep.value.what, deep.value.needed_mm) == ("deep", 7.0)
    with pytest.raises(TooShallowError) as wide:
        recess_blank(10.0, 30.0, flange_mm=10.0, floor_corner_mm=8.0)
    assert wide.value.what == "wide"


def test_a_patch_over_a_crowned_hole_is_a_spherical_segment() -> None:
    assert patch_blank_mm(60.0, 0.0) == 60.0
    assert patch_blank_mm(100.0, 20.0) == pytest.approx(107.7033, abs=5e-5)


def test_a_boss_on_a_flat_bottom_stands_square_and_its_hole_is_round() -> None:
    found = boss_set(box(400.0, 250.0, 200.0), BossSpec("tap", "G 1/4", 300.0, 70.0))
    assert found.axis.tolist() == [0.0, 0.0, -1.0]
    assert found.tilt_rad == 0.0
    assert found.outside_mm == pytest.approx(13.157 + 8.0)
    assert found.hole_mm == pytest.approx(found.outside_mm - 4.0)
    across = np.linalg.norm(found.outline[:, :2] - [300.0, 70.0], axis=1) * 2.0
    assert across == pytest.approx(np.full(len(across), found.hole_mm))
    assert found.outline[:, 2] == pytest.approx(np.zeros(len(across)), abs=1e-12)


def test_a_boss_on_a_slope_says_its_tilt() -> None:
    """On a ball at x, the axis leans by asin(x / r)."""
    found = boss_set(BALL, BossSpec("vent", "M10x1", 100.0, 0.0, below=False))
    assert found.tilt_rad == pytest.approx(np.arcsin(100.0 / 300.0), abs=0.02)  # facets


def test_a_boss_with_an_unknown_thread_or_off_the_tank_is_refused() -> None:
    whole = box(400.0, 250.0, 200.0)
    with pytest.raises(NoThreadError):
        boss_set(whole, BossSpec("tap", "G 9/16", 300.0, 70.0))
    with pytest.raises(SeatOffTankError) as caught:
        boss_set(whole, BossSpec("tap", "G 1/4", 398.0, 70.0))
    assert caught.value.name == "tap"


def test_a_seat_on_an_open_skin_stops_at_its_edge() -> None:
    x, y = np.meshgrid(np.linspace(0, 100, 6), np.linspace(-50, 50, 6), indexing="ij")
    corner = np.arange(25).reshape(5, 5)
    a = (np.arange(5)[:, None] * 6 + np.arange(5)).ravel()
    faces = np.concatenate([np.stack([a, a + 6, a + 7], 1), np.stack([a, a + 7, a + 1], 1)])
    skin = TriMesh(np.stack([x.ravel(), y.ravel(), np.zeros(36)], 1), faces)
    assert corner.size == 25
    seat_on(skin, "filler", 50.0, 0.0, 60.0)
    with pytest.raises(SeatOffTankError):
        seat_on(skin, "filler", 80.0, 0.0, 60.0)
