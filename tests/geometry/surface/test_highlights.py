"""Highlight lines: the law of reflection, and a flat of 0.2 mm that must be seen through noise."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.mesh import TriMesh
from geometry.surface import LIT_SHARE, LightTubes, calm_normals, highlights, is_lit
from tests import bodies
from tests.geometry.surface.crown.skins import noisy

_TUBES = LightTubes(np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0]))
_EYE = np.array([0.0, 0.0, 1000.0])
_SWEEP, _FLAT_MM = 300.0, 0.2
_HALF_FLAT = np.sqrt(2.0 * _SWEEP * _FLAT_MM)
"""A chord this far to either side of its middle lies 0.2 mm under the sweep there: 11 mm."""
_PICTURE_MM = 0.5
"""A picture point: a tank of 560 mm on 1120 of them."""


def _swept(rows_with_flat: float, spacing: float = 1.25) -> TriMesh:
    """Return a sweep of 300 mm about y, filed flat over 22 mm where y is below a value."""
    cells = round(100.0 / spacing)
    x, y = np.meshgrid(*[np.linspace(-50.0, 50.0, cells + 1)] * 2, indexing="ij")
    z = np.sqrt(_SWEEP**2 - x**2) - _SWEEP
    chord = np.sqrt(_SWEEP**2 - _HALF_FLAT**2) - _SWEEP
    return bodies.patch(x, y, np.where(y < rows_with_flat, np.minimum(z, chord), z))


def _seen(skin: TriMesh, normals: FloatArray) -> FloatArray:
    """Return which tube is seen, tubes beyond the last counted below 0."""
    seen = highlights(skin.vertices, normals, _EYE, _TUBES)
    return np.asarray(np.where(seen > _TUBES.count / 2, seen - _TUBES.count, seen))


def test_a_ball_shows_a_tube_where_reflection_says() -> None:
    """On a ball seen from far, the normal at the angle a off the sight sends it back at 2 a."""
    angle = np.radians(np.array([0.0, 10.0, 25.0, 44.0]))
    normals = np.stack([np.sin(angle), 0.0 * angle, np.cos(angle)], axis=1)
    seen = highlights(10.0 * normals, normals, np.array([0.0, 0.0, 1e9]), _TUBES)
    np.testing.assert_allclose(seen, 2.0 * np.degrees(angle) / 7.5, atol=1e-6)


def test_turning_work_eye_and_tubes_together_changes_nothing() -> None:
    random = np.random.default_rng(5)
    points, normals = random.normal(size=(2, 40, 3))
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    turn, _ = np.linalg.qr(random.normal(size=(3, 3)))
    turn *= np.sign(np.linalg.det(turn))
    before = highlights(points, normals, _EYE, _TUBES)
    turned = LightTubes(turn @ _TUBES.along, turn @ _TUBES.up)
    after = highlights(points @ turn.T, normals @ turn.T, turn @ _EYE, turned)
    np.testing.assert_allclose(after, before, atol=1e-7)


@pytest.mark.parametrize("noise", [0.0, 0.05, 0.1])
def test_a_flat_of_a_fifth_moves_the_edge_of_a_highlight(noise: float) -> None:
    """Tubes follow each other every 17 mm on the sweep, seen from 1000 mm.

    So the lit stripe in the middle ends 4.3 mm to its side; on the flat, whose normals stand still
    to its end at 11 mm, it ends there: 6.5 mm on, 13 picture points. Noise and reach leave 8.
    """
    skin = noisy(_swept(0.0), noise)
    seen = _seen(skin, calm_normals(skin).normals)
    x, y = skin.vertices[:, 0], skin.vertices[:, 1]
    at_edge = np.abs(seen - LIT_SHARE / 2.0) < 0.06
    ends = [np.median(x[at_edge & (np.abs(y - row) < 10.0)]) for row in (30.0, -30.0)]
    assert (ends[1] - ends[0]) / _PICTURE_MM > 8.0
    assert ends[0] == pytest.approx(4.3, abs=0.8)


@pytest.mark.parametrize("noise", [0.0, 0.05, 0.1])
def test_a_flat_of_a_fifth_breaks_the_even_row(noise: float) -> None:
    """On the flat hardly a tube a mm, over its edge half as many again as beside it."""
    skin = noisy(_swept(0.0), noise)
    seen = _seen(skin, calm_normals(skin).normals)
    inner, edge = _tubes_a_mm(skin, seen, -30.0)
    steady = _tubes_a_mm(skin, seen, 30.0)
    assert inner < 0.35 * steady[0]
    assert edge > 1.4 * steady[1]


def _tubes_a_mm(skin: TriMesh, seen: FloatArray, row: float) -> tuple[float, float]:
    """Return tubes a mm along x in the flat's middle, and over its edge, about a row."""
    x, y = skin.vertices[:, 0], skin.vertices[:, 1]
    near = np.abs(y - row) < 10.0
    inner = near & (np.abs(x) < 5.0)
    edge = near & (np.abs(x - _HALF_FLAT) < 4.0)
    slopes = [float(np.polyfit(x[at], seen[at], 1)[0]) for at in (inner, edge)]
    return slopes[0], slopes[1]


def test_a_fair_sweep_shows_tubes_evenly_through_noise() -> None:
    """Seen from 1000 mm, the normal and the sight turn together: by x / 300 and x / 1000."""
    skin = noisy(_swept(-99.0), 0.1)
    seen = _seen(skin, calm_normals(skin).normals)
    inner = (np.abs(skin.vertices[:, :2]) < 35.0).all(axis=1)
    x = skin.vertices[:, 0]
    turned = 2.0 * np.arcsin(x / _SWEEP) + np.arctan2(x, 1000.0 - skin.vertices[:, 2])
    fair = np.degrees(turned) / 7.5
    off = (seen - fair)[inner]
    assert np.quantile(np.abs(off), 0.99) < 0.2  # of a tube's pitch
    assert 0.4 < is_lit(seen[inner]).mean() < 0.6
