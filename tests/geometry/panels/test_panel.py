from dataclasses import replace

import numpy as np
import pytest

from geometry.arrays import FloatArray, IntArray
from geometry.mesh import check_manifold, face_areas, is_disk, is_oriented, loop_length, rims
from geometry.panels import CutSurface, Panel, PanelPointError, Seam, cut_along, panels
from geometry.surface import opening_within
from tests.geometry.mesh.small_meshes import octahedron, plane
from tests.geometry.panels.surfaces import line, on_sheet, ring, surface_of, wavy_sheet


def half_length(panel: Panel, vertices: IntArray) -> float:
    return float(np.linalg.norm(np.diff(panel.mesh.vertices[vertices], axis=0), axis=1).sum())


@pytest.fixture(name="cut", scope="module")
def _cut() -> CutSurface:
    """Return a sheet cut across, along, and by a ring about the crossing: eight panels."""
    seams = [
        Seam("across", line((0, 60), (150, 75))),
        Seam("along", line((70, 0), (80, 150), 12)),
        Seam("ring", ring((75, 68), 30.0), closed=True),
    ]
    return cut_along(surface_of(wavy_sheet(), 0.8), seams)


def inside(x: float, y: float) -> FloatArray:
    (place,) = on_sheet(np.array([[x, y]]))
    return np.asarray(place)


def test_panels_share_out_every_face_once_and_each_is_sound(cut: CutSurface) -> None:
    found = panels(cut, [])
    faces = np.concatenate([panel.face_of_panel_face for panel in found])
    assert np.sort(faces).tolist() == list(range(len(cut.mesh.faces)))
    for panel in found:
        check_manifold(panel.mesh)
        assert is_oriented(panel.mesh.faces)
        assert is_disk(panel.mesh)
        whole = cut.mesh.faces[panel.face_of_panel_face]
        assert (panel.vertex_of_panel_vertex[panel.mesh.faces] == whole).all()
        assert (panel.mesh.vertices == cut.mesh.vertices[panel.vertex_of_panel_vertex]).all()
        assert (panel.outside == cut.outside[panel.vertex_of_panel_vertex]).all()
        assert (
            panel.scan_face_of_panel_face == cut.scan_face_of_face[panel.face_of_panel_face]
        ).all()


def test_both_halves_of_a_seam_have_the_same_length_and_name_each_other(cut: CutSurface) -> None:
    found = {panel.name: panel for panel in panels(cut, [])}
    count = 0
    for panel in found.values():
        for half in panel.seam_halves:
            other = found[half.other]
            back = [h for h in other.seam_halves if h.seam == half.seam and h.other == panel.name]
            assert len(back) == 1
            length = half_length(panel, half.vertices)
            assert half_length(other, back[0].vertices) == pytest.approx(length, abs=1e-9)
            there = other.vertex_of_panel_vertex[back[0].vertices][::-1]
            assert (panel.vertex_of_panel_vertex[half.vertices] == there).all()
            count += 1
    assert count == 2 * (4 + 4 + 4)  # four spokes inside the ring, four outside, four arcs


def test_halves_run_as_the_rim_does_and_cover_all_of_it_but_the_old_rim(cut: CutSurface) -> None:
    outer = set(rims(cut.mesh)[0].tolist())
    for panel in panels(cut, []):
        (rim,) = rims(panel.mesh)
        ahead = dict(zip(rim.tolist(), np.roll(rim, -1).tolist(), strict=True))
        covered = 0.0
        for half in panel.seam_halves:
            for a, b in zip(half.vertices[:-1].tolist(), half.vertices[1:].tolist(), strict=True):
                assert ahead[a] == b
            covered += half_length(panel, half.vertices)
        pairs = list(ahead.items())
        old = [pair for pair in pairs if outer.issuperset(panel.vertex_of_panel_vertex[list(pair)])]
        left = sum(float(np.linalg.norm(np.subtract(*panel.mesh.vertices[list(p)]))) for p in old)
        assert covered + left == pytest.approx(loop_length(panel.mesh.vertices, rim), rel=1e-12)


def test_a_ring_has_one_closed_half_on_each_side() -> None:
    ball = surface_of(octahedron(4, 100.0))
    turn = 2 * np.pi * np.arange(30) / 30
    circle = 100 * np.stack([np.cos(turn), np.sin(turn), 0 * turn], axis=1)
    found = panels(cut_along(ball, [Seam("equator", circle, closed=True)]), [])
    assert len(found) == 2
    for panel in found:
        (half,) = panel.seam_halves
        assert half.vertices[0] == half.vertices[-1]
        (rim,) = rims(panel.mesh)
        assert half_length(panel, half.vertices) == pytest.approx(
            loop_length(panel.mesh.vertices, rim), rel=1e-13
        )


def test_names_go_where_their_points_lie_and_the_rest_are_numbered(cut: CutSurface) -> None:
    named = [("top", inside(20, 120)), ("eye", inside(85, 80)), ("panel 2", inside(130, 20))]
    found = panels(cut, named)
    assert [panel.name for panel in found[:3]] == ["top", "eye", "panel 2"]
    assert [panel.name for panel in found[3:]] == [f"panel {n}" for n in (1, 3, 4, 5, 6)]
    centre = found[1].mesh.vertices.mean(axis=0)
    assert np.hypot(centre[0] - 75, centre[1] - 68) < 30


