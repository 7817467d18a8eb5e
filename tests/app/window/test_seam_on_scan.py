"""The line on the scan itself, on a noisy sheet whose surface without noise is known."""

from itertools import pairwise

import numpy as np
import pytest

from app.window.seam_ground import SHORT_MM, Ground
from app.window.seam_on_scan import GUIDE_MM, ExactLine, ScanUnder
from geometry.arrays import BoolArray, FloatArray
from geometry.mesh import PathFinder, SurfacePath, SurfacePoint, TriMesh, nearest_points
from geometry.seams import SeamGround
from tests.bodies import patch
from tests.geometry.seams.test_ground import STRAIGHT_RAD, bends_across_edges


def sheet(step: float, noise: float = 0.0, *, y_from: float = 0.0) -> TriMesh:
    """Return a bumpy sheet 180 x 90 mm, or the part of it beyond a y."""
    rng = np.random.default_rng(4)
    x, y = np.meshgrid(np.arange(0, 180.1, step), np.arange(y_from, 90.1, step), indexing="ij")
    return patch(x, y, height(x, y) + noise * rng.standard_normal(x.shape))


def height(x: FloatArray, y: FloatArray) -> FloatArray:
    return np.asarray(12 * np.sin(x / 20) * np.cos(y / 17))


def on_sheet(*places: tuple[float, float]) -> FloatArray:
    x, y = np.array(places, float).T
    return np.stack([x, y, height(x, y)], axis=1)


SMOOTH = SeamGround(sheet(2.0))
SCAN = sheet(0.75, 0.05)
SCANNED = np.zeros(len(SMOOTH.mesh.faces), bool)
ENDS = on_sheet((12, 20), (150, 71))


def gone(line: FloatArray) -> FloatArray:
    return np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])


def guided(mesh: TriMesh, path: SurfacePath) -> SurfacePath:
    """Return the line over a whole mesh from place to place along a path: what is to come out."""
    far = gone(path.points)
    at = np.linspace(0.0, far[-1], int(np.ceil(far[-1] / GUIDE_MM)) + 1)
    places = np.stack([np.interp(at, far, path.points[:, k]) for k in range(3)], axis=1)
    near = nearest_points(mesh, places)
    stops = zip(near.faces.tolist(), near.barycentric, strict=True)
    return PathFinder(mesh).through([SurfacePoint(face, weights) for face, weights in stops])


def test_the_line_on_the_scan_is_the_shortest_from_place_to_place_and_straight() -> None:
    """Over a strip the same line as over the whole scan, by the path finder: straight to 1e-6 rad,
    none of its legs longer than the walk along edges.
    """
    path = SMOOTH.exact(ENDS)
    found = ScanUnder(SCAN, SCANNED).under(path)
    whole = guided(SCAN, path)
    assert found.points == pytest.approx(whole.points, abs=1e-9)
    assert bends_across_edges(SCAN, whole).max() < STRAIGHT_RAD
    assert np.abs(nearest_points(SCAN, found.points).distances).max() < 1e-9
    finder = PathFinder(SCAN)
    for a, b in pairwise(whole.corners.tolist()):
        near = nearest_points(SCAN, whole.points[[a, b]])
        ends = [SurfacePoint(int(f), w) for f, w in zip(near.faces, near.barycentric, strict=True)]
        length = np.linalg.norm(np.diff(whole.points[a : b + 1], axis=0), axis=1).sum()
        assert length <= finder.edge_walk_length(*ends) * (1 + 1e-9)


def test_it_keeps_to_the_line_that_is_cut_where_the_shortest_over_noise_would_not() -> None:
    """Half a millimetre at most; the shortest over the scan's triangles alone bows farther off."""
    path = SMOOTH.exact(ENDS)
    found = ScanUnder(SCAN, SCANNED).under(path)

    def off(line: FloatArray) -> float:
        start, step = path.points[:-1], np.diff(path.points, axis=0)
        share = ((line[:, None] - start) * step).sum(axis=2) / (step * step).sum(axis=1)
        near = start + np.clip(share, 0.0, 1.0)[:, :, None] * step
        return float(np.linalg.norm(near - line[:, None], axis=2).min(axis=1).max())

    assert found.beside_mm == pytest.approx(off(found.points), abs=1e-9)
    assert found.beside_mm < 0.5
    assert off(SeamGround(SCAN).exact(ENDS).points) > 2 * found.beside_mm


def test_over_what_was_not_scanned_it_stays_on_the_filling() -> None:
    """Nothing was scanned at y < 30: there the line is the very one that is cut."""
    middle = SMOOTH.mesh.vertices[SMOOTH.mesh.faces][:, :, 1].mean(axis=1)
    under = ScanUnder(sheet(0.75, 0.05, y_from=30.0), middle < 30.0)
    path = SMOOTH.exact(on_sheet((40, 10), (60, 80)))
    found = under.under(path).points
    cut = path.points[path.points[:, 1] < 29.0]
    assert (found[: len(cut)] == cut).all()
    beyond = found[found[:, 1] > 31.0]
    assert np.abs(nearest_points(under.mesh, beyond).distances).max() < 1e-9


@pytest.mark.parametrize("lift", [5.0, 500.0])
def test_where_the_scan_has_no_way_the_line_is_the_one_that_is_cut(lift: float) -> None:
    away = TriMesh(SCAN.vertices + [0.0, 0.0, lift], SCAN.faces)
    path = SMOOTH.exact(ENDS)
    found = ScanUnder(away, SCANNED).under(path)
    assert (found.points == path.points).all()
    assert found.beside_mm == pytest.approx(0.0, abs=1e-12)


def test_a_moved_point_lays_only_the_legs_beside_it_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    laid: list[int] = []
    lay = ScanUnder._new_leg

    def counted(self: ScanUnder, line: FloatArray, guessed: BoolArray) -> ExactLine:
        laid.append(len(line))
        return lay(self, line, guessed)

    monkeypatch.setattr(ScanUnder, "_new_leg", counted)
    ground = Ground(SMOOTH, 1.0, ScanUnder(SCAN, SCANNED))
    points = on_sheet(*((10 + 40 * k, 20 + 9 * (k % 2)) for k in range(5)))
    ground.exact(points)
    assert len(laid) == 4
    points[1] = on_sheet((50, 32))[0]
    ground.exact(points)
    assert len(laid) == 6


def test_what_follows_the_pointer_is_the_line_that_is_cut_where_legs_are_short() -> None:
    ground = Ground(SMOOTH, 25.4)
    points = on_sheet((10, 20), (70, 50), (120, 20))
    assert np.linalg.norm(np.diff(points, axis=0), axis=1).max() < SHORT_MM
    assert ground.quick(points / 25.4) * 25.4 == pytest.approx(SMOOTH.exact(points).points)
    assert len(ground.quick(np.array([[1.0, 1, 0], [1.0, 1, 0]]))) == 0
