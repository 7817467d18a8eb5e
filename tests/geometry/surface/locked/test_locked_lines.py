"""Lines the maker locked: edges of the surface, where they were drawn, and what is refused."""

import numpy as np
import pytest

from geometry.arrays import FloatArray, IntArray
from geometry.mesh import TriMesh, edge_table, part_of_mesh
from geometry.progress import Cancelled
from geometry.surface import (
    LineOffSurfaceError,
    LineTooShortError,
    WorkingSurface,
    working_surface,
)
from geometry.surface.net import evenness
from tests.geometry.surface.scans import crease_profile, creased_scan, dome_scan, scattered

TURN = np.radians(80.0)
LENGTH = 90.0


def along(offset: float = 0.0, start: float = 0.0, stop: float = LENGTH) -> FloatArray:
    """Return a line along the crease of a creased scan, some way beside it."""
    y = np.linspace(start, stop, 8)
    return np.stack([np.full(8, offset), y, np.zeros(8)], axis=1)


def edges_missing(surface: WorkingSurface, run: IntArray) -> int:
    """Return how many pieces of a line are no edges of the mesh."""
    edges = {tuple(pair) for pair in edge_table(surface.mesh.faces).edges.tolist()}
    pairs = np.sort(np.stack([run[:-1], run[1:]], axis=1), axis=1).tolist()
    return sum(tuple(pair) not in edges for pair in pairs)


def plateau_scan(turn: float, tip: float, way: float) -> TriMesh:
    """Return a level disk of radius 20 that turns down (way 1) or up (-1) all round, scanned."""
    flat, faces = scattered(70.0, 70.0, 1.0)
    x, y = (flat - 35.0).T
    place, _ = crease_profile(np.linspace(-60.0, 60.0, 24_001), turn, tip)
    cosine, sine = np.cos(turn / 2.0), np.sin(turn / 2.0)
    level = place @ np.array([[cosine, -sine], [sine, cosine]])
    height = np.interp(np.hypot(x, y) - 20.0, level[:, 0], way * level[:, 1])
    noise = np.random.default_rng(3).normal(0.0, 0.05, (len(flat), 3))
    return TriMesh(np.column_stack([x, y, height]) + noise, faces)


def test_a_locked_line_runs_along_edges_from_end_to_end() -> None:
    surface = working_surface(creased_scan(TURN, 1.0), lines=[along(0.4)], inward_mm=0.8)
    run = surface.lines[0]
    assert edges_missing(surface, run) == 0
    assert len(set(run.tolist())) == len(run)
    assert surface.outside[run[0], 1] == pytest.approx(0.0, abs=1.0)
    assert surface.outside[run[-1], 1] == pytest.approx(LENGTH, abs=1.0)
    assert (np.diff(surface.outside[run, 1]) > 0).all()
    assert evenness(surface.mesh.vertices, surface.mesh.faces).min() > 0.05


def test_a_line_drawn_beside_the_crease_is_drawn_on_to_it() -> None:
    """The maker's line lies 1.5 mm off; noise 0.05 mm leaves a third of a millimetre at most."""
    surface = working_surface(creased_scan(TURN, 1.0), lines=[along(1.5)])
    assert np.abs(surface.outside[surface.lines[0], 0]).max() < 0.35


def test_a_locked_line_may_run_the_other_way_and_end_inside() -> None:
    surface = working_surface(creased_scan(TURN, 1.0), lines=[along(start=70.0, stop=20.0)])
    run = surface.lines[0]
    ends = surface.outside[run[[0, -1]], 1]
    assert ends == pytest.approx([70.0, 20.0], abs=1.5)


@pytest.mark.parametrize("way", [1.0, pytest.param(-1.0, marks=pytest.mark.slow)])
def test_a_closed_line_over_ridge_or_valley_closes(way: float) -> None:
    around = np.linspace(0.0, 2.0 * np.pi, 25)
    ring = np.stack([20.3 * np.cos(around), 20.3 * np.sin(around), 0.0 * around], axis=1)
    ring[-1] = ring[0]
    surface = working_surface(plateau_scan(np.radians(60.0), 1.0, way), lines=[ring])
    run = surface.lines[0]
    assert run[0] == run[-1]
    assert edges_missing(surface, run) == 0
    radius = np.hypot(*surface.outside[run, :2].T)
    assert radius == pytest.approx(np.full(len(run), 20.0), abs=0.3)


