"""Few triangles in place of many: they make the same disk, and lead close to the least work."""

import numpy as np
import pytest

from geometry.blank import Work, flatten
from geometry.blank.approach import approach
from geometry.blank.coarse import coarse_panel
from geometry.blank.elements import Elements
from geometry.blank.orientation import folded_or_flat
from geometry.mesh import TriMesh, edge_lengths, edge_table, part_of_mesh, rims
from tests.bodies import dome, tank_top, torus_patch


def pierced_dome() -> TriMesh:
    """Return a dome with a round hole to one side of its crown."""
    mesh = dome(100.0, 0.8, 30)
    middle = mesh.vertices[mesh.faces].mean(axis=1)
    away = np.linalg.norm(middle - [40.0, 0.0, 91.0], axis=1)
    return part_of_mesh(mesh, np.flatnonzero(away > 15.0))[0]


BODIES = {
    "dome": dome(100.0, 1.0, 30),
    "tank top": tank_top(28),
    "band": torus_patch(300.0, 100.0, 1.2, (-1.7, 1.7), (50, 60)),
    "pierced dome": pierced_dome(),
}


@pytest.mark.parametrize("name", BODIES)
def test_the_few_triangles_are_the_same_kind_of_surface(name: str) -> None:
    """As many rims; every site a vertex of the panel; about a ninth to an eighteenth as many."""
    mesh = BODIES[name]
    coarse = coarse_panel(mesh)
    assert coarse is not None
    assert len(rims(coarse.mesh)) == len(rims(mesh))
    np.testing.assert_array_equal(mesh.vertices[coarse.sites], coarse.mesh.vertices)
    assert 8 < len(mesh.faces) / len(coarse.mesh.faces) < 20
    length = edge_lengths(coarse.mesh.vertices, edge_table(coarse.mesh.faces).edges)
    assert length.min() > 0.2 * length.max()


@pytest.mark.parametrize("name", BODIES)
def test_the_start_lies_close_to_the_least_work(name: str) -> None:
    """Within a quarter, where the fold-free start needs several times as much."""
    mesh = BODIES[name]
    beginning = approach(mesh, Elements.of(mesh), rims(mesh))
    assert beginning is not None
    start = beginning.start(Work())
    assert start is not None
    assert not folded_or_flat(start, mesh.faces).any()
    elements = Elements.of(mesh)
    least = flatten(mesh, open_holes=True).energy
    assert elements.energy(Work(), elements.strained(start).s) < 1.25 * least


def test_a_flat_sheet_is_carried_over_exactly() -> None:
    """The carried layout takes any linear map along without an error."""
    mesh = tank_top(28)
    flat_mesh = TriMesh(mesh.vertices * [1.0, 1.0, 0.0], mesh.faces)
    coarse = coarse_panel(flat_mesh)
    assert coarse is not None
    turn = np.array([[0.8, -0.6], [0.6, 0.8]])
    carried = coarse.carried(flat_mesh.vertices, coarse.mesh.vertices[:, :2] @ turn)
    np.testing.assert_allclose(carried, flat_mesh.vertices[:, :2] @ turn, atol=1e-9)


def test_straight_carrying_agrees_with_the_carried_layout_at_the_sites() -> None:
    """Every coarse vertex carries its own value over to itself; shares add up to 1."""
    coarse = coarse_panel(BODIES["dome"])
    assert coarse is not None
    values = np.random.default_rng(3).normal(size=len(coarse.sites))
    over = coarse.carrying @ values
    np.testing.assert_allclose(over[coarse.sites], values, atol=1e-9)
    np.testing.assert_allclose(coarse.share.sum(axis=1), 1.0)


def test_a_strip_too_narrow_for_it_is_left_to_the_safe_start() -> None:
    strip = TriMesh(
        np.array([[x, y, 0.0] for x in range(3) for y in (0.0, 1.0)]),
        np.array([[0, 2, 1], [1, 2, 3], [2, 4, 3], [3, 4, 5]]),
    )
    assert coarse_panel(strip) is None
    assert approach(strip, Elements.of(strip), rims(strip)) is None


def test_the_same_panel_is_told_by_the_same_triangles_each_time() -> None:
    one, two = coarse_panel(tank_top(28)), coarse_panel(tank_top(28))
    assert one is not None
    assert two is not None
    np.testing.assert_array_equal(one.mesh.faces, two.mesh.faces)
    np.testing.assert_array_equal(one.mesh.vertices, two.mesh.vertices)
