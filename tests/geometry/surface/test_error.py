"""What a working surface says of its own errors, against what simulated noise does to it."""

from collections.abc import Callable

import numpy as np
import pytest
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray
from geometry.mesh import TriMesh, part_of_mesh, rims
from geometry.surface import WorkingSurface, working_surface
from tests.geometry.surface.scans import dome_scan, shaken, sheet_scan

NOISE = 0.1
SCANS = 4

SHEET = sheet_scan(70.0, 50.0, 1.0, 0.0)
DOME = dome_scan(300.0, 60.0, 1.0, 0.0)


def over_sheet(places: FloatArray) -> FloatArray:
    return np.asarray(places[:, 2])


def over_dome(places: FloatArray) -> FloatArray:
    return np.asarray(np.linalg.norm(places, axis=1) - 300.0)


def on_rim(surface: WorkingSurface) -> BoolArray:
    found = np.zeros(len(surface.outside), bool)
    found[np.concatenate(rims(surface.mesh))] = True
    return found


def surfaces(clean: TriMesh) -> list[WorkingSurface]:
    return [working_surface(shaken(clean, NOISE, seed)) for seed in range(SCANS)]


def rms(parts: list[FloatArray]) -> float:
    return float(np.sqrt(np.mean(np.concatenate(parts) ** 2)))


@pytest.mark.slow
@pytest.mark.parametrize(
    ("clean", "height"), [(SHEET, over_sheet), (DOME, over_dome)], ids=["sheet", "dome"]
)
def test_vertices_scatter_as_the_surface_says(
    clean: TriMesh, height: Callable[[FloatArray], FloatArray]
) -> None:
    """Noise of 0.1 on each coordinate: heights over their standard errors have an RMS of one.

    About 60 places of one scan err for themselves inside, 40 on the rim; over four scans the RMS
    is then known to 5 and 6 %.
    """
    inside, rim = [], []
    for surface in surfaces(clean):
        off = height(surface.outside) / surface.error_mm
        inside.append(off[~on_rim(surface)])
        rim.append(off[on_rim(surface)])
    assert rms(inside) == pytest.approx(1.0, abs=0.2)
    assert rms(rim) == pytest.approx(1.0, abs=0.25)


@pytest.mark.slow
def test_a_rim_scatters_as_the_surface_says() -> None:
    """Across the sides of a flat sheet, corners left out."""
    off = []
    for surface in surfaces(SHEET):
        x, y = surface.outside[on_rim(surface), :2].T
        to_side = np.sort(np.abs([x, 70.0 - x, y, 50.0 - y]), axis=0)
        beside = to_side[0] / surface.rim_error_mm[on_rim(surface)]
        off.append(beside[to_side[1] > 4.0])
    assert rms(off) == pytest.approx(1.0, abs=0.25)


@pytest.mark.slow
def test_errors_go_half_together_as_far_as_the_surface_says() -> None:
    """The correlation of two vertices' errors on a flat sheet, so far apart, is one half."""
    products, squares = [], []
    for surface in surfaces(SHEET):
        inside = ~on_rim(surface)
        places, error = surface.outside[inside], surface.outside[inside, 2]
        apart = surface.correlation_mm * np.array([0.85, 1.15])
        tree = cKDTree(places)
        far = tree.query_pairs(apart[1], output_type="ndarray")
        length = np.linalg.norm(places[far[:, 0]] - places[far[:, 1]], axis=1)
        pair = far[length > apart[0]]
        products.append(error[pair[:, 0]] * error[pair[:, 1]])
        squares.append(error**2)
    together = np.concatenate(products).mean() / np.concatenate(squares).mean()
    assert together == pytest.approx(0.5, abs=0.12)


def test_the_error_grows_in_proportion_to_the_noise() -> None:
    one, three = (working_surface(sheet_scan(60.0, 40.0, 1.0, noise)) for noise in (0.05, 0.15))
    ratio = np.median(three.error_mm) / np.median(one.error_mm)
    assert ratio == pytest.approx(3.0, rel=0.05)


def test_a_filled_hole_has_the_error_of_the_skin_beside_it() -> None:
    whole = dome_scan(200.0, 80.0)
    middle = whole.vertices[whole.faces].mean(axis=1)
    kept = np.hypot(middle[:, 0], middle[:, 1]) > 15.0
    surface = working_surface(part_of_mesh(whole, np.flatnonzero(kept))[0])
    assert surface.filled.any()
    assert np.isfinite(surface.error_mm).all()
    assert (surface.error_mm > 0.0).all()
    scanned = np.unique(surface.mesh.faces[~surface.filled])
    assert surface.error_mm.max() <= surface.error_mm[scanned].max()


def test_only_a_rim_has_an_error_across_itself() -> None:
    surface = working_surface(shaken(sheet_scan(60.0, 40.0, 1.0, 0.0), NOISE, 0))
    assert (surface.rim_error_mm[on_rim(surface)] > 0.0).all()
    assert not surface.rim_error_mm[~on_rim(surface)].any()
