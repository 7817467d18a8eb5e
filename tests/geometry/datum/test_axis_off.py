"""Which way a scan is off: one direction that explains every tape, or none named."""

import numpy as np
import pytest

from geometry.datum import AxisOff, Tape, TapeOffError, tape_through, true_size
from geometry.datum.axis_off import scale_off
from geometry.mesh import TriMesh
from tests.geometry.datum.test_girth import ellipse, tube

TRUE = tube(ellipse(140.0, 90.0), 500.0, 60)


def pulled(by: float, direction: tuple[float, float, float]) -> TriMesh:
    """Return the body pulled long one way, as a bad scan is."""
    way = np.array(direction) / np.linalg.norm(direction)
    return TriMesh(TRUE.vertices @ (np.eye(3) + by * np.outer(way, way)), TRUE.faces)


def tapes_on(mesh: TriMesh, pairs: list[tuple[int, int]], *, girth: bool = False) -> list[Tape]:
    """Return straight tapes between vertices, with what the true body says."""
    told = [
        Tape(
            tuple(mesh.vertices[a]), tuple(mesh.vertices[b]),
            float(np.linalg.norm(TRUE.vertices[a] - TRUE.vertices[b])),
        )
        for a, b in pairs
    ]  # fmt: skip
    if girth:
        from geometry.datum import taped_length

        ring = [30 * 360 + 5, 30 * 360 + 100, 30 * 360 + 200]
        true = tape_through([tuple(TRUE.vertices[each]) for each in ring], 1.0, "girth")
        told.append(
            tape_through(
                [tuple(mesh.vertices[each]) for each in ring], taped_length(TRUE, true), "girth"
            )
        )
    return told


def vertex(row: int, degrees: int) -> int:
    """Return a vertex of the body by where it stands along and round."""
    return row * 360 + degrees


LENGTHWISE = (vertex(2, 0), vertex(58, 0))
SIDEWAYS = (vertex(30, 0), vertex(30, 180))
UPRIGHT = (vertex(30, 90), vertex(30, 270))
SIDEWAYS_TOO = (vertex(10, 10), vertex(12, 170))


def axis_of(mesh: TriMesh, tapes: list[Tape]) -> AxisOff | None:
    """Return what the error says."""
    with pytest.raises(TapeOffError) as caught:
        true_size(mesh, tapes, unit="mm")
    return caught.value.axis


def test_a_scan_too_long_from_side_to_side_is_named_with_how_much() -> None:
    mesh = pulled(0.012, (0, 1, 0))
    axis = axis_of(mesh, tapes_on(mesh, [LENGTHWISE, SIDEWAYS, UPRIGHT, SIDEWAYS_TOO]))
    assert axis is not None
    assert (axis.file_axis, axis.tapes, axis.is_sure) == ("y", (2, 4), True)
    assert axis.ratio == pytest.approx(0.012, abs=1e-9)
    assert np.abs(axis.direction).tolist() == [0.0, 1.0, 0.0]


def test_one_tape_that_shows_it_may_have_been_misread() -> None:
    mesh = pulled(-0.02, (0, 0, 1))
    axis = axis_of(mesh, tapes_on(mesh, [LENGTHWISE, UPRIGHT]))
    assert axis is not None
    assert (axis.file_axis, axis.tapes, axis.is_sure) == ("z", (2,), False)
    assert axis.ratio == pytest.approx(-0.02, abs=1e-9)


def test_a_girth_tells_too() -> None:
    """Its own stretch is a mean over its line, so the amount is near, not exact."""
    mesh = pulled(0.02, (0, 1, 0))
    axis = axis_of(mesh, tapes_on(mesh, [LENGTHWISE, SIDEWAYS, UPRIGHT], girth=True))
    assert axis is not None
    assert (axis.file_axis, axis.tapes, axis.is_sure) == ("y", (2, 4), True)
    assert axis.ratio == pytest.approx(0.02, abs=5e-4)


def test_a_direction_that_is_no_axis_of_the_file_is_found() -> None:
    way = (1.0, 0.2, 0.7)
    mesh = pulled(0.03, way)
    pairs = [LENGTHWISE, SIDEWAYS, UPRIGHT, (vertex(2, 90), vertex(50, 270)),
             (vertex(2, 270), vertex(50, 90)), (vertex(5, 0), vertex(40, 140)),
             (vertex(5, 60), vertex(20, 250))]  # fmt: skip
    axis = axis_of(mesh, tapes_on(mesh, pairs))
    assert axis is not None
    assert axis.file_axis == ""
    unit = np.array(way) / np.linalg.norm(way)
    assert abs(axis.direction @ unit) > np.cos(np.deg2rad(4.0))
    assert axis.ratio == pytest.approx(0.03, abs=2e-3)


def test_turning_the_file_turns_the_direction() -> None:
    mesh = pulled(0.012, (0, 1, 0))
    turn = np.array([[0.0, -1, 0], [1, 0, 0], [0, 0, 1]])  # a quarter turn: y goes to -x
    tapes = tapes_on(mesh, [LENGTHWISE, SIDEWAYS, UPRIGHT])
    turned = [
        Tape(tuple(turn @ tape.start), tuple(turn @ tape.end), tape.length_mm) for tape in tapes
    ]
    axis = axis_of(TriMesh(mesh.vertices @ turn.T, mesh.faces), turned)
    assert axis is not None
    assert axis.file_axis == "x"


def test_a_scale_all_over_is_no_direction() -> None:
    mesh = TriMesh(TRUE.vertices * 1.01, TRUE.faces)
    with pytest.raises(TapeOffError) as caught:
        true_size(mesh, tapes_on(mesh, [LENGTHWISE, SIDEWAYS, UPRIGHT]), unit="mm")
    assert caught.value.axis is None
    assert caught.value.scale == pytest.approx(0.01, abs=1e-9)


def test_tapes_that_nothing_explains_name_nothing() -> None:
    tapes = tapes_on(TRUE, [LENGTHWISE, SIDEWAYS, UPRIGHT, SIDEWAYS_TOO])
    wrong = [Tape(t.start, t.end, t.length_mm + add)
             for t, add in zip(tapes, (9.0, -7.0, 4.0, 6.0), strict=True)]  # fmt: skip
    assert axis_of(TRUE, wrong) is None


def test_two_axes_that_would_both_do_are_not_guessed_between() -> None:
    """One tape at 45 degrees between y and z, and one lengthwise that agrees."""
    mesh = pulled(0.02, (0, 1, 0))
    slanted = (vertex(30, 33), vertex(30, 213))  # on the ellipse nearly at 45 degrees
    assert axis_of(mesh, tapes_on(mesh, [LENGTHWISE, slanted])) is None


def test_rescaling_takes_a_tape_more_to_name_a_direction() -> None:
    mesh = pulled(0.03, (0, 0, 1))
    tapes = tapes_on(mesh, [LENGTHWISE, SIDEWAYS, UPRIGHT, SIDEWAYS_TOO])
    with pytest.raises(TapeOffError) as caught:
        true_size(TriMesh(mesh.vertices * 0.37, mesh.faces),
                  [Tape(tuple(np.array(t.start) * 0.37), tuple(np.array(t.end) * 0.37), t.length_mm)
                   for t in tapes], rescale=True)  # fmt: skip
    axis = caught.value.axis
    assert axis is not None
    assert axis.file_axis == "z"
    assert axis.ratio == pytest.approx(0.03, abs=2e-3)


def test_one_tape_has_no_scale_to_tell() -> None:
    assert scale_off([101.5], [100.0], [1.0]) is None
