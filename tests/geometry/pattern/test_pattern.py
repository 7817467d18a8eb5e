"""The whole dressed blank."""

from dataclasses import replace

import numpy as np
import pytest
import shapely

from geometry.blank import flatten, laid_along
from geometry.pattern import (
    bare_pattern,
    carried_points,
    dress,
    marked_out,
    with_centre_lines,
)
from geometry.pattern.grid import centre_of, grid_lines
from tests.app.exports.sample_sheets import CutPanel, cut_panel, flat_panel
from tests.bodies import cylinder_sheet
from tests.geometry.pattern.stand_ins import dome


def test_points_are_carried_to_the_blank_through_their_triangles() -> None:
    """On the dome with true meridians a point at angle t lies t * R from the middle.

    Chords of 3.4 mm on R 150 stray from the sphere by up to c^2 / 8R = 0.0096 mm.
    """
    flat = dome(40, 150.0, 0.9)
    turn = np.linspace(0.0, 6.0, 40)
    angle = np.linspace(0.05, 0.8, 40)
    points = 150.0 * np.column_stack(
        [np.sin(angle) * np.cos(turn), np.sin(angle) * np.sin(turn), np.cos(angle)]
    )
    exact = 150.0 * angle[:, None] * np.column_stack([np.cos(turn), np.sin(turn)])
    assert np.abs(carried_points(flat, points) - exact).max() < 0.02


def test_vertices_are_carried_to_their_own_places() -> None:
    flat = dome(10, 150.0, 0.9)
    assert np.abs(carried_points(flat, flat.vertices) - flat.flat_vertices).max() < 1e-9


def test_an_opening_keeps_its_middle_inside_its_outline_and_nearly_its_size() -> None:
    pattern = dress(flat_panel("top strip"), cut_panel("top strip"))
    (opening,) = pattern.openings
    shape = shapely.Polygon(opening.outline)
    assert shape.contains(shapely.Point(opening.centre))
    assert opening.diameter_mm == 56.0
    stretch = 1.0 + np.abs(flat_panel("top strip").stretches - 1.0).max()
    across = 2.0 * np.linalg.norm(opening.outline - opening.centre, axis=1)
    assert across.max() < 56.0 * stretch
    assert shapely.Polygon(pattern.net).contains(shape)


def test_grid_lines_lie_in_the_net_square_through_the_centre_and_are_spaced_as_asked() -> None:
    pattern = dress(flat_panel("left side"), grid_mm=25.4)
    net = shapely.Polygon(pattern.net).buffer(1e-6)
    for line in pattern.grid:
        axis = 0 if abs(np.diff(line[:, 0]).item()) < 1e-9 else 1
        steps = (line[0, axis] - pattern.centre[axis]) / 25.4
        assert steps == pytest.approx(round(steps), abs=1e-9)
        assert net.covers(shapely.LineString(line))
    total = sum(shapely.LineString(line).length for line in pattern.grid)
    assert total == pytest.approx(2.0 * net.area / 25.4, rel=0.03)


def test_the_grid_is_cut_where_the_net_comes_in() -> None:
    """A C of 100 x 100 with a slot 40 high: the upright line through the slot comes in two."""
    net = np.array(
        [[0.0, 0], [100, 0], [100, 30], [20, 30], [20, 70], [100, 70], [100, 100], [0, 100]]
    )
    lines = grid_lines(net, np.array([50.0, 15.0]), 100.0)
    upright = [line for line in lines if line[0, 0] == line[1, 0]]
    assert sorted(abs(np.diff(line[:, 1]).item()) for line in upright) == pytest.approx([30, 30])


def test_the_centre_lies_on_the_blank_even_where_its_balance_point_does_not() -> None:
    net = np.array([[0.0, 0], [100, 0], [100, 5], [5, 5], [5, 95], [100, 95], [100, 100], [0, 100]])
    assert shapely.Polygon(net).contains(shapely.Point(centre_of(net)))


def test_patches_nobody_scanned_cover_the_filled_faces() -> None:
    panel, flat = cut_panel("left side"), flat_panel("left side")
    pattern = dress(flat, panel)
    corners = flat.flat_vertices[flat.faces[panel.filled]]
    area = shapely.area(shapely.polygons(corners)).sum()
    assert area > 500.0
    drawn = sum(shapely.Polygon(part.outline, part.holes).area for part in pattern.no_data)
    assert drawn == pytest.approx(area, rel=1e-9)


def test_dressing_twice_gives_the_same_pattern_and_changes_nothing() -> None:
    flat = flat_panel("left side")
    before = flat.flat_vertices.copy()
    one, two = (dress(flat, cut_panel("left side")) for _ in range(2))
    assert np.array_equal(before, flat.flat_vertices)
    assert one.trim is not None
    assert two.trim is not None
    assert np.array_equal(one.trim, two.trim)
    assert not one.net.flags.writeable


