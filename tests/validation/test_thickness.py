"""How thick a panel ends, against the closed forms of a cap and what a tape and calliper can show.

A cap of chord 2a and depth h lies on a ball of radius R = (a^2 + h^2) / 2h and has half-angle
t = asin(a / R). Sheet-metal texts lay it out three ways: a disk of radius a, whose rim keeps its
length (all stretched); of radius sqrt(a^2 + h^2), with equal area; and of radius R t, whose
meridians keep theirs (tucked, none stretched). Metal keeps its volume, so the mean thickness goes
as the disk's area over the cap's, 2 pi R h.

The cap 12 in wide and 3 in deep of .063 in sheet: .050, .063 and .068 in, the last from a disk of
6.954 in radius, 1.0747 of the cap's area. Plain geometry; no published measurement.
"""

from functools import cache

import numpy as np
import pytest

from geometry.blank import FlatPanel, ThicknessCases, Work, flatten, thickness_cases
from geometry.mesh import TriMesh
from geometry.progress import Cancelled
from tests.bodies import (
    cone_sheet,
    cylinder_sheet,
    dome,
    folded_tray,
    hyperbolic_saddle,
    tangent_sheet,
    tank_top,
)
from tests.convergence import observed_order

INCH = 25.4
RADIUS = 7.5 * INCH
HALF_ANGLE = float(np.arcsin(0.8))
TUCKED = HALF_ANGLE**2 / (2.0 * (1.0 - np.cos(HALF_ANGLE)))


@cache
def cap(rings: int, bias: float = 0.0) -> FlatPanel:
    return flatten(dome(RADIUS, HALF_ANGLE, rings), Work(bias=bias))


@cache
def cases(rings: int) -> ThicknessCases:
    return thickness_cases(cap(rings))


def test_the_closed_forms_are_those_named() -> None:
    assert pytest.approx(6.954, abs=1e-3) == RADIUS * HALF_ANGLE / INCH
    assert pytest.approx(1.0747, abs=2e-4) == TUCKED
    assert 6.0**2 / (2.0 * 7.5 * 3.0) == 0.8  # a^2 / 2Rh


def test_a_cap_of_063_sheet_ends_050_063_or_068_thick() -> None:
    found = cases(24)
    assert found.all_stretched.mean_mm(0.063) == pytest.approx(0.050, abs=0.001)
    assert found.equal_area.mean_mm(0.063) == pytest.approx(0.063, abs=1e-12)
    assert found.none_stretched.mean_mm(0.063) == pytest.approx(0.068, abs=0.0005)


@pytest.mark.parametrize(("case", "ratio"), [("all_stretched", 0.8), ("none_stretched", TUCKED)])
def test_the_ends_of_a_cap_are_exact_but_for_the_mesh(case: str, ratio: float) -> None:
    """The error falls with the square of the triangles' size; within 3e-4 at 24 rings."""

    def error_at(size: float) -> float:
        return float(abs(getattr(cases(round(1.0 / size)), case).mean_ratio - ratio))

    assert error_at(1.0 / 24.0) < 3e-4
    assert observed_order(error_at, [1 / 9, 1 / 18, 1 / 36]) == pytest.approx(2.0, abs=0.3)


@pytest.mark.parametrize("bias", [-0.5, -0.4, 0.0, 0.25, 0.5])
def test_a_cap_made_with_any_bias_ends_between_the_two(bias: float) -> None:
    flat, found = cap(16, bias), cases(24)
    ratio = flat.blank_area / flat.formed_area
    assert flat.converged
    assert found.all_stretched.mean_ratio < ratio < found.none_stretched.mean_ratio


def test_more_stretch_ends_thinner() -> None:
    ratio = [cap(16, bias).blank_area for bias in (-0.5, -0.4, 0.0, 0.25, 0.5)]
    assert ratio == sorted(ratio)


def test_no_blank_that_is_only_stretched_passes_the_circles_bound() -> None:
    """A rim of length L holds at most L^2 / 4 pi: for the round cap the case itself.

    The rim of 144 chords falls short of its circle by (pi / 144)^2 / 3 of the area.
    """
    found = cases(24).all_stretched
    assert found.mean_ratio <= found.limit
    assert found.limit == pytest.approx(found.mean_ratio, rel=1.05 * (np.pi / 144) ** 2 / 3)


@pytest.mark.parametrize(
    "mesh",
    [
        cylinder_sheet(100.0, np.pi, 250.0, 40, 30),
        cone_sheet(100.0, 60.0, 120.0, np.pi, (60, 16)),
        cone_sheet(100.0, 60.0, 120.0, 2.0 * np.pi, (100, 16)),
        folded_tray(120.0, 40.0, 10),
        tangent_sheet(100.0, 25.0, 2.0, (30.0, 105.0), (60, 20)),
    ],
    ids=["cylinder", "half cone", "whole cone", "tray", "helix tangents"],
)
def test_a_panel_that_only_bends_has_one_thickness(mesh: TriMesh) -> None:
    found = thickness_cases(flatten(mesh))
    for case in (found.all_stretched, found.equal_area, found.none_stretched):
        assert case.mean_ratio == pytest.approx(1.0, abs=2e-4)


def test_a_saddle_changes_the_ends_about() -> None:
    """Geodesic disk of radius r on crown -1 / R^2: area 2 pi R^2 (cosh(r / R) - 1), rim
    2 pi R sinh(r / R). Kept meridians give pi r^2, all stretched; the kept rim gives
    pi R^2 sinh^2, none stretched.
    """
    reach = 0.5
    found = thickness_cases(flatten(hyperbolic_saddle(200.0, reach, 24)))
    area = 2.0 * (np.cosh(reach) - 1.0)
    assert found.all_stretched.mean_ratio == pytest.approx(reach**2 / area, rel=1e-3)
    assert found.none_stretched.mean_ratio == pytest.approx(np.sinh(reach) ** 2 / area, rel=1e-3)


def test_the_least_work_of_a_tank_top_lies_between() -> None:
    flat = flatten(tank_top(20))
    found = thickness_cases(flat)
    ratio = flat.blank_area / flat.formed_area
    assert found.all_stretched.mean_ratio < ratio < found.none_stretched.mean_ratio
    assert found.all_stretched.mean_ratio <= found.all_stretched.limit


def test_progress_rises_and_can_be_stopped() -> None:
    seen: list[float] = []
    thickness_cases(cap(16), report=lambda done, _: seen.append(done))
    assert len(seen) > 50
    assert seen == sorted(seen)
    assert (seen[0], seen[-1]) == (0.0, 1.0)

    def stop(done: float, stage: str) -> None:
        if done > 0.4:
            raise Cancelled

    with pytest.raises(Cancelled):
        thickness_cases(cap(16), report=stop)
