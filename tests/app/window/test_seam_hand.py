"""Drawing a seam: what the pointer catches on."""

import math
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from app.window.hands import AWAY, Ground, SeamTool
from app.window.scene import Hit
from geometry.arrays import FloatArray
from tests.geometry.mesh.small_meshes import plane

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
