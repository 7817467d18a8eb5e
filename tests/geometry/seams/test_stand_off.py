import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.mesh import TriMesh
from geometry.seams import NothingStandsOffError, SeamGround, Side, piece_between, stood_off
from geometry.seams.course import distance_to_line
from tests.bodies import cone_sheet, cylinder_sheet, dome, patch

ROUND = np.linspace(0.0, 2.0 * np.pi, 160, endpoint=False)
OFF_MM = 0.03
"""Chords 1.5 mm long of the tightest line here, of 27 mm, lie 0.01 mm off it; walks add as much."""


@pytest.mark.parametrize(("side", "sign"), [("left", -1.0), ("right", 1.0)])
def test_beside_a_circle_of_a_ball_lies_a_circle(side: Side, sign: float) -> None:
    """The circle at the angle a from the top, seen from above, turns left round the top; 9 mm off
    it over a ball of 60 mm lies the circle at a -+ 9 / 60.
    """
    ground = SeamGround(dome(60.0, 1.4, 40))
    sine, cosine = np.sin(0.7), np.full_like(ROUND, np.cos(0.7))
    circle = 60.0 * np.stack([sine * np.cos(ROUND), sine * np.sin(ROUND), cosine], axis=1)
    beside = stood_off(ground, circle, 9.0, side, closed=True)
    angle = np.arctan2(np.hypot(beside[:, 0], beside[:, 1]), beside[:, 2])
    assert 60.0 * (angle - 0.7) == pytest.approx(np.full(len(beside), sign * 9.0), abs=OFF_MM)
    turn = np.unwrap(np.arctan2(beside[:, 1], beside[:, 0]))
    assert (np.diff(turn) > 0).all()  # in the line's direction
    assert 6.0 < turn[-1] - turn[0] < 2 * np.pi


@pytest.mark.parametrize(("side", "sign"), [("left", 1.0), ("right", -1.0)])
def test_beside_a_parallel_of_a_cone_lies_a_parallel(side: Side, sign: float) -> None:
    """Along the cone's straight lines: 80 mm wide below, 30 above, 90 high."""
    sheet = cone_sheet(80.0, 30.0, 90.0, 2.0, (160, 45))
    angle = np.linspace(0.3, 1.7, 80)
    height, slant = 40.0, np.hypot(50.0, 90.0) / 90.0
    radius = 80.0 - 50.0 * height / 90.0
    line = np.stack([radius * np.cos(angle), radius * np.sin(angle), np.full(80, height)], axis=1)
    beside = stood_off(SeamGround(sheet), line, 12.0, side)
    off = (beside[:, 2] - height) * slant
    assert off == pytest.approx(np.full(len(beside), sign * 12.0), abs=OFF_MM)


def test_beside_a_helix_of_a_cylinder_lies_a_helix() -> None:
    """Laid flat, a cylinder's helix is a straight line, and so is what lies 10 mm beside it."""
    inward = cylinder_sheet(50.0, 2.4, 160.0, around=96, along=60)
    ground = SeamGround(TriMesh(inward.vertices, inward.faces[:, ::-1]))
    along, angle = np.linspace(40, 120, 90), np.linspace(-0.7, 0.7, 90)
    line = np.stack([along, 50 * np.sin(angle), 50 * np.cos(angle)], axis=1)
    ahead = np.array([80.0, 50 * 1.4])
    ahead /= np.linalg.norm(ahead)
    sides: list[tuple[Side, float]] = [("left", 1.0), ("right", -1.0)]
    for side, sign in sides:
        beside = stood_off(ground, line, 10.0, side)
        flat = np.stack([beside[:, 0], 50 * np.arctan2(beside[:, 1], beside[:, 2])], axis=1)
        flat -= [40.0, -0.7 * 50]
        off = ahead[0] * flat[:, 1] - ahead[1] * flat[:, 0]
        assert off == pytest.approx(np.full(len(off), sign * 10.0), abs=OFF_MM)


@pytest.fixture(scope="module")
def plate() -> SeamGround:
    x, y = np.meshgrid(np.linspace(0, 120, 61), np.linspace(0, 120, 61), indexing="ij")
    return SeamGround(patch(x, y, np.zeros_like(x)))


def flat(points: list[list[float]]) -> FloatArray:
    return np.column_stack([np.array(points), np.zeros(len(points))])


