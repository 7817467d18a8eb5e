"""Lines drawn anywhere over real scans: sound, or refused by name; nothing else happens."""

from functools import lru_cache

import numpy as np
import pytest

from geometry.errors import GeometryError
from geometry.mesh import PathFinder
from geometry.scan import read_scan, scaled, sound_mesh
from geometry.seams import SeamGround, faired, meetings, slid_to_least_shape, stood_off
from tests.geometry.panels.scans import MM_PER_UNIT, REAL_SCANS, SAMPLE, SAMPLE_MM_PER_UNIT

LINES = 6


@lru_cache
def ground_of(name: str) -> SeamGround:
    path = SAMPLE / name if name == "brackwater_scan.ply" else REAL_SCANS / name
    if not path.exists():
        pytest.skip("the real scans are not at hand")
    unit = MM_PER_UNIT.get(name, SAMPLE_MM_PER_UNIT)
    return SeamGround(scaled(sound_mesh(read_scan(path)).mesh, unit))


@pytest.mark.slow
@pytest.mark.parametrize("name", ["brackwater_scan.ply", *MM_PER_UNIT])
@pytest.mark.parametrize("seed", range(2))
def test_a_line_drawn_anywhere_is_sound_or_refused_by_name(name: str, seed: int) -> None:
    """Any of a scan's vertices within 150 mm, some pushed off it; never longer than the walk."""
    ground = ground_of(name)
    vertices = ground.mesh.vertices
    rng = np.random.default_rng(seed)
    finder = PathFinder(ground.mesh)
    shape = np.abs(rng.normal(size=len(vertices)))
    drawn = 0
    for _ in range(LINES):
        about = vertices[rng.integers(len(vertices))]
        near = np.flatnonzero(np.linalg.norm(vertices - about, axis=1) < 150.0)
        points = vertices[near[rng.integers(len(near), size=rng.integers(2, 5))]]
        if rng.random() < 0.3:
            points = points + rng.normal(0, 2.0, points.shape)
        closed = len(points) > 2 and bool(rng.integers(2))
        try:
            path = ground.exact(points, closed=closed)
        except GeometryError:
            with pytest.raises(GeometryError):
                ground.quick(points, closed=closed)
            continue
        drawn += 1
        start, end = ground.places(points[:2])
        leg = np.diff(path.points[: path.corners[1] + 1], axis=0)
        length = np.linalg.norm(leg, axis=1).sum()
        assert (
            length <= finder.edge_walk_length(start, end) * (1 + 1e-9)
            or (points[0] == points[1]).all()
        )
        assert np.linalg.norm(ground.quick(points, closed=closed)[0] - path.points[0]) < 1e-9
        fair = faired(ground, points, closed=closed)
        assert fair.moved_mm.max() <= 2.0
        assert fair.bend_after <= fair.bend_before
        slid = slid_to_least_shape(ground, points, shape, closed=closed, spacing_mm=20.0)
        assert np.abs(slid.moved_mm).max() <= 15.0
        for meeting in meetings(path):
            assert ground.nearest(meeting.point).distances[0] < 1e-6
        try:
            assert len(stood_off(ground, path.points, 8.0, "left")) >= 2
        except GeometryError:
            continue
    assert drawn > 0
