"""Gather: ticks add up, domes agree with closed forms, sheet that only bends gathers nothing."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.blank import FlatPanel, Work, flatten
from geometry.pattern import GatherTape, Pattern, dress, stretch_from_readings
from tests.bodies import cylinder_sheet, dome, tank_top

RADIUS = 100.0
HALF_ANGLE = np.radians(30.0)


def cap() -> tuple[FlatPanel, Pattern]:
    flat = flatten(dome(RADIUS, float(HALF_ANGLE), 20), Work("von_mises", "formed"))
    return flat, dress(flat)


def test_a_domes_edge_gathers_as_the_closed_form_says() -> None:
    """Net 2 pi r(30 deg) of the one-dimensional solution forms to 2 pi R sin 30 deg.

    r = 0.51765076 R, von Mises, formed weight; 20 rings of triangles err by some 1e-4.
    """
    flat, pattern = cap()
    net = GatherTape(flat).along(pattern.edges[0], spacing_mm=100.0)
    total_flat, total_formed, change = net.total_mm
    assert total_flat == pytest.approx(2 * np.pi * RADIUS * 0.51765076, rel=5e-4)
    assert total_formed == pytest.approx(2 * np.pi * RADIUS * np.sin(HALF_ANGLE), rel=5e-4)
    assert change == pytest.approx(total_formed - total_flat)
    each = net.formed_mm[:-1]
    np.testing.assert_allclose(each, 100.0 * np.sin(HALF_ANGLE) / 0.51765076, rtol=5e-3)


@pytest.mark.parametrize("outside", [5.0, 12.7, 25.4])
def test_a_domes_margin_gathers_as_the_sphere_going_on(outside: float) -> None:
    """The circle at R Theta + d from the pole is 2 pi R sin(Theta + d / R) round."""
    flat, pattern = cap()
    cut = GatherTape(flat).along(pattern.edges[0], outside_mm=outside, spacing_mm=100.0)
    formed = 2 * np.pi * RADIUS * np.sin(HALF_ANGLE + outside / RADIUS)
    assert cut.total_mm[1] == pytest.approx(formed, rel=1e-3)
    assert cut.total_mm[0] == pytest.approx(2 * np.pi * (RADIUS * 0.51765076 + outside), rel=1e-3)
    np.testing.assert_allclose(
        np.linalg.norm(cut.places - pattern.centre, axis=1), 51.765 + outside, rtol=2e-3
    )


def test_ticks_add_up_and_stand_a_tape_apart() -> None:
    """Pieces to 1e-9 of the edge's length; every piece but the last is the spacing."""
    flat = flatten(tank_top(21))
    tape = GatherTape(flat)
    for edge in dress(flat).edges:
        pieces = tape.along(edge, spacing_mm=100.0)
        assert pieces.flat_mm.sum() == pytest.approx(edge.flat_mm, abs=1e-9)
        assert pieces.formed_mm.sum() == pytest.approx(edge.formed_mm, abs=1e-9)
        np.testing.assert_allclose(pieces.flat_mm[:-1], 100.0, atol=1e-9)
        assert pieces.flat_mm[-1] >= 10.0


@pytest.mark.parametrize("outside", [0.0, 12.7])
def test_sheet_that_only_bends_gathers_nothing(outside: float) -> None:
    flat = flatten(cylinder_sheet(100.0, np.pi, 250.0, 48, 24))
    tape = GatherTape(flat)
    pattern = dress(flat)
    assert len(pattern.edges) == 4
    for edge in pattern.edges:
        pieces = tape.along(edge, outside_mm=outside, spacing_mm=100.0)
        np.testing.assert_allclose(pieces.change_mm, 0.0, atol=1e-6)
    squares = tape.squares(pattern.net, pattern.centre, 25.0)
    assert len(squares.middles) > 20
    np.testing.assert_allclose(squares.formed_mm, 25.0, atol=0.02)  # chords of the facets


def test_grid_squares_of_a_dome_read_as_its_stretch() -> None:
    """In the middle 1 / s: the closed form's centre is ln s = -0.0084671 both ways."""
    flat, pattern = cap()
    squares = GatherTape(flat).squares(pattern.net, pattern.centre, 10.0)
    middle = np.argmin(np.linalg.norm(squares.middles - pattern.centre, axis=1))
    np.testing.assert_allclose(squares.formed_mm[middle], 10.0 * np.exp(0.0084671), rtol=2e-3)
    inside = np.abs(squares.middles - pattern.centre).max(axis=1) + 5.0
    assert inside.max() <= np.abs(pattern.net - pattern.centre).max()


def read_squares(stretch: FloatArray) -> tuple[FloatArray, ...]:
    """Return what a tape reads on a 25 mm square formed by a (2, 2) map, to half a millimetre."""
    lines = np.array([[1.0, 0], [0, 1.0], [1, 1], [1, -1]])
    return tuple(np.round(2 * np.linalg.norm(250.0 * lines @ stretch.T, axis=1)) / 2 / 10.0)


def test_ten_squares_read_with_a_tape_tell_the_stretch_within_a_hundredth() -> None:
    """Read over ten squares at a time, so that half a millimetre is one in 500."""
    turn = np.array([[0.8, -0.6], [0.6, 0.8]])
    true = np.array([1.06, 0.97])
    readings = read_squares(turn @ np.diag(true) @ turn.T)
    along, across, rising, falling = (np.array([reading]) for reading in readings)
    told = stretch_from_readings(25.0, along, across, (rising, falling))
    np.testing.assert_allclose(told[0], true, rtol=0.01)


def test_a_pattern_carries_ticks_and_roll_lines() -> None:
    """A rolled sheet is rolled along its straight sides and gathers nothing; a dome the reverse."""
    rolled = dress(flatten(cylinder_sheet(100.0, np.pi, 250.0, 48, 24)))
    assert len(rolled.rolls) >= 5
    for roll in rolled.rolls:
        np.testing.assert_allclose(np.median(roll.radii), 100.0, rtol=0.02)
    assert max(abs(gather.total_mm[2]) for gather in rolled.gathers) < 1e-6
    crowned = cap()[1]
    assert crowned.rolls == ()
    assert crowned.gathers[0].total_mm[2] < -5.0
    assert crowned.cut_gathers[0].total_mm[2] < crowned.gathers[0].total_mm[2]
