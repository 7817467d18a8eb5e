"""Edges between corners, their letters and lengths."""

from types import SimpleNamespace

import numpy as np
import pytest

from geometry.mesh import TriMesh
from geometry.pattern import dress, edge_letters
from geometry.pattern.edges import rim_edges
from tests.app.exports.sample_sheets import PANEL_ANGLES, cut_panel, flat_panel
from tests.geometry.pattern.stand_ins import FlatByFormula, Half, disc, grid

LETTERS = edge_letters([(cut_panel(each), cut_panel(each).mesh.vertices) for each in PANEL_ANGLES])


def _sheet(columns: int = 40, rows: int = 20) -> FlatByFormula:
    flat, faces = grid(columns, rows, 400.0, 200.0)
    return FlatByFormula(np.column_stack([flat, np.zeros(len(flat))]), faces, flat)


def test_edges_part_the_rim_at_seam_ends_and_corners_and_add_up() -> None:
    sheet = _sheet()
    edges = rim_edges(sheet, [Half("rail", np.arange(10, 31), "floor")], ["A"])
    lengths = {edge.letter: edge.flat_mm for edge in edges}
    assert lengths.pop("A") == pytest.approx(200.0, abs=1e-9)
    assert sorted(lengths.values()) == pytest.approx([100, 100, 200, 200, 400], abs=1e-9)
    assert sum(lengths.values()) == pytest.approx(1000.0, abs=1e-9)


def test_formed_lengths_agree_across_a_seam_while_flat_ones_differ() -> None:
    left = dress(flat_panel("left side"), cut_panel("left side"), letters=LETTERS["left side"])
    top = dress(flat_panel("top strip"), cut_panel("top strip"), letters=LETTERS["top strip"])
    mine = next(edge for edge in left.edges if edge.other == "top strip")
    theirs = next(edge for edge in top.edges if edge.other == "left side")
    assert mine.formed_mm == pytest.approx(theirs.formed_mm, abs=1e-9)
    assert mine.letter == theirs.letter
    assert abs(mine.flat_mm - theirs.flat_mm) > 1.0


def test_a_rim_without_seams_or_corners_is_one_free_edge() -> None:
    flat, faces = disc(12, 100.0)
    round_sheet = FlatByFormula(np.column_stack([flat, np.zeros(len(flat))]), faces, flat)
    (edge,) = rim_edges(round_sheet, [], [])
    assert edge.letter == "F1"
    assert edge.flat_mm == pytest.approx(72 * 2 * 100.0 * np.sin(np.pi / 72), abs=1e-9)


def test_two_pieces_of_one_seam_between_the_same_panels_get_letters_of_their_own() -> None:
    mesh = TriMesh(_sheet().vertices, _sheet().faces)
    halves = (Half("rail", np.arange(0, 11), "b"), Half("rail", np.arange(20, 31), "b"))
    a = SimpleNamespace(name="a", seam_halves=halves)
    b = SimpleNamespace(
        name="b",
        seam_halves=tuple(Half("rail", half.vertices[::-1], "a") for half in halves[::-1]),
    )
    letters = edge_letters([(a, mesh.vertices), (b, mesh.vertices)])
    assert letters == {"a": ("A", "B"), "b": ("B", "A")}
