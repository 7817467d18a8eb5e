"""Drawing a seam: what the pointer catches on."""

import math
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from app.window.hands import AWAY, Ground, SeamTool
from app.window.scene import Hit, TankView
from geometry.arrays import FloatArray
from geometry.mesh import TriMesh, rims
from tests.geometry.mesh.small_meshes import octahedron, plane

REACH = 4.0
SEAM = np.array([[0.0, 30, 0], [100, 30, 0]])


def hit(x: float, y: float) -> Hit:
    return Hit("scan", -1, np.array([x, y, 0.0]), np.zeros(3))


def seam_tool() -> SeamTool:
    """Return the tool on a flat sheet, 100 x 60 mm, with one seam along its middle."""
    sheet = plane(51, 31, 2.0)
    working = SimpleNamespace(outside=sheet.vertices, mesh=sheet)
    return SeamTool(Ground(cast(Any, SimpleNamespace(working=working)), 1.0), (SEAM,))


def nowhere(point: FloatArray) -> float:
    return math.inf


def click(tool: SeamTool, x: float, y: float) -> str:
    tool.follow(hit(x, y), REACH, nowhere)
    return tool.put(hit(x, y))


@pytest.mark.parametrize("off", [0.0, 0.9])
def test_a_point_hard_by_where_a_seam_began_does_not_end_it(off: float) -> None:
    """A click within reach of the seam it began on goes on, where it was clicked."""
    tool = seam_tool()
    click(tool, 50.0, 30.5)
    assert click(tool, 50.0 + 0.9 * AWAY * REACH, 30.0 - off * REACH) == ""
    assert tool.placed[1].point[1] == pytest.approx(30.0 - off * REACH)
    assert click(tool, 60.0, 15.0) == ""
    assert click(tool, 50.0 + 1.5 * AWAY * REACH, 28.0) == "end"  # far enough: it ends there
    assert tool.placed[-1].point[1] == pytest.approx(30.0)


def test_a_seam_that_began_elsewhere_ends_on_the_seam_it_comes_to() -> None:
    tool = seam_tool()
    click(tool, 50.0, 24.0)
    assert tool.placed[0].caught == ""
    assert click(tool, 52.0, 29.0) == "end"


def test_a_rim_under_the_tanks_bulge_is_hidden_from_above(app: object) -> None:
    """A ball of 100 mm cut off 60 mm below its middle: its rim lies under the bulge."""
    ball = octahedron(4, 100.0)
    keep = (ball.vertices[ball.faces][:, :, 2] > -60.0).all(axis=1)
    used, faces = np.unique(ball.faces[keep], return_inverse=True)
    mesh = TriMesh(ball.vertices[used], faces.reshape(-1, 3))
    view = TankView()
    view.resize(600, 500)
    view.set_extent(mesh.vertices.min(axis=0), mesh.vertices.max(axis=0))
    view.set_pick("surface", mesh, mesh.vertices, mesh.faces)
    rim = mesh.vertices[rims(mesh)[0]]
    y = np.array([0.0, 1.0, 0.0])
    for eye, hidden in ((np.array([0.0, 0.0, 1.0]), True), (np.array([0.0, 0.0, -1.0]), False)):
        view.look_from(eye, y)
        assert {view.hides(place) for place in rim} == {hidden}
    view.look_from(np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0]))
    near = rim[:, 0] > 30.0
    assert not any(view.hides(place) for place in rim[near])
    assert all(view.hides(place) for place in rim[rim[:, 0] < -30.0])
    view.close_canvas()
