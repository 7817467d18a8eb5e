"""Sheets, tubes and balls on which it is known what a shaper would say of a seam, and what not."""

from functools import lru_cache
from math import cos, pi, radians, sin

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.breakups import (
    Advice,
    BreakUpFigures,
    Draft,
    EndsApartAdvice,
    InsideCornerAdvice,
    LowCrownAdvice,
    NearLineAdvice,
    SeamAdviser,
    TooLargeAdvice,
    seam_advice,
)
from geometry.mesh import TriMesh
from geometry.metal import StockSheet
from geometry.panels import Seam
from tests.bodies import dome, patch
from tests.geometry.panels.surfaces import PlainSurface, surface_of


@lru_cache
def sheet(size: float = 400.0, cells: int = 50, sweep: float = np.inf) -> PlainSurface:
    """Return a square sheet about the middle, flat or rolled about y to a sweep."""
    x, y = np.meshgrid(*[np.linspace(-size / 2, size / 2, cells + 1)] * 2, indexing="ij")
    mesh = patch(*rolled(x, y, sweep))
    return surface_of(mesh if up(mesh) else TriMesh(mesh.vertices, mesh.faces[:, ::-1]))


def up(mesh: TriMesh) -> bool:
    a, b, c = mesh.vertices[mesh.faces[0]]
    return bool(np.cross(b - a, c - a)[2] > 0)


