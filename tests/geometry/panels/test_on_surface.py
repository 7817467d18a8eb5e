"""A seam off the surface is refused with what is true there: off it, or nothing scanned."""

from dataclasses import replace

import numpy as np
import pytest

from geometry.mesh import part_of_mesh
from geometry.panels import (
    Seam,
    SeamNotScannedError,
    SeamOffSurfaceError,
    cut_along,
)
from tests.geometry.mesh.small_meshes import plane
from tests.geometry.panels.surfaces import PlainSurface, line, surface_of

HOLE_MM = 15.0
"""Radius of a hole in the middle of a flat sheet of 80 by 60 mm."""


def in_hole(surface: PlainSurface) -> np.ndarray:
    middles = surface.mesh.vertices[surface.mesh.faces].mean(axis=1)
    return np.asarray(np.hypot(middles[:, 0] - 40.0, middles[:, 1] - 30.0) < HOLE_MM)


def filled_sheet() -> PlainSurface:
    whole = surface_of(plane(81, 61))
    return replace(whole, filled=in_hole(whole))


def open_sheet() -> PlainSurface:
    whole = surface_of(plane(81, 61))
    return surface_of(part_of_mesh(whole.mesh, np.flatnonzero(~in_hole(whole)))[0])


def sheet_with_bay() -> PlainSurface:
    """Return the sheet with the hole open to its edge: no hole any more, but a ragged bay."""
    whole = surface_of(plane(81, 61))
    x, y, _ = whole.mesh.vertices[whole.mesh.faces].mean(axis=1).T
    bay = in_hole(whole) | ((np.abs(x - 40.0) < HOLE_MM) & (y > 30.0))
    return surface_of(part_of_mesh(whole.mesh, np.flatnonzero(~bay))[0])


def across_the_hole(lift_mm: float) -> Seam:
    """Return a seam over the hole's middle that bulges up over it, nowhere else."""
    points = line((0, 30), (80, 30), 41)
    away = np.abs(points[:, 0] - 40.0) / HOLE_MM
    points[:, 2] = lift_mm * np.maximum(1.0 - away * away, 0.0)
    return Seam("a", points)


def test_a_seam_off_a_filled_place_is_told_that_it_was_not_scanned() -> None:
    """The seam follows the true crown, 9 mm over the flat patch: its highest point is told."""
    with pytest.raises(SeamNotScannedError) as caught:
        cut_along(filled_sheet(), [across_the_hole(9.0)])
    assert caught.value.is_filled
    assert caught.value.distance_mm == pytest.approx(9.0)
    assert caught.value.point == pytest.approx([40.0, 30.0, 9.0])


def test_a_seam_over_a_place_left_open_is_told_the_same_with_its_farthest_point() -> None:
    """In the middle of the bay it is as far from the skin as the bay is wide, to an edge."""
    with pytest.raises(SeamNotScannedError) as caught:
        cut_along(sheet_with_bay(), [across_the_hole(0.0)])
    assert not caught.value.is_filled
    assert caught.value.distance_mm == pytest.approx(HOLE_MM, abs=1.0)
    assert caught.value.point == pytest.approx([40.0, 30.0, 0.0], abs=2.0)


def test_what_is_off_over_scanned_skin_is_told_first_and_as_that() -> None:
    seam = across_the_hole(9.0)
    points = seam.points.copy()
    points[4, 2] = 5.0
    with pytest.raises(SeamOffSurfaceError) as caught:
        cut_along(filled_sheet(), [Seam("a", points)])
    assert caught.value.point.tolist() == points[4].tolist()


@pytest.mark.parametrize("shift", [(0.0, 0.0, 12.0), (0.0, 0.0, 400.0), (400.0, 0.0, 0.0)])
def test_a_seam_elsewhere_altogether_is_off_the_surface(shift: tuple[float, ...]) -> None:
    seam = Seam("a", across_the_hole(0.0).points + shift)
    with pytest.raises(SeamOffSurfaceError):
        cut_along(open_sheet(), [seam])
