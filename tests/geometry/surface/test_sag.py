"""What lies between a scan's points, against arcs and corners."""

import numpy as np
import pytest

from geometry.mesh import TriMesh
from geometry.surface.sag import sag_of_bend, sharpest_bend
from tests.bodies import cylinder_sheet, dome, patch


def test_an_arc_rises_over_its_chord_by_the_square_of_its_length_over_eight_radii() -> None:
    """h^2 / 8 R; edges are chords of the arcs they stand for, shorter by (turn / 2)^2 / 6."""
    body = cylinder_sheet(40.0, 2.0, 60.0, 60, 20)
    across = np.abs(body.vertices[:, 0]) < 29.0
    inner = across & (np.abs(body.vertices[:, 1]) < 30.0)
    sag = sag_of_bend(sharpest_bend(body), 2.0)[inner]
    assert sag == pytest.approx(np.full(inner.sum(), 2.0**2 / (8.0 * 40.0)), rel=1e-3)


def test_a_flat_sheet_hides_nothing() -> None:
    x, y = np.meshgrid(np.linspace(0, 9, 4), np.linspace(0, 6, 3), indexing="ij")
    assert not sag_of_bend(sharpest_bend(patch(x, y, 0.0 * x)), 5.0).any()


def test_the_sag_goes_with_the_square_of_the_spacing_until_an_arc_would_turn_by_90_degrees() -> (
    None
):
    bend = sharpest_bend(dome(30.0, 1.0, 20))
    fine, coarse, coarsest = (sag_of_bend(bend, h) for h in (0.5, 2.0, 500.0))
    np.testing.assert_allclose(coarse, 16.0 * fine, rtol=1e-12)
    np.testing.assert_allclose(coarsest, 500.0 * np.pi / 16.0, rtol=1e-12)


def test_it_is_the_same_wherever_the_surface_stands() -> None:
    body = dome(30.0, 1.0, 10)
    turn = np.linalg.qr(np.random.default_rng(3).normal(size=(3, 3)))[0]
    turn *= np.sign(np.linalg.det(turn))
    moved = TriMesh(body.vertices @ turn.T + [5.0, 6.0, 7.0], body.faces)
    there, here = (sag_of_bend(sharpest_bend(each), 1.0) for each in (moved, body))
    np.testing.assert_allclose(there, here, atol=1e-12)
