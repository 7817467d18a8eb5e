"""How a line bends, on circles, straights and turned corners, exact and scattered."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.tank import BentLine, LineTooShortToBendError


def circle(radius: float, count: int, *, noise: float = 0.0, seed: int = 0) -> FloatArray:
    angle = 2.0 * np.pi * np.arange(count) / count
    points = np.stack([radius * np.cos(angle), radius * np.sin(angle), 0.0 * angle], axis=1)
    return np.asarray(points + noise * np.random.default_rng(seed).normal(size=points.shape))


def sizes(line: BentLine, count: int = 23) -> FloatArray:
    found = line.at(np.linspace(0.0, line.length_mm, count))
    return np.asarray(np.linalg.norm(found.bend, axis=1))


@pytest.mark.parametrize("radius", [15.0, 30.0, 100.0, 300.0])
def test_a_circle_has_the_bend_of_a_circle(radius: float) -> None:
    """1 / R, to what chords c long leave open: they lie up to c^2 / 8 R inside the circle."""
    count = max(40, round(2.0 * np.pi * radius / 3.0))
    chord = 2.0 * np.pi / count  # of the radius
    line = BentLine(circle(radius, count), is_closed=True)
    assert sizes(line) == pytest.approx(1.0 / radius, rel=1e-3 + chord**2 / 2.0)
    found = line.at(np.array([0.3 * line.length_mm]))
    towards = -found.places[0] / np.linalg.norm(found.places[0])
    assert found.bend[0] * radius == pytest.approx(towards, abs=1e-3 + chord**2 / 2.0)


@pytest.mark.parametrize("noise", [0.0, 0.02, 0.1, 0.5])
def test_straight_stays_straight(noise: float) -> None:
    """Of 20 scattered straights of 300 mm, 26 places each, not one in 50 is told bent."""
    x = np.arange(0.0, 300.0, 3.0)
    bent = []
    for seed in range(20):
        scatter = noise * np.random.default_rng(seed).normal(size=(len(x), 3))
        line = BentLine(np.stack([x, x * 0.3, 0.0 * x], axis=1) + scatter, is_closed=False)
        bent.append(sizes(line, 26) > 0.0)
    assert np.mean(bent) < 0.02


@pytest.mark.parametrize("noise", [0.02, 0.1])
def test_scatter_is_found_and_its_error_told(noise: float) -> None:
    """R 100, points 3 mm apart: the scatter within 15 %, the bend within 4 standard errors.

    Scatter also shortens the reach over which fits agree by chance; that is in the error told.
    """
    line = BentLine(circle(100.0, 209, noise=noise, seed=4), is_closed=True)
    assert line.noise_mm == pytest.approx(noise, rel=0.15)
    found = line.at(np.linspace(0.0, line.length_mm, 40)[:-1])
    off = np.abs(np.linalg.norm(found.bend, axis=1) - 0.01)
    assert np.percentile(off / found.spread, 90) < 4.0
    assert np.median(off) < 0.0003


def test_a_turned_corner_is_not_smeared_into_the_straights_beside_it() -> None:
    """Straights of 200 joined by half circles of R 40: 1/40 there, none 30 mm away from them."""
    length = 400.0 + 80.0 * np.pi
    s = np.arange(0.0, length, 3.0)
    end = 40.0 * np.pi
    one, two = np.clip((s - 200.0) / 40.0, 0.0, np.pi), np.clip((s - 400.0 - end) / 40.0, 0, np.pi)
    heading = one + two
    mid = (heading + np.roll(heading, -1)) / 2.0
    step = np.diff(np.append(s, length))
    x, y = np.cumsum(step * np.cos(mid)), np.cumsum(step * np.sin(mid))
    line = BentLine(np.stack([x, y, 0.0 * x], axis=1), is_closed=True)
    straight = line.at(np.linspace(30.0, 170.0, 8))
    arc = line.at(np.linspace(215.0, 185.0 + end, 8))
    assert np.linalg.norm(straight.bend, axis=1) == pytest.approx(0.0, abs=1e-4)
    assert np.linalg.norm(arc.bend, axis=1) == pytest.approx(1 / 40.0, rel=0.02)


def test_waves_shorter_than_asked_are_no_shape() -> None:
    """R 200 with waves of 1 mm, 15 mm long: over 1 in 20 as it lies, 1 in 200 calmed."""
    angle = 2.0 * np.pi * np.arange(840) / 840
    radius = 200.0 + np.cos(84.0 * angle)
    points = np.stack([radius * np.cos(angle), radius * np.sin(angle), 0.0 * angle], axis=1)
    rough = BentLine(points, is_closed=True)
    calm = BentLine(points, is_closed=True, calm_mm=25.0)
    assert sizes(rough).max() > 0.05
    assert np.median(sizes(calm)) == pytest.approx(1 / 200.0, rel=0.1)
    assert sizes(calm).max() < 0.008
    assert calm.length_mm == pytest.approx(400.0 * np.pi, rel=0.01)


def test_the_bend_moves_turns_and_scales_with_the_line() -> None:
    points = circle(60.0, 120, noise=0.05, seed=1)
    turn = np.linalg.qr(np.random.default_rng(2).normal(size=(3, 3)))[0]
    at = np.linspace(0.0, 300.0, 7)
    before = BentLine(points, is_closed=True).at(at)
    moved = BentLine(points @ turn.T + 500.0, is_closed=True).at(at)
    assert moved.bend == pytest.approx(before.bend @ turn.T, abs=1e-8)
    assert moved.places == pytest.approx(before.places @ turn.T + 500.0, abs=1e-6)


def test_an_open_line_is_told_to_its_ends() -> None:
    """A quarter of R 80 is bent 1/80 at its very ends too."""
    angle = np.linspace(0.0, np.pi / 2.0, 60)
    points = np.stack([80 * np.cos(angle), 80 * np.sin(angle), 0 * angle], axis=1)
    line = BentLine(points, is_closed=False)
    ends = line.at(np.array([0.0, line.length_mm]))
    assert np.linalg.norm(ends.bend, axis=1) == pytest.approx(1 / 80.0, rel=0.02)
    assert line.length_mm == pytest.approx(40.0 * np.pi, rel=1e-3)


def test_a_line_too_short_to_tell_is_refused() -> None:
    with pytest.raises(LineTooShortToBendError) as few:
        BentLine(circle(10.0, 5), is_closed=True)
    assert few.value.length_mm < 70.0
    with pytest.raises(LineTooShortToBendError) as short:
        BentLine(circle(0.5, 40), is_closed=True)
    assert short.value.length_mm == pytest.approx(np.pi, rel=0.01)
    assert short.value.least_mm == pytest.approx(8.0)
