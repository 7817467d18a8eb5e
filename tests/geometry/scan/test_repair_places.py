"""Every repair says where: nothing is mended silently, and slivers are told though they stay."""

from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest

from geometry.arrays import FloatArray, IntArray
from geometry.mesh import TriMesh
from geometry.scan import RawScan, Repairs, SoundScan, sound_mesh
from tests.geometry.scan.scans import ball, box, grid_faces, joined, sheet

PLACED = {field.name for field in fields(Repairs)} - {"joined_points", "side_unknown"}


def _scan(mesh: TriMesh, faces: IntArray | None = None) -> SoundScan:
    chosen = mesh.faces if faces is None else faces
    return sound_mesh(RawScan(mesh.vertices, chosen, "test", (), Path("tank.stl")))


def _places(scan: SoundScan, what: str) -> FloatArray:
    (found,) = (each for each in scan.places if each.what == what)
    assert found.count == getattr(scan.repairs, what)
    assert len(found.places) == min(found.count, 200)
    return found.places


def test_what_is_counted_has_places_and_nothing_else() -> None:
    body = ball(50.0, 400)
    for faces in (body.faces, np.concatenate([body.faces, body.faces[:9]])):
        scan = _scan(body, faces)
        counted = {name for name in PLACED if getattr(scan.repairs, name)}
        assert {each.what for each in scan.places} == counted


def test_doubled_and_turned_triangles_are_told_at_their_middles() -> None:
    body = ball(50.0, 400)
    middles = body.vertices[body.faces].mean(axis=1)
    doubled = _scan(body, np.concatenate([body.faces, body.faces[[7, 30]]]))
    np.testing.assert_allclose(_places(doubled, "duplicate_faces"), middles[[7, 30]])
    faces = body.faces.copy()
    faces[[3, 90]] = faces[[3, 90]][:, ::-1]
    np.testing.assert_allclose(_places(_scan(body, faces), "faces_turned"), middles[[3, 90]])


def test_a_crowded_edge_is_told_at_its_middle() -> None:
    """A fin stands on the edge from (20, 20) to (30, 20) of a flat sheet."""
    flat = sheet(5, 6)
    points = np.concatenate([flat.vertices, [[25.0, 20.0, 8.0]]])
    fin = np.array([[14, 15, 30]])
    scan = _scan(TriMesh(points, np.concatenate([flat.faces, fin])))
    np.testing.assert_allclose(_places(scan, "crowded_edges"), [[25.0, 20.0, 0.0]])


def test_parts_that_touched_are_told_at_the_point() -> None:
    one = box((10.0, 10.0, 10.0))
    both = joined(one, box((10.0, 10.0, 10.0), (10.0, 10.0, 10.0)))
    scan = _scan(both)
    np.testing.assert_allclose(_places(scan, "split_vertices"), [[10.0, 10.0, 10.0]])


def test_a_piece_turned_out_is_told_at_a_place_on_it() -> None:
    body = ball(50.0, 400)
    (place,) = _places(_scan(body, body.faces[:, ::-1]), "pieces_turned")
    assert np.linalg.norm(place) == pytest.approx(50.0, rel=0.02)


def test_slivers_are_counted_where_they_are_and_stay() -> None:
    """A column of cells a hundredth as wide as high: two slivers each, and no other."""
    x = np.array([0.0, 10.0, 10.1, 20.0])
    y = 10.0 * np.arange(5)
    points = np.array([[a, b, 0.0] for b in y for a in x])
    scan = _scan(TriMesh(points, grid_faces(5, 4)))
    assert scan.repairs.slivers == 8
    assert len(scan.mesh.faces) == 24
    assert np.ptp(_places(scan, "slivers")[:, 0]) < 0.1
    assert "8 slivers of a triangle were found and left as found." in scan.remarks


def test_of_very_many_places_only_the_first_are_kept() -> None:
    body = ball(50.0, 400)
    doubled = _scan(body, np.concatenate([body.faces, body.faces]))
    assert len(_places(doubled, "duplicate_faces")) == 200
    assert doubled.repairs.duplicate_faces == len(body.faces)
