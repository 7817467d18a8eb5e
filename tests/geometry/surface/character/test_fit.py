"""Sections fitted to profiles: arcs between flanks of even crown, found exactly and with noise."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.surface.character.fit import (
    LEFT,
    LEFT_BENT,
    MEETING,
    RIGHT,
    RIGHT_BENT,
    SQUARED,
    fitted,
    heights,
    rounds_of,
    tips_of,
)
from geometry.surface.character.profile import Profiles
from tests.geometry.surface.character.ridges import Line

LINES = [
    Line(1.0, np.radians(60.0)),
    Line(3.0, np.radians(60.0), 1 / 150),
    Line(6.0, np.radians(90.0), 1 / 150),
    Line(6.0, np.radians(40.0), 1 / 100, 0.0, -1),
]


def profile_of(line: Line, noise: float, copies: int, seed: int = 4) -> Profiles:
    along = np.linspace(-18.0, 18.0, 241)
    place = line.profile(along)[0]
    off = np.random.default_rng(seed).normal(0.0, 1.0, (copies, len(along)))
    normal = line.profile(along)[1]
    moved = place[None] + noise * off[..., None] * normal
    counts = np.ones((copies, len(along)))
    return Profiles(moved[..., 0], moved[..., 1], counts, np.ones(copies, bool))


def exact_numbers(line: Line) -> FloatArray:
    half = (np.pi - line.opening) / 2.0
    slope, bent = line.standing * np.tan(half), -line.standing * line.crown
    sine = np.sin(line.turn / 2.0)
    edge = line.radius * sine
    drop = line.radius * (1.0 - np.cos(line.turn / 2.0))
    if line.crown:
        rise = (np.cos(half) - np.cos(line.turn / 2.0)) / line.crown
    else:
        rise = edge * np.tan(half)
    level = line.standing * (rise - drop)
    return np.array([[0.0, level, slope, bent, -slope, bent, line.radius**2]])


@pytest.mark.parametrize("line", LINES)
def test_heights_of_a_section_are_those_of_arcs_laid_end_to_end(line: Line) -> None:
    """The body's profile follows its own arcs by length; sections are solved for in height."""
    place = line.profile(np.linspace(-15.0, 15.0, 301))[0]
    z, slope = heights(exact_numbers(line), place[None, :, 0])
    np.testing.assert_allclose(z[0], place[:, 1], atol=2e-5)
    np.testing.assert_allclose(np.abs(slope[0, [0, -1]]), abs(slope[0, 0]), rtol=1e-9)


@pytest.mark.parametrize("line", LINES)
def test_the_round_touches_both_flanks_and_its_middle_is_the_tip(line: Line) -> None:
    numbers = exact_numbers(line)
    found = rounds_of(numbers)
    edge = line.radius * np.sin(line.turn / 2.0)
    np.testing.assert_allclose([found.first[0], found.last[0]], [-edge, edge], atol=1e-4)
    tip, up = tips_of(numbers)
    np.testing.assert_allclose(tip[0], 0.0, atol=2e-5)
    np.testing.assert_allclose(up[0], [0.0, 1.0], atol=1e-9)


@pytest.mark.parametrize("line", LINES)
def test_a_clean_profile_gives_back_its_numbers(line: Line) -> None:
    found = fitted(profile_of(line, 0.0, 1), 16.0, 0.02).numbers[0]
    wanted = exact_numbers(line)[0]
    assert abs(np.sqrt(found[SQUARED]) / line.radius - 1.0) < 0.01
    np.testing.assert_allclose(found[[LEFT, RIGHT]], wanted[[LEFT, RIGHT]], atol=0.004)
    np.testing.assert_allclose(found[[LEFT_BENT, RIGHT_BENT]], wanted[[3, 5]], atol=4e-4)
    assert abs(found[MEETING]) < 1e-3


def test_errors_told_are_those_met() -> None:
    """Scatter over 60 draws of noise against the standard errors, which count 0.02 mm besides."""
    line, noise = LINES[1], 0.05
    fits = fitted(profile_of(line, noise, 60), 16.0, noise)
    tall = np.hypot(noise, 0.02) / noise
    for column in (MEETING, LEFT, SQUARED):
        met = fits.numbers[:, column].std()
        told = float(np.median(fits.error[:, column])) / tall
        assert 0.7 < met / told < 1.4
    turn = np.arctan(fits.numbers[:, LEFT]) - np.arctan(fits.numbers[:, RIGHT])
    assert 0.7 < turn.std() / (np.median(fits.turn_error) / tall) < 1.4


def test_misfit_is_what_noise_leaves() -> None:
    """Expected sum of squares: noise over its error, squared, a bin."""
    noise = 0.05
    fits = fitted(profile_of(LINES[1], noise, 40), 16.0, noise)
    wanted = noise**2 / (noise**2 + 0.02**2)
    assert abs(float((fits.chi2 / fits.freedom).mean()) / wanted - 1.0) < 0.05


def test_what_a_smooth_curve_shows_as_well_gains_nothing() -> None:
    """A sheet rolled to 60 mm: one curve of fourth degree misfits no more than the section."""
    x = np.tile(np.linspace(-14.0, 14.0, 141), (20, 1))
    noise = np.random.default_rng(7).normal(0.0, 0.05, x.shape)
    z = np.sqrt(60.0**2 - x * x) - 60.0 + noise
    fits = fitted(Profiles(x, z, np.ones(x.shape), np.ones(20, bool)), 16.0, 0.05)
    assert float(np.median(fits.smooth_chi2 - fits.chi2)) < 6.0
