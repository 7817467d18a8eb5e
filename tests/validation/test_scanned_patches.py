"""Real scans cut into patches: each patch is laid flat or refused by type, never folded.

Sources of the scans: see test_real_scans. No noise is taken out first: these are a scanner's own
triangles, at their roughest.
"""

from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from geometry.mesh import TriMesh, part_of_mesh, piece_of_face
from geometry.scan import read_scan, scaled, sound_mesh
from tests.panel_trials import tried

DATA = Path(__file__).resolve().parents[3] / "shared" / "data"
needs_data = pytest.mark.skipif(not DATA.is_dir(), reason="the real scans are not here")
REFUSALS = ("NotADiskError", "NonManifoldError", "NoAreaError", "CollapsedBlankError")


def scanned(name: str) -> TriMesh:
    """Return a real scan in mm."""
    mesh = sound_mesh(read_scan(DATA / name)).mesh
    return scaled(mesh, 1000.0 if name.endswith("_m.ply") else 1.0)


def pieces_of(mesh: TriMesh) -> Iterator[TriMesh]:
    """Yield the pieces that hang together."""
    piece = piece_of_face(mesh.faces)
    for number in range(int(piece.max()) + 1):
        yield part_of_mesh(mesh, np.flatnonzero(piece == number))[0]


def patches(mesh: TriMesh, count: int) -> Iterator[TriMesh]:
    """Yield pieces of the faces nearest to each of some faces far from each other."""
    middle = mesh.vertices[mesh.faces].mean(axis=1)
    nearest = np.zeros(len(middle), np.int64)
    reach = np.linalg.norm(middle - middle[0], axis=1)
    for number in range(1, count):
        away = np.linalg.norm(middle - middle[int(reach.argmax())], axis=1)
        nearest[away < reach] = number
        reach = np.minimum(reach, away)
    for number in range(count):
        yield from pieces_of(part_of_mesh(mesh, np.flatnonzero(nearest == number))[0])


@needs_data
@pytest.mark.parametrize(
    ("name", "open_holes"),
    [
        ("shallow_panel_scan_m.ply", False),
        ("plate_edge_scan_m.ply", False),
        ("bench_scan_ragged_m.ply", True),
        ("plasticVase_decimated.ply", True),
    ],
)
def test_every_piece_of_a_scan_is_laid_flat_or_refused(name: str, open_holes: bool) -> None:
    outcomes = Counter(
        tried(piece, open_holes=open_holes).outcome for piece in pieces_of(scanned(name))
    )
    assert set(outcomes) <= {"converged", *REFUSALS}, outcomes
    if not open_holes:  # one rim each: nothing stands in the way of a blank
        assert set(outcomes) == {"converged"}


@needs_data
@pytest.mark.parametrize(
    ("name", "least"),
    [
        ("shallow_panel_scan_m.ply", 1.0),
        ("plate_edge_scan_m.ply", 1.0),
        ("bench_scan_ragged_m.ply", 0.9),
        ("plasticVase_decimated.ply", 0.9),
    ],
)
def test_nearly_every_patch_of_a_scan_has_a_settled_blank(name: str, least: float) -> None:
    """Sixty patches of each; the rough scans keep a few that are crumpled or pinched."""
    outcomes = Counter(
        tried(patch, open_holes=True).outcome for patch in patches(scanned(name), 60)
    )
    total = sum(outcomes.values())
    assert total >= 60
    assert set(outcomes) <= {"converged", "too deep", *REFUSALS}, outcomes
    assert outcomes["converged"] >= least * total, outcomes
