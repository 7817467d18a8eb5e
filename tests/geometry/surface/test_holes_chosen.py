"""Holes the maker said to fill or to leave; marks of guessed and copied faces carried along."""

import numpy as np
import pytest

from geometry.arrays import BoolArray, FloatArray
from geometry.mesh import TriMesh, face_areas, part_of_mesh, rims
from geometry.surface import NoHoleNearError, WorkingSurface, hole_fates, working_surface
from tests.geometry.surface.scans import sheet_scan

SMALL, LARGE = (20.0, 20.0, 0.0), (62.0, 50.0, 0.0)
SMALL_RADIUS, LARGE_RADIUS = 6.0, 18.0


def middles(mesh: TriMesh) -> FloatArray:
    return np.asarray(mesh.vertices[mesh.faces].mean(axis=1))


def sheet_with_two_holes() -> TriMesh:
    whole = sheet_scan(100.0, 80.0, noise=0.02)
    away = [np.linalg.norm(middles(whole) - np.array(at), axis=1) for at in (SMALL, LARGE)]
    keep = (away[0] > SMALL_RADIUS) & (away[1] > LARGE_RADIUS)
    return part_of_mesh(whole, np.flatnonzero(keep))[0]


SCAN = sheet_with_two_holes()


def open_places(surface: WorkingSurface) -> set[str]:
    """Return which of the two holes are open."""
    ends = [surface.outside[loop].mean(axis=0) for loop in rims(surface.mesh)[1:]]
    names = {"small": SMALL, "large": LARGE}
    return {n for n, at in names.items() if any(np.linalg.norm(e - at) < 3.0 for e in ends)}


def test_a_hole_said_to_be_left_stays_open_and_the_others_are_filled() -> None:
    surface = working_surface(SCAN, leave=[LARGE])
    assert open_places(surface) == {"large"}
    assert len(surface.openings) == 1


def test_a_hole_said_to_be_filled_is_filled_where_none_other_is() -> None:
    surface = working_surface(SCAN, fill_rim_below_mm=0.0, fill=[SMALL])
    assert open_places(surface) == {"large"}
    filled = face_areas(surface.outside, surface.mesh.faces[surface.filled]).sum()
    assert filled == pytest.approx(np.pi * SMALL_RADIUS**2, rel=0.15)  # faces are there or not


def test_a_place_at_the_rim_or_anywhere_within_means_the_hole() -> None:
    for way in (0.0, 0.3, 0.5, 0.7, 1.05):
        place = np.array(LARGE) + [0.0, way * LARGE_RADIUS, 0.4]
        assert open_places(working_surface(SCAN, leave=place[None])) == {"large"}


def test_a_hole_said_both_ways_is_left() -> None:
    assert open_places(working_surface(SCAN, fill=[SMALL], leave=[SMALL])) == {"small"}


def test_a_pinhole_can_be_left() -> None:
    keep = np.ones(len(SCAN.faces), bool)
    keep[np.argmin(np.linalg.norm(middles(SCAN) - [80.0, 15.0, 0.0], axis=1))] = False
    scan = part_of_mesh(SCAN, np.flatnonzero(keep))[0]
    assert len(rims(working_surface(scan).mesh)) == 1
    surface = working_surface(scan, leave=[(80.0, 15.0, 0.0)])
    assert len(rims(surface.mesh)) == 2


def test_the_piece_s_own_edge_is_filled_only_where_asked_for() -> None:
    """A rim of more than the usual length, its patch as large as the piece."""
    whole = sheet_scan(60.0, 60.0, noise=0.0)
    far = np.abs(middles(whole)[:, :2] - 30.0).max(axis=1) > 18.0
    frame = part_of_mesh(whole, np.flatnonzero(far))[0]
    assert len(rims(working_surface(frame).mesh)) == 2
    filled = working_surface(frame, fill=[(30.0, 30.0, 0.0)])
    assert len(rims(filled.mesh)) == 1
    area = face_areas(filled.outside, filled.mesh.faces).sum()
    assert area == pytest.approx(3600.0, rel=1e-3)


