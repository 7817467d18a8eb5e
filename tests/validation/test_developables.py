"""Panels that only bend: no shape anywhere, and roll lines with their sweep.

Bodies with closed forms: rolled sheet, cone, folded tray, the sheet of a helix' tangents, each of
which a workshop text unrolls with true lengths. Exact meshes must lay out without stretch or
shrink. Scans of them, with noise, must read less than the *noise figure*: white noise of s at a
spacing of h makes a raw scan's area read too large by 2 s^2 / h^2 on even triangles, here 0.005.
Own derivation; `test_measuring_band` holds the same law to six digits.
"""

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.blank import FlatPanel, Work, flatten
from geometry.mesh import TriMesh, face_areas, vertex_normals
from geometry.pattern import RollLine, roll_lines
from geometry.scan import read_scan, scaled, sound_mesh, tidy_for_panels
from geometry.surface import working_surface
from tests.bodies import cone_sheet, cylinder_sheet, folded_tray, tangent_sheet

DATA = Path(__file__).resolve().parents[3] / "shared" / "data"
needs_data = pytest.mark.skipif(not DATA.is_dir(), reason="the real scans are not here")

NOISE_MM, SPACING_MM = 0.05, 1.0
NOISE_FIGURE = 2.0 * NOISE_MM**2 / SPACING_MM**2

EXACT = {
    "cylinder": cylinder_sheet(100.0, 1.2, 160.0, 40, 50),
    "half-round": cylinder_sheet(99.2, np.pi, 100.0, 80, 24),
    "cone": cone_sheet(100.0, 60.0, 120.0, np.pi, (80, 30)),
    "folded tray": folded_tray(120.0, 40.0, 20),
    "helix tangents": tangent_sheet(100.0, 25.0, 2.0, (30.0, 105.0), (72, 24)),
}

SCANS = {
    "cylinder": cylinder_sheet(100.0, 1.2, 100.0, 120, 100),
    "half-round": cylinder_sheet(30.0, np.pi, 100.0, 94, 100),
    "cone": cone_sheet(100.0, 60.0, 60.0, 1.5, (120, 72)),
    "folded tray": folded_tray(80.0, 30.0, 60),
    "helix tangents": tangent_sheet(100.0, 25.0, 1.5, (30.0, 105.0), (150, 75)),
}


def change(flat: FlatPanel) -> FloatArray:
    """Return (m,) how far each face's lengths change, as a logarithm, at worst."""
    return np.asarray(np.abs(np.log(flat.stretches)).max(axis=1))


def noisy(mesh: TriMesh) -> TriMesh:
    """Return the mesh with white noise along its normals."""
    steps = NOISE_MM * np.random.default_rng(7).standard_normal((len(mesh.vertices), 1))
    return TriMesh(mesh.vertices + steps * vertex_normals(mesh.vertices, mesh.faces), mesh.faces)


@cache
def scanned(name: str) -> FlatPanel:
    """Return the blank of a noisy scan by way of the working surface."""
    return flatten(working_surface(noisy(SCANS[name])).mesh)


@pytest.mark.parametrize("work", [Work(), Work("hencky", "formed"), Work(bias=0.5)], ids=str)
@pytest.mark.parametrize("name", EXACT)
def test_a_panel_that_only_bends_reads_no_shape(name: str, work: Work) -> None:
    flat = flatten(EXACT[name], work)
    assert flat.converged
    assert change(flat).max() < 1e-6
    assert np.abs(flat.thickness - 1.0).max() < 1e-6


@pytest.mark.parametrize("name", EXACT)
def test_its_area_is_the_panels(name: str) -> None:
    flat = flatten(EXACT[name])
    assert flat.blank_area == pytest.approx(flat.formed_area, rel=1e-9)


def test_a_raw_scan_reads_about_the_noise_figure() -> None:
    """The scan's own right-angled triangles read 2 to 4 s^2 / h^2 more area than there is.

    2 on even triangles, 4 on points strewn at random: the known bounds, a tenth apart for chance.
    """
    mesh = SCANS["cylinder"]
    raw = face_areas(noisy(mesh).vertices, mesh.faces).sum()
    growth = raw / face_areas(mesh.vertices, mesh.faces).sum() - 1.0
    assert 0.9 * NOISE_FIGURE < growth < 2.1 * NOISE_FIGURE


@pytest.mark.parametrize("name", ["cylinder", "half-round", "cone", "helix tangents"])
def test_noise_reads_as_less_than_a_fifth_of_the_noise_figure(name: str) -> None:
    """Everywhere, the worst face too; half of the metal reads less than a twentieth."""
    read = change(scanned(name))
    assert read.max() < NOISE_FIGURE / 5.0
    assert np.median(read) < NOISE_FIGURE / 20.0


