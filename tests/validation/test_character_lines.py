"""Character lines against bodies of closed form and against generated tanks, noise and dents in.

The rounds are arcs of known radius between flanks of known crown: where the tip runs, its radius
and the angle between the flanks follow by plane geometry. On tanks the tip is where top and wall of
the formula would meet, brought square on to the skin. What a ridge is: [eberly1994], [ohtake2004].
"""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial import cKDTree

from geometry.arrays import FloatArray, IntArray
from geometry.scan import read_scan, scaled, sound_mesh
from geometry.surface.character import CharacterLine, character_lines
from sample_data import truth
from tests.geometry.surface.character.ridges import (
    Line,
    dent,
    height_scan,
    line_scan,
    off_line,
)
from tests.geometry.surface.scans import cylinder_scan
from tests.tanks import Dent, Tank, tank

REAL_SCANS = Path(__file__).parents[2].parent / "shared" / "data"


def length(line: CharacterLine) -> float:
    return float(np.linalg.norm(np.diff(line.points, axis=0), axis=1).sum())


LIMIT_MM = {0.5: 0.15, 1.0: 0.15, 3.0: 0.3, 8.0: 0.3, 15.0: 0.3}
"""How far the middle of a line may lie off, by its radius."""

CASES = [
    pytest.param(radius, spacing, marks=[] if spacing == 1.0 else pytest.mark.slow)
    for spacing in (1.0, 0.5, 0.3)
    for radius in (0.5, 1.0, 3.0, 8.0, 15.0)
    if spacing >= 0.5 or radius in (1.0, 8.0)
]


@pytest.mark.parametrize(("radius", "spacing"), CASES)
def test_lines_of_known_radius_between_crowned_flanks(radius: float, spacing: float) -> None:
    """A turn of 60 degrees, flanks of sweep 150, 0.05 mm noise."""
    body = Line(radius, np.radians(60.0), 1 / 150)
    size = 80.0 if spacing >= 0.5 else 50.0
    (line,) = character_lines(line_scan(body, spacing=spacing, width=size, length=size))
    assert off_line(body, line.points[1:-1]).max() < LIMIT_MM[radius]
    assert abs(float(np.median(line.radius_mm)) - radius) < max(0.2, 0.05 * radius)
    assert abs(np.degrees(float(np.median(line.opening_rad)) - body.opening)) < 0.6
    assert abs(length(line) - size) < 6.0


@pytest.mark.parametrize("turn", [30.0, 90.0])
@pytest.mark.parametrize("radius", [1.0, 8.0])
def test_blunt_and_sharp_turns(radius: float, turn: float) -> None:
    body = Line(radius, np.radians(turn), 1 / 150)
    (line,) = character_lines(line_scan(body, length=80.0))
    assert off_line(body, line.points[1:-1]).max() < LIMIT_MM[radius]
    assert abs(float(np.median(line.radius_mm)) - radius) < max(0.35, 0.05 * radius)
    assert abs(np.degrees(float(np.median(line.opening_rad)) - body.opening)) < 0.6


BODIES = {
    "plane": lambda x, y: 0.0 * x + 0.0 * y,
    "dome of 90": lambda x, y: np.sqrt(90.0**2 - x * x - y * y),
    "dome of 150": lambda x, y: np.sqrt(150.0**2 - x * x - y * y),
    "saddle of 60": lambda x, y: (x * x - y * y) / 120.0,
    "dent 2 deep, 60 wide": dent(2.0, 30.0),
    "dent 2 deep, 30 wide": dent(2.0, 15.0),
    "dent 5 deep, 60 wide": dent(5.0, 30.0),
}


@pytest.mark.slow
@pytest.mark.parametrize("spacing", [0.5, 1.0, 1.6])
@pytest.mark.parametrize("body", BODIES)
def test_no_line_longer_than_30_mm_where_there_is_none(body: str, spacing: float) -> None:
    for noise, slow in ((0.05, 0.0), (0.1, 0.0), (0.05, 0.03)):
        scan = height_scan(BODIES[body], spacing=spacing, noise=noise, slow=slow)
        assert [line for line in character_lines(scan) if length(line) > 30.0] == []


