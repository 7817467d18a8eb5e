"""A pattern whose edges each have an allowance: widths on the real blank, gathers, what stays."""

import numpy as np
import pytest
import shapely

from geometry.arrays import FloatArray
from geometry.blank import flatten
from geometry.pattern import (
    BendStock,
    BlankTooSmallError,
    EdgeAllowance,
    Pattern,
    bare_pattern,
    dress,
    edge_key,
    edge_letters,
    marked_out,
)
from tests.app.exports.sample_sheets import PANEL_ANGLES, cut_panel, flat_panel
from tests.bodies import dome

NAME = "top strip"
LETTERS = edge_letters([(cut_panel(name), cut_panel(name).mesh.vertices) for name in PANEL_ANGLES])
ALONE = EdgeAllowance("trim", 25.4, corner="mitred")
ASKED = {
    "left rail|left side": ALONE,
    "right rail|right side": EdgeAllowance("none", 0.0),
    "F1": EdgeAllowance("hem", 10.0),
    "F2": EdgeAllowance("flange", 20.0, 90.0),
}


def asked_for(asked: dict[str, EdgeAllowance], growth: FloatArray | None = None) -> Pattern:
    return dress(
        flat_panel(NAME),
        cut_panel(NAME),
        letters=LETTERS[NAME],
        allowances=asked,
        growth=growth,
        stock=BendStock(1.6, 1.6),
    )


def beside(pattern: Pattern, letter: str) -> FloatArray:
    """Return how far the cut line lies from places along an edge, but near its corners."""
    edge = next(edge for edge in pattern.edges if edge.letter == letter)
    line = shapely.LineString(edge.points)
    cut = next(cut for cut in pattern.allowance_of_edge if cut.letter == letter)
    clear = cut.cut_mm + 1.0
    assert line.length > 2.0 * clear + 5.0
    places = line.interpolate(np.linspace(clear, line.length - clear, 60))
    assert pattern.trim is not None
    return np.asarray(shapely.distance(places, shapely.LinearRing(pattern.trim)))


def test_every_edge_of_a_blank_is_cut_at_its_own_width_within_a_tenth() -> None:
    pattern = asked_for(ASKED)
    assert [cut.key for cut in pattern.allowance_of_edge] == [edge_key(e) for e in pattern.edges]
    for cut in pattern.allowance_of_edge:
        assert cut.allowance == ASKED[cut.key]
        off = beside(pattern, cut.letter)
        assert np.abs(off - cut.cut_mm).max() < 0.01
    assert pattern.widest_mm == 25.4
    assert pattern.trim_mm == 25.4  # the narrowest edge that is trimmed: the only one


def test_a_cut_line_lies_at_most_its_own_width_and_at_least_its_neighbours_from_the_net() -> None:
    pattern = asked_for(ASKED)
    assert pattern.trim is not None
    dense = shapely.segmentize(shapely.LinearRing(pattern.trim), 0.5)
    off = shapely.distance(
        shapely.points(shapely.get_coordinates(dense)), shapely.LinearRing(pattern.net)
    )
    assert off.max() < 25.4 * np.sqrt(2.0)
    assert shapely.Polygon(pattern.trim).buffer(0.01).covers(shapely.Polygon(pattern.net))


def test_what_the_cut_edge_forms_to_is_measured_at_its_own_width() -> None:
    """The flat pieces of a cut edge add up to the cut line beside that edge, corners left out."""
    pattern = asked_for(ASKED)
    assert [gather.letter for gather in pattern.cut_gathers] == [e.letter for e in pattern.edges]
    for gather, cut in zip(pattern.cut_gathers, pattern.allowance_of_edge, strict=True):
        assert gather.outside_mm == cut.cut_mm
        off = shapely.distance(shapely.points(gather.places), shapely.LinearRing(pattern.net))
        assert np.abs(off - cut.cut_mm).max() < 0.02
    bare = next(g for g in pattern.cut_gathers if g.outside_mm == 0.0)
    net = next(g for g in pattern.gathers if g.letter == bare.letter)
    assert bare.total_mm == pytest.approx(net.total_mm)


def test_marking_out_keeps_allowances() -> None:
    flat, panel = flat_panel(NAME), cut_panel(NAME)
    bare = bare_pattern(flat, panel, letters=LETTERS[NAME], allowances=ASKED)
    whole = marked_out(bare, flat)
    assert whole.allowance_of_edge == bare.allowance_of_edge
    assert [g.outside_mm for g in whole.cut_gathers] == [g.outside_mm for g in bare.cut_gathers]
    assert whole.bend_lines == bare.bend_lines


