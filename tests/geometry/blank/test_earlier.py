"""A panel with a seam moved goes on from its old layout, and ends in the blank made afresh."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.blank import Flattener, Work, flatten, in_common
from geometry.blank.coarse import coarse_panel
from geometry.blank.earlier import Earlier
from geometry.blank.orientation import folded_or_flat
from geometry.mesh import TriMesh, part_of_mesh
from geometry.panels import Seam, cut_along, panels
from tests.bodies import cylinder_sheet, dome, patch
from tests.geometry.panels.surfaces import SIZE, line, surface_of, wavy_sheet

SHEET = surface_of(wavy_sheet(count=2500))


def panel_above(y: float, tilt: float = 0.0) -> TriMesh:
    """Return the part of a wavy sheet above a seam from side to side."""
    seam = Seam("low", line((-5.0, y), (SIZE + 5.0, y + tilt), 40), closed=False)
    return max((p.mesh for p in panels(cut_along(SHEET, [seam]), [])), key=lambda m: len(m.faces))


def apart_mm(one: FloatArray, other: FloatArray) -> float:
    """Return how far apart two layouts lie, the one turned and moved onto the other."""
    z, w = (each[:, 0] + 1j * each[:, 1] for each in (one, other))
    z, w = z - z.mean(), w - w.mean()
    turn = np.vdot(z, w)
    return float(np.abs(z * turn / abs(turn) - w).max())


def asked(mesh: TriMesh) -> Flattener:
    """Return a panel's set-up, standing at its blank."""
    flattener = Flattener(mesh)
    flattener.flatten()
    return flattener


OLD = panel_above(40.0)


@pytest.mark.parametrize(("y", "tilt"), [(43.0, 0.0), (37.0, 0.0), (40.0, 6.0), (38.0, -5.0)])
def test_a_seam_moved_by_some_millimetres_gives_the_same_blank_as_afresh(
    y: float, tilt: float
) -> None:
    """0.01 mm is asked; both searches end within 1e-8 of balance, a millionth of that."""
    new = panel_above(y, tilt)
    assert 0.8 < in_common(new, OLD) < 1.0
    near = asked(OLD)
    carried = Earlier(OLD, new).carried_over(flatten(OLD).flat_vertices)
    assert not folded_or_flat(carried, new.faces).any()
    afresh, after = Flattener(new).flatten(), Flattener(new, near=near).flatten()
    assert after.converged
    assert apart_mm(after.flat_vertices, afresh.flat_vertices) < 1e-6


def test_the_old_layout_is_nearer_than_any_made_afresh() -> None:
    """The same panel again takes no step at all; a seam moved takes fewer than a start afresh."""
    near = asked(OLD)
    assert Flattener(OLD, near=near).flatten().iterations == 0
    new = panel_above(41.0)
    assert Flattener(new, near=near).flatten().iterations <= Flattener(new).flatten().iterations


def test_the_old_few_triangles_carry_straight_over_to_the_new_panel() -> None:
    """On a flat sheet any linear function is carried from few to many without an error."""
    x, y = np.meshgrid(np.arange(60.0), np.arange(40.0), indexing="ij")
    whole = patch(x, y, 0.0 * x)
    reach = whole.vertices[whole.faces][:, :, 0].max(axis=1)
    part, _ = part_of_mesh(whole, np.flatnonzero(reach < 57.0))
    coarse = coarse_panel(whole)
    assert coarse is not None
    stands = Earlier(whole, part).stood_for(coarse)
    assert stands is not None
    straight = np.array([0.3, -2.0, 0.0])
    over = stands.carrying @ (coarse.mesh.vertices @ straight)
    np.testing.assert_allclose(over, part.vertices @ straight, atol=1e-9)
    too_small = coarse_panel(part)
    assert too_small is not None
    assert Earlier(part, whole).stood_for(too_small) is None


def test_a_new_panel_is_searched_with_the_old_few_triangles() -> None:
    new, near = panel_above(41.5), asked(OLD)
    after = Flattener(new, near=near)
    assert near._levels is not None
    assert after._levels is not None
    assert after._levels.coarse.mesh is near._levels.coarse.mesh
    blanks = [each.flatten(Work(bias=0.2)).flat_vertices for each in (after, after.twin())]
    assert apart_mm(blanks[0], blanks[1]) < 1e-6
    assert apart_mm(blanks[0], flatten(new, Work(bias=0.2)).flat_vertices) < 1e-6


def test_what_lies_beyond_the_old_rim_goes_on_straight() -> None:
    """On a rolled sheet a strip 5 mm wide, one facet more: 5 (1 - cos 0.05) = 0.006 mm short."""
    whole = cylinder_sheet(100.0, 1.2, 60.0, 24, 12)
    inside = whole.vertices[whole.faces][:, :, 1].max(axis=1) < whole.vertices[:, 1].max() - 0.1
    used = np.unique(whole.faces[inside])
    place = np.full(len(whole.vertices), -1)
    place[used] = np.arange(len(used))
    part = TriMesh(whole.vertices[used], place[whole.faces[inside]])
    carried = Earlier(part, whole).carried_over(flatten(part).flat_vertices)
    assert apart_mm(carried, flatten(whole).flat_vertices) < 0.01


def test_a_layout_that_would_fold_is_not_gone_on_from() -> None:
    """The same triangles seen from the other side: afresh, to the last bit."""
    mesh = dome(100.0, 0.5, 8)
    turned = TriMesh(mesh.vertices, mesh.faces[:, ::-1])
    after = Flattener(turned, near=asked(mesh)).flatten()
    np.testing.assert_array_equal(after.flat_vertices, Flattener(turned).flatten().flat_vertices)


def test_a_body_of_another_shape_misleads_nobody() -> None:
    other, mesh = dome(100.0, 1.2, 6), dome(100.0, 0.5, 8)
    assert in_common(mesh, other) < 0.1
    after = Flattener(mesh, near=asked(other)).flatten()
    assert after.converged
    assert apart_mm(after.flat_vertices, flatten(mesh).flat_vertices) < 1e-6


def test_another_way_of_working_starts_from_it_too() -> None:
    new, near = panel_above(42.0), asked(OLD)
    work = Work("hencky", "formed", bias=0.3)
    one, other = Flattener(new, near=near).flatten(work), flatten(new, work)
    assert apart_mm(one.flat_vertices, other.flat_vertices) < 1e-6


def test_nothing_is_in_common_with_a_panel_without_vertices() -> None:
    assert in_common(OLD, TriMesh(np.zeros((0, 3)), np.zeros((0, 3), np.int64))) == 0.0
    assert in_common(OLD, OLD) == 1.0
