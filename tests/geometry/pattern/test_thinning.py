"""The thinnest place, and the region below a least, against a map of closed form."""

import numpy as np
import pytest
import shapely

from geometry.arrays import FloatArray
from geometry.blank import flatten
from geometry.pattern import (
    dress,
    marked_out,
    thickness_at_vertices,
    thin_regions,
    thinnest_place,
)
from tests.bodies import cylinder_sheet
from tests.geometry.pattern.stand_ins import FlatByFormula, disc

RADIUS = 100.0
PULLED = 0.1


def pulled_disc(rings: int) -> FlatByFormula:
    """Return a disc drawn out most in the middle: r goes to r (1 + a - a r^2 / R^2).

    Thickness over the sheet's is 1 / ((1 + a - a x) (1 + a - 3 a x)) with x = r^2 / R^2.
    """
    flat, faces = disc(rings, RADIUS)
    x = (flat**2).sum(axis=1, keepdims=True) / RADIUS**2
    formed = np.pad(flat * (1.0 + PULLED - PULLED * x), ((0, 0), (0, 1)))
    return FlatByFormula(formed, faces, flat)


def radius_at(ratio: float) -> float:
    """Return where the disc has a thickness: the smaller root of the quadratic in a x."""
    one = 1.0 + PULLED
    roots = np.roots([3.0, -4.0 * one, one**2 - 1.0 / ratio])
    return float(RADIUS * np.sqrt(roots.min() / PULLED))


def test_the_thinnest_place_is_the_middle_and_as_thin_as_the_closed_form() -> None:
    """1 / (1 + a)^2 = 0.8264; averaging round the vertex errs with the square of the mesh."""
    errors = []
    for rings in (10, 20, 40):
        mark = thinnest_place(pulled_disc(rings))
        assert mark is not None
        np.testing.assert_allclose(mark.place, 0.0, atol=1e-9)
        errors.append(mark.ratio - (1.0 + PULLED) ** -2)
    assert errors[-1] == pytest.approx(0.0, abs=3e-4)
    assert errors[0] / errors[1] == pytest.approx(4.0, rel=0.2)
    assert errors[1] / errors[2] == pytest.approx(4.0, rel=0.2)


@pytest.mark.parametrize("least", [0.85, 0.9, 0.95])
def test_the_thin_region_is_the_disc_the_closed_form_says(least: float) -> None:
    """Its area's radius errs with the square of the mesh; its outline strays a quarter of a side.

    Where six sectors of the mesh meet, faces lie unevenly round a vertex and averages lean.
    """
    errors = []
    for rings in (20, 40, 80):
        (region,) = thin_regions(pulled_disc(rings), least)
        assert region.holes == ()
        far = np.linalg.norm(region.outline, axis=1) - radius_at(least)
        assert np.abs(far).max() < 0.26 * RADIUS / rings
        errors.append(np.sqrt(shapely.Polygon(region.outline).area / np.pi) - radius_at(least))
    assert np.abs(errors[-1]) < 0.03
    assert errors[0] / errors[1] > 3.0
    assert errors[1] / errors[2] > 3.0


def test_nothing_is_marked_on_sheet_that_only_bends_or_is_thick_enough() -> None:
    rolled = flatten(cylinder_sheet(100.0, np.pi, 250.0, 24, 12))
    assert thinnest_place(rolled) is None
    assert thin_regions(rolled, 0.99) == ()
    assert thin_regions(pulled_disc(10), 0.8) == ()
    assert len(thin_regions(pulled_disc(10), 1.0)) == 1


def test_outlines_follow_the_level() -> None:
    """Every point of an outline off the rim has the level's thickness, between its corners."""
    flat = pulled_disc(20)
    values: FloatArray = thickness_at_vertices(flat)
    (region,) = thin_regions(flat, 0.9)
    inside = shapely.contains_xy(shapely.Polygon(region.outline), flat.flat_vertices)
    assert values[inside].max() < 0.9
    assert values[~inside].min() >= 0.9 - 1e-9


def test_marking_out_in_inches_changes_ticks_and_grid_and_nothing_else() -> None:
    flat = pulled_disc(20)
    metric = dress(flat)
    imperial = marked_out(metric, flat, tick_mm=101.6, grid_mm=25.4, least_ratio=0.9)
    for gather in (*imperial.gathers, *imperial.cut_gathers):
        np.testing.assert_allclose(gather.flat_mm[:-1], 101.6, atol=1e-9)
    assert imperial.squares is not None
    assert imperial.squares.side_mm == imperial.grid_mm == 25.4
    assert metric.thin_regions == ()
    assert len(imperial.thin_regions) == 1
    assert imperial.net is metric.net
    assert imperial.shape is metric.shape
    assert [line.value for line in imperial.contours] == [line.value for line in metric.contours]
    again = marked_out(imperial, flat)
    for one, two in zip(again.gathers, metric.gathers, strict=True):
        np.testing.assert_array_equal(one.formed_mm, two.formed_mm)