def test_unnamed_panels_are_numbered_from_the_largest(cut: CutSurface) -> None:
    area = [face_areas(p.mesh.vertices, p.mesh.faces).sum() for p in panels(cut, [])]
    assert area == sorted(area, reverse=True)


def test_two_names_in_one_panel_or_one_name_twice_or_a_point_far_off_are_refused(
    cut: CutSurface,
) -> None:
    with pytest.raises(PanelPointError) as two:
        panels(cut, [("one", inside(20, 120)), ("two", inside(25, 115))])
    assert two.value.names == ("one", "two")
    assert two.value.point == pytest.approx(inside(25, 115))
    with pytest.raises(PanelPointError) as twice:
        panels(cut, [("one", inside(20, 120)), ("one", inside(20, 20))])
    assert twice.value.names == ("one", "one")
    with pytest.raises(PanelPointError) as far:
        panels(cut, [("one", np.array([20.0, 120.0, 400.0]))])
    assert far.value.distance_mm > 300


def test_a_name_inside_the_wrong_unit_is_not_taken_for_near(cut: CutSurface) -> None:
    with pytest.raises(PanelPointError):
        panels(cut, [("inch", inside(20, 120) * 25.4)])


def test_openings_go_to_the_panel_they_lie_on() -> None:
    surface = surface_of(wavy_sheet())
    holes = tuple(opening_within(ring(centre, 6.0)) for centre in ((30, 120), (120, 20)))
    cut = cut_along(replace(surface, openings=holes), [Seam("a", line((0, 60), (150, 75)))])
    upper, lower = panels(cut, [("upper", inside(75, 120)), ("lower", inside(75, 20))])
    assert upper.openings == (holes[0],)
    assert lower.openings == (holes[1],)


def test_a_panel_that_touches_itself_at_a_point_gets_a_rim_that_can_be_walked() -> None:
    """Opposite quarters of a sheet as one panel: the middle point is doubled."""
    mesh = plane(9, 9)
    centre = mesh.vertices[mesh.faces].mean(axis=1)
    quarters = CutSurface(
        mesh=mesh,
        outside=mesh.vertices,
        filled=np.zeros(len(mesh.faces), bool),
        copied=np.zeros(len(mesh.faces), bool),
        scan_face_of_face=np.arange(len(mesh.faces)),
        seam_paths=(),
        panel_of_face=((centre[:, 0] < 4) == (centre[:, 1] < 4)).astype(np.int64),
        openings=(),
    )
    for panel in panels(quarters, []):
        check_manifold(panel.mesh)
        assert [loop_length(panel.mesh.vertices, rim) for rim in rims(panel.mesh)] == [16.0, 16.0]
        assert len(panel.mesh.vertices) == 2 * 25
        middle = np.flatnonzero((panel.mesh.vertices[:, :2] == 4).all(axis=1))
        assert len(set(panel.vertex_of_panel_vertex[middle].tolist())) == 1


def test_what_was_copied_stays_marked_through_the_cut() -> None:
    surface = surface_of(wavy_sheet())
    middle = surface.mesh.vertices[surface.mesh.faces].mean(axis=1)
    cut = cut_along(
        replace(surface, copied=middle[:, 0] > 80.0), [Seam("a", line((0, 60), (150, 75)))]
    )
    for panel in panels(cut, []):
        centre = panel.mesh.vertices[panel.mesh.faces].mean(axis=1)
        assert panel.copied[centre[:, 0] > 84.0].all()
        assert not panel.copied[centre[:, 0] < 76.0].any()


def test_a_locked_line_runs_on_each_panel_up_to_the_seam_between_them() -> None:
    """Along x = 75, over a seam at y = 70: both runs together are the line."""
    surface = surface_of(wavy_sheet())
    ground = surface.mesh.vertices
    column = np.flatnonzero(np.abs(ground[:, 0] - 75.0) < 2.5)
    column = column[np.argsort(ground[column, 1])]
    cut = cut_along(replace(surface, lines=(column,)), [Seam("a", line((0, 70), (150, 70)))])
    upper, lower = panels(cut, [("upper", inside(75, 120)), ("lower", inside(75, 20))])
    ((above,), (below,)) = upper.lines, lower.lines
    assert above[:, 1].min() > 65.0
    assert below[:, 1].max() < 75.0
    assert above[:, 1].min() - below[:, 1].max() < 6.0
    assert np.abs(above[:, 0] - 75.0).max() < 2.6


def test_a_locked_line_along_a_seam_is_not_drawn_beside_the_edge() -> None:
    surface = surface_of(plane(20, 20))
    row = np.flatnonzero(surface.mesh.vertices[:, 1] == 10)
    row = row[np.argsort(surface.mesh.vertices[row, 0])]
    drawn = surface.mesh.vertices[row][1:-1]
    cut = cut_along(replace(surface, lines=(row,)), [Seam("a", drawn)], end_tolerance_mm=2.0)
    assert [panel.lines for panel in panels(cut, [])] == [(), ()]
