"""Holes listed: how long, how wide, which way, round or not, and the outer edge told apart."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.mesh import TriMesh, part_of_mesh, rims
from geometry.scan import holes_of
from tests.geometry.scan.scans import ball, joined, rough, sheet, tube
from tests.tanks import tank


def middles(mesh: TriMesh) -> FloatArray:
    return np.asarray(mesh.vertices[mesh.faces].mean(axis=1))


def holed_sheet() -> TriMesh:
    """Return 200 by 150 mm in 2 mm steps with a round hole and a slot."""
    whole = sheet(76, 101, 2.0)
    at = middles(whole)
    hole = np.linalg.norm(at - [60, 60, 0], axis=1) < 20.0
    slot = (np.abs(at[:, 0] - 140.0) < 10.0) & (np.abs(at[:, 1] - 70.0) < 40.0)
    return part_of_mesh(whole, np.flatnonzero(~(hole | slot)))[0]


def test_rims_come_longest_first_as_the_mesh_has_them() -> None:
    mesh = holed_sheet()
    found = holes_of(mesh)
    loops = rims(mesh)
    assert len(found) == 3
    for hole, loop in zip(found, loops, strict=True):
        np.testing.assert_array_equal(hole.rim, loop)
    assert [hole.rim_length for hole in found] == sorted(
        (h.rim_length for h in found), reverse=True
    )


def test_the_outer_edge_is_told_from_the_holes() -> None:
    edge, slot, hole = holes_of(holed_sheet())
    assert (edge.is_edge, slot.is_edge, hole.is_edge) == (True, False, False)
    assert edge.rim_length == pytest.approx(700.0)
    for rim in (edge, slot, hole):
        np.testing.assert_allclose(rim.normal, [0.0, 0.0, 1.0], atol=1e-12)


def test_a_round_hole_has_a_diameter_and_a_slot_its_length() -> None:
    _, slot, hole = holes_of(holed_sheet())
    assert hole.is_round
    assert hole.across == pytest.approx(40.0, abs=2.0)  # whole triangles of 2 mm
    np.testing.assert_allclose(hole.centre, [60, 60, 0], atol=0.7)
    assert not slot.is_round
    assert slot.across == pytest.approx(80.0, abs=2.0)


def test_a_rim_says_how_far_it_leaves_its_plane() -> None:
    """A hole of radius r in a tube of radius R, its rim's sagitta r^2 / (2 R), half each side."""
    skin = tube(100.0, 300.0, 2.0)
    away = np.linalg.norm(middles(skin) - [100.0, 0.0, 150.0], axis=1)
    holed = part_of_mesh(skin, np.flatnonzero(away > 40.0))[0]
    hole = next(h for h in holes_of(holed) if h.rim_length < 400.0)
    assert hole.off_plane == pytest.approx(40.0**2 / 400.0, rel=0.12)
    np.testing.assert_allclose(hole.normal, [1.0, 0.0, 0.0], atol=0.02)
    assert not hole.is_edge


def test_a_hole_in_a_ball_faces_out() -> None:
    skin = rough(ball(100.0, 4000), 0.05)
    way = np.array([2.0, -1.0, 2.0]) / 3.0
    holed = part_of_mesh(skin, np.flatnonzero(middles(skin) @ way < 95.0))[0]
    (hole,) = holes_of(holed)
    assert hole.normal @ way > 0.999
    assert hole.is_round
    assert not hole.is_edge
    assert hole.off_plane < 4.0  # a triangle


def test_more_than_half_a_ball_gone_leaves_an_edge_and_no_hole() -> None:
    skin = ball(100.0, 4000)
    bowl = part_of_mesh(skin, np.flatnonzero(middles(skin)[:, 2] > 30.0))[0]
    (edge,) = holes_of(bowl)
    assert edge.is_edge
    assert edge.normal[2] > 0.999


def test_a_closed_body_has_no_holes_and_each_piece_its_own_edge() -> None:
    assert holes_of(ball(50.0, 500)) == ()
    far = sheet()
    two = joined(sheet(), TriMesh(far.vertices + [500, 0, 0], far.faces))
    assert [hole.is_edge for hole in holes_of(two)] == [True, True]


def test_a_tank_has_its_filler_and_its_underside() -> None:
    """The sample's formula: filler hole facing up; the open underside is its edge."""
    edge, filler = holes_of(tank(5.0).mesh)[:2]
    assert edge.is_edge
    assert filler.is_round
    assert not filler.is_edge
    assert filler.normal[2] > 0.8
