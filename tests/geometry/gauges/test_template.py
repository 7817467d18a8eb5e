"""Boards cut to an outline: they touch it, come off, and say what was cleared."""

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon

from geometry.arrays import FloatArray
from geometry.gauges.gauge_faults import GaugeSizeError
from geometry.gauges.template import Kind, Part, Template, template
from geometry.gauges.turned_over import hand_difference

RADIUS = 80.0


def arc(under: float, radius: float = RADIUS, points: int = 241) -> FloatArray:
    """Return a circle about (0, 100) from its left end over the top to its right end."""
    turn = np.linspace(-under, under, points)
    return np.column_stack([radius * np.sin(turn), 100.0 + radius * np.cos(turn)])


def waved(seed: int) -> FloatArray:
    """Return an arch with bumps and hollows that hang over here and there."""
    rng = np.random.default_rng(seed)
    turn = np.linspace(-2.2, 2.2, 301)
    reach = RADIUS + sum(
        rng.uniform(-6.0, 6.0) * np.cos(k * turn + rng.uniform(0.0, 6.0)) for k in range(1, 6)
    )
    return np.column_stack([reach * np.sin(turn), 100.0 + reach * np.cos(turn)])


def half_of(line: FloatArray, part: Part) -> FloatArray:
    """Return a half of an arch up to the centre line."""
    if part == "whole":
        return line
    top = np.array([[0.0, np.interp(0.0, line[:, 0], line[:, 1])]])
    if part == "left":
        return np.concatenate([line[: len(line) // 2], top])
    return np.concatenate([top, line[len(line) // 2 + 1 :]])


def edge_length(made: Template) -> float:
    """Return how much of the outline a board touches."""
    return float(sum(np.linalg.norm(np.diff(e, axis=0), axis=1).sum() for e in made.edges))


@pytest.mark.parametrize("kind", ["female", "male"])
def test_a_whole_board_touches_what_does_not_hang_over_and_clears_the_rest(kind: Kind) -> None:
    """Of a circle 120 degrees round to either hand: the upper half, pi r; below it a female one
    stands r (1 - cos 30) off, a male one is as wide as the mouth, 2 r cos 30, all the way up.
    """
    line = arc(np.deg2rad(120.0))
    made = template(line, kind=kind, part="whole")
    if kind == "female":
        assert edge_length(made) == pytest.approx(np.pi * RADIUS, rel=2e-3)
        assert made.cleared_mm == pytest.approx(RADIUS * (1.0 - np.cos(np.pi / 6.0)), rel=1e-2)
        # Told from where it stands off by 0.05 mm; a step of the outline is 1.4 mm.
        begins = np.arccos(1.0 - 0.05 / RADIUS)
        length = 2.0 * RADIUS * (np.pi / 6.0 - begins)
        assert made.cleared_length_mm == pytest.approx(length, abs=2.9)
    else:
        mouth = RADIUS * np.cos(np.pi / 6.0)
        assert np.abs(made.outline[:, 0]).max() == pytest.approx(mouth, abs=0.01)
        assert edge_length(made) == pytest.approx(2.0 * RADIUS * np.pi / 3.0, rel=2e-2)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("part", ["left", "right", "whole"])
@pytest.mark.parametrize("kind", ["female", "male"])
def test_every_board_comes_off_without_running_into_the_metal(
    kind: Kind, part: Part, seed: int
) -> None:
    line = half_of(waved(seed), part)
    made = template(line, kind=kind, part=part)
    metal = shapely.LineString(line)
    board = Polygon(made.outline).buffer(-0.01)
    assert board.is_valid
    assert board.area > 500.0
    for far in (0.0, 0.5, 3.0, 17.0, 60.0, 250.0):
        moved = shapely.affinity.translate(board, *(far * made.off_way))
        assert not moved.intersects(metal)


@pytest.mark.parametrize("part", ["left", "right"])
def test_a_half_comes_off_sideways_where_a_whole_one_is_locked(part: Part) -> None:
    line = arc(np.deg2rad(110.0))
    half = half_of(line, part)
    made = template(half, kind="female", part=part)
    length = float(np.linalg.norm(np.diff(half, axis=0), axis=1).sum())
    assert edge_length(made) == pytest.approx(length, abs=0.01)
    assert made.cleared_mm == 0.0
    assert template(line, kind="female", part="whole").cleared_mm > 4.0
    assert np.abs(made.outline[:, 0]).min() == 0.0  # its straight edge is the centre line


def test_edges_are_the_outline_itself() -> None:
    line = waved(3)
    made = template(line, kind="female", part="whole")
    course = shapely.LineString(line)
    for edge in made.edges:
        assert shapely.distance(shapely.points(edge), course).max() <= 0.006


def test_a_male_and_a_female_board_fill_the_box_between_them_where_nothing_hangs_over() -> None:
    line = arc(np.deg2rad(80.0))
    areas = [
        Polygon(template(line, kind=kind, part="whole").outline).area for kind in ("female", "male")
    ]
    low, high = line.min(axis=0), line.max(axis=0)
    box = (high[0] - low[0] + 80.0) * (high[1] - low[1] + 40.0)
    assert sum(areas) == pytest.approx(box, rel=1e-9)


def test_a_notch_takes_a_half_square_off_the_edge() -> None:
    line = arc(np.deg2rad(80.0))
    plain = template(line, kind="female", part="whole")
    at = np.array([[0.0, line[:, 1].max() + 40.0]])
    notched = template(line, kind="female", part="whole", notches=at)
    taken = Polygon(plain.outline).area - Polygon(notched.outline).area
    assert taken == pytest.approx(25.0)


def test_flipped_twice_is_the_same_board() -> None:
    made = template(arc(1.2), kind="female", part="whole")
    again = made.flipped().flipped()
    assert np.array_equal(again.outline, made.outline)
    assert np.array_equal(again.corners, made.corners)
    assert Polygon(made.flipped().outline).exterior.is_ccw


@pytest.mark.parametrize("board", [0.0, -5.0, 1e4, float("nan")])
def test_a_board_of_no_width_is_refused(board: float) -> None:
    with pytest.raises(GaugeSizeError) as caught:
        template(arc(1.2), kind="female", part="whole", board_mm=board)
    assert caught.value.most_mm == 300.0


@pytest.mark.parametrize("further", [0.0, 0.5, 3.0])
def test_the_difference_of_hands_is_how_much_further_one_stands_out(further: float) -> None:
    """Circles about one middle, radii apart by d: d everywhere, square to the outline."""
    left = half_of(arc(1.9, points=801), "left")
    right = half_of(arc(1.9, RADIUS + further, points=801), "right")
    found = hand_difference(left, right)
    assert found.largest_mm == pytest.approx(further, abs=0.005)
    assert found.ends_mm == pytest.approx(0.0, abs=0.01)


@pytest.mark.parametrize("longer", ["left", "right"])
def test_the_ends_differ_by_how_much_further_the_longer_goes_on(longer: str) -> None:
    """One circle, one hand of it 0.2 rad longer: so much of the radius, whichever it is."""
    span = {"left": 1.8, "right": 1.8} | {longer: 2.0}
    left = half_of(arc(span["left"], points=801), "left")
    right = half_of(arc(span["right"], points=801), "right")
    found = hand_difference(left, right)
    assert found.largest_mm == pytest.approx(0.0, abs=0.001)
    assert found.ends_mm == pytest.approx(0.2 * RADIUS, abs=0.01)
    assert not found.turns_over(2.0)
    assert found.turns_over(found.ends_mm + 0.01)
