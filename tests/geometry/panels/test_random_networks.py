"""Seams drawn at random: clean panels come out, or a refusal that says where, and nothing else."""

from collections import Counter

import numpy as np
import pytest

from geometry.mesh import NearestPoint, TriMesh, rims
from geometry.panels import Seam, Surface, cut_along, panels
from tests.bodies import dome
from tests.geometry.mesh.small_meshes import octahedron, tube
from tests.geometry.panels.networks import Networks, assert_clean, cut_or_refused
from tests.geometry.panels.scans import MM_PER_UNIT, REAL_SCANS, real_surface, sample_surface
from tests.geometry.panels.surfaces import line, ring, surface_of, wavy_sheet

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


@pytest.mark.slow
@pytest.mark.skipif(not REAL_SCANS.is_dir(), reason="needs the real scans")
def test_rings_over_a_real_scan_s_hole_end_at_its_edge_and_go_on() -> None:
    """The vase's hole of 20 mm in its wall, rings of 26 mm radius through its middle, four ways.

    Three of them are cut into one more panel, the hole on their way; the fourth meets itself where
    the ring laid on the wall folds over, and says so.
    """
    surface = real_surface("plasticVase_decimated.ply")
    skin = NearestPoint(TriMesh(surface.outside, surface.mesh.faces))
    loops = [surface.outside[rim] for rim in rims(surface.mesh)]
    across = [2.0 * np.linalg.norm(rim - rim.mean(axis=0), axis=1).mean() for rim in loops]
    (hole,) = [rim for rim, wide in zip(loops, across, strict=True) if 15.0 < wide < 25.0]
    middle, turn = hole.mean(axis=0), np.linspace(0.0, 2.0 * np.pi, 60, endpoint=False)
    radius = float(np.linalg.norm(hole - middle, axis=1).mean())
    one, other, _ = np.linalg.svd(hole - middle)[2]
    before = len(panels(cut_along(surface, []), ()))
    found = []
    for ahead, beside in ((one, other), (other, -one), (-one, -other), (-other, one)):
        wide = 2.2 * radius + 4.0
        ring = middle + wide * (
            (1.0 - np.cos(turn))[:, None] * ahead + np.sin(turn)[:, None] * beside
        )
        clear = np.linalg.norm(ring - middle, axis=1) > 1.15 * radius
        seam = Seam("ring", skin.find(ring[clear]).points, closed=True)
        found.append(cut_or_refused(surface, [seam]))
        if found[-1] == "cut":
            cut = cut_along(surface, [seam])
            assert len(panels(cut, ())) == before + 1
            (joint,) = cut.joints(cut.seam_paths[0])
            ends = cut.outside[joint[[0, -1]]]
            for end in ends:
                assert np.linalg.norm(hole - end, axis=1).min() < 3.0
    assert found.count("cut") >= 3
