"""Seams from a shaky hand, another job or a wrong file: each refused by name, or cut."""

from dataclasses import replace

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.mesh import (
    NearestPoint,
    NoPathError,
    TriMesh,
    face_areas,
    part_of_mesh,
    rims,
)
from geometry.panels import (
    CutSurface,
    Seam,
    SeamCrossesItselfError,
    SeamDoesNotPartError,
    SeamDoublesBackError,
    SeamLeavesSliverError,
    SeamOffSurfaceError,
    SeamTooShortError,
    cut_along,
    panels,
)
from geometry.surface import filled_openings
from tests.bodies import cylinder_sheet
from tests.geometry.mesh.small_meshes import scattered_plane
from tests.geometry.panels.networks import assert_clean
from tests.geometry.panels.surfaces import (
    PlainSurface,
    height,
    line,
    on_sheet,
    ring,
    surface_of,
    wavy_sheet,
)

ACROSS = line((0, 60), (150, 75), 30)


def cleanly_cut(surface: PlainSurface, seams: list[Seam]) -> CutSurface:
    cut = cut_along(surface, seams)
    assert_clean(surface, cut, panels(cut, ()))
    return cut


def areas(cut: CutSurface) -> FloatArray:
    return np.bincount(
        cut.panel_of_face, weights=face_areas(cut.mesh.vertices, cut.mesh.faces)
    ).astype(np.float64)


def holed() -> TriMesh:
    """Return the wavy sheet with a hole of 15 mm radius in its middle."""
    whole = wavy_sheet()
    off = np.linalg.norm(whole.vertices[whole.faces].mean(axis=1)[:, :2] - 75.0, axis=1)
    mesh, _ = part_of_mesh(whole, np.flatnonzero(off > 15.0))
    return mesh


def rim_of_hole(mesh: TriMesh) -> FloatArray:
    return np.asarray(mesh.vertices[rims(mesh)[1]])


@pytest.mark.parametrize(("y", "count"), [(75.0, 60), (75.0, 12), (84.0, 60), (68.0, 33)])
def test_a_seam_over_an_open_hole_ends_at_its_edge_and_goes_on(y: float, count: int) -> None:
    """Two panels that share the seam on either side of the hole, and no half of it runs along it.

    The hole is ragged by a spacing of 3.5 mm: beside it the seam may be a quarter of that off.
    """
    mesh = holed()
    through = Seam("through", line((0, y), (150, y + 1), count))
    cut = cleanly_cut(surface_of(mesh, 0.8), [through])
    assert len(areas(cut)) == 2
    parts = panels(cut, ())
    for part in parts:
        assert len(part.seam_halves) == 2
        for half in part.seam_halves:
            places = part.mesh.vertices[half.vertices]
            assert places[:, 1] == pytest.approx(y + places[:, 0] / 150.0, abs=0.9)
            ends = places[[0, -1]]
            near = min(np.linalg.norm(rim_of_hole(mesh) - end, axis=1).min() for end in ends)
            assert near < 4.0  # an edge of the hole's rim
    half_way = areas(cut)[np.argsort([p.mesh.vertices[:, 1].mean() for p in parts])]
    below = face_areas(mesh.vertices, mesh.faces)[
        mesh.vertices[mesh.faces].mean(axis=1)[:, 1] < y + 0.5
    ].sum()
    assert half_way[0] == pytest.approx(below, rel=0.02)


def test_a_seam_has_joints_on_either_side_of_a_hole_and_none_along_it() -> None:
    """150 mm of ground less the hole's 30, a little more along the waves; a closed one likewise."""
    mesh = holed()
    seams = [
        Seam("through", line((0, 75), (150, 75), 60)),
        Seam("ring", ring((75, 45), 30.0, 60), closed=True),
    ]
    for seam, count, length in zip(seams, (2, 1), (120.0, 60.0 * np.pi * 0.83), strict=True):
        cut = cleanly_cut(surface_of(mesh, 0.8), [seam])
        runs = cut.joints(cut.seam_paths[0])
        assert len(runs) == count
        steps = [np.linalg.norm(np.diff(cut.mesh.vertices[run], axis=0), axis=1) for run in runs]
        assert sum(step.sum() for step in steps) == pytest.approx(length, rel=0.08)
        rim = {v.tobytes() for v in rim_of_hole(mesh)}
        inner = np.concatenate([run[1:-1] for run in runs])
        assert not any(place.tobytes() in rim for place in cut.mesh.vertices[inner])


def test_a_seam_whose_points_all_lie_on_the_skin_parts_it_at_the_hole_too() -> None:
    round_it = np.concatenate([line((0, 75), (56, 75), 10), line((94, 75), (150, 76), 10)])
    assert len(areas(cleanly_cut(surface_of(holed(), 0.8), [Seam("round", round_it)]))) == 2


