"""Readings of grid squares: closed forms come back through rounded readings within 1 %."""

from collections.abc import Callable

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.pattern import (
    BadReadingError,
    NoSuchSquareError,
    Pattern,
    SquareReading,
    dress,
    formed_readings,
    named_grid,
    readings_result,
)
from geometry.pattern.readings import principal, square_lines
from tests.geometry.pattern.stand_ins import FlatByFormula, dome, grid

SIDE = 25.0
STEP = 0.25
Formed = Callable[[FloatArray], FloatArray]


def rounded(length: float) -> float:
    return round(length / STEP) * STEP


def read_off(
    pattern: Pattern,
    formed: Formed,
    names: list[str],
    *,
    straight: bool = False,
    exact: bool = False,
) -> list[SquareReading]:
    """Return readings of squares on the exact formed surface, rounded as a maker reads them."""
    squares = named_grid(pattern.net, pattern.centre, SIDE)
    found = []
    for name in names:
        lines = formed(square_lines(squares.middle(name), SIDE))
        lengths = np.linalg.norm(np.diff(lines, axis=1), axis=2).sum(axis=1)
        if straight:
            lengths = np.linalg.norm(lines[:, -1] - lines[:, 0], axis=1)
        a, b, c, d, e, f = (one if exact else rounded(one) for one in lengths.tolist())
        found.append(SquareReading(name, (a, b), (c, d), (e, f)))
    return found


def ten_squares(pattern: Pattern) -> list[str]:
    """Return ten whole squares, spread over the blank."""
    assert pattern.squares is not None
    squares = named_grid(pattern.net, pattern.centre, SIDE)
    middles = pattern.squares.middles
    return [squares.name(middles[at]) for at in np.linspace(0, len(middles) - 1, 10).astype(int)]


def on_ball(radius: float) -> Formed:
    """Return the map that keeps lengths from the pole."""

    def formed(places: FloatArray) -> FloatArray:
        far = np.linalg.norm(places, axis=-1, keepdims=True)
        angle = far / radius
        return np.concatenate(
            [radius * np.sin(angle) * places / np.maximum(far, 1e-12), radius * np.cos(angle)], -1
        )

    return formed


def test_ten_squares_of_a_ball_give_its_stretch_back() -> None:
    """Along meridians 1, along parallels sin t / t, t = distance / R; rounding to 0.25 mm on 25.

    Rounding alone can move a stretch by 0.9 %; the square's own size adds (25 / R)^2 / 24 or so.
    """
    radius = 150.0
    flat = dome(24, radius, 0.7)
    pattern = dress(flat)
    names = ten_squares(pattern)
    assert len(set(names)) == 10
    told = readings_result(flat, pattern, read_off(pattern, on_ball(radius), names))
    for square in told:
        angle = float(np.linalg.norm(square.middle)) / radius
        truth = np.array([1.0, np.sin(angle) / angle])
        np.testing.assert_allclose(square.stretches, truth, rtol=0.01)
        np.testing.assert_allclose(square.asked, truth, rtol=0.005)
        assert square.thickness == pytest.approx(angle / np.sin(angle), rel=0.02)


def test_the_direction_of_the_larger_stretch_comes_back() -> None:
    """On the ball it runs to the pole: told within 2 degrees where the two differ by 5 in 100."""
    radius = 120.0
    flat = dome(24, radius, 0.9)
    pattern = dress(flat)
    names = ten_squares(pattern)
    for square in readings_result(
        flat, pattern, read_off(pattern, on_ball(radius), names, exact=True)
    ):
        if square.stretches[0] / square.stretches[1] > 1.05:
            pole = np.arctan2(square.middle[1], square.middle[0])
            off = (square.direction_rad - pole + np.pi / 2) % np.pi - np.pi / 2
            assert abs(np.degrees(off)) < 2.0
            off = (square.asked_direction_rad - pole + np.pi / 2) % np.pi - np.pi / 2
            assert abs(np.degrees(off)) < 3.0


def even(map_of: FloatArray) -> tuple[FlatByFormula, Formed]:
    """Return a flat sheet drawn out evenly."""
    places, faces = grid(30, 20, 300.0, 200.0)
    formed = np.pad(places @ map_of.T, ((0, 0), (0, 1)))
    flat = FlatByFormula(formed, faces, places)
    return flat, lambda points: np.pad(points @ map_of.T, [(0, 0)] * (points.ndim - 1) + [(0, 1)])


@pytest.mark.parametrize(
    ("larger", "smaller", "turn"),
    [(1.2, 0.9, 0.4), (1.05, 1.02, 1.2), (0.95, 0.85, -0.7), (1.3, 1.1, 0.0), (1.08, 0.93, 0.785)],
)
def test_an_even_stretch_comes_back_through_rounded_readings(
    larger: float, smaller: float, turn: float
) -> None:
    """Formed = R diag(larger, smaller) R^T flat: within 1 %, and never farther than told."""
    way = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    flat, formed = even(way @ np.diag([larger, smaller]) @ way.T)
    pattern = dress(flat)
    for square in readings_result(flat, pattern, read_off(pattern, formed, ten_squares(pattern))):
        off = np.abs(square.stretches - [larger, smaller])
        assert (off / [larger, smaller]).max() < 0.01
        assert (off <= 1.05 * square.unsure + 1e-9).all()
        np.testing.assert_allclose(square.asked, [larger, smaller], rtol=1e-9)


