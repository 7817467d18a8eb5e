"""Pooled points: all counted once, calm places thinned, bent ones kept, never far off."""

import numpy as np
import pytest

from geometry.surface.pool import pooled
from tests.geometry.surface.scans import crease_profile


def on_cylinder(radius: float) -> tuple[np.ndarray, np.ndarray]:
    angle, along = np.meshgrid(
        np.arange(-0.6, 0.6, 0.3 / radius), np.arange(0.0, 8.0, 0.3), indexing="ij"
    )
    normals = np.stack([np.sin(angle), 0.0 * angle, np.cos(angle)], axis=2).reshape(-1, 3)
    return radius * normals + np.outer(along.ravel(), [0.0, 1.0, 0.0]), normals


def test_every_point_is_counted_once_and_the_middle_of_all_stays() -> None:
    points, normals = on_cylinder(30.0)
    found = pooled(points, normals, cell_mm=2.0, turn_rad=0.1)
    assert found.counts.sum() == len(points)
    assert len(found.points) < len(points) / 10
    middle = (found.counts[:, None] * found.points).sum(axis=0) / len(points)
    assert middle == pytest.approx(points.mean(axis=0))


def test_means_stand_under_the_surface_by_no_more_than_said() -> None:
    """A cylinder, bent one way: at most w^2 / (24 R), a cube's diagonal for its width w."""
    points, normals = on_cylinder(30.0)
    found = pooled(points, normals, cell_mm=2.0, turn_rad=0.1)
    under = 30.0 - np.hypot(found.points[:, 0], found.points[:, 2])
    assert under.min() > -1e-12
    assert (found.counts @ under) / found.counts.sum() < (2.0 * np.sqrt(2)) ** 2 / (24 * 30.0)


def test_points_of_a_crease_are_all_kept() -> None:
    along = np.linspace(-10.0, 10.0, 81)
    place, normal = crease_profile(along, np.radians(60.0), 1.0)
    points = np.column_stack([place[:, 0], np.zeros(81), place[:, 1]])
    normals = np.column_stack([normal[:, 0], np.zeros(81), normal[:, 1]])
    found = pooled(points, normals, cell_mm=2.0, turn_rad=0.1)
    bent = points[np.abs(along) < 0.5]
    assert all((found.points == point).all(axis=1).any() for point in bent)


def test_points_asked_for_are_kept() -> None:
    points, normals = on_cylinder(100.0)
    alone = points[:, 1] < 2.0
    found = pooled(points, normals, cell_mm=2.0, turn_rad=0.1, alone=alone)
    assert (found.counts[found.points[:, 1] < 2.0] == 1.0).sum() >= alone.sum()