def test_progress_rises_from_nought_to_one() -> None:
    seen: list[float] = []
    dress(flat_panel("left side"), report=lambda done, _: seen.append(done))
    assert seen[0] == 0.0
    assert seen[-1] == 1.0
    assert seen == sorted(seen)


def test_a_bare_pattern_marked_out_is_the_dressed_one() -> None:
    flat, panel = flat_panel("left side"), cut_panel("left side")
    bare, whole = bare_pattern(flat, panel), dress(flat, panel)
    assert (bare.grid, bare.contours, bare.squares) == ((), (), None)
    for one, two in zip(
        (*bare.gathers, *bare.cut_gathers), (*whole.gathers, *whole.cut_gathers), strict=True
    ):
        assert len(one.places) == 2
        assert one.total_mm == pytest.approx(two.total_mm, rel=1e-12)
    again = marked_out(bare, flat)
    for name in ("net", "trim", "levels"):
        np.testing.assert_array_equal(getattr(again, name), getattr(whole, name))
    assert len(again.contours) == len(whole.contours) > 0
    for one, two in zip(again.gathers, whole.gathers, strict=True):
        np.testing.assert_array_equal(one.formed_mm, two.formed_mm)


def test_the_centre_plane_crosses_a_rolled_sheet_in_a_straight_line() -> None:
    """A cylinder about x, R 100, laid flat: the plane y = 50 meets it at the angle asin 1/2 from
    the top, so R pi / 6 from the middle of the blank, along all its length.
    """
    sheet = cylinder_sheet(100.0, np.pi, 250.0, 60, 24)
    flat = laid_along(flatten(sheet), np.array([1.0, 0.0, 0.0]))
    pattern = with_centre_lines(
        bare_pattern(flat), flat, np.array([0.0, 50.0, 0.0]), np.array([0.0, 1.0, 0.0])
    )
    (line,) = pattern.centre_lines
    along, across = line.T
    assert np.ptp(along) == pytest.approx(250.0, rel=1e-3)
    off_middle = np.abs(across - flat.flat_vertices[:, 1].mean())
    assert np.abs(off_middle - 100.0 * np.pi / 6.0).max() < 0.1


def test_a_plane_beside_the_panel_draws_nothing() -> None:
    flat = flat_panel("left side")
    far = with_centre_lines(bare_pattern(flat), flat, np.full(3, 1e4), np.array([0.0, 1.0, 0.0]))
    assert far.centre_lines == ()


def test_marked_faces_and_locked_lines_come_onto_the_blank() -> None:
    """Faces beyond those marked, as of filled openings, count as not copied."""
    flat, panel = flat_panel("left side"), cut_panel("left side")
    copied = (panel.mesh.vertices[panel.mesh.faces].mean(axis=1)[:, 0] > 0.0)[:-200]
    column = flat.vertices[np.abs(flat.vertices[:, 0]) < 3.0]
    line = column[np.argsort(column[:, 2])]
    pattern = bare_pattern(flat, replace(panel, copied=copied, lines=(line,)))
    corners = flat.flat_vertices[flat.faces[: len(copied)][copied]]
    drawn = sum(shapely.Polygon(part.outline, part.holes).area for part in pattern.copied)
    assert drawn == pytest.approx(shapely.area(shapely.polygons(corners)).sum(), rel=1e-9)
    (carried,) = pattern.character_lines
    np.testing.assert_allclose(carried, carried_points(flat, line), atol=1e-9)


def test_a_roll_line_along_a_locked_line_is_left_to_the_line() -> None:
    """On a rolled sheet whose top is locked each side is told by itself, R 100 to 1 %.

    Of a side's seven lines, 12 degrees or 21 mm apart, the one within 20 mm of the top is left out.
    """
    sheet = cylinder_sheet(100.0, np.pi, 250.0, 60, 24)
    flat = laid_along(flatten(sheet), np.array([1.0, 0.0, 0.0]))
    top = sheet.vertices[np.abs(sheet.vertices[:, 1]) < 1e-6]
    line = top[np.argsort(top[:, 0])]
    none = np.zeros(len(flat.faces), bool)
    panel = CutPanel("half", sheet, none, (), (), none, lines=(line,))
    every, pattern = bare_pattern(flat).rolls, bare_pattern(flat, panel)
    told, (locked,) = pattern.rolls, pattern.character_lines
    top_at = locked[:, 1].mean()
    assert min(abs(roll.points[:, 1].mean() - top_at) for roll in every) < 20.0
    off = np.array([roll.points[:, 1].mean() - top_at for roll in told])
    assert np.abs(off).min() >= 20.0
    assert ((off > 0.0).sum(), (off < 0.0).sum()) == (6, 6)
    for roll in told:
        assert roll.radii == pytest.approx(np.full(len(roll.radii), 100.0), rel=0.01)
