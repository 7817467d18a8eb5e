"""Panels scanned by real scanners, from the folder beside the project; skipped where it is absent.

Source: shallow_panel_scan_m.ply, a large rolled panel (ROS-Industrial Consortium, scan_n_plan
workshop, Apache-2.0): single curvature, radius 1.74 m one way and 233 m the other, residual
0.57 mm RMS. bench_scan_ragged_m.ply, a bad scan with clutter (same consortium, Apache-2.0).
"""

from pathlib import Path

import numpy as np
import pytest

from geometry.blank import FlatPanel, flatten
from geometry.mesh import TriMesh, rims
from geometry.scan import read_scan, report_on, scaled, sound_mesh, tidy_for_panels
from geometry.surface import filled_openings, working_surface

DATA = Path(__file__).resolve().parents[3] / "shared" / "data"
needs_data = pytest.mark.skipif(not DATA.is_dir(), reason="the real scans are not here")


def _laid_flat(name: str, spacing_mm: float) -> tuple[TriMesh, FlatPanel]:
    scan = tidy_for_panels(scaled(sound_mesh(read_scan(DATA / name)).mesh, 1000.0)).mesh
    surface = working_surface(scan, spacing_mm=spacing_mm)
    mesh, _, _ = filled_openings(surface.mesh, None)
    return mesh, flatten(mesh)


@needs_data
def test_a_real_rolled_panel_lays_out_almost_without_stretch() -> None:
    """Radii 1.74 m and 233 m over about 1 m: a^2 / (16 R1 R2) is under 0.1 per thousand.

    What is left is the scan's own waviness, 0.57 mm RMS.
    """
    mesh, flat = _laid_flat("shallow_panel_scan_m.ply", 12.0)
    assert flat.converged
    assert flat.overlap_area == 0.0
    assert len(rims(mesh)) == 1
    areas = flat.formed_areas
    order = np.argsort(flat.signed_change)
    share = np.cumsum(areas[order]) / areas.sum()
    low, high = flat.signed_change[order][np.searchsorted(share, [0.01, 0.99])]
    assert low > -1e-3
    assert high < 1e-3
    assert flat.blank_area == pytest.approx(flat.formed_area, rel=1e-4)


@needs_data
def test_a_bad_scan_draws_doubts() -> None:
    report = report_on(sound_mesh(read_scan(DATA / "bench_scan_ragged_m.ply")))
    assert len(report.holes) >= 10
    assert any("open edges" in doubt for doubt in report.doubts)