def rolled(x: FloatArray, y: FloatArray, sweep: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    if np.isinf(sweep):
        return x, y, np.zeros_like(x)
    return sweep * np.sin(x / sweep), y, sweep * (np.cos(x / sweep) - 1.0)


def over(name: str, points: list[tuple[float, float]], sweep: float = np.inf) -> Seam:
    """Return a seam through places of the sheet before it was rolled, straight between them."""
    x, y = np.array(points, np.float64).T
    t = np.arange(len(x))
    fine = np.linspace(0, len(x) - 1, 20 * (len(x) - 1) + 1)
    both = np.interp(fine, t, x), np.interp(fine, t, y)
    return Seam(name, np.stack(rolled(*both, sweep), axis=1))


def of_kind(said: tuple[Advice, ...], kind: str) -> list[Advice]:
    return [advice for advice in said if advice.kind == kind]


@pytest.mark.parametrize("sweep", [500.0, 900.0])
def test_a_long_straight_seam_over_low_crown_is_told_with_its_length_and_sweep(
    sweep: float,
) -> None:
    """From rim to rim, the last 25 mm at either one stiffened by it."""
    said = seam_advice(sheet(sweep=sweep), [over("s", [(30, -200), (30, 200)], sweep)])
    (advice,) = said
    assert isinstance(advice, LowCrownAdvice)
    assert advice.seam == "s"
    assert advice.length_mm == pytest.approx(350.0, abs=6.0)
    assert advice.sweep_mm == pytest.approx(sweep, rel=0.05)
    assert advice.place[1] == pytest.approx(0.0, abs=5.0)


def test_a_flat_sheet_has_no_sweep_at_all() -> None:
    (advice,) = seam_advice(sheet(), [over("s", [(-200, 30), (200, 30)])])
    assert isinstance(advice, LowCrownAdvice)
    assert advice.sweep_mm > 5000.0


@pytest.mark.parametrize(
    ("sweep", "points"),
    [
        (100.0, [(-10.0, -200.0), (-10.0, 200.0)]),  # along a tube: stiff
        (250.0, [(30.0, -200.0), (30.0, 200.0)]),  # crown enough
        (np.inf, [(-200.0, -40.0), (-130.0, -200.0)]),  # across a corner: 175 mm, 50 of them stiff
    ],
)
def test_nothing_is_said_of_seams_that_hold_themselves(
    sweep: float, points: list[tuple[float, float]]
) -> None:
    assert seam_advice(sheet(sweep=sweep), [over("s", points, sweep)]) == ()


def test_a_round_seam_over_flat_sheet_is_stiff_by_its_shape() -> None:
    turn = 2 * pi * np.arange(60) / 60
    circle = 120.0 * np.stack([np.cos(turn), np.sin(turn), 0 * turn], axis=1)
    assert seam_advice(sheet(), [Seam("ring", circle, closed=True)]) == ()
    assert of_kind(seam_advice(sheet(), [Seam("square", 150.0 * SQUARE, closed=True)]), "low crown")


SQUARE = np.array([[1.0, 1, 0], [-1, 1, 0], [-1, -1, 0], [1, -1, 0]])


def test_beside_a_crisp_line_flat_sheet_is_stiff() -> None:
    seam = over("s", [(-200, 30), (200, 30)])
    for off, told in ((15.0, 0), (60.0, 1)):
        line = over("line", [(-200, 30 + off), (200, 30 + off)]).points
        assert len(of_kind(seam_advice(sheet(), [seam], lines=[line]), "low crown")) == told


@pytest.mark.parametrize("turn", [60.0, 90.0, 120.0])
@pytest.mark.parametrize("sweep", [np.inf, 150.0])
def test_a_sharp_corner_is_told_where_it_is_with_its_turn(turn: float, sweep: float) -> None:
    a = radians(turn)
    points = [(-110.0, 0.0), (0.0, 0.0), (110 * cos(a), 110 * sin(a))]
    said = seam_advice(sheet(sweep=sweep), [over("bent", points, sweep)])
    (advice,) = of_kind(said, "inside corner")
    assert isinstance(advice, InsideCornerAdvice)
    assert advice.turn_rad == pytest.approx(a, abs=radians(4.0))
    assert np.linalg.norm(advice.place) < 3.0


def test_a_closed_seams_corners_are_told_where_it_closes_too() -> None:
    said = of_kind(
        seam_advice(sheet(), [Seam("square", 100.0 * SQUARE, closed=True)]), "inside corner"
    )
    places = sorted(tuple(np.sign(advice.place[:2]).astype(int)) for advice in said)
    assert places == [(-1, -1), (-1, 1), (1, -1), (1, 1)]


def bend(radius: float) -> Seam:
    """Return a quarter turn of a radius with straight ends 60 mm long."""
    turn = np.linspace(0.0, pi / 2, 30)
    arc = radius * np.stack([np.sin(turn), 1 - np.cos(turn), 0 * turn], axis=1)
    return Seam(
        "bend",
        np.concatenate([[[-60.0, 0, 0]], arc, [[radius, radius + 60.0, 0]]]),
    )


def test_a_corner_with_a_radius_is_none() -> None:
    """Over 15 mm before and after, an arc of radius r turns by 2 asin(15 / 2 r) or so: 45 at 19."""
    assert not of_kind(seam_advice(sheet(), [bend(30.0)]), "inside corner")
    assert of_kind(seam_advice(sheet(), [bend(10.0)]), "inside corner")


def test_a_seam_straight_over_a_ball_has_no_corner() -> None:
    ball = dome(120.0, radians(70.0), 24)
    turn = np.linspace(-1.2, 1.2, 60)
    great = 120.0 * np.stack([np.sin(turn), 0 * turn, np.cos(turn)], axis=1)
    assert seam_advice(surface_of(ball), [Seam("s", great)]) == ()


@pytest.mark.parametrize("off", [1.0, 4.0])
def test_a_seam_beside_a_crisp_line_is_told_with_how_near_and_how_long(off: float) -> None:
    line = over("line", [(-60, 0), (60, 0)], 100.0).points
    far = over("far", [(-60, 40), (60, 40)], 100.0).points
    seam = over("s", [(-150, off), (150, off)], 100.0)
    (advice,) = seam_advice(sheet(sweep=100.0, size=300), [seam], lines=[far, line])
    assert isinstance(advice, NearLineAdvice)
    assert advice.line == 1
    assert not advice.crosses
    assert advice.distance_mm == pytest.approx(off, abs=0.2)
    reach = np.sqrt(36 - off**2)
    assert advice.along_mm == pytest.approx(120 + 2 * reach, abs=5.0)


@pytest.mark.parametrize("angle", [35.0, 90.0])
def test_a_seam_across_a_crisp_line_is_told_as_crossing(angle: float) -> None:
    """Nearer than 6 mm over 12 / sin(angle)."""
    a = radians(angle)
    seam = over("s", [(20 - 90 * cos(a), -90 * sin(a)), (20 + 90 * cos(a), 90 * sin(a))])
    line = over("line", [(-150, 0), (150, 0)]).points
    (advice,) = of_kind(seam_advice(sheet(), [seam], lines=[line]), "near line")
    assert isinstance(advice, NearLineAdvice)
    assert advice.crosses
    assert advice.distance_mm == 0.0
    assert advice.along_mm == pytest.approx(12 / sin(a), abs=2.5)
    assert advice.place[:2] == pytest.approx([20.0, 0.0], abs=2.0)


def test_a_seam_that_stands_off_is_not_told_and_the_distance_is_the_makers() -> None:
    line = over("line", [(-150, 0), (150, 0)]).points
    seam = over("s", [(-150, 8), (150, 8)])
    assert not of_kind(seam_advice(sheet(), [seam], lines=[line]), "near line")
    assert of_kind(seam_advice(sheet(), [seam], lines=[line], stand_off_mm=10.0), "near line")
    beyond = over("s", [(160, -90), (160, 90)])
    assert not of_kind(seam_advice(sheet(), [beyond], lines=[line]), "near line")


@pytest.mark.parametrize("gap", [10.0, 40.0])
def test_an_end_that_meets_nothing_is_told_with_its_gap(gap: float) -> None:
    ground = sheet(sweep=100.0, size=300)
    stub = over("stub", [(20, -150), (20, 150 - gap)], 100.0)
    (advice,) = seam_advice(ground, [stub])
    assert isinstance(advice, EndsApartAdvice)
    assert advice.gap_mm == pytest.approx(gap, abs=0.1)
    assert advice.place == pytest.approx(stub.points[-1], abs=0.5)
    crossing = over("bar", [(-150, 152 - gap), (150, 152 - gap)], 100.0)
    assert seam_advice(ground, [stub, crossing]) == ()


def test_ends_the_cut_draws_to_a_rim_are_not_told() -> None:
    assert (
        seam_advice(sheet(sweep=100.0, size=300), [over("s", [(20, -146), (20, 147)], 100.0)]) == ()
    )


def test_two_ends_that_just_miss_each_other_on_a_seam_between_them_are_told() -> None:
    ground = sheet(sweep=100.0, size=300)
    bar = over("bar", [(-150, 0), (150, 0)], 100.0)
    above = over("above", [(30, 150), (30, 0)], 100.0)
    for off, told in ((0.0, 0), (5.0, 1), (25.0, 0)):
        below = over("below", [(30 + off, -150), (30 + off, 0)], 100.0)
        said = seam_advice(ground, [bar, above, below])
        assert len(said) == told
        if told:
            (advice,) = said
            assert isinstance(advice, EndsApartAdvice)
            assert {advice.seam, advice.other} == {"above", "below"}
            assert advice.gap_mm == pytest.approx(off, abs=0.1)


def test_panels_larger_than_the_sheet_are_told_with_both_sizes() -> None:
    ground = sheet(sweep=100.0, size=300, cells=30)
    seam = over("s", [(50, -150), (50, 150)], 100.0)
    figures: BreakUpFigures = Draft(ground, trim_mm=10.0).judged([seam])
    small, large = StockSheet("small", 320.0, 150.0), StockSheet("large", 1000.0, 2000.0)
    assert seam_advice(ground, [seam], figures=figures, sheet=large) == ()
    (advice,) = seam_advice(ground, [seam], figures=figures, sheet=small)
    assert isinstance(advice, TooLargeAdvice)
    assert advice.panel == "panel 1"
    assert advice.cut_mm == pytest.approx((320.0, 220.0), abs=0.5)
    assert advice.sheet_mm == (320.0, 150.0)
    assert advice.place[0] < 20.0


def test_an_adviser_kept_says_what_a_fresh_one_says() -> None:
    ground = sheet()
    adviser = SeamAdviser(ground)
    for seam in (over("a", [(-200, 30), (200, 30)]), bend(10.0)):
        kept, fresh = adviser.advice([seam]), seam_advice(ground, [seam])
        assert [(one.kind, one.seam, one.place.tolist()) for one in kept] == [
            (one.kind, one.seam, one.place.tolist()) for one in fresh
        ]
        assert kept


def test_a_seam_of_no_length_is_left_to_the_cut_to_refuse() -> None:
    point = np.array([[0.0, 0.0, 0.0]])
    assert seam_advice(sheet(), [Seam("dot", point), Seam("two", point[[0, 0]])]) == ()
