"""Sweeps at stations, held against bodies whose plane sections are circles and straight lines."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.mesh import TriMesh
from geometry.pattern import Station, Sweep, best_arc, stations_across, sweeps
from tests.bodies import cone_sheet, cylinder_sheet, dome, patch, torus_patch
from tests.geometry.pattern.stand_ins import FlatByFormula

X, Y, Z = np.eye(3)
FINE = 1e-3
"""Chords of facets lie 1/8 angle^2 inside their arc: below this at the finenesses used here."""


def laid(mesh: TriMesh, flat: FloatArray | None = None) -> FlatByFormula:
    """Return a mesh with places on a blank; any will do where only the formed panel is read."""
    places = mesh.vertices[:, :2] if flat is None else flat
    return FlatByFormula(mesh.vertices, mesh.faces, places)


def cut(mesh: TriMesh, point: FloatArray, normal: FloatArray) -> Sweep:
    (found,) = sweeps(laid(mesh), [Station("S1", point, normal)])
    return found


def turned_over(mesh: TriMesh) -> TriMesh:
    """Return a sheet with its other face outside."""
    return TriMesh(mesh.vertices, mesh.faces[:, ::-1])


def test_a_cylinder_is_its_radius_across_and_straight_along() -> None:
    sheet = turned_over(cylinder_sheet(145.0, 1.6, 300.0, around=60, along=30))
    across = cut(sheet, 151.0 * X, X)
    assert across.is_one_arc
    assert 1.0 / across.curvature == pytest.approx(145.0, rel=FINE)
    assert across.least == across.most == across.curvature
    along = cut(sheet, 3.0 * Y, Y)
    assert along.off_mm < 1e-9
    assert abs(along.curvature) < 1e-9


def test_the_other_face_outside_makes_a_crown_a_hollow() -> None:
    hollow = cylinder_sheet(145.0, 1.6, 300.0, around=60, along=30)
    here, there = cut(turned_over(hollow), 151.0 * X, X), cut(hollow, 151.0 * X, X)
    assert here.curvature > 0.0
    assert there.curvature == pytest.approx(-here.curvature)


@pytest.mark.parametrize("part", [0.1, 0.5, 0.9])
def test_a_cone_across_its_axis_is_the_circle_at_that_height(part: float) -> None:
    """Radius base + (top - base) z / height."""
    sheet = cone_sheet(140.0, 60.0, 200.0, 2.0, (60, 40))
    found = cut(sheet, np.array([0.0, 0.0, 200.0 * part + 0.1]), Z)
    assert 1.0 / abs(found.curvature) == pytest.approx(140.0 - 0.4 * (200.0 * part + 0.1), rel=FINE)


@pytest.mark.parametrize("off", [0.0, 40.0, 70.0])
@pytest.mark.parametrize("normal", [X, Y, (X + Y) / np.sqrt(2.0)])
def test_a_ball_at_any_station_is_a_smaller_circle(off: float, normal: FloatArray) -> None:
    """Radius root (R^2 - d^2) in a plane at a distance d from the middle."""
    found = cut(dome(180.0, 0.6, 40), (off + 0.3) * normal, normal)
    radius = np.sqrt(180.0**2 - (off + 0.3) ** 2)
    assert 1.0 / found.curvature == pytest.approx(radius, rel=FINE)
    assert found.off_mm < 0.05


def test_a_torus_is_its_tube_one_way_and_its_ring_the_other() -> None:
    """Through the axis: the tube's radius; square to it: ring + tube, outermost."""
    sheet = torus_patch(200.0, 60.0, 1.2, (-0.9, 0.9), (60, 40))
    through = cut(sheet, 0.5 * Y, Y)
    assert 1.0 / through.curvature == pytest.approx(60.0, rel=FINE)
    square = cut(sheet, 0.5 * Z, Z)
    assert 1.0 / square.curvature == pytest.approx(260.0, rel=FINE)


def test_inside_a_torus_the_ring_is_hollow_by_its_own_radius() -> None:
    """Its innermost circle has radius ring - tube and bulges away from the outside."""
    sheet = torus_patch(200.0, 60.0, 1.2, (np.pi - 0.8, np.pi + 0.8), (60, 40))
    square = cut(sheet, 0.5 * Z, Z)
    through = cut(sheet, 0.5 * Y, Y)
    assert 1.0 / square.curvature == pytest.approx(-140.0, rel=FINE)
    assert 1.0 / through.curvature == pytest.approx(60.0, rel=FINE)


def ellipse_roof(half: float, rise: float) -> TriMesh:
    turn = np.linspace(0.15 * np.pi, 0.85 * np.pi, 121)
    x, y = np.meshgrid(half * np.cos(turn), np.linspace(0.0, 40.0, 9), indexing="ij")
    z = np.broadcast_to((rise * np.sin(turn))[:, None], x.shape)
    return patch(x, y, z)