@pytest.mark.slow
@pytest.mark.parametrize("radius", [20.0, 30.0, 60.0])
def test_no_line_on_rolled_sheets(radius: float) -> None:
    for spacing in (0.5, 1.0):
        scan = cylinder_scan(radius, 60.0, spacing, 0.1)
        assert [line for line in character_lines(scan) if length(line) > 30.0] == []


def off_course(course: FloatArray, points: FloatArray) -> tuple[FloatArray, IntArray]:
    """Return how far points lie off a polyline, and which of its points they are abreast of."""
    at = np.asarray(cKDTree(course).query(points)[1], np.int64)
    ahead = np.gradient(course, axis=0)[at]
    ahead /= np.linalg.norm(ahead, axis=1, keepdims=True)
    away = points - course[at]
    away -= (away * ahead).sum(axis=1, keepdims=True) * ahead
    return np.linalg.norm(away, axis=1), at


def beside_side_line(
    body: Tank, lines: Sequence[CharacterLine], side: float
) -> tuple[FloatArray, FloatArray, float]:
    """Return distances off the crisp side line, radii there, and the share of it found."""
    course = body.side_line(side)
    points = np.concatenate([line.points for line in lines])
    radii = np.concatenate([line.radius_mm for line in lines])
    off, at = off_course(course, points)
    near = (np.linalg.norm(points - course[at], axis=1) < 6.0) & (at > 4) & (at < len(course) - 5)
    found = np.asarray(cKDTree(points).query(course)[0]) < 3.0
    return off[near], radii[near], float(found.mean())


@pytest.mark.slow
@pytest.mark.parametrize(("radius", "limit"), [(1.0, 0.15), (3.0, 0.3), (8.0, 0.3)])
def test_side_lines_of_tanks_with_dents(radius: float, limit: float) -> None:
    """1 mm spacing, 0.05 mm noise, a dent 2 deep on one side and one 3 deep on the other."""
    dents = (Dent(), Dent(station=220.0, height=140.0, side=1.0, depth=3.0, radius=20.0))
    body = tank(1.0, noise_mm=0.05, line_radius_mm=radius, dents=dents, turned=True)
    lines = character_lines(body.mesh)
    for side in (1.0, -1.0):
        off, radii, found = beside_side_line(body, lines, side)
        assert float(off.max()) < limit
        assert abs(float(np.median(radii)) - radius) < max(0.2, 0.15 * radius)
        assert found > 0.95
    assert [line for line in lines if is_false(body, line)] == []


def is_false(body: Tank, line: CharacterLine) -> bool:
    """Return whether a line over 30 mm long is none of the tank's own.

    Its own: side lines, what they melt into round nose and rear, seat edge, rolled bottom edge.
    """
    places = body.from_file(line.points)
    away = [
        np.median(cKDTree(course).query(places)[0])
        for course in (truth.side_line(1), truth.side_line(-1), truth.seat_edge())
    ]
    low, melted = float(np.median(places[:, 2])) < 30.0, float(np.median(line.radius_mm)) > 9.0
    return bool(length(line) > 30.0 and min(away) > 6.0 and not low and not melted)


@pytest.mark.skipif(not REAL_SCANS.is_dir(), reason="the real scans are not here")
@pytest.mark.parametrize(
    "name", ["plate_edge_scan_m", "shallow_panel_scan_m", "bench_scan_ragged_m"]
)
def test_flat_and_rolled_real_scans_have_no_lines(name: str) -> None:
    """A plate, a panel of 1.7 m sweep, and clutter scanned every 10 mm."""
    scan = scaled(sound_mesh(read_scan(REAL_SCANS / f"{name}.ply")).mesh, 1000.0)
    assert character_lines(scan) == ()


@pytest.mark.slow
@pytest.mark.skipif(not REAL_SCANS.is_dir(), reason="the real scans are not here")
def test_flutes_of_a_real_vase_are_sane_lines() -> None:
    """Rough, both walls, 5 mm spacing: whatever is found runs over the skin and is a sharp fold."""
    scan = sound_mesh(read_scan(REAL_SCANS / "plasticVase_decimated.ply")).mesh
    tree = cKDTree(scan.vertices)
    for line in character_lines(scan):
        assert float(np.median(tree.query(line.points)[0])) < 5.0
        assert 0.5 <= line.confidence <= 1.0
        assert np.isfinite(line.height_mm).all()
        assert (line.radius_mm > 0.0).all()
        assert (line.radius_mm < 20.0).all()
