"""Patches of the blank."""

import numpy as np
import pytest
import shapely

from geometry.pattern.outlines import patches
from tests.geometry.pattern.stand_ins import grid


def test_patches_cover_exactly_the_faces_chosen() -> None:
    flat, faces = grid(12, 8, 120.0, 80.0)
    middle = flat[faces].mean(axis=1)
    ring = (np.hypot(*(middle - [60.0, 40.0]).T) < 32.0) & (
        np.hypot(*(middle - [60.0, 40.0]).T) > 12.0
    )
    corner = (middle[:, 0] < 12.0) & (middle[:, 1] < 12.0)
    found = patches(flat, faces, ring | corner)
    assert [len(region.holes) for region in found] == [1, 0]
    area = sum(shapely.Polygon(region.outline, region.holes).area for region in found)
    assert area == pytest.approx((ring | corner).sum() * 50.0, abs=1e-9)
    assert patches(flat, faces, np.zeros(len(faces), bool)) == ()
