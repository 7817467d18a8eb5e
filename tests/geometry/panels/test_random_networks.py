"""Seams drawn at random: clean panels come out, or a refusal that says where, and nothing else."""

from collections import Counter
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest

import sample_data
from geometry.mesh import TriMesh
from geometry.panels import Seam, Surface, cut_along, panels
from geometry.scan import read_scan, scaled, sound_mesh, tidy_for_panels
from geometry.surface import working_surface
from tests.bodies import dome
from tests.geometry.mesh.small_meshes import octahedron, tube
from tests.geometry.panels.networks import Networks, assert_clean, cut_or_refused
from tests.geometry.panels.surfaces import line, ring, surface_of, wavy_sheet

REAL_SCANS = Path(__file__).parents[4] / "shared" / "data"
MM_PER_UNIT = {
    "bench_scan_ragged_m.ply": 1000.0,
    "plasticVase_decimated.ply": 1.0,
    "plate_edge_scan_m.ply": 1000.0,
    "shallow_panel_scan_m.ply": 1000.0,
}
NETWORKS = 200
CHUNK = 20


def outcomes(surface: Surface, seeds: range) -> Counter[str]:
    networks = Networks(surface)
    return Counter(cut_or_refused(surface, networks.drawn(seed)) for seed in seeds)


@pytest.mark.parametrize(
    ("body", "cut"),
    [
        (wavy_sheet(count=1000), True),
        (dome(80.0, 1.2, 12), True),
        (tube(20.0, 60.0, 30, 20), True),
        (octahedron(4, 50.0), False),  # rings alone can part a ball
    ],
    ids=["wavy sheet", "dome", "tube", "ball"],
)
def test_on_small_bodies_every_network_is_cut_or_refused_with_its_place(
    body: TriMesh, *, cut: bool
) -> None:
    found = outcomes(surface_of(body, 0.8), range(9))
    assert sum(found.values()) == 9
    assert found["cut"] >= 1 or not cut


def test_panels_share_every_point_of_a_seam_and_lose_no_area() -> None:
    surface = surface_of(wavy_sheet(), 0.8)
    seams = [
        Seam("across", line((0, 60), (150, 75))),
        Seam("along", line((70, 0), (80, 150), 12)),
        Seam("ring", ring((75, 68), 30.0), closed=True),
    ]
    cut = cut_along(surface, seams)
    parts = panels(cut, ())
    assert_clean(surface, cut, parts)
    halves = [(half.seam, part.name, half.other) for part in parts for half in part.seam_halves]
    assert len(halves) == 2 * 12  # two lines and a ring, in four pieces each


@lru_cache
def sample_surface() -> Surface:
    """Return the sample's working surface, coarse."""
    scan = sound_mesh(read_scan(Path(sample_data.__file__).parent / "brackwater_scan.ply")).mesh
    # its unit is the inch: sample_data/README.md
    tank = tidy_for_panels(scaled(scan, 25.4)).mesh
    return working_surface(tank, inward_mm=0.8, spacing_mm=8.0)


@lru_cache
def real_surface(name: str) -> Surface:
    """Return a real scan as it is, only made sound."""
    scan = sound_mesh(read_scan(REAL_SCANS / name)).mesh
    return surface_of(scaled(scan, MM_PER_UNIT[name]))


@pytest.mark.slow
@pytest.mark.parametrize("first", range(0, NETWORKS, CHUNK))
def test_on_the_sample_every_network_is_cut_or_refused_with_its_place(first: int) -> None:
    found = outcomes(sample_surface(), range(first, first + CHUNK))
    assert sum(found.values()) == CHUNK
    assert found["cut"] >= 1


@pytest.mark.slow
@pytest.mark.skipif(not REAL_SCANS.is_dir(), reason="needs the real scans")
@pytest.mark.parametrize("first", range(0, NETWORKS, CHUNK))
@pytest.mark.parametrize("name", sorted(MM_PER_UNIT))
def test_on_real_scans_every_network_is_cut_or_refused_with_its_place(
    name: str, first: int
) -> None:
    assert sum(outcomes(real_surface(name), range(first, first + CHUNK)).values()) == CHUNK


@pytest.mark.slow
@pytest.mark.skipif(not REAL_SCANS.is_dir(), reason="needs the real scans")
def test_a_real_panel_cut_in_four_meets_point_for_point() -> None:
    """The rolled panel, parted along and across its middle."""
    surface = real_surface("shallow_panel_scan_m.ply")
    low, high = surface.outside.min(axis=0), surface.outside.max(axis=0)
    across = int(np.argmin(high - low))
    ways = [axis for axis in range(3) if axis != across]
    networks = Networks(surface)
    seams = []
    for way in ways:
        ends = np.stack([(low + high) / 2.0] * 40)
        ends[:, way] = np.linspace(low[way], high[way], 40)
        seams.append(Seam(f"way {way}", networks.nearest.find(ends).points))
    cut = cut_along(surface, seams)
    parts = panels(cut, ())
    assert_clean(surface, cut, parts)
    assert len(parts) >= 4
