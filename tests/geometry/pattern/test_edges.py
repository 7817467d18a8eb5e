"""Edges between corners and witness marks that meet across a seam."""

from types import SimpleNamespace

import numpy as np
import pytest

from geometry.mesh import TriMesh
from geometry.pattern import dress, edge_letters
from geometry.pattern.edges import rim_edges, witness_marks
from tests.app.exports.sample_sheets import PANEL_ANGLES, cut_panel, flat_panel
from tests.geometry.pattern.stand_ins import FlatByFormula, Half, disc, grid

LETTERS = edge_letters([(cut_panel(each), cut_panel(each).mesh.vertices) for each in PANEL_ANGLES])


def _sheet(columns: int = 40, rows: int = 20) -> FlatByFormula:
    flat, faces = grid(columns, rows, 400.0, 200.0)
    return FlatByFormula(np.column_stack([flat, np.zeros(len(flat))]), faces, flat)


def _formed_place(name: str, place: np.ndarray) -> np.ndarray:
    """Return where a point of the net line lies on the tank, by its side of the flat rim."""
    flat = flat_panel(name)
    start, end = flat.flat_vertices[flat.rim], flat.flat_vertices[np.roll(flat.rim, -1)]
    along = ((place - start) * (end - start)).sum(axis=1) / ((end - start) ** 2).sum(axis=1)
    along = np.clip(along, 0.0, 1.0)
    gap = np.linalg.norm(start + along[:, None] * (end - start) - place, axis=1)
    best = int(gap.argmin())
    a, b = flat.vertices[flat.rim[best]], flat.vertices[np.roll(flat.rim, -1)[best]]
    return np.asarray(a + along[best] * (b - a))


def test_both_panels_of_a_seam_carry_the_same_marks_at_the_same_places() -> None:
    """The trade asks for 0.3 mm along the formed seam; measured from both panels: rounding."""
    left = dress(flat_panel("left side"), cut_panel("left side"), letters=LETTERS["left side"])
    top = dress(flat_panel("top strip"), cut_panel("top strip"), letters=LETTERS["top strip"])
    (letter,) = LETTERS["left side"]
    assert letter in LETTERS["top strip"]
    mine = {mark.label: mark for mark in left.marks}
    theirs = {mark.label: mark for mark in top.marks if mark.letter == letter}
    assert mine.keys() == theirs.keys()
    assert len(mine) >= 8
    for label, mark in mine.items():
        here = _formed_place("left side", mark.place)
        there = _formed_place("top strip", theirs[label].place)
        assert np.linalg.norm(here - there) < 1e-6
        assert mark.along_mm == pytest.approx(theirs[label].along_mm, abs=1e-9)


def test_marks_are_evenly_spaced_along_the_formed_seam() -> None:
    marks = dress(flat_panel("left side"), cut_panel("left side")).marks
    along = np.array([mark.along_mm for mark in marks])
    half = cut_panel("left side").seam_halves[0]
    points = cut_panel("left side").mesh.vertices[half.vertices]
    length = np.linalg.norm(np.diff(points, axis=0), axis=1).sum()
    spacing = length / (len(marks) + 1)
    assert along == pytest.approx(spacing * np.arange(1, len(marks) + 1), abs=1e-9)
    assert 35.0 < spacing < 70.0


def test_a_mark_crosses_the_net_square_and_reaches_fifteen_inward() -> None:
    sheet = _sheet()
    bottom = Half("rail", np.arange(41), "floor")
    for mark in witness_marks(sheet, bottom, "A"):
        assert mark.line[0] == pytest.approx([mark.place[0], -4.0], abs=1e-9)
        assert mark.line[1] == pytest.approx([mark.place[0], 15.0], abs=1e-9)
        assert mark.place[1] == 0.0


def test_marks_do_not_depend_on_which_way_a_half_is_given() -> None:
    sheet = _sheet()
    forward = witness_marks(sheet, Half("rail", np.arange(41), "floor"), "A")
    backward = witness_marks(sheet, Half("rail", np.arange(41)[::-1], "floor"), "A")
    for one, two in zip(forward, backward, strict=True):
        assert one.label == two.label
        assert one.line == pytest.approx(two.line, abs=1e-9)


def test_a_closed_seam_is_numbered_alike_from_both_sides() -> None:
    """A lid and the ring it leaves share one closed seam, run in opposite directions."""
    flat, faces = disc(12, 100.0)
    lid = FlatByFormula(np.column_stack([flat, np.zeros(len(flat))]), faces, flat)
    loop = np.append(lid.rim, lid.rim[0])
    mine = witness_marks(lid, Half("lid", loop, "ring"), "A")
    theirs = witness_marks(
        lid, Half("lid", np.roll(loop[:-1], 17)[[*range(72), 0]][::-1], "x"), "A"
    )
    unclosed = witness_marks(lid, Half("lid", lid.rim, "ring"), "A")
    assert [mark.label for mark in unclosed] == [mark.label for mark in mine]
    assert len(mine) == round(2.0 * np.pi * 100.0 / 50.0)
    for one, two in zip(mine, theirs, strict=True):
        assert one.place == pytest.approx(two.place, abs=1e-9)
        assert np.linalg.norm(one.line[1]) < np.linalg.norm(one.line[0])


def test_a_short_seam_still_gets_one_mark_and_a_tiny_one_none() -> None:
    sheet = _sheet()
    assert len(witness_marks(sheet, Half("rail", np.arange(5), "x"), "A")) == 1
    assert witness_marks(sheet, Half("rail", np.arange(2), "x"), "A") == ()


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
