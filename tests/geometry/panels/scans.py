"""Real surfaces to cut: the sample's, and scans made by real scanners where they are at hand."""

import json
from functools import lru_cache
from pathlib import Path

import numpy as np

import sample_data
from geometry.panels import Seam, Surface
from geometry.scan import read_scan, scaled, sound_mesh, tidy_for_panels
from geometry.surface import working_surface
from tests.geometry.panels.surfaces import surface_of

SAMPLE = Path(sample_data.__file__).parent
SAMPLE_MM_PER_UNIT = 25.4
"""Inches: sample_data/README.md."""

REAL_SCANS = Path(__file__).parents[4] / "shared" / "data"
MM_PER_UNIT = {
    "bench_scan_ragged_m.ply": 1000.0,
    "plasticVase_decimated.ply": 1.0,
    "plate_edge_scan_m.ply": 1000.0,
    "shallow_panel_scan_m.ply": 1000.0,
}


@lru_cache
def sample_surface() -> Surface:
    """Return the sample's working surface, coarse."""
    scan = sound_mesh(read_scan(SAMPLE / "brackwater_scan.ply")).mesh
    tank = tidy_for_panels(scaled(scan, SAMPLE_MM_PER_UNIT)).mesh
    return working_surface(tank, inward_mm=0.8, spacing_mm=8.0)


@lru_cache
def real_surface(name: str) -> Surface:
    """Return a real scan as it is, only made sound."""
    scan = sound_mesh(read_scan(REAL_SCANS / name)).mesh
    return surface_of(scaled(scan, MM_PER_UNIT[name]))


@lru_cache
def sample_seams() -> tuple[Seam, ...]:
    """Return the seams the sample job is cut along."""
    told = json.loads((SAMPLE / "brackwater_seams.json").read_text(encoding="utf-8"))
    return tuple(
        Seam(
            seam["name"],
            np.array(seam["points"], np.float64) * SAMPLE_MM_PER_UNIT,
            bool(seam["closed"]),
        )
        for seam in told["seams"]
    )
