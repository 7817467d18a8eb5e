"""Gauges of torn, noisy skins: every board sound and off again, every frame stands, or refused."""

import numpy as np
import pytest
import shapely

from geometry.errors import GeometryError
from geometry.gauges import FrameSizes, GaugeSet, GaugeWishes, gauge_set
from geometry.mesh import TriMesh
from tests.geometry.gauges.gauged_bodies import barrel, round_skin

SEEDS = [*range(6), *(pytest.param(seed, marks=pytest.mark.slow) for seed in range(6, 80))]


def torn(seed: int) -> GaugeSet | None:
    """Return the gauges of a barrel with noise, holes and guessed places; None where refused."""
    rng = np.random.default_rng(seed)
    body = round_skin(
        barrel, under=rng.uniform(0.8, 2.6), right=rng.uniform(0.9, 1.1), cells=(50, 60)
    )
    vertices = body.vertices + rng.normal(0.0, rng.choice([0.0, 0.02, 0.1]), body.vertices.shape)
    middles = vertices[body.faces].mean(axis=1)
    kept, filled = np.ones(len(middles), bool), np.zeros(len(middles), bool)
    for mask, value in ((kept, False), (filled, True)):
        for _ in range(rng.integers(0, 6)):
            centre = middles[rng.integers(len(middles))]
            mask[np.linalg.norm(middles - centre, axis=1) < rng.uniform(4.0, 40.0)] = value
    used, faces = np.unique(body.faces[kept], return_inverse=True)
    mesh = TriMesh(vertices[used], faces.reshape(-1, 3))
    wishes = GaugeWishes(
        spacing_mm=float(rng.choice([30.0, 75.0, 100.0])),
        asked_mm=tuple(rng.uniform(5.0, 390.0, 2).tolist()),
        kind="female" if rng.integers(2) else "male",
        in_halves=bool(rng.integers(2)),
        limit_mm=float(rng.choice([0.0, 2.0])),
        frame=FrameSizes(beside_mm=tuple(rng.uniform(10.0, 100.0, rng.integers(0, 3)).tolist())),
    )
    try:
        return gauge_set(
            mesh,
            filled[kept],
            np.zeros(int(kept.sum()), bool),
            wishes,
            inward_mm=float(rng.choice([0.0, 1.6, -0.8])),
            frame_inward_mm=1.6,
        )
    except GeometryError:
        return None


@pytest.mark.parametrize("seed", SEEDS)
def test_a_torn_skin_gives_sound_boards_or_is_refused(seed: int) -> None:
    found = torn(seed)
    if found is None:
        return
    for gauge in found.stations:
        for hand, board in gauge.boards:
            line = gauge.section.arch
            if hand != "whole":
                half = gauge.section.half("right" if hand == "right" else "left")
                assert half is not None
                line = half
            shape = shapely.Polygon(board.outline)
            assert shape.is_valid
            inner = shape.buffer(-0.02)
            for far in (0.0, 1.0, 9.0, 80.0, 400.0):
                moved = shapely.affinity.translate(inner, *(far * board.off_way))
                assert not moved.intersects(shapely.LineString(line))
    if found.check is not None:
        assert found.check.clash_mm == 0.0
        assert found.check.off_centre_mm < 0.05
        assert found.check.feet_apart_mm < 1e-6


def test_most_torn_skins_are_not_refused() -> None:
    assert sum(torn(seed) is not None for seed in range(6)) >= 3