def test_a_noisy_tray_reads_no_shape_but_at_its_folds() -> None:
    """From 10 mm off the folds on. At them the sharp edge is rounded by the working surface, noise
    or none, and a rounding that varies along a fold is shape: up to a tenth, in the folds' own
    triangles.
    """
    flat = scanned("folded tray")
    middle = flat.vertices[flat.faces].mean(axis=1)
    off = np.hypot(np.abs(middle[:, 0]) - 40.0, middle[:, 2])
    assert change(flat)[off > 10.0].max() < NOISE_FIGURE
    assert np.median(change(flat)) < NOISE_FIGURE / 5.0


def _ways(lines: tuple[RollLine, ...]) -> FloatArray:
    ways = np.array([line.formed[-1] - line.formed[0] for line in lines])
    return np.asarray(ways / np.linalg.norm(ways, axis=1)[:, None])


@pytest.mark.parametrize(
    ("name", "radius", "count"), [("cylinder", 100.0, 6), ("half-round", 30.0, 15)]
)
def test_a_noisy_rolled_sheet_has_its_lines_and_its_sweep(
    name: str, radius: float, count: int
) -> None:
    lines = roll_lines(scanned(name))
    assert len(lines) == count
    assert np.degrees(np.arccos(np.abs(_ways(lines)[:, 0]))).max() < 0.5
    for line in lines:
        assert float(np.median(line.radii)) == pytest.approx(radius, rel=0.03)


def test_a_noisy_cone_has_its_lines_through_its_apex() -> None:
    """Base 100 to 60 over 60: apex 150 up, R = distance from it times 2 / 3, within 5 %."""
    lines = roll_lines(scanned("cone"))
    apex = np.array([0.0, 0.0, 150.0])
    assert len(lines) >= 5
    for line, way in zip(lines, _ways(lines), strict=True):
        to_apex = apex - line.formed.mean(axis=0)
        off = np.linalg.norm(np.cross(to_apex, way)) / np.linalg.norm(to_apex)
        assert np.degrees(off) < 1.5
        slant = np.linalg.norm(line.formed - apex, axis=1)
        assert line.radii == pytest.approx(slant * 100.0 / 150.0, rel=0.05)


def test_a_noisy_tray_is_folded_where_it_was() -> None:
    """Folds 40 from the middle, to half a working triangle of 3 mm; a right angle to a degree."""
    lines = roll_lines(scanned("folded tray"))
    assert [line.is_fold for line in lines] == [True, True]
    for line in lines:
        assert np.abs(np.abs(line.formed[:, 0]) - 40.0).max() < 1.5
        assert np.abs(line.formed[:, 2]).max() < 1.5
        assert np.degrees(line.turn_rad) == pytest.approx(90.0, abs=1.0)
        assert line.radii.max() < 3.0 * 1.6


def test_a_half_round_scanned_outside_is_laid_out_on_the_middle_of_the_metal() -> None:
    """Outside R 100, sheet 1.6: pi (100 - 0.8) = 311.6 wide, not 314.2, within the noise's 0.1."""
    outside = cylinder_sheet(100.0, np.pi, 60.0, 314, 60)
    mesh = TriMesh(outside.vertices, outside.faces[:, ::-1])
    flat = flatten(working_surface(noisy(mesh), inward_mm=0.8).mesh)
    assert max(flat.blank_size) == pytest.approx(np.pi * 99.2, abs=0.1)
    assert change(flat).max() < NOISE_FIGURE
    lines = roll_lines(flat)
    assert len(lines) == 15
    assert not any(line.towards_outside for line in lines)
    assert float(np.median([line.radii.mean() for line in lines])) == pytest.approx(99.2, rel=0.01)


@needs_data
def test_a_real_rolled_panel_has_its_lines_along_it_and_its_sweep() -> None:
    """The large rolled panel of test_real_scans: radius 1.74 m one way by a cylinder fitted to all
    of it, 0.57 mm RMS off. Its waves are not rolled: two or three straight lines of its whole
    length, alike within 2 degrees, whose mean radius is the cylinder's within 10 %.
    """
    name = "shallow_panel_scan_m.ply"
    scan = tidy_for_panels(scaled(sound_mesh(read_scan(DATA / name)).mesh, 1000.0)).mesh
    lines = roll_lines(flatten(working_surface(scan, spacing_mm=12.0).mesh))
    assert len(lines) in (2, 3)
    assert not any(line.is_fold for line in lines)
    ways = _ways(lines)
    assert np.degrees(np.arccos(np.abs(ways @ ways[0]).clip(max=1.0))).max() < 2.0
    assert min(np.linalg.norm(line.points[-1] - line.points[0]) for line in lines) > 1200.0
    mean = np.mean([float(np.mean(line.radii)) for line in lines])
    assert mean == pytest.approx(1740.0, rel=0.1)