def test_without_rounding_an_even_stretch_comes_back_exactly() -> None:
    flat, formed = even(np.array([[1.1, 0.08], [-0.02, 0.93]]))
    pattern = dress(flat)
    (square,) = readings_result(flat, pattern, read_off(pattern, formed, ["C4"], exact=True))
    truth = np.linalg.svd(np.array([[1.1, 0.08], [-0.02, 0.93]]))[1]
    np.testing.assert_allclose(square.stretches, truth, rtol=1e-12)


@pytest.mark.parametrize("seed", range(4))
def test_rounding_at_its_worst_leaves_no_more_than_is_told(seed: int) -> None:
    """Readings off by half a step either way, all signs: within 1 % of the stretch on 25 mm."""
    flat, formed = even(np.diag([1.12, 0.94]))
    pattern = dress(flat)
    (exact,) = read_off(pattern, formed, ["D3"], exact=True)
    signs = np.random.default_rng(seed).choice([-1.0, 1.0], 6) * STEP / 2.0
    a, b, c, d, e, f = (np.array(exact.every_mm) + signs).tolist()
    (told,) = readings_result(flat, pattern, [SquareReading("D3", (a, b), (c, d), (e, f))])
    off = np.abs(told.stretches - [1.12, 0.94])
    assert (off <= 1.05 * told.unsure).all()
    assert (told.unsure / [1.12, 0.94]).max() < 0.01


def test_one_reading_a_side_and_no_diagonals_takes_right_angles_as_kept() -> None:
    flat, _ = even(np.diag([1.1, 0.9]))
    pattern = dress(flat)
    (told,) = readings_result(flat, pattern, [SquareReading("B2", (27.5,), (22.5,))])
    np.testing.assert_allclose(told.stretches, [1.1, 0.9], rtol=1e-12)
    assert told.direction_rad == pytest.approx(0.0)


def rolled(radius: float) -> tuple[FlatByFormula, Formed]:
    """Return a sheet rolled about v, and the map."""

    def formed(places: FloatArray) -> FloatArray:
        turn = places[..., 0] / radius
        return np.stack([radius * np.sin(turn), places[..., 1], radius * np.cos(turn)], axis=-1)

    places, faces = grid(120, 20, 150.0, 120.0)
    return FlatByFormula(formed(places), faces, places), formed


def test_a_rolled_sheet_reads_as_not_worked_over_the_metal_and_by_dividers() -> None:
    """A chord of 25 mm on R 60 is 0.7 % short; told as straight it is put right."""
    flat, formed = rolled(60.0)
    pattern = dress(flat)
    names = ten_squares(pattern)
    over = readings_result(flat, pattern, read_off(pattern, formed, names, exact=True))
    for square in over:
        np.testing.assert_allclose(square.stretches, 1.0, atol=2e-4)
    chords = read_off(pattern, formed, names, straight=True, exact=True)
    for square in readings_result(flat, pattern, chords, laid="straight"):
        np.testing.assert_allclose(square.stretches, 1.0, atol=3e-4)
    assert readings_result(flat, pattern, chords)[0].stretches.min() < 0.994


def test_a_panel_formed_as_asked_reads_as_asked() -> None:
    flat = dome(20, 150.0, 0.7)
    pattern = dress(flat)
    readings = formed_readings(flat, pattern, ten_squares(pattern))
    for square in readings_result(flat, pattern, readings):
        np.testing.assert_allclose(square.stretches, square.asked, rtol=1e-12)


@pytest.mark.parametrize("name", ["Z9", "C0", "44", "", "C4 D5", "I1"])
def test_a_square_that_is_not_there_is_refused(name: str) -> None:
    flat, _ = even(np.eye(2))
    with pytest.raises(NoSuchSquareError) as caught:
        readings_result(flat, dress(flat), [SquareReading(name, (25.0,), (25.0,))])
    assert caught.value.name == name
    assert caught.value.last == "M8"


@pytest.mark.parametrize("length", [1.0, 250.0, 0.0, -25.0, float("nan")])
def test_a_reading_no_square_can_have_is_refused(length: float) -> None:
    flat, _ = even(np.eye(2))
    with pytest.raises(BadReadingError) as caught:
        readings_result(flat, dress(flat), [SquareReading("C4", (25.0,), (length,))])
    assert caught.value.square == "C4"
    assert caught.value.side_mm == 25.0


def test_names_do_not_repeat_and_lead_back_to_their_square() -> None:
    net = np.array([[0.0, 0.0], [700.0, 0.0], [700.0, 90.0], [0.0, 90.0]])
    squares = named_grid(net, np.array([350.0, 45.0]), SIDE)
    names = set()
    for column in range(squares.columns):
        for row in range(squares.rows):
            middle = squares.middle_of(column, row)
            name = squares.name(middle)
            np.testing.assert_allclose(squares.middle(name.lower()), middle)
            names.add(name)
    assert len(names) == squares.columns * squares.rows
    assert squares.columns == 28
    assert "AA1" in names
    assert squares.middle("A1")[0] > squares.middle("B1")[0]
    assert squares.middle("A1")[1] > squares.middle("A2")[1]


def test_principal_directions_of_a_turned_metric() -> None:
    turn = 0.6
    way = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    metric = way @ np.diag([1.21, 0.81]) @ way.T
    stretches, found = principal(np.array([metric[0, 0], metric[0, 1], metric[1, 1]]))
    np.testing.assert_allclose(stretches, [1.1, 0.9])
    assert found == pytest.approx(turn)
