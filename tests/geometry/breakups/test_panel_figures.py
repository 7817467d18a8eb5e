from math import isnan, pi, radians, sin

import numpy as np
import pytest

from geometry.blank import NotADiskError, Standing, flatten
from geometry.breakups import PanelFigures, lift_out, panel_figures, refused_figures
from geometry.breakups.panel_figures import gone_beyond, smallest_rectangle
from geometry.mesh import TriMesh, face_areas
from tests.bodies import cylinder_sheet, dome


def figures_of(mesh: TriMesh) -> PanelFigures:
    return panel_figures("p", flatten(mesh), mesh.vertices, sheet_mm=1.6, trim_mm=12.0)


def test_a_rolled_sheet_costs_no_shape_and_the_rectangle_it_is_rolled_from() -> None:
    """Facets lay out to n 2 R sin(a / 2n) by the length; nothing gets thinner."""
    around = 24
    long = around * 2 * 100.0 * sin(radians(120.0) / (2 * around))
    figures = figures_of(cylinder_sheet(100.0, radians(120.0), 150.0, around=around))
    assert figures.blank_mm == pytest.approx((long, 150.0), rel=1e-9)
    assert figures.cut_mm == pytest.approx((long + 24.0, 174.0), rel=1e-9)
    assert figures.metal_mm2 == pytest.approx((long + 24.0) * 174.0, rel=1e-9)
    assert figures.worst_stretch == pytest.approx(1.0, abs=1e-9)
    assert figures.worst_shrink == pytest.approx(1.0, abs=1e-9)
    assert (figures.thinnest_mm, figures.thickest_mm) == pytest.approx((1.6, 1.6), abs=1e-8)
    assert figures.work_mm2 == pytest.approx(0.0, abs=1e-6)
    assert figures.growth == pytest.approx(1.0, rel=1e-9)
    assert figures.standing is Standing.SETTLED
    assert figures.lift.is_free


def test_worst_figures_leave_out_one_part_in_a_hundred_of_the_area_and_no_more() -> None:
    mesh = dome(100.0, radians(50.0), 16)
    flat, figures = flatten(mesh), figures_of(mesh)
    areas = face_areas(mesh.vertices, mesh.faces)
    for values, worst in (
        (flat.stretches[:, 0], figures.worst_stretch),
        (1.0 / flat.stretches[:, 1], 1.0 / figures.worst_shrink),
        (flat.thickness, figures.thickest_mm / 1.6),
        (1.0 / flat.thickness, 1.6 / figures.thinnest_mm),
    ):
        beyond = areas[values > worst * (1 + 1e-12)].sum() / areas.sum()
        reached = areas[values >= worst * (1 - 1e-12)].sum() / areas.sum()
        assert beyond < 0.01 <= reached
    assert figures.worst_stretch > 1.0 > figures.worst_shrink
    assert figures.thinnest_mm < 1.6 < figures.thickest_mm


def test_twice_the_size_costs_four_times_the_work_and_the_same_stretch() -> None:
    """The work is per area: it goes with the square of the size."""
    small = figures_of(dome(100.0, radians(40.0), 10))
    large = figures_of(dome(200.0, radians(40.0), 10))
    assert large.work_mm2 == pytest.approx(4 * small.work_mm2, rel=1e-6)
    assert large.worst_stretch == pytest.approx(small.worst_stretch, rel=1e-6)
    assert large.blank_area_mm2 == pytest.approx(4 * small.blank_area_mm2, rel=1e-6)
    assert large.thinnest_mm == pytest.approx(small.thinnest_mm, rel=1e-6)


def test_a_panel_that_cannot_be_laid_flat_says_why_and_still_whether_it_lifts_out() -> None:
    half = cylinder_sheet(50.0, pi, 100.0)
    refusal = NotADiskError(1, (), 0)
    figures = refused_figures("ring", half, half.vertices, refusal)
    assert figures.refusal is refusal
    assert figures.standing is None
    assert isnan(figures.work_mm2)
    assert isnan(figures.metal_mm2)
    assert figures.formed_area_mm2 == pytest.approx(
        face_areas(half.vertices, half.faces).sum(), rel=1e-12
    )
    expected = lift_out(half.vertices, half.faces)
    assert figures.lift.direction == pytest.approx(expected.direction)


@pytest.mark.parametrize("seed", range(6))
def test_no_turned_rectangle_is_smaller_than_the_smallest(seed: int) -> None:
    """Ninety thousandths of a turn tried one by one."""
    points = np.random.default_rng(seed).standard_normal((30, 2)) * [40.0, 10.0]
    long, wide = smallest_rectangle(points)
    assert long >= wide
    turn = np.linspace(0.0, pi / 2, 9000)
    one = np.ptp(points @ np.stack([np.cos(turn), np.sin(turn)]), axis=0)
    other = np.ptp(points @ np.stack([-np.sin(turn), np.cos(turn)]), axis=0)
    least = (one * other).min()
    assert long * wide <= least
    assert long * wide == pytest.approx(least, rel=1e-3)


def test_what_a_share_of_the_area_goes_beyond_hangs_on_area_not_on_count() -> None:
    values, areas = np.array([1.0, 2.0, 3.0]), np.array([50.0, 49.0, 1.0])
    assert gone_beyond(values, areas, 0.005) == 3.0
    assert gone_beyond(values, areas, 0.02) == 2.0
    assert gone_beyond(values, np.array([99.0, 0.5, 0.5]), 0.02) == 1.0