@pytest.mark.parametrize("way", ["fill", "leave"])
def test_a_place_with_no_hole_near_is_refused_with_the_place(way: str) -> None:
    place = (35.0, 60.0, 5.0)
    with pytest.raises(NoHoleNearError) as caught:
        working_surface(
            SCAN, fill=[place] if way == "fill" else (), leave=[place] if way == "leave" else ()
        )
    np.testing.assert_array_equal(caught.value.point, place)
    assert 9.0 < caught.value.distance_mm < 21.0


def test_a_surface_without_a_rim_has_no_hole_anywhere() -> None:
    from tests.geometry.scan.scans import ball

    with pytest.raises(NoHoleNearError) as caught:
        working_surface(ball(30.0, 400), fill=[(0.0, 0.0, 30.0)])
    assert caught.value.distance_mm == np.inf


def same(one: WorkingSurface, other: WorkingSurface) -> bool:
    return all(
        np.array_equal(getattr(one, name), getattr(other, name))
        for name in ("outside", "filled", "copied", "scan_face", "error_mm", "rim_error_mm")
    ) and np.array_equal(one.mesh.faces, other.mesh.faces)


def test_saying_what_is_done_anyway_changes_nothing_to_the_last_bit() -> None:
    nothing = np.zeros(len(SCAN.faces), bool)
    plain = working_surface(SCAN)
    said = working_surface(SCAN, fill=[SMALL, LARGE], leave=(), guessed=nothing, copied=nothing)
    assert same(plain, said)
    assert not plain.copied.any()


def test_marks_change_no_place_to_the_last_bit() -> None:
    mark = middles(SCAN)[:, 0] > 70.0
    plain, marked = working_surface(SCAN), working_surface(SCAN, guessed=mark, copied=mark)
    np.testing.assert_array_equal(plain.outside, marked.outside)
    np.testing.assert_array_equal(plain.mesh.faces, marked.mesh.faces)


def band(x_from: float, x_to: float) -> BoolArray:
    x = middles(SCAN)[:, 0]
    return np.asarray((x > x_from) & (x < x_to))


def test_guessed_faces_of_the_scan_are_marked_besides_the_filled_holes() -> None:
    plain, marked = working_surface(SCAN), working_surface(SCAN, guessed=band(80.0, 90.0))
    assert marked.filled[plain.filled].all()
    x = middles(TriMesh(marked.outside, marked.mesh.faces))[:, 0]
    assert marked.filled[(x > 80.5) & (x < 89.5)].all()
    off = marked.filled & ~plain.filled
    assert x[off].min() > 80.0 - 2.0  # a working face's reach
    assert x[off].max() < 90.0 + 2.0


def test_a_strip_narrower_than_the_working_faces_is_marked_in_one_run() -> None:
    """1 mm wide under faces of 3 mm: no gap along it, and hardly a face beyond it."""
    marked = working_surface(SCAN, guessed=band(85.0, 86.0))
    faces = marked.mesh.faces[marked.filled]
    reach = marked.outside[faces][:, :, 1]
    x = marked.outside[faces][:, :, 0].mean(axis=1)
    run = np.abs(x - 85.5) < 3.0
    covered = np.zeros(801, bool)
    for low, high in zip(reach[run].min(axis=1), reach[run].max(axis=1), strict=True):
        covered[max(0, int(10 * low)) : int(10 * high) + 2] = True
    assert covered.all()


def test_copied_faces_are_marked_up_to_where_the_copy_ends() -> None:
    surface = working_surface(SCAN, copied=band(50.0, 200.0))
    x = middles(TriMesh(surface.outside, surface.mesh.faces))[:, 0]
    assert surface.copied[(x > 51.0) & ~surface.filled].all()
    assert not surface.copied[x < 49.0].any()
    assert not surface.copied.flags.writeable


def test_the_fate_of_holes_is_told_before_it_is_done() -> None:
    """As many of those told to stay open do stay open."""
    sheet = sheet_with_two_holes()
    edge, *holes = hole_fates(sheet)
    assert (edge[0].is_edge, edge[1]) == (True, False)
    assert [filled for _, filled in holes] == [True, True]
    kept = holes[0][0].centre[None]
    fates = hole_fates(sheet, leave=kept)
    assert [filled for _, filled in fates] == [False, False, True]
    assert len(rims(working_surface(sheet, leave=kept).mesh)) == 2