def test_inside_a_corner_the_line_does_not_loop_and_outside_it_goes_round(
    plate: SeamGround,
) -> None:
    """A square corner, 10 mm off: inside the lines meet at (50, 50), outside goes round."""
    corner = flat([[20, 60], [60, 60], [60, 20]])  # turns right at (60, 60)
    inside = stood_off(plate, corner, 10.0, "right")
    assert distance_to_line(inside, corner) == pytest.approx(np.full(len(inside), 10.0), abs=0.15)
    assert np.linalg.norm(inside[:, :2] - 50.0, axis=1).min() < 2.0
    steps = np.diff(inside[:, :2], axis=0)
    assert (steps @ np.array([1.0, -1.0]) > 0).all()  # never back
    outside = stood_off(plate, corner, 10.0, "left")
    round_ = outside[(outside[:, 0] > 60) & (outside[:, 1] > 60), :2]
    assert len(round_) >= 2
    assert np.linalg.norm(round_ - 60.0, axis=1) == pytest.approx(
        np.full(len(round_), 10.0), abs=0.05
    )


def test_turning_a_line_round_swaps_its_sides(plate: SeamGround) -> None:
    line = flat([[20, 30], [60, 45], [100, 50]])
    one, other = stood_off(plate, line, 8.0, "left"), stood_off(plate, line[::-1], 8.0, "right")
    assert one == pytest.approx(other[::-1], abs=0.02)


def test_where_the_surface_ends_the_line_ends(plate: SeamGround) -> None:
    """The line runs from 20 mm inside the edge to 2 mm: 11 mm off it stays on for a half."""
    line = flat([[20, 100], [100, 118]])
    beside = stood_off(plate, line, 11.0, "left")
    assert beside[:, 1].max() <= 120.0
    ahead = np.array([80.0, 18.0]) / np.hypot(80, 18)
    off = ahead[0] * (beside[:, 1] - 100) - ahead[1] * (beside[:, 0] - 20)
    assert off == pytest.approx(np.full(len(off), 11.0), abs=0.05)
    with pytest.raises(NothingStandsOffError) as refused:
        stood_off(plate, flat([[20, 115], [100, 115]]), 11.0, "left")
    assert refused.value.distance_mm == 11.0


def test_a_ring_stays_one_and_what_runs_off_the_surface_is_left_out(plate: SeamGround) -> None:
    """A square ring 40 mm wide, 8 mm off: 56 mm outside, 24 inside; by the edge, three sides."""
    ring = flat([[40, 40], [80, 40], [80, 80], [40, 80]])  # turns left
    inside = stood_off(plate, ring, 8.0, "left", closed=True)
    length = np.linalg.norm(np.roll(inside, -1, axis=0) - inside, axis=1).sum()
    assert length == pytest.approx(4 * 24, abs=0.5)
    by_edge = ring + [35, 0, 0]  # its right side lies 5 mm from the edge
    part = stood_off(plate, by_edge, 8.0, "right", closed=True)
    assert distance_to_line(part, np.concatenate([by_edge, by_edge[:1]])) == pytest.approx(
        np.full(len(part), 8.0), abs=0.05
    )
    assert np.linalg.norm(part[-1] - part[0]) > 30.0  # open to the edge
    assert part[0, 1] > part[-1, 1]  # in the ring's direction, from the right side's far end


@pytest.mark.parametrize("distance", [0.0, -3.0, np.nan])
def test_no_distance_is_refused(plate: SeamGround, distance: float) -> None:
    with pytest.raises(ValueError, match="distance"):
        stood_off(plate, flat([[20, 30], [60, 45]]), distance, "left")


def test_a_line_all_in_one_place_has_nothing_beside_it(plate: SeamGround) -> None:
    with pytest.raises(NothingStandsOffError):
        stood_off(plate, flat([[20, 30], [20, 30]]), 8.0, "left")


@pytest.mark.parametrize(("first", "last"), [(10.0, 350.0), (350.0, 10.0), (80.0, 130.0)])
def test_between_two_places_of_a_ring_the_shorter_arc_is_taken(
    plate: SeamGround, first: float, last: float
) -> None:
    """Places told by their degrees on a ring of radius 40 stood 8 mm off: chords of R 32."""
    turn = np.radians(np.arange(0.0, 360.0, 3.0))
    ring = flat(
        [[60 + 40 * c, 60 + 40 * s] for c, s in zip(np.cos(turn), np.sin(turn), strict=True)]
    )
    inside = stood_off(plate, ring, 8.0, "left", closed=True)
    ends = np.radians([first, last])
    start, end = flat(
        [[60 + 32 * c, 60 + 32 * s] for c, s in zip(np.cos(ends), np.sin(ends), strict=True)]
    )
    piece = piece_between(inside, start, end, closed=True)
    assert np.linalg.norm(piece[[0, -1]] - [start, end], axis=1).max() < 6.0
    length = np.linalg.norm(np.diff(piece, axis=0), axis=1).sum()
    arc = abs((last - first + 180.0) % 360.0 - 180.0)
    assert length == pytest.approx(32.0 * np.radians(arc), abs=8.0)
