"""What is claimed to be known about the sample tank, measured on its formula."""

import numpy as np
import pytest

from sample_data import truth
from sample_data.generate import shape
from sample_data.generate.sampling import base_surface
from sample_data.generate.seams import on_seat

FloatArray = shape.FloatArray
MIRROR = np.array([1.0, -1.0, 1.0])


@pytest.fixture(scope="module")
def skin_places() -> FloatArray:
    vertices, _ = base_surface(10)
    places = shape.on_skin(vertices)
    return np.asarray(places[shape.kept(places)])


def test_distance_is_a_distance_near_the_skin(skin_places: FloatArray) -> None:
    """Stepping s along the normal changes the distance by s; curvature 1/R costs s/2R of it."""
    sheet = shape.skin(skin_places)
    np.testing.assert_allclose(sheet.distance, 0.0, atol=1e-6)
    np.testing.assert_allclose(np.linalg.norm(sheet.normal, axis=1), 1.0, atol=1e-9)
    for step in (-0.2, 0.2):
        moved = truth.distance_to_tank(skin_places + step * sheet.normal)
        np.testing.assert_allclose(moved, step, atol=0.02)


def test_tank_is_mirror_true_but_for_the_dent(skin_places: FloatArray) -> None:
    """F(x, y, z) = F(x, -y, z) everywhere outside the dent's ball."""
    mirrored = skin_places * MIRROR
    far = np.ones(len(skin_places), dtype=bool)
    for places in (skin_places, mirrored):
        far &= np.linalg.norm(places - truth.DENT_CENTRE, axis=1) > truth.DENT_RADIUS
    assert far.sum() > 0.95 * len(far)
    np.testing.assert_allclose(truth.distance_to_tank(mirrored[far]), 0.0, atol=1e-6)


def test_dent_is_two_deep_and_sixty_across_on_the_right() -> None:
    """Depth d(1 - (s/R)^2)^3: 2 mm in the middle, nothing from 30 mm on."""
    centre = truth.DENT_CENTRE
    assert centre[1] < -100
    assert truth.distance_to_tank(centre[None])[0] == pytest.approx(2.0, abs=1e-9)
    assert truth.distance_to_tank(centre[None] * MIRROR)[0] == pytest.approx(0.0, abs=1e-9)
    angle = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    ring = centre + 30.0 * np.stack([np.cos(angle), 0 * angle, np.sin(angle)], axis=1)
    np.testing.assert_allclose(shape.dent_depth(ring), 0.0, atol=1e-12)
    assert np.all(shape.dent_depth(centre + 0.9 * (ring - centre)) > 0.0)


