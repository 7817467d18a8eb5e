"""Sections across a line: flanks that meet in a round."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.surface.locked.section import (
    Points,
    Sections,
    flanks_beside,
    laid_straight,
    least_of,
    misfit,
)
from tests.geometry.surface.scans import crease_profile

SLOPE = np.tan(np.radians(40.0))
RIDGE = np.array([[[0.0, SLOPE, 0.0], [0.0, -SLOPE, 0.0]]])


def points_across(radius: float, way: float) -> Points:
    """Return points of flats that turn by 80 degrees in a round, over a ridge or a valley."""
    place, _ = crease_profile(np.linspace(-9.0, 9.0, 181), np.radians(80.0), radius)
    along = np.tile([-3.0, 0.0, 3.0], len(place))
    across, height = np.repeat(place, 3, axis=0).T
    return Points(along[None], across[None], way * height[None], np.ones((1, len(across))))


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_the_tip_of_a_round_stands_back_from_the_mitre(way: float) -> None:
    """By r (1 / sin(a / 2) - 1), a = 100 degrees between the flanks; its edges r cos(a / 2) off."""
    sections = Sections(way * RIDGE, np.array([2.0]))
    across, height = sections.tip[0]
    assert across == pytest.approx(0.0, abs=1e-12)
    assert height == pytest.approx(-way * 2.0 * (1.0 / np.sin(np.radians(50.0)) - 1.0))
    assert sections.half_width[0] == pytest.approx(2.0 * np.cos(np.radians(50.0)))
    assert sections.turn[0] == pytest.approx(way * np.radians(80.0))


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_the_round_touches_both_flanks(way: float) -> None:
    """At its edges height and slope are the flanks' own."""
    edge = 2.0 * np.cos(np.radians(50.0))
    at = np.array([-edge - 1e-9, -edge + 1e-9, edge - 1e-9, edge + 1e-9])
    four = Sections(np.repeat(way * RIDGE, 4, axis=0), np.full(4, 2.0))
    height, slope = four.heights(at)
    assert height == pytest.approx(-way * SLOPE * np.abs(at), abs=1e-8)
    assert slope == pytest.approx(-way * SLOPE * np.sign(at), abs=1e-8)


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_flats_and_their_round_fit_their_points(way: float) -> None:
    """Points of the body itself: no misfit at its radius, more on either side of it.

    The normal equations carry a billionth of their trace, which leaves 1e-6 mm of each height.
    """
    points = points_across(1.5, way)
    straight = laid_straight(points, flanks_beside(points, np.zeros(1), np.ones(1)))
    assert misfit(straight, np.array([1.5])) < points.weight.size * 1e-12
    assert misfit(straight, np.array([1.3])) > 1e-3
    assert misfit(straight, np.array([1.7])) > 1e-3


def test_too_few_points_beside_a_line_say_nothing() -> None:
    few = points_across(1.5, 1.0)
    assert np.isnan(flanks_beside(few, np.zeros(1), np.array([6.9]))).all()


def test_the_least_of_a_parabola_is_found_between_its_points() -> None:
    radii: FloatArray = np.array([0.0, 0.5, 1.2, 2.0, 3.0])
    assert least_of(radii, (radii - 1.4) ** 2 + 3.0) == pytest.approx(1.4)
    assert least_of(radii, radii) == 0.0
