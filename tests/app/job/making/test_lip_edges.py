"""A flange left where the scan has a lip already: found from the panel, whatever was begun."""

from dataclasses import replace

import numpy as np
import pytest

from app.exports.words import fact_words
from app.job.making.lip_edges import counted_twice_words, edges_with_lip
from geometry.arrays import IntArray
from geometry.mesh import TriMesh, part_of_mesh, rims
from geometry.panels import Panel
from geometry.pattern import PatternEdge
from tests.app.exports.sample_sheets import panel_sheet
from tests.geometry.tank.test_lip import lipped


def half_ring(turn_deg: float) -> Panel:
    """Return half of a round wall 60 high, its foot turned to a lip of 12 mm; without one at 0."""
    body = lipped(turn_deg or 90.0, 12.0, 5.0, radius=60.0)
    faces = np.flatnonzero((body.vertices[body.faces][:, :, 1] > -1e-6).all(axis=1))
    mesh = part_of_mesh(body, faces)[0]
    if not turn_deg:
        high = np.flatnonzero((mesh.vertices[mesh.faces][:, :, 2] > 1.0).all(axis=1))
        mesh = part_of_mesh(mesh, high)[0]
    nothing = np.zeros(len(mesh.faces), bool)
    numbers = (
        np.arange(len(mesh.vertices)),
        np.arange(len(mesh.faces)),
        np.arange(len(mesh.faces)),
    )
    return Panel("half", mesh, mesh.vertices, *numbers, nothing, nothing, (), ())


def edges(panel: Panel, *, foot_seam: str = "") -> tuple[PatternEdge, ...]:
    """Return the panel's four edges: F1 along the foot, F2 the top, two upright ones of seams."""
    (loop,) = rims(panel.mesh)
    z = panel.mesh.vertices[loop, 2]
    low, high = z < z.min() + 1.0, z > z.max() - 1.0

    def edge(letter: str, seam: str, chosen: IntArray) -> PatternEdge:
        return PatternEdge(
            letter, seam, "other" if seam else "", np.zeros((2, 2)), chosen, 1.0, 1.0
        )

    return (
        edge("A" if foot_seam else "F1", foot_seam, loop[low]),
        edge("F2", "", loop[high]),
        edge("B", "nose seam", loop[~low & ~high]),
    )


def test_a_flange_on_a_lips_edge_is_found() -> None:
    panel = half_ring(90.0)
    assert edges_with_lip(panel, edges(panel), {"F1", "F2"}) == ("F1",)
    assert edges_with_lip(panel, edges(panel), {"F1"}) == ("F1",)


def test_no_flange_no_lip_or_a_seam_there_is_nothing_to_tell() -> None:
    panel = half_ring(90.0)
    assert edges_with_lip(panel, edges(panel), {"F2"}) == ()
    assert edges_with_lip(panel, edges(panel), set()) == ()
    plain = half_ring(0.0)
    assert edges_with_lip(plain, edges(plain), {"F1", "F2"}) == ()
    # Cut off at its root line the edge is a seam's: what lies beyond it is no part of the blank.
    along_seam = edges(panel, foot_seam="lip root")
    assert edges_with_lip(panel, along_seam, {"lip root|other"}) == ()


def test_the_panels_pages_tell_it() -> None:
    sheet = panel_sheet("left side")
    said = counted_twice_words(("F1",))
    assert said not in fact_words(sheet)
    marked = replace(sheet, pattern=replace(sheet.pattern, lip_edges=("F1",)))
    assert said in fact_words(marked)
    assert counted_twice_words(()) == ""


def test_a_panel_too_short_for_a_lip_has_none() -> None:
    corners = np.array([[0.0, 0, 0], [4, 0, 0], [4, 0, 4], [0, 0, 4]])
    mesh = TriMesh(corners, np.array([[0, 1, 2], [0, 2, 3]]))
    nothing = np.zeros(2, bool)
    numbers = (np.arange(4), np.arange(2), np.arange(2))
    panel = Panel("bit", mesh, mesh.vertices, *numbers, nothing, nothing, (), ())
    edge = PatternEdge("F1", "", "", np.zeros((2, 2)), np.array([0, 1, 2, 3]), 16.0, 16.0)
    assert edges_with_lip(panel, (edge,), {"F1"}) == ()


@pytest.mark.parametrize("turn_deg", [60.0, -90.0])
def test_lips_to_either_side_count(turn_deg: float) -> None:
    panel = half_ring(turn_deg)
    assert edges_with_lip(panel, edges(panel), {"F1"}) == ("F1",)
