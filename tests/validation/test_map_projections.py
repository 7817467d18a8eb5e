"""Stretches of known maps of the sphere: the map maker's formulas, through PROJ and by hand.

Source: Snyder, Map Projections - A Working Manual, USGS Professional Paper 1395 (1987): azimuthal
stereographic, Lambert equal-area and equidistant scale factors and the numerical examples of the
first two (equation numbers from memory); PROJ through pyproj as independent code. The best
conformal map of a cap: Chebyshev (1856), as told by Milnor, American Mathematical Monthly 76 (1969)
1101 (from memory).
"""

from collections.abc import Callable

import numpy as np
import pytest
from pyproj import Proj

from geometry.arrays import FloatArray, IntArray
from geometry.blank import Work, flatten, principal_stretches
from geometry.blank.conformal import conformal_layout
from geometry.blank.elements import Elements
from geometry.blank.start import at_panel_area
from geometry.mesh import rims
from tests.bodies import dome
from tests.convergence import extrapolated, observed_order

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


AZIMUTHAL_TABLE = [
    # colatitude; stereographic radius, scale; equal-area radius, scale along and around the radius;
    # equidistant scale around the radius
    (5, 0.087322, 1.001906, 0.087239, 0.999048, 1.000953, 1.001270),
    (10, 0.174977, 1.007654, 0.174311, 0.996195, 1.003820, 1.005095),
    (20, 0.352654, 1.031091, 0.347296, 0.984808, 1.015427, 1.020600),
    (30, 0.535898, 1.071797, 0.517638, 0.965926, 1.035276, 1.047198),
    (45, 0.828427, 1.171573, 0.765367, 0.923880, 1.082392, 1.110721),
    (60, 1.154701, 1.333333, 1.000000, 0.866025, 1.154701, 1.209200),
    (90, 2.000000, 2.000000, 1.414214, 0.707107, 1.414214, 1.570796),
]


def _flat_over_formed(proj: Proj, longitude: float, latitude: float) -> tuple[float, float]:
    """Return the stretches flat over formed of a tiny triangle on the unit ball, smaller first."""
    small = 1e-4  # of a degree: the slope's change across it is below the table's rounding
    lon = np.array([longitude, longitude + small, longitude])
    lat = np.array([latitude, latitude, latitude + small])
    flat = np.stack(proj(lon, lat), axis=1)
    la, ph = np.radians(lon), np.radians(lat)
    ball = np.stack([np.cos(ph) * np.cos(la), np.cos(ph) * np.sin(la), np.sin(ph)], axis=1)
    larger, smaller = principal_stretches(ball, flat, np.array([[0, 1, 2]]))[0]
    return float(1.0 / larger), float(1.0 / smaller)


@pytest.mark.parametrize("row", AZIMUTHAL_TABLE, ids=[str(row[0]) for row in AZIMUTHAL_TABLE])
def test_azimuthal_table(row: tuple[float, ...]) -> None:
    """Radii 2 tan(c/2), 2 sin(c/2), c; scales by their derivative and by the radius over sin c."""
    colatitude, *told = row
    found: list[float] = []
    for name in AZIMUTHAL:
        proj = Proj(proj=name, lat_0=90, R=1)
        along, around = _flat_over_formed(proj, 10.0, 90.0 - colatitude)
        radius = float(np.hypot(*proj(10.0, 90.0 - colatitude)))
        found += {
            "stere": [radius, (along + around) / 2.0],
            "laea": [radius, along, around],
            "aeqd": [around],
        }[name]
        if name == "stere":
            assert along == pytest.approx(around, rel=4e-6)
        if name == "aeqd":
            assert along == pytest.approx(1.0, abs=2e-6)
            assert radius == pytest.approx(np.radians(colatitude), abs=1e-9)
    assert found == pytest.approx(told, abs=3e-6)


@pytest.mark.parametrize("degrees", [10, 20, 30, 45, 60])
def test_no_conformal_start_beats_chebyshev(degrees: int) -> None:
    """Among conformal maps of a cap none has a smaller ratio of largest to least scale than
    sec^2(theta/2), reached where the scale is the same all along the rim (the stereographic map).

    Our conformal start is held at two places of the rim, so it comes near the best and no nearer.
    """
    bound = 1.0 / np.cos(np.radians(degrees) / 2.0) ** 2
    table = {10: 1.007654, 20: 1.031091, 30: 1.071797, 45: 1.171573, 60: 1.333333}
    assert bound == pytest.approx(table[degrees], abs=5e-7)

    def ratio(rings: int) -> float:
        mesh = dome(1.0, float(np.radians(degrees)), rings)
        lay = conformal_layout(mesh, rims(mesh)[0], np.arange(len(mesh.vertices)))
        scale = 1.0 / np.sqrt(principal_stretches(mesh.vertices, lay, mesh.faces).prod(axis=1))
        return float(scale.max() / scale.min())

    # Each face has one scale, and the outermost stand a third of a ring inside: first order.
    excess = (extrapolated(ratio(16), ratio(32), order=1.0) - 1.0) / (bound - 1.0)
    assert excess > 1.0
    assert excess < 1.2


def test_no_conformal_layout_beats_the_blank() -> None:
    """The stereographic map is the best conformal one; the least-work blank is better still."""
    mesh = dome(1.0, np.pi / 4, 24)
    lay = at_panel_area(conformal_layout(mesh, rims(mesh)[0], np.arange(len(mesh.vertices))), mesh)
    elements = Elements.of(mesh)
    for measure in ("von_mises", "hencky"):
        work = Work(measure, "formed")
        assert flatten(mesh, work).energy < 0.8 * elements.energy(work, elements.strained(lay).s)


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


def test_snyders_numerical_example_of_the_equal_area_scale() -> None:
    """R 3, centre 40 N 100 W, point 20 S 100 E: x = -4.2339303, y = 4.0257775, k = 4.3912175.

    So formed over flat 1 / k one way and k the other. Source: Snyder 1987, numerical examples.
    """
    proj = Proj(proj="laea", lat_0=40, lon_0=-100, R=3)
    assert proj(100.0, -20.0) == pytest.approx((-4.2339303, 4.0257775), abs=5e-8)
    along, around = _flat_over_formed(Proj(proj="laea", lat_0=40, lon_0=-100, R=1), 100.0, -20.0)
    assert around == pytest.approx(4.3912175, rel=1e-5)
    assert along == pytest.approx(1.0 / 4.3912175, rel=5e-5)  # the triangle's own size, k^2 of it