def test_where_one_arc_does_not_fit_the_tightest_and_the_flattest_are_told() -> None:
    """An ellipse of half axes a, b bends by b / a^2 at its top, a b / (...)^1.5 elsewhere."""
    half, rise = 150.0, 60.0
    roof = turned_over(ellipse_roof(half, rise))
    found = cut(roof, 20.2 * Y, Y)
    assert not found.is_one_arc
    turn = np.linspace(0.15 * np.pi, 0.85 * np.pi, 400)
    bend = half * rise / ((half * np.sin(turn)) ** 2 + (rise * np.cos(turn)) ** 2) ** 1.5
    assert found.least == pytest.approx(bend.min(), rel=0.1)  # over 50 mm, not at a point
    assert 1.5 * found.least < found.most < bend.max()


def test_crown_and_hollow_are_told_each_by_itself() -> None:
    """Two quarters of an S, R 90 crowned and R 140 hollow, meet where the bend turns over."""
    one, two = np.linspace(-0.7, 0.0, 60), np.linspace(0.0, 0.7, 60)[1:]
    x = np.concatenate([90.0 * np.sin(one), 140.0 * np.sin(two)])
    z = np.concatenate([90.0 * (np.cos(one) - 1.0), 140.0 * (1.0 - np.cos(two))])
    tilt = 0.4
    x, z = x * np.cos(tilt) - z * np.sin(tilt), x * np.sin(tilt) + z * np.cos(tilt)
    xs, ys = np.meshgrid(x, np.linspace(0.0, 40.0, 9), indexing="ij")
    roof = patch(xs, ys, np.broadcast_to(z[:, None], xs.shape))
    found = sweeps(laid(roof), [Station("S1", 20.2 * Y, Y)])
    assert len(found) == 2
    crowned, hollow = sorted(found, key=lambda sweep: -abs(sweep.curvature))
    assert abs(1.0 / crowned.curvature) == pytest.approx(90.0, rel=0.1)
    assert abs(1.0 / hollow.curvature) == pytest.approx(140.0, rel=0.1)
    assert crowned.curvature * hollow.curvature < 0.0


def test_a_line_on_the_blank_parts_a_station() -> None:
    """A roof of two flat sides is one line across its fold, and two straight ones parted by it."""
    x, y = np.meshgrid(np.linspace(-80.0, 80.0, 41), np.linspace(0.0, 60.0, 9), indexing="ij")
    mesh = patch(x, y, -0.5 * np.abs(x))
    flat = laid(mesh)
    station = [Station("S1", 20.3 * Y, Y)]
    (whole,) = sweeps(flat, station)
    assert not whole.is_one_arc
    parts = sweeps(flat, station, parted_by=[np.array([[0.0, 0.0], [0.0, 60.0]])])
    assert len(parts) == 2
    assert all(part.off_mm < 1e-6 for part in parts)


def test_the_line_on_the_blank_is_the_formed_one_carried_there() -> None:
    """A flat sheet laid out as itself: both lines are the same."""
    x, y = np.meshgrid(np.linspace(0.0, 100.0, 21), np.linspace(0.0, 60.0, 13), indexing="ij")
    found = cut(patch(x, y, np.zeros_like(x)), 42.0 * X, X)
    np.testing.assert_allclose(found.points, found.formed[:, :2], atol=1e-9)
    np.testing.assert_allclose(found.points[:, 0], 42.0, atol=1e-9)


def test_a_station_that_misses_the_panel_tells_nothing() -> None:
    assert sweeps(laid(dome(100.0, 0.5, 8)), [Station("S1", 500.0 * X, X)]) == ()


@pytest.mark.parametrize("radius", [20.0, 145.0, 2000.0])
@pytest.mark.parametrize("turn", [0.0, 1.0, 4.0])
def test_best_arc_does_not_hang_on_where_the_line_stands(radius: float, turn: float) -> None:
    angle = np.linspace(0.0, min(1.0, 120.0 / radius), 40)
    arc = radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    cosine, sine = np.cos(turn), np.sin(turn)
    moved = arc @ np.array([[cosine, sine], [-sine, cosine]]) + np.array([300.0, -70.0])
    curvature, off = best_arc(moved, -1.0)
    assert curvature == pytest.approx(1.0 / radius, rel=1e-5)
    assert off < 1e-6
    assert best_arc(moved[::-1], 1.0)[0] == pytest.approx(curvature, rel=1e-9)


def test_stations_are_numbered_from_where_they_start() -> None:
    found = stations_across(2.0 * X, 10.0 * Y, 75.0, 3, "S")
    assert [each.name for each in found] == ["S1", "S2", "S3"]
    np.testing.assert_allclose(found[2].point, [225.0, 10.0, 0.0])
    np.testing.assert_allclose(found[2].normal, X)
