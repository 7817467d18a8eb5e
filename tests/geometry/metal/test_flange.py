"""Flange arithmetic against the shop's tables and against the sums it comes from."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from geometry.metal import (
    METALS,
    FlangeTooWideError,
    case_of,
    edge_per_root,
    edge_stretch,
    finished_if_free,
    flange_guide,
    flat_edge_tipped,
    flat_if_free,
    least_radius_mm,
    lip_off_wall,
    lip_thickness,
)

TIPPED = [
    # R, h, log strain of the lip at 90 degrees: concave, convex. The axisymmetric model is
    # [wang1974], [dudra1988]; worked by hand from ln((R -+ h cos a) / (R -+ h))
    (100.0, 10.0, 0.105361, -0.095310),
    (50.0, 10.0, 0.223144, -0.182322),
    (30.0, 12.0, 0.510826, -0.336472),
    (200.0, 15.0, 0.077962, -0.072321),
]
PER_FOOT = [
    # flange, in; inches gathered in each foot on radii of 3, 6, 12 and 24 in: 12 w / R, rounded
    (3 / 8, (1.50, 0.75, 0.38, 0.19)),
    (1 / 2, (2.00, 1.00, 0.50, 0.25)),
    (5 / 8, (2.50, 1.25, 0.63, 0.31)),
    (3 / 4, (3.00, 1.50, 0.75, 0.38)),
]
BENDS = [(0.0, 0.01), (0.02, 0.0), (-0.02, 0.0), (0.015, -0.008), (-0.01, 0.012), (0.01, 0.01)]


@pytest.mark.parametrize(("radius", "height", "concave", "convex"), TIPPED)
def test_a_tipped_flat_edge_stretches_and_shrinks_by_the_closed_form(
    radius: float, height: float, concave: float, convex: float
) -> None:
    """ln(R / (R - h)) along a concave line, ln(R / (R + h)) along a convex one."""
    stretched = np.log1p(flat_edge_tipped(height, radius, concave=True))
    shrunk = np.log1p(flat_edge_tipped(height, radius, concave=False))
    assert stretched == pytest.approx(concave, abs=5e-7)
    assert shrunk == pytest.approx(convex, abs=5e-7)


def test_the_turn_counts_in_a_tipped_edge() -> None:
    """R 50, h 10, turned 30, 45, 60 and 90 degrees: ln((R - h cos a) / (R - h))."""
    strains = [
        np.log1p(flat_edge_tipped(10.0, 50.0, concave=True, turn_rad=np.radians(turn)))
        for turn in (30, 45, 60, 90)
    ]
    assert strains == pytest.approx([0.032945, 0.070667, 0.117783, 0.223144], abs=5e-7)


@pytest.mark.parametrize(("width", "gathers"), PER_FOOT)
def test_a_lip_off_a_wall_gathers_what_the_shop_table_says(
    width: float, gathers: tuple[float, ...]
) -> None:
    """12 w / R inches a foot of root; the table is common shop arithmetic, to 0.01 in."""
    for radius, gathered in zip((3.0, 6.0, 12.0, 24.0), gathers, strict=True):
        lost = -12.0 * lip_off_wall(width, radius, to_inside=True)
        gained = 12.0 * lip_off_wall(width, radius, to_inside=False)
        assert lost == pytest.approx(gathered, abs=0.0051)
        assert gained == pytest.approx(lost, rel=1e-12)


def test_the_two_cases_differ_where_they_are_known_to() -> None:
    """3/4 in on a radius of 3 in: 33 % where a flat edge is tipped, 25 % off a wall."""
    assert flat_edge_tipped(0.75, 3.0, concave=True) == pytest.approx(1 / 3, rel=1e-12)
    assert lip_off_wall(0.75, 3.0, to_inside=False) == pytest.approx(0.25, rel=1e-12)


def test_a_free_flange_comes_out_as_high_and_as_thick_as_the_closed_form() -> None:
    """R 50, h 10: 9.481942 and lip .894427 where stretched, 10.484471 and 1.095445 where shrunk.

    2/3 R (1 - (1 - h/R)^1.5), 2/3 R ((1 + h/R)^1.5 - 1), sqrt((R -+ h) / R).
    """
    assert finished_if_free(10.0, 1 / 50.0, 0.0) == pytest.approx(9.481942, abs=5e-7)
    assert finished_if_free(10.0, -1 / 50.0, 0.0) == pytest.approx(10.484471, abs=5e-7)
    stretched = 1.0 + flat_edge_tipped(10.0, 50.0, concave=True)
    shrunk = 1.0 + flat_edge_tipped(10.0, 50.0, concave=False)
    assert lip_thickness(stretched) == pytest.approx(0.894427, abs=5e-7)
    assert lip_thickness(shrunk) == pytest.approx(1.095445, abs=5e-7)


def test_a_hole_of_40_with_a_collar_of_50_stretches_by_a_quarter() -> None:
    """+25 %, ln .223144: the hole's radius is 20, the root's 25."""
    assert flat_edge_tipped(5.0, 25.0, concave=True) == pytest.approx(0.25, rel=1e-12)


@pytest.mark.parametrize(("in_skin", "in_flange"), BENDS)
def test_the_free_width_solves_its_own_equation(in_skin: float, in_flange: float) -> None:
    """dW/ds = ((1 - s a) / (1 - W b))^1/2, each strip half thinned: integrated step by step."""
    found = solve_ivp(
        lambda s, W: np.sqrt((1.0 - s * in_skin) / (1.0 - W * in_flange)),
        (0.0, 14.0),
        [0.0],
        rtol=1e-11,
        atol=1e-11,
    )
    width = float(finished_if_free(14.0, in_skin, in_flange))
    assert width == pytest.approx(float(found.y[0, -1]), rel=1e-8)
    assert flat_if_free(width, in_skin, in_flange) == pytest.approx(14.0, rel=1e-9)


@pytest.mark.parametrize("slope", [0.0, 0.3, 0.8, 1.2])
def test_between_the_two_cases_the_edge_is_that_of_the_cone(slope: float) -> None:
    """A cone whose face leans by `slope` from upright, R 60, a level lip of 9 to the inside.

    Its face rolls out to a ring: the root's radius there is R / sin(lean), the blank's edge 9
    further in or out; the finished edge has radius R - 9. Own geometry, no formula of the house.
    """
    radius, width = 60.0, 9.0
    in_skin, in_flange = np.sin(slope) / radius, 1.0 / radius
    root = 2.0 * np.pi * radius
    blank = root if slope == 0.0 else root * (1.0 - width * np.sin(slope) / radius)
    finished = 2.0 * np.pi * (radius - width)
    assert edge_stretch(width, width, in_skin, in_flange) == pytest.approx(
        finished / blank, rel=1e-12
    )


def test_a_flange_as_wide_as_its_radius_is_refused() -> None:
    for width in (50.0, 60.0):
        with pytest.raises(FlangeTooWideError) as refused:
            edge_per_root(width, 1 / 50.0)
        assert refused.value.width_mm == width
        assert refused.value.radius_mm == pytest.approx(50.0)
    with pytest.raises(FlangeTooWideError):
        flat_if_free(49.0, 1 / 45.0, 0.0)
    assert edge_per_root(60.0, -1 / 50.0) == pytest.approx(2.2)


def test_a_stretch_flange_needs_twenty_widths_half_hard_and_four_annealed() -> None:
    """H14 5 %: 20 w off a wall, 21 h tipped; O 25 %: 4 and 5. Sheet .063 in, 3003: [astm-b209]."""
    half_hard, soft = METALS["3003-H14"], METALS["3003-O"]
    for metal, wall, tipped in ((half_hard, 20.0, 21.0), (soft, 4.0, 5.0)):
        figure = metal.elongation_at(1.6)
        assert figure is not None
        assert least_radius_mm(10.0, figure.value, "lip off a wall") == pytest.approx(10 * wall)
        least = least_radius_mm(10.0, figure.value, "flat edge tipped")
        assert least == pytest.approx(10 * tipped)
        assert flat_edge_tipped(10.0, least, concave=True) == pytest.approx(figure.value)


def test_the_guide_tells_what_the_metal_allows() -> None:
    half_hard = METALS["3003-H14"]
    said = [flange_guide(1.0 + e, half_hard, 1.6).verdict for e in (0.0, -0.2, 0.05, 0.2, 0.26)]
    assert said == ["straight", "shrink", "within", "anneal", "beyond"]
    assert flange_guide(1.2, None, 1.6).verdict == "not known"
    assert flange_guide(1.2, half_hard, 25.0).verdict == "not known"


def test_a_line_is_told_for_the_case_it_is_nearer_to() -> None:
    assert case_of(0.001, -0.01) == "lip off a wall"
    assert case_of(-0.01, 0.001) == "flat edge tipped"
    assert case_of(0.0, 0.0) == "straight"