def test_seat_face_is_flat_and_its_edge_crisp() -> None:
    """Up to 3 mm from its edge the skin is the plane itself; then comes an arc of radius r.

    An edge turned by t and rounded by r stays r (1 / cos(t / 2) - 1) below its corner.
    """
    across, up = np.meshgrid(np.linspace(-38, 38, 9), np.linspace(20, 95, 9))
    face = on_seat(across.ravel(), up.ravel())
    np.testing.assert_allclose(truth.distance_to_tank(face), 0.0, atol=1e-12)
    normals = shape.skin(face).normal
    np.testing.assert_allclose(normals, np.tile(truth.SEAT_NORMAL, (81, 1)), atol=1e-12)
    edge = truth.seat_edge()
    outward = np.cross(np.gradient(edge, axis=0), truth.SEAT_NORMAL)
    outward /= np.linalg.norm(outward, axis=1)[:, None]
    outward *= np.sign(np.einsum("ij,ij->i", outward, edge - on_seat(np.zeros(1), np.full(1, 60))))[
        :, None
    ]
    np.testing.assert_allclose(truth.distance_to_tank(edge - 3.0 * outward), 0.0, atol=1e-6)
    lean = shape.top_and_wall(edge).normal @ truth.SEAT_NORMAL
    rounding = shape.SEAT_EDGE_RADIUS * (1 / np.cos(np.arccos(lean) / 2) - 1)
    np.testing.assert_allclose(truth.distance_to_tank(edge), rounding, rtol=1e-3)


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_side_line_has_a_tip_radius_of_one_millimetre(side: float) -> None:
    """A circle through three places of the arc, square to the line, has radius 1.

    Places 0.2 mm apart on an arc of 1 mm; sag 0.02 mm, distances good to 1e-9: the circle is good
    to far better than the 3 % allowed, which is for top and wall curving beside it.
    """
    line = truth.side_line(side, 60)
    inner = slice(2, -2)
    along = np.gradient(line, axis=0)[inner]
    along /= np.linalg.norm(along, axis=1)[:, None]
    tip = line[inner]
    outward = shape.skin(tip).normal
    outward -= np.einsum("ij,ij->i", outward, along)[:, None] * along
    outward /= np.linalg.norm(outward, axis=1)[:, None]
    beside = np.cross(along, outward)
    corners = []
    for step in (-0.2, 0.0, 0.2):
        place = tip + step * beside
        for _ in range(12):
            sheet = shape.skin(place)
            fall = np.einsum("ij,ij->i", sheet.normal, outward)
            place = place - (sheet.distance / fall)[:, None] * outward
        corners.append(place)
    sides = [np.linalg.norm(corners[i] - corners[j], axis=1) for i, j in ((0, 1), (1, 2), (2, 0))]
    area2 = np.linalg.norm(np.cross(corners[1] - corners[0], corners[2] - corners[0]), axis=1)
    radius = sides[0] * sides[1] * sides[2] / (2 * area2)
    np.testing.assert_allclose(radius, truth.LINE_RADIUS, rtol=0.03)


def test_side_line_turns_the_metal_by_more_than_forty_degrees() -> None:
    """Three millimetres either side of the line the skin faces clearly different ways."""
    line = truth.side_line(1.0, 60)[2:-2]
    along = np.gradient(line, axis=0)
    along /= np.linalg.norm(along, axis=1)[:, None]
    beside = np.cross(along, shape.skin(line).normal)
    above, below = (
        shape.skin(shape.on_skin(line + step * beside, rounds=20)).normal for step in (-3.0, 3.0)
    )
    turn = np.degrees(np.arccos(np.einsum("ij,ij->i", above, below)))
    assert turn.min() > 40


def test_filler_is_round_on_the_centre_line_and_points_up() -> None:
    rim = truth.filler_rim(2.0)
    arm = rim - truth.FILLER_CENTRE
    across = np.linalg.norm(arm - np.outer(arm @ truth.FILLER_AXIS, truth.FILLER_AXIS), axis=1)
    np.testing.assert_allclose(2 * across, truth.FILLER_DIAMETER, atol=1e-9)
    np.testing.assert_allclose(truth.distance_to_tank(rim), 0.0, atol=1e-9)
    assert truth.FILLER_CENTRE[1] == 0.0
    assert truth.FILLER_AXIS[2] > 0.99


def test_bottom_edge_is_turned_in_by_eight_to_twelve_millimetres() -> None:
    """Along the return, from where flank and bottom would meet unrounded to the free edge."""
    rim = truth.bottom_rim(8.0)
    sides = rim[(rim[:, 0] > 110) & (rim[:, 0] < shape.NOSE_FROM)]
    np.testing.assert_allclose(sides[:, 2], shape.bottom_height(sides[:, 0]), atol=0.5)
    width = shape.flank_half_width(sides[:, 0], sides[:, 2]) - np.abs(sides[:, 1])
    assert width.min() > 8
    assert width.max() < 12


def test_tank_is_as_large_as_its_readme_says() -> None:
    np.testing.assert_allclose(truth.overall_size(), [557.6, 279.8, 229.4], atol=0.06)


def test_frames_turn_into_each_other_without_stretching(skin_places: FloatArray) -> None:
    there = truth.to_file(skin_places)
    np.testing.assert_allclose(truth.from_file(there), skin_places, atol=1e-9)
    apart, apart_in_file = (
        np.linalg.norm(np.diff(p, axis=0), axis=1) for p in (skin_places, there)
    )
    np.testing.assert_allclose(apart_in_file * 25.4, apart, rtol=1e-9)