def test_lines_that_cross_share_a_vertex() -> None:
    x = np.linspace(-20.0, 20.0, 9)
    across = np.stack([x, np.full(9, 40.0), -np.abs(x) * np.tan(TURN / 2.0)], axis=1)
    surface = working_surface(creased_scan(TURN, 1.0), lines=[along(), across])
    first, second = surface.lines
    assert edges_missing(surface, first) == edges_missing(surface, second) == 0
    assert len(set(first.tolist()) & set(second.tolist())) == 1


def test_a_line_on_round_skin_stays_on_the_fitted_surface() -> None:
    """A dome of R 60 is not creased by a line across it: within the noise of 0.1 mm of the ball."""
    line = np.array([[-20.0, 0.0, 56.5], [0.0, 2.0, 60.0], [20.0, 5.0, 56.4]])
    surface = working_surface(dome_scan(60.0, 60.0), lines=[line])
    off = np.linalg.norm(surface.outside, axis=1) - 60.0
    assert np.abs(off[surface.lines[0]]).max() < 0.1
    assert np.abs(off).max() < 0.2


@pytest.mark.slow
def test_a_line_changes_nothing_far_from_it() -> None:
    """Beyond its reach the surface differs by no more than two nets of the same skin do."""
    scan = creased_scan(TURN, 1.0)
    surfaces = [working_surface(scan), working_surface(scan, lines=[along()])]
    for surface in surfaces:
        far = np.abs(surface.outside[:, 0]) > 14.0
        slope = np.tan(TURN / 2.0)
        mitre = 1.0 / np.cos(TURN / 2.0) - 1.0
        height = surface.outside[far, 2] - mitre + slope * np.abs(surface.outside[far, 0])
        assert np.abs(height * np.cos(TURN / 2.0)).max() < 0.1


def test_a_line_off_the_surface_is_refused_with_its_place() -> None:
    with pytest.raises(LineOffSurfaceError) as caught:
        working_surface(
            creased_scan(TURN, 1.0), lines=[along(), along() + np.array([0.0, 0.0, 7.0])]
        )
    assert caught.value.line == 1
    assert caught.value.distance_mm == pytest.approx(7.0, abs=0.5)
    assert caught.value.tolerance_mm == 6.0
    assert caught.value.point[2] == 7.0


@pytest.mark.parametrize("points", [along(stop=5.0), along()[:1], along(stop=0.0)])
def test_a_line_shorter_than_a_few_triangles_is_refused(points: FloatArray) -> None:
    with pytest.raises(LineTooShortError) as caught:
        working_surface(creased_scan(TURN, 1.0), lines=[points])
    assert caught.value.line == 0
    assert caught.value.length_mm < caught.value.least_mm == 9.0


@pytest.mark.slow
def test_the_same_lines_give_the_same_surface() -> None:
    scan = creased_scan(TURN, 1.0)
    one, other = (working_surface(scan, lines=[along(0.3)]) for _ in range(2))
    assert (one.outside == other.outside).all()
    assert (one.lines[0] == other.lines[0]).all()


def test_fitting_lines_can_be_stopped_and_reports_progress() -> None:
    seen: list[float] = []

    def watch(done: float, stage: str) -> None:
        seen.append(done)
        if stage == "fit the lines":
            raise Cancelled

    with pytest.raises(Cancelled):
        working_surface(creased_scan(TURN, 1.0), lines=[along()], report=watch)
    assert seen == sorted(seen)


def test_vertices_on_the_round_of_a_line_are_as_sure_as_those_beside_it() -> None:
    """Points on the round say nothing of the flanks, but sections do: no error is drawn out."""
    scan = creased_scan(TURN, 5.0)
    narrow = scan.vertices[scan.faces].mean(axis=1)[:, 0] < 7.5
    lip = part_of_mesh(scan, np.flatnonzero(narrow))[0]
    plain, held = working_surface(lip), working_surface(lip, lines=[along()])
    assert held.error_mm.max() < 2.0 * plain.error_mm.max()
