"""Bays in a rim: closed to the mouth, and only those."""

import numpy as np
import pytest

from geometry.mesh import TriMesh, check_manifold, face_areas, is_oriented, part_of_mesh, rims
from geometry.surface.bays import bays_filled
from tests.bodies import graph_patch


def _sheet() -> TriMesh:
    """A flat sheet of 160 x 80 mm in 2 mm squares."""
    return graph_patch(np.zeros((81, 41)), 80.0, 40.0)


def _without(mesh: TriMesh, low: tuple[float, float], high: tuple[float, float]) -> TriMesh:
    middle = mesh.vertices[mesh.faces].mean(axis=1)[:, :2]
    gone = ((middle > low) & (middle < high)).all(axis=1)
    return part_of_mesh(mesh, np.flatnonzero(~gone))[0]


def test_a_notch_is_closed_to_its_mouth_and_marked() -> None:
    """A 6 x 8 mm notch in a long edge: 48 mm2 of metal back, all of it marked."""
    notched = _without(_sheet(), (10.0, 32.0), (16.0, 40.0))
    closed, filled = bays_filled(notched, 15.0)
    areas = face_areas(closed.vertices, closed.faces)
    assert areas.sum() == pytest.approx(160.0 * 80.0)
    assert areas[filled].sum() == pytest.approx(48.0)
    assert is_oriented(closed.faces)
    check_manifold(closed)
    assert len(rims(closed)) == 1


@pytest.mark.parametrize(
    ("low", "high"),
    [((-20.0, 10.0), (20.0, 40.0)), ((-20.0, -20.0), (20.0, 20.0))],
    ids=["wide mouth", "hole"],
)
def test_wide_mouths_and_holes_are_left(
    low: tuple[float, float], high: tuple[float, float]
) -> None:
    mesh = _without(_sheet(), low, high)
    closed, filled = bays_filled(mesh, 15.0)
    assert not filled.any()
    assert len(closed.faces) == len(mesh.faces)


def test_what_stands_out_of_a_rim_is_no_bay() -> None:
    tongue = _without(_without(_sheet(), (-80.0, 30.0), (-4.0, 40.0)), (4.0, 30.0), (80.0, 40.0))
    _, filled = bays_filled(tongue, 15.0)
    assert not filled.any()