def test_growth_comes_on_top_by_the_most_along_each_edge_and_never_where_nothing_is_trimmed() -> (
    None
):
    flat = flat_panel(NAME)
    growth = np.linspace(0.2, 1.4, len(flat.rim))
    pattern = asked_for(ASKED, growth)
    for edge, cut in zip(pattern.edges, pattern.allowance_of_edge, strict=True):
        most = growth[np.isin(flat.rim, edge.vertices)].max()
        assert cut.grown_by_mm == (0.0 if cut.allowance.kind == "none" else most)
    plain = {cut.key: cut.cut_mm for cut in asked_for(ASKED).allowance_of_edge}
    for cut in pattern.allowance_of_edge:
        assert cut.cut_mm == pytest.approx(plain[cut.key] + cut.grown_by_mm)
        assert np.abs(beside(pattern, cut.letter) - cut.cut_mm).max() < 0.01


def test_no_trimming_after_on_every_edge_cuts_on_the_net_line() -> None:
    keys = [edge_key(edge) for edge in asked_for({}).edges]
    pattern = asked_for(dict.fromkeys(keys, EdgeAllowance("none", 0.0)), np.full(400, 0.5)[:0])
    assert pattern.trim is not None
    ring = shapely.LinearRing(pattern.trim)
    assert ring.equals(shapely.LinearRing(pattern.net))
    assert not pattern.trim_closes_over
    assert pattern.trim_mm == 12.7  # the usual one: nothing of it is too narrow
    assert pattern.widest_mm == 0.0
    assert all(mark.line[0] == pytest.approx(mark.place) for mark in pattern.marks)


def test_marks_stay_on_the_metal_of_their_own_edge() -> None:
    pattern = asked_for(ASKED)
    assert pattern.trim is not None
    blank = shapely.Polygon(pattern.trim).buffer(0.01)
    assert all(blank.covers(shapely.LineString(mark.line)) for mark in pattern.marks)


def test_fold_lines_follow_their_edges() -> None:
    pattern = asked_for(ASKED)
    kinds = {"F1": "hem", "F2": "flange"}
    middles = [line for line in pattern.bend_lines if not line.is_tangent]
    assert {line.letter: line.kind for line in middles} == kinds
    for line in middles:
        edge = next(edge for edge in pattern.edges if edge.letter == line.letter)
        assert np.array_equal(line.points, edge.points)
    tangents = [line for line in pattern.bend_lines if line.is_tangent]
    assert len(tangents) == 4
    for line in tangents:
        edge = next(edge for edge in pattern.edges if edge.letter == line.letter)
        off = shapely.distance(shapely.points(line.points), shapely.LineString(edge.points))
        assert np.abs(off - abs(line.outside_mm)).max() < 0.1


def test_folds_that_meet_get_relief_holes_and_others_none() -> None:
    assert asked_for(ASKED).reliefs == ()
    flange = EdgeAllowance("flange", 20.0)
    pattern = asked_for({**ASKED, "left rail|left side": flange, "right rail|right side": flange})
    assert len(pattern.reliefs) == 4
    tangents = [line for line in pattern.bend_lines if line.is_tangent and line.kind == "flange"]
    assert len(tangents) == 6  # whole lines only: nothing of them beyond the holes
    assert all(relief.on_outline for relief in pattern.reliefs)
    net = shapely.Polygon(pattern.net)
    assert all(net.contains(shapely.Point(relief.place)) for relief in pattern.reliefs)


@pytest.mark.parametrize("radius_mm", [1e-6, 1e-3, 0.02, 0.08])
def test_a_panel_of_no_size_is_refused_before_anything_is_drawn(radius_mm: float) -> None:
    with pytest.raises(BlankTooSmallError) as refused:
        dress(flatten(dome(radius_mm, 0.3, 6)))
    assert refused.value.across_mm == pytest.approx(2.0 * 0.2977 * radius_mm, rel=0.02)


def test_a_panel_of_a_tenth_of_a_millimetre_is_still_drawn() -> None:
    pattern = dress(flatten(dome(0.2, 0.3, 6)))
    assert pattern.trim is not None
    assert np.ptp(pattern.trim, axis=0) == pytest.approx(2.0 * 12.7 + 0.119, abs=0.01)
