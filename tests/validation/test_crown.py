"""Crown against closed forms and a general geometry library.

Principal curvatures in closed form: a ball of radius R has 1/R twice; a tube 1/R and 0; a torus of
tube radius r and ring radius R, at tube angle p, 1/r and cos p / (R + r cos p); an ellipsoid
x^2/a^2 + y^2/b^2 + z^2/c^2 = 1 with the support h = (x^2/a^4 + y^2/b^4 + z^2/c^4)^(-1/2) has
the product h^4 / (a b c)^2 and the mean h^3 (a^2 + b^2 + c^2 - x^2 - y^2 - z^2) / (2 (a b c)^2).
The textbooks' formulas, from memory. A saddle z = (x^2 - y^2) / (2 R) has 1/R and -1/R in its
middle.

The library: libigl's principal_curvature, quadrics over five rings.
"""

from collections.abc import Callable

import numpy as np
import pytest

from geometry.arrays import BoolArray, FloatArray
from geometry.mesh import TriMesh, typical_edge_length
from geometry.surface.crown import crown_of
from tests import bodies
from tests.convergence import observed_order
from tests.geometry.surface.crown.skins import noisy, outward_tube

Truth = tuple[TriMesh, FloatArray, BoolArray]
_AXES = np.array([150.0, 100.0, 50.0])


def ball(cells: int) -> Truth:
    dome = bodies.dome(100.0, 0.8, cells)
    inner = np.hypot(dome.vertices[:, 0], dome.vertices[:, 1]) < 100.0 * np.sin(0.5)
    return dome, np.full((len(dome.vertices), 2), 0.01), inner


def tube(cells: int) -> Truth:
    sheet = outward_tube(60.0, cells)
    x, y, z = sheet.vertices.T
    inner = (np.abs(x - 60.0) < 25.0) & (np.abs(np.arctan2(y, z)) < 0.4)
    return sheet, np.broadcast_to(np.array([1 / 60.0, 0.0]), (len(x), 2)), inner


def torus(cells: int) -> Truth:
    patch = bodies.torus_patch(120.0, 40.0, 1.2, (-1.2, 1.2), (round(1.25 * cells), cells))
    x, y, z = patch.vertices.T
    turn = np.arctan2(z, np.hypot(x, y) - 120.0)
    inner = (np.abs(np.arctan2(y, x)) < 0.35) & (np.abs(turn) < 0.7)
    around = np.cos(turn) / (120.0 + 40.0 * np.cos(turn))
    return patch, np.stack([np.full(len(x), 1 / 40.0), around], axis=1), inner


def ellipsoid(cells: int) -> Truth:
    dome = bodies.dome(1.0, 1.2, cells)
    points = dome.vertices * _AXES
    support = 1.0 / np.sqrt((points**2 / _AXES**4).sum(axis=1))
    product = support**4 / np.prod(_AXES) ** 2
    mean = support**3 * ((_AXES**2).sum() - (points**2).sum(axis=1)) / (2.0 * np.prod(_AXES) ** 2)
    apart = np.sqrt(np.maximum(mean**2 - product, 0.0))
    truth = np.stack([mean + apart, mean - apart], axis=1)
    return TriMesh(points, dome.faces), truth, points[:, 2] > 50.0 * np.cos(0.7)


def saddle(cells: int) -> Truth:
    x, y = np.meshgrid(*[np.linspace(-60.0, 60.0, cells + 1)] * 2, indexing="ij")
    patch = bodies.graph_patch((x**2 - y**2) / 240.0, 60.0, 60.0)
    at: BoolArray = np.asarray((np.abs(patch.vertices[:, :2]) < 1e-9).all(axis=1))
    return patch, np.broadcast_to(np.array([1.0, -1.0]) / 120.0, (len(at), 2)), at


def _error(body: Callable[[int], Truth], cells: int) -> float:
    """Return the largest error of a curvature over the larger curvature, points over 3 edges."""
    skin, truth, inner = body(cells)
    crown = crown_of(skin, reach_mm=3.0 * typical_edge_length(skin))
    return float((np.abs(crown.curvatures - truth) / truth.max(axis=1)[:, None])[inner].max())


@pytest.mark.parametrize(
    ("body", "order", "limit"),
    [(ball, 2.0, 1e-4), (tube, 2.0, 4e-4), (torus, 2.0, 3e-4), (saddle, 2.0, 1e-3)],
)
def test_curvature_converges_to_the_closed_form(
    body: Callable[[int], Truth], order: float, limit: float
) -> None:
    """Fits over a fixed number of edges err by the square of the edge."""
    cells = (12, 24, 48)
    found = observed_order(lambda size: _error(body, round(1.0 / size)), [1 / n for n in cells])
    assert found > order - 0.2
    assert _error(body, cells[-1]) < limit


def test_curvature_converges_on_an_ellipsoid() -> None:
    """Its triangles are drawn out by three to one: asked with less."""
    found = observed_order(
        lambda size: _error(ellipsoid, round(1.0 / size)), [1 / 16, 1 / 32, 1 / 64]
    )
    assert found > 1.4
    assert _error(ellipsoid, 64) < 3e-3


@pytest.mark.parametrize("body", [ball, torus, ellipsoid])
def test_curvature_agrees_with_a_library_and_is_nearer_the_truth(
    body: Callable[[int], Truth],
) -> None:
    igl = pytest.importorskip("igl")
    skin, truth, inner = body(48)
    told = igl.principal_curvature(
        np.ascontiguousarray(skin.vertices), np.ascontiguousarray(skin.faces)
    )
    theirs = np.sort(np.abs(np.stack([told[2], told[3]], axis=1)), axis=1)[:, ::-1]
    ours = crown_of(skin, reach_mm=3.0 * typical_edge_length(skin)).curvatures
    size = truth.max(axis=1)[:, None]
    off_theirs = (np.abs(theirs - truth) / size)[inner].max()
    assert (np.abs(theirs - ours) / size)[inner].max() < 1.1 * off_theirs
    assert (np.abs(ours - truth) / size)[inner].max() < off_theirs < 0.05


def test_sweeps_are_true_through_scan_noise() -> None:
    """On a ball of 100 mm, noise 0.05 mm: sweeps within a tenth for nineteen places in twenty."""
    dome = bodies.dome(100.0, 0.8, 80)
    crown = crown_of(noisy(dome, 0.05))
    inner = np.hypot(dome.vertices[:, 0], dome.vertices[:, 1]) < 60.0
    off = np.abs(crown.sweep_mm[inner] / 100.0 - 1.0)
    assert np.quantile(off, 0.95) < 0.1
    assert abs(np.median(crown.sweep_mm[inner]) / 100.0 - 1.0) < 0.01