def test_a_ring_over_an_open_hole_is_parted_by_it() -> None:
    """A ring of radius 20 whose edge passes through the hole's middle."""
    cut = cleanly_cut(surface_of(holed(), 0.8), [Seam("ring", ring((95, 75), 20.0, 40), True)])
    assert len(areas(cut)) == 2
    assert all(len(part.seam_halves) == 1 for part in panels(cut, ()))


def test_a_ring_clear_of_an_open_hole_is_a_panel_of_its_own() -> None:
    cut = cleanly_cut(surface_of(holed(), 0.8), [Seam("ring", ring((75, 75), 22.0, 40), True)])
    whole = areas(cut)[1]
    assert whole == pytest.approx(np.pi * (22.0**2 - 15.0**2), rel=0.1)


@pytest.mark.parametrize("radius", [14.5, 15.5, 16.5])
def test_a_ring_too_close_round_an_open_hole_is_refused_and_the_hole_told(radius: float) -> None:
    close = Seam("close", ring((75, 75), radius, 40), closed=True)
    with pytest.raises(SeamLeavesSliverError) as caught:
        cut_along(surface_of(holed(), 0.8), [close])
    assert caught.value.hole_mm == pytest.approx(30.0, abs=2.0)
    assert caught.value.width_mm < caught.value.needed_mm == 3.0
    assert np.linalg.norm(caught.value.point[:2] - 75.0) < 20.0


def test_an_end_over_a_hole_ends_at_its_edge_where_another_seam_goes_on() -> None:
    seams = [
        Seam("in", line((0, 75), (72, 75), 30)),
        Seam("out", line((75, 78), (75, 150), 30)),
    ]
    cut = cleanly_cut(surface_of(holed(), 0.8), seams)
    assert areas(cut)[1] == pytest.approx(75.0**2 - np.pi * 15.0**2 / 4, rel=0.06)


def test_a_seam_through_a_filled_hole_parts_the_skin_as_if_it_had_none() -> None:
    mesh, filled, _ = filled_openings(holed())
    surface = replace(surface_of(mesh, 0.8), filled=filled)
    cut = cleanly_cut(surface, [Seam("through", line((0, 75), (150, 76), 12))])
    assert len(areas(cut)) == 2


def test_a_seam_along_a_rim_parts_nothing() -> None:
    surface = surface_of(wavy_sheet(), 0.8)
    rim = surface.outside[rims(surface.mesh)[0]]
    for seam in (Seam("part of it", rim[5:40]), Seam("all of it", rim, closed=True)):
        with pytest.raises(SeamDoesNotPartError) as caught:
            cut_along(surface, [seam])
        assert np.linalg.norm(rim - caught.value.point, axis=1).min() < 1.0


def test_a_seam_that_crosses_itself_is_refused_at_the_crossing() -> None:
    loop = np.array([[0.0, 60], [60, 60], [90, 90], [60, 110], [45, 90], [60, 30], [60, 0]])
    way = np.linspace(0, 6, 70)
    points = on_sheet(np.stack([np.interp(way, np.arange(7), c) for c in loop.T], axis=1))
    with pytest.raises(SeamCrossesItselfError) as caught:
        cut_along(surface_of(wavy_sheet(), 0.8), [Seam("knot", points)])
    assert caught.value.point[:2] == pytest.approx([52.5, 60.0], abs=4.0)


@pytest.mark.parametrize("shift", [0.0, 0.1])
def test_a_seam_that_doubles_back_over_itself_is_refused_where_it_turns(shift: float) -> None:
    back = ACROSS[18:9:-1] + [0.0, shift, 0.0]
    points = np.concatenate([ACROSS[:20], back, ACROSS[10:]])
    with pytest.raises(SeamDoublesBackError) as caught:
        cut_along(surface_of(wavy_sheet(), 0.8), [Seam("back", points)])
    turns = ACROSS[[19, 10]]
    assert np.linalg.norm(turns - caught.value.point, axis=1).min() < 1.0


def test_a_tail_that_ends_on_its_own_way_back_is_refused_where_it_turns() -> None:
    points = np.concatenate([ACROSS, ACROSS[-2:12:-1]])
    with pytest.raises(SeamDoublesBackError) as caught:
        cut_along(surface_of(wavy_sheet(), 0.8), [Seam("back", points)])
    assert caught.value.point == pytest.approx(ACROSS[-1], abs=0.5)


@pytest.mark.parametrize("apart", [0.0, 0.1, 0.5])
def test_two_seams_a_hair_apart_are_refused_and_both_named(apart: float) -> None:
    seams = [Seam("one", ACROSS), Seam("other", ACROSS + [0.0, apart, 0.0])]
    with pytest.raises(SeamLeavesSliverError) as caught:
        cut_along(surface_of(wavy_sheet(), 0.8), seams)
    assert {caught.value.seam, caught.value.other} == {"one", "other"}
    assert caught.value.width_mm <= apart + 1e-9
    assert np.linalg.norm(ACROSS - caught.value.point, axis=1).min() < 4.0


def test_two_seams_that_cross_at_a_hairs_angle_are_refused() -> None:
    seams = [Seam("one", ACROSS), Seam("other", line((0, 60.1), (150, 74.9), 30))]
    with pytest.raises(SeamLeavesSliverError):
        cut_along(surface_of(wavy_sheet(), 0.8), seams)


