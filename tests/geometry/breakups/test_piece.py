"""Parting a piece along a level: closed forms on planes, cones and spheres."""

from math import cos, pi, radians, sin

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.breakups.piece import (
    Piece,
    halved,
    joined_mesh,
    level_lines,
    parted,
    slope_along,
)
from geometry.mesh import TriMesh, vertex_normals
from tests.bodies import dome, grid_faces, ring_of_revolution, tank_top
from tests.convergence import observed_order


def piece_of(mesh: TriMesh) -> Piece:
    at = mesh.vertices.copy()
    normals = vertex_normals(mesh.vertices, mesh.faces)
    nothing = np.zeros(len(at), bool)
    return Piece(at, at.copy(), normals, mesh.faces.copy(), at.copy(), nothing)


def length(points: FloatArray) -> float:
    return float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())


@pytest.mark.parametrize("level", [-31.0, 0.0, 12.3])
def test_the_two_parts_have_the_area_of_the_whole(level: float) -> None:
    """Faces are split within their own planes, so no area comes or goes."""
    piece = piece_of(tank_top(14))
    both = parted(piece, piece.fields[:, 1] - level, snap=0.0)
    assert both is not None
    assert both.low.area + both.high.area == pytest.approx(piece.area, rel=1e-12)
    assert both.low.outside[:, 1].max() == pytest.approx(level, abs=1e-9)
    assert both.high.outside[:, 1].min() == pytest.approx(level, abs=1e-9)


def test_corners_nearly_on_the_line_are_taken_onto_it_and_no_face_is_a_needle() -> None:
    piece = piece_of(tank_top(14))
    edge = piece.fields[:, 1] - 20.0 - 1e-3  # a row of corners lies at 20
    plain, snapped = parted(piece, edge, snap=0.0), parted(piece, edge)
    assert plain is not None
    assert snapped is not None
    assert len(snapped.high.faces) + len(snapped.low.faces) == len(piece.faces)
    assert len(plain.high.faces) + len(plain.low.faces) > len(piece.faces)


def test_a_level_line_round_a_sphere_is_as_long_as_its_circle() -> None:
    """On a cap, the circle at polar angle a is 2 pi R sin a; flat faces miss it by order h^2."""
    radius, angle = 100.0, radians(40.0)

    def error_at(size: float) -> float:
        piece = piece_of(dome(radius, radians(70.0), round(1.0 / size)))
        lines = level_lines(piece, piece.outside[:, 2] - radius * cos(angle))
        assert lines is not None
        (line,) = lines
        assert line.is_ring
        return abs(length(line.points) - 2.0 * pi * radius * sin(angle))

    # in each of these the circle meets its faces at the same share of their width
    assert observed_order(error_at, [1 / 13, 1 / 27, 1 / 55]) > 1.9


def test_a_ring_is_parted_by_two_lines_at_once() -> None:
    ring = ring_of_revolution(np.array([60.0, 100.0]), np.array([0.0, 0.0]), 24)
    piece = piece_of(ring)
    both = parted(piece, piece.fields[:, 0] - 1.0, snap=0.0)
    assert both is not None
    assert len(both.lines) == 2
    ends = [abs(line.points[[0, -1], 0] - 1.0).max() for line in both.lines]
    assert max(ends) < 1e-9


def test_what_does_not_make_two_pieces_is_not_parted() -> None:
    piece = piece_of(tank_top(7))
    assert parted(piece, piece.fields[:, 0] - 1e4) is None
    strips = np.abs(piece.fields[:, 0]) - 60.0  # the upper part is two pieces
    assert parted(piece, strips) is None


def test_half_a_tank_lies_on_its_plane_exactly_and_is_whole_with_its_mirror_image() -> None:
    mesh = tank_top(9)
    off = TriMesh(mesh.vertices + np.array([0.0, 1.7, 0.0]), mesh.faces)  # no corner on y = 0
    piece = piece_of(off)
    half = halved(piece)
    assert half is not None
    edges = half.plane_edges
    assert (half.outside[edges][..., 1] == 0.0).all()
    assert half.outside[:, 1].min() == 0.0
    whole = joined_mesh(half)
    joined = np.isin(whole.faces, np.unique(edges)).any(axis=1)
    assert joined.sum() > 0
    assert len(whole.vertices) == 2 * len(half.vertices) - half.on_plane.sum()


def test_a_plane_beside_the_tank_leaves_no_half() -> None:
    mesh = tank_top(7)
    beside = TriMesh(mesh.vertices + np.array([0.0, 500.0, 0.0]), mesh.faces)
    assert halved(piece_of(beside)) is None


@pytest.mark.parametrize("tilt", [0.0, 0.4, 1.1])
def test_the_slope_of_the_station_over_a_tilted_sheet_goes_with_its_tilt(tilt: float) -> None:
    x, y = np.meshgrid(np.linspace(-50.0, 50.0, 9), np.linspace(-40.0, 40.0, 8), indexing="ij")
    flat = np.stack([x.ravel(), y.ravel(), 0.0 * x.ravel()], axis=1)
    turn = np.array([[cos(tilt), 0.0, -sin(tilt)], [0.0, 1.0, 0.0], [sin(tilt), 0.0, cos(tilt)]])
    mesh = TriMesh(flat @ turn.T, grid_faces(9, 8))
    assert slope_along(piece_of(mesh), mesh.vertices[:, 0] - 1.3) == pytest.approx(cos(tilt))
