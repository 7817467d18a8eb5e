"""Tapes: where they lie, points off the surface, lines through many points, what stretch does."""

from itertools import pairwise

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.datum import Tape, TapeOffSurfaceError, tape_through, taped_length, true_size
from geometry.datum.tape import TapeLayer, nearest_of_few, spread_of
from geometry.mesh import NearestPoint, TriMesh
from tests.bodies import cylinder_sheet, dome

SHEET = cylinder_sheet(100.0, np.pi, 400.0, around=96, along=40)


def at(turn: float, x: float) -> tuple[float, float, float]:
    """Return a point of the half round: turn 0 at one edge, pi at the other."""
    return (x, 100.0 * float(np.cos(turn)), 100.0 * float(np.sin(turn)))


def test_a_tape_of_four_plain_values_stays_what_it_was() -> None:
    straight, over = Tape(at(0, 0), at(1, 0), 5.0), Tape(at(0, 0), at(1, 0), 5.0, True)
    assert (straight.kind, straight.over, straight.picks) == (
        "straight",
        False,
        (at(0, 0), at(1, 0)),
    )
    assert (over.kind, over.over) == ("over", True)
    assert tape_through((at(0, 0), at(1, 0)), 5.0, "over") == over


@pytest.mark.parametrize(
    ("points", "kind", "towards"),
    [
        ((at(0, 0), at(1, 0), at(2, 0)), "over", None),
        ((at(0, 0), at(1, 0)), "girth", None),
        ((at(0, 0), at(1, 0), at(2, 0)), "girth", (0.0, 0.0, 1.0)),
        ((at(0, 0), at(1, 0)), "round", None),
    ],
)
def test_points_that_do_not_fit_the_kind_are_our_own_mistake(points, kind, towards) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ValueError, match=r"girth|two points"):
        Tape(points[0], points[-1], 5.0, kind=kind, points=points, towards=towards)


def test_a_line_along_the_surface_goes_through_every_point() -> None:
    """Helices on a cylinder: each leg is sqrt((R turn)^2 + x^2), unrolled."""
    stops = [(0.3, 10.0), (1.2, 200.0), (2.8, 350.0)]
    legs = [float(np.hypot(100.0 * (b[0] - a[0]), b[1] - a[1])) for a, b in pairwise(stops)]
    tape = tape_through([at(*stop) for stop in stops], sum(legs), "along")
    assert taped_length(SHEET, tape) == pytest.approx(sum(legs), rel=5e-4)
    direct = Tape(at(*stops[0]), at(*stops[-1]), 1.0, over=True)
    assert taped_length(SHEET, direct) < sum(legs) - 2.0


@pytest.mark.parametrize("kind", ["straight", "over"])
def test_a_point_off_the_surface_is_refused_and_told(kind: str) -> None:
    """The body is 200 by 100 by 400: from corner to corner under 460, so 20 is far off."""
    tape = tape_through([(200.0, 0.0, 120.0), at(0.0, 0.0)], 200.0, kind)  # type: ignore[arg-type]
    with pytest.raises(TapeOffSurfaceError) as caught:
        true_size(SHEET, [Tape(at(0.0, 0.0), at(0.0, 400.0), 400.0), tape], unit="mm")
    error = caught.value
    assert (error.number, error.tape, error.factor) == (2, tape, 0.0)
    assert error.distance == pytest.approx(20.0, abs=0.1)
    assert error.point.tolist() == [200.0, 0.0, 120.0]


@pytest.mark.parametrize("per_unit", [25.4, 10.0, 1000.0, 1 / 25.4])
def test_points_in_another_unit_than_the_file_are_recognised(per_unit: float) -> None:
    picks = [tuple(np.array(at(turn, x)) / per_unit) for turn, x in ((0.0, 0.0), (1.0, 390.0))]
    with pytest.raises(TapeOffSurfaceError) as caught:
        true_size(SHEET, [tape_through(picks, 400.0)], unit="mm")
    assert caught.value.factor == pytest.approx(per_unit)


def test_a_point_clicked_and_rounded_to_whole_numbers_is_taken() -> None:
    ends = [np.array(at(turn, x)) for turn, x in ((0.4, 13.3), (1.7, 311.9))]
    taped = float(np.linalg.norm(ends[1] - ends[0]))
    picks = [tuple(np.round(end)) for end in ends]
    assert abs(true_size(SHEET, [tape_through(picks, taped)], unit="mm").checks[0].off_mm) < 0.9


def test_stray_bits_do_not_widen_what_is_allowed() -> None:
    stray = np.array([[9e4, 0, 0], [9e4, 1, 0], [9e4, 0, 1.0]])
    count = len(SHEET.vertices)
    mesh = TriMesh(
        np.vstack([SHEET.vertices, stray]),
        np.vstack([SHEET.faces, [[count, count + 1, count + 2]]]),
    )
    assert TapeLayer(mesh).allowed_off == pytest.approx(TapeLayer(SHEET).allowed_off, rel=1e-2)


def test_a_few_points_find_the_same_faces_as_the_search_tree() -> None:
    mesh = dome(80.0, 1.2, 24)
    points = np.random.default_rng(3).normal(scale=90.0, size=(20, 3))
    few, many = nearest_of_few(mesh, points), NearestPoint(mesh).find(points)
    np.testing.assert_allclose(few.distances, many.distances, rtol=0, atol=1e-12)
    np.testing.assert_allclose(few.points, many.points, rtol=0, atol=1e-9)


@pytest.mark.parametrize(
    ("stretch", "turn"), [((1.004, 1.0, 1.0), 0.0), ((1.0, 0.996, 1.002), 0.7)]
)
def test_the_spread_says_what_a_small_stretch_does(
    stretch: tuple[float, float, float], turn: float
) -> None:
    """d(length) / length = <spread, strain> to first order; second order is below 2e-5 here."""
    angle = np.linspace(0.0, 2.0, 400)
    line: FloatArray = np.stack([np.cos(angle), np.sin(angle), 0.4 * angle], axis=1)
    axes = np.array([[np.cos(turn), -np.sin(turn), 0], [np.sin(turn), np.cos(turn), 0], [0, 0, 1]])
    pull = axes @ np.diag(stretch) @ axes.T

    def length(points: FloatArray) -> float:
        return float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())

    told = float((spread_of([line]) * (pull - np.eye(3))).sum())
    assert length(line @ pull) / length(line) - 1.0 == pytest.approx(told, abs=2e-5)