def test_a_strip_narrow_but_wide_enough_to_be_meant_is_cut() -> None:
    """150 mm long, 4 mm wide over the ground, a little more along the waves."""
    seams = [Seam("one", ACROSS), Seam("other", ACROSS + [0.0, 4.0, 0.0])]
    cut = cleanly_cut(surface_of(wavy_sheet(), 0.8), seams)
    assert areas(cut).min() == pytest.approx(600.0, rel=0.1)


def two_pieces() -> PlainSurface:
    """Return the wavy sheet with a smaller, flat stray beside it."""
    main, stray = wavy_sheet(), scattered_plane(200, 40.0, 3)
    vertices = np.concatenate([main.vertices, stray.vertices + [200.0, 0.0, 0.0]])
    faces = np.concatenate([main.faces, stray.faces + len(main.vertices)])
    return surface_of(TriMesh(vertices, faces))


def test_a_seam_over_a_stray_piece_parts_that_piece_alone() -> None:
    over = np.array([[200.0, 20, 0], [240, 22, 0]])
    cut = cleanly_cut(two_pieces(), [Seam("stray", over)])
    assert areas(cut)[1:] == pytest.approx([40 * 21.0, 40 * 19.0], rel=1e-3)


def test_a_seam_from_one_piece_to_another_is_refused_with_its_ends() -> None:
    over = np.concatenate([line((0, 30), (60, 30), 9), [[210.0, 20, 0], [240, 20, 0]]])
    with pytest.raises(NoPathError) as caught:
        cut_along(two_pieces(), [Seam("jump", over)])
    assert {bool(caught.value.start[0] > 190), bool(caught.value.end[0] > 190)} == {True, False}


def boss() -> PlainSurface:
    """Return the wavy sheet with a round boss 16 mm across and 6 high, flanks over 2 mm."""
    flat = scattered_plane(9000, 150.0, 4)
    x, y, _ = flat.vertices.T
    off = np.hypot(x - 75.0, y - 75.0)
    lift = 6.0 * np.clip((9.0 - off) / 2.0, 0.0, 1.0)
    vertices = np.stack([x, y, height(x, y) + lift], axis=1)
    return surface_of(TriMesh(vertices, flat.faces))


@pytest.mark.parametrize("radius", [13.0, 10.0])
def test_a_closed_seam_round_a_bolt_boss_cuts_the_boss_out(radius: float) -> None:
    surface = boss()
    on = NearestPoint(surface.mesh).find(ring((75, 75), radius, 30)).points
    cut = cleanly_cut(surface, [Seam("boss", on, closed=True)])
    assert len(areas(cut)) == 2
    inside = cut.mesh.vertices[np.unique(cut.mesh.faces[cut.panel_of_face == 1])]
    assert np.hypot(*(inside[:, :2] - 75.0).T).max() == pytest.approx(radius, abs=0.8)
    assert areas(cut)[1] > np.pi * radius**2


def test_a_closed_seam_smaller_than_the_triangles_can_tell_has_no_length() -> None:
    tiny = ring((75, 75), 0.3, 12)
    with pytest.raises((SeamTooShortError, SeamLeavesSliverError)) as caught:
        cut_along(surface_of(wavy_sheet(), 0.8), [Seam("dot", tiny, closed=True)])
    assert np.linalg.norm(caught.value.point - tiny[0]) < 5.0


@pytest.mark.parametrize("off", [4.0, 40.0])
def test_points_off_the_surface_are_refused_with_the_worst_and_how_far(off: float) -> None:
    points = ACROSS.copy()
    points[11, 2] += off
    with pytest.raises(SeamOffSurfaceError) as caught:
        cut_along(surface_of(wavy_sheet()), [Seam("off", points)])
    assert caught.value.point == pytest.approx(points[11])
    assert 0.8 * off < caught.value.distance_mm <= off + 1e-9


def test_the_seams_of_another_tank_are_refused_by_how_far_they_lie_off() -> None:
    """Lines drawn over a tube elsewhere, and the right ones in another unit."""
    tube = cylinder_sheet(90.0, 2.0, 150.0)
    other = NearestPoint(tube).find(ACROSS + [0.0, 0.0, 90.0]).points
    for points in (other, ACROSS / 25.4 + 300.0):
        with pytest.raises(SeamOffSurfaceError) as caught:
            cut_along(surface_of(wavy_sheet()), [Seam("foreign", points)])
        off = NearestPoint(wavy_sheet()).find(points).distances
        assert caught.value.distance_mm == pytest.approx(off.max(), rel=1e-9)


def test_nothing_is_cut_by_seams_of_no_points_or_one() -> None:
    for points in (np.empty((0, 3)), ACROSS[:1], ACROSS[[0, 0, 0]]):
        with pytest.raises(SeamTooShortError):
            cut_along(surface_of(wavy_sheet()), [Seam("none", points)])
