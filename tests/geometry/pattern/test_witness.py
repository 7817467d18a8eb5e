"""Witness marks: the same on both panels of a seam, closer where it bends."""

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.pattern import dress, edge_letters, mark_stops
from geometry.pattern.witness import witness_marks
from tests.app.exports.sample_sheets import PANEL_ANGLES, cut_panel, flat_panel
from tests.geometry.pattern.stand_ins import FlatByFormula, Half, disc, grid

LETTERS = edge_letters([(cut_panel(each), cut_panel(each).mesh.vertices) for each in PANEL_ANGLES])


def _sheet(columns: int = 40, rows: int = 20, wide: float = 200.0) -> FlatByFormula:
    flat, faces = grid(columns, rows, 400.0, wide)
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


def test_marks_of_the_sample_lie_no_farther_apart_than_on_a_straight_seam() -> None:
    """Whole pieces make gaps differ from the wish by at most a half piece in all of them."""
    marks = dress(flat_panel("left side"), cut_panel("left side")).marks
    half = cut_panel("left side").seam_halves[0]
    points = cut_panel("left side").mesh.vertices[half.vertices]
    length = np.linalg.norm(np.diff(points, axis=0), axis=1).sum()
    gaps = np.diff([0.0, *(mark.along_mm for mark in marks), length])
    share = (len(gaps) + 0.5) / len(gaps)
    assert gaps.max() <= 50.0 * share
    assert gaps.min() >= 15.0 / share


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


def _arc(radius: float, angle: float, step: float = 2.0) -> FloatArray:
    turn = np.linspace(0.0, angle, int(radius * angle / step) + 1)
    return radius * np.stack([np.sin(turn), 1.0 - np.cos(turn), np.zeros_like(turn)], axis=1)


@pytest.mark.parametrize(
    ("radius", "spacing"), [(20.0, 15.0), (50.0, 25.0), (80.0, 40.0), (100.0, 50.0), (400.0, 50.0)]
)
def test_on_an_arc_marks_are_half_a_radian_apart_within_limits(
    radius: float, spacing: float
) -> None:
    """0.5 rad times the radius, never under 15 mm nor over 50; alike along an arc."""
    formed = _arc(radius, 2.4)
    stops = mark_stops(formed, spacing_mm=50.0, closed=False)
    length = np.linalg.norm(np.diff(formed, axis=0), axis=1).sum()
    assert len(stops) + 1 == round(length / spacing)
    assert np.diff(stops) == pytest.approx(
        np.full(len(stops) - 1, length / (len(stops) + 1)), rel=0.02
    )


def test_marks_close_up_in_a_tight_curve_between_straight_runs() -> None:
    """250 mm straight, a quarter turn of 40 mm, 250 mm straight: 50, then 20, then 50 apart."""
    turn = _arc(40.0, np.pi / 2, 1.0)
    before = np.stack([np.linspace(-250, -2, 125), np.zeros(125), np.zeros(125)], axis=1)
    after = turn[-1] + np.stack([np.zeros(125), np.linspace(2, 250, 125), np.zeros(125)], axis=1)
    stops = mark_stops(np.concatenate([before, turn, after]), spacing_mm=50.0, closed=False)
    gaps = np.diff(stops)
    middle = (stops[1:] + stops[:-1]) / 2.0
    curve = (middle > 262) & (middle < 250 + 20 * np.pi - 12)
    straight = (middle < 225) | (middle > 275 + 20 * np.pi)
    assert curve.any()
    assert gaps[curve] == pytest.approx(np.full(curve.sum(), 20.0), rel=0.1)
    assert gaps[straight] == pytest.approx(np.full(straight.sum(), 50.0), rel=0.1)
    assert stops == pytest.approx(500 + 20 * np.pi - stops[::-1], abs=0.3)  # alike from both ends


def test_the_marks_do_not_hang_on_how_finely_the_seam_is_cut() -> None:
    """The trade asks for 0.3 mm; a spiral in pieces of a third of a mm and of 2 mm."""

    def spiral(step: float) -> FloatArray:
        t = np.arange(0.0, 300.0 + step / 2, step) / 300.0
        reach = 90.0 - 65.0 * t
        turn = 4.0 * t
        return np.stack([reach * np.cos(turn), reach * np.sin(turn), 30.0 * t], axis=1)

    fine, coarse = (mark_stops(spiral(step), spacing_mm=50.0, closed=False) for step in (0.25, 1.5))
    assert len(fine) == len(coarse)
    assert coarse == pytest.approx(fine, abs=0.3)
    assert np.diff(fine)[-1] < 0.6 * np.diff(fine)[0]


def test_noise_of_a_scan_does_not_draw_marks_together() -> None:
    """A straight seam of 600 mm with 0.05 mm of noise at every 3 mm keeps its 11 marks."""
    line = np.stack([np.linspace(0, 600, 201), np.zeros(201), np.zeros(201)], axis=1)
    rough = line + np.random.default_rng(3).normal(0, 0.05, line.shape)
    stops = mark_stops(rough, spacing_mm=50.0, closed=False)
    assert stops == pytest.approx(np.arange(1, 12) * 50.0, abs=1.5)


def test_in_a_narrow_place_a_mark_stops_half_way_across() -> None:
    sheet = _sheet(40, 4, 20.0)
    for mark in witness_marks(sheet, Half("rail", np.arange(41), "floor"), "A"):
        assert mark.line[1] == pytest.approx([mark.place[0], 10.0], abs=1e-2)


def test_a_mark_knows_where_it_is_on_the_formed_seam() -> None:
    panel = flat_panel("left side")
    marks = dress(panel, cut_panel("left side")).marks
    for mark in marks:
        assert mark.formed == pytest.approx(_formed_place("left side", mark.place), abs=1e-6)
