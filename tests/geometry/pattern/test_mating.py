"""Mating edges: formed lengths and marks agree, flat lengths are only told."""

from types import SimpleNamespace

import numpy as np
import pytest

from geometry.pattern import Mating, PatternEdge, WitnessMark, dress, edge_letters, matings
from tests.app.exports.sample_sheets import PANEL_ANGLES, cut_panel, flat_panel

LETTERS = edge_letters([(cut_panel(each), cut_panel(each).mesh.vertices) for each in PANEL_ANGLES])


def one_edge(other: str, formed_mm: float, places: dict[int, float]) -> SimpleNamespace:
    """Return a pattern with one edge A and marks by number at places along the formed seam."""
    edge = PatternEdge(
        "A", "rail", other, np.empty((0, 2)), np.empty(0, np.int64), 412.0, formed_mm
    )
    marks = [
        WitnessMark("A", number, np.zeros((2, 2)), np.zeros(2), at, np.array([at, 0.0, 0.0]))
        for number, at in places.items()
    ]
    return SimpleNamespace(edges=(edge,), marks=tuple(marks))


def mate(formed_mm: float, places: dict[int, float]) -> Mating:
    left = one_edge("top", 398.0, {1: 50.0, 2: 100.0})
    (found,) = matings({"left": left, "top": one_edge("left", formed_mm, places)})
    return found


def test_the_sample_s_edges_mate_while_flat_lengths_differ() -> None:
    patterns = {
        name: dress(flat_panel(name), cut_panel(name), letters=LETTERS[name])
        for name in PANEL_ANGLES
    }
    found = matings(patterns)
    pairs = {
        frozenset((name, half.other)) for name in patterns for half in cut_panel(name).seam_halves
    }
    assert {frozenset(each.panels) for each in found} == pairs
    for each in found:
        assert each.fits
        assert each.apart_mm < 1e-9
        assert each.marks_apart_mm < 1e-6
        assert each.marks[0] == each.marks[1] > 0
    assert max(abs(each.flat_mm[0] - each.flat_mm[1]) for each in found) > 1.0


@pytest.mark.parametrize(("formed", "fits"), [(398.0, True), (398.5, True), (397.49, False)])
def test_formed_lengths_over_half_a_millimetre_apart_are_flagged(formed: float, fits: bool) -> None:
    found = mate(formed, {1: 50.0, 2: 100.0})
    assert found.lengths_fit is fits
    assert found.fits is fits
    assert found.marks_fit
    assert found.apart_mm == pytest.approx(abs(formed - 398.0))


@pytest.mark.parametrize(
    ("places", "apart"),
    [
        ({1: 50.2, 2: 99.9}, 0.2),
        ({1: 50.0, 2: 100.4}, 0.4),
        ({1: 50.0}, np.inf),
        ({1: 50.0, 2: 100.0, 3: 150.0}, np.inf),
    ],
)
def test_marks_over_0_3_mm_apart_or_alone_are_flagged(
    places: dict[int, float], apart: float
) -> None:
    found = mate(398.0, places)
    assert found.marks_apart_mm == pytest.approx(apart)
    assert found.marks_fit == (apart <= 0.3)
    assert found.marks == (2, len(places))


def test_a_panel_whose_neighbour_has_no_pattern_yet_mates_with_nothing() -> None:
    assert matings({"left": one_edge("top", 398.0, {})}) == ()


def test_letters_are_told_in_the_order_of_the_alphabet() -> None:
    sides = {}
    for name, other in (("left", "top"), ("top", "left")):
        edges = [
            PatternEdge(letter, "rail", other, np.empty((0, 2)), np.empty(0, np.int64), 9.0, 9.0)
            for letter in ("AA", "B", "A")
        ]
        sides[name] = SimpleNamespace(edges=tuple(edges), marks=())
    assert [each.letter for each in matings(sides)] == ["A", "B", "AA"]
