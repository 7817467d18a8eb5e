"""Stretches of known maps of the sphere: the map maker's formulas, through PROJ and by hand.

Source: Snyder, Map Projections - A Working Manual, USGS Professional Paper 1395 (1987): azimuthal
stereographic, Lambert equal-area and equidistant scale factors and the numerical example of the
stereographic (equation numbers from memory); PROJ through pyproj as independent code.
"""

from collections.abc import Callable

import numpy as np
import pytest
from pyproj import Proj

from geometry.arrays import FloatArray, IntArray
from geometry.blank import principal_stretches
from tests.bodies import dome
from tests.convergence import observed_order

Radius = Callable[[FloatArray], FloatArray]

AZIMUTHAL: dict[str, tuple[Radius, Radius, Radius]] = {
    # radius, scale along the radius, scale around it
    "stere": (
        lambda c: 2 * np.tan(c / 2),
        lambda c: 1 / np.cos(c / 2) ** 2,
        lambda c: 1 / np.cos(c / 2) ** 2,
    ),
    "laea": (lambda c: 2 * np.sin(c / 2), lambda c: np.cos(c / 2), lambda c: 1 / np.cos(c / 2)),
    "aeqd": (lambda c: c, np.ones_like, lambda c: c / np.sin(c)),
}


def _middles(rings: int) -> tuple[FloatArray, IntArray, FloatArray, FloatArray]:
    mesh = dome(1.0, np.radians(60), rings)
    middle = mesh.vertices[mesh.faces].mean(axis=1)
    middle /= np.linalg.norm(middle, axis=1, keepdims=True)
    return (
        mesh.vertices,
        mesh.faces,
        np.arccos(middle[:, 2]),
        np.degrees(np.arctan2(*middle.T[1::-1])),
    )


@pytest.mark.parametrize("name", AZIMUTHAL)
def test_stretches_of_azimuthal_maps_have_the_published_scale(name: str) -> None:
    """Formed over flat is one over the map's scale.

    A face has one slope where the map has many: the error falls with the first power of its size.
    """
    radius, along, around = AZIMUTHAL[name]

    def error(size: float) -> float:
        vertices, faces, c, _ = _middles(round(1 / size))
        theta = np.arccos(np.clip(vertices[:, 2], -1, 1))
        phi = np.arctan2(vertices[:, 1], vertices[:, 0])
        flat = radius(theta)[:, None] * np.stack([np.cos(phi), np.sin(phi)], axis=1)
        got = principal_stretches(vertices, flat, faces)
        told = np.sort(1 / np.stack([along(c), around(c)], axis=1), axis=1)[:, ::-1]
        return float(np.sqrt(((got - told) ** 2).mean()))

    assert error(1 / 40) < 3e-3
    assert observed_order(error, [1 / 8, 1 / 16, 1 / 32]) == pytest.approx(1.0, abs=0.15)


@pytest.mark.parametrize("name", ["stere", "laea", "aeqd", "airy"])
def test_stretches_agree_with_proj_for_its_own_maps(name: str) -> None:
    """PROJ projects the vertices and tells the scale factors at the face middles."""
    proj = Proj(f"+proj={name} +lat_0=90 +lat_b=30 +R=1")
    vertices, faces, c, longitude = _middles(40)
    theta = np.degrees(np.arccos(np.clip(vertices[:, 2], -1, 1)))
    x, y = proj(np.degrees(np.arctan2(vertices[:, 1], vertices[:, 0])), 90 - theta)
    flat = np.stack([x, y], axis=1)
    got = principal_stretches(vertices, flat, faces)
    factors = proj.get_factors(longitude, 90 - np.degrees(c))
    told = 1 / np.stack([factors.tissot_semiminor, factors.tissot_semimajor], axis=1)
    assert np.sqrt(((got - told) ** 2).mean()) < 3e-3  # of first order, as above


def test_snyders_numerical_example_of_the_stereographic_scale() -> None:
    """R 1, centre 40 N 100 W, point 30 N 75 W: k = 1.0402304, so formed over flat 1 / k.

    Source: Snyder 1987, numerical examples; a small triangle about the point stands for it.
    """
    proj = Proj(proj="stere", lat_0=40, lon_0=-100, R=1, k=1)
    lon, lat = np.array([-75.0, -74.99, -75.0]), np.array([30.0, 30.0, 30.01])
    x, y = proj(lon, lat)
    assert (x[0], y[0]) == pytest.approx((0.3807224, -0.1263802), abs=5e-8)
    la, ph = np.radians(lon), np.radians(lat)
    ball = np.stack([np.cos(ph) * np.cos(la), np.cos(ph) * np.sin(la), np.sin(ph)], axis=1)
    got = principal_stretches(ball, np.stack([x, y], axis=1), np.array([[0, 1, 2]]))[0]
    assert got == pytest.approx([1 / 1.0402304] * 2, rel=1e-4)
