"""What allowances come to: flat widths by handbook figures, growth, fold lines, bad input."""

from dataclasses import replace

import numpy as np
import pytest
import shapely

from geometry.metal import sheet_metal
from geometry.pattern.allowance import (
    AllowanceTooWideError,
    BadAllowanceError,
    EdgeAllowance,
    NoSuchEdgeError,
    edge_key,
)
from geometry.pattern.allowance_folds import (
    BendStock,
    bend_lines,
    edge_cuts,
    face_beyond_mm,
    flat_width_mm,
    fold_of,
    joggle_step_mm,
)
from geometry.pattern.edges import PatternEdge
from geometry.polyline import line_length

INCH = 25.4


def edge(letter: str, points: list[list[float]], first: int, seam: str = "") -> PatternEdge:
    line = np.array(points, np.float64)
    length = line_length(line)
    vertices = first + np.arange(len(points))
    vertices[-1] %= 4
    return PatternEdge(letter, seam, "top" if seam else "", line, vertices, length, length)


EDGES = (
    edge("A", [[0, 0], [200, 0]], 0, "rail"),
    edge("F1", [[200, 0], [200, 80]], 1),
    edge("F2", [[200, 80], [0, 80]], 2),
    edge("F3", [[0, 80], [0, 0]], 3),
)
RIM = np.arange(4)


def test_a_key_names_the_seam_and_the_panel_beyond_or_the_free_edge() -> None:
    assert [edge_key(each) for each in EDGES] == ["rail|top", "F1", "F2", "F3"]


def test_edges_left_out_get_the_usual_trim() -> None:
    hem = EdgeAllowance("hem", 9.0)
    cuts = edge_cuts(EDGES, {"F2": hem}, trim_mm=12.7, rim=RIM, stock=BendStock())
    assert [cut.cut_mm for cut in cuts] == [12.7, 12.7, 9.0, 12.7]
    assert cuts[2].allowance is hem
    assert [cut.key for cut in cuts] == [edge_key(each) for each in EDGES]


def test_what_is_not_sure_comes_on_top_edge_by_edge() -> None:
    """The most along each edge, its corners included; nothing where nothing is trimmed after."""
    growth = np.array([0.4, 0.9, 0.2, 0.3])
    asked = {"F1": EdgeAllowance("none", 0.0), "F2": EdgeAllowance("lap", 10.0)}
    cuts = edge_cuts(EDGES, asked, trim_mm=25.4, growth=growth, rim=RIM, stock=BendStock())
    assert [cut.grown_by_mm for cut in cuts] == [0.9, 0.0, 0.3, 0.4]
    assert [cut.cut_mm for cut in cuts] == pytest.approx([26.3, 0.0, 10.3, 25.8])


def test_a_flange_s_outside_face_ends_half_of_what_its_bend_saves_beyond_the_net_line() -> None:
    """1.6 mm over R 1.6, square: legs measured outside less the flat sheet, by three tables.

    FAA-H-8083-31, zone (.01743 R + .0078 T) N: 3.633 of 6.4, so 1.38. Machinery's Handbook, half
    hard aluminium, .64 T + 1.57 R (from memory): 1.43. DIN 6935, k = .65 + .5 log10(r / s), zone
    pi / 2 (r + k s / 2): 1.53. They differ by how the middle of the metal wanders in the bend.
    """
    radius = sheet = 1.6
    asked = EdgeAllowance("flange", 20.0)
    cuts = edge_cuts(EDGES, {"F1": asked}, trim_mm=12.7, rim=RIM, stock=BendStock(sheet, radius))
    found = cuts[1].face_beyond_mm
    legs, zone = 2.0 * (radius + sheet), (0.01743 * radius + 0.0078 * sheet) * 90.0
    assert found == pytest.approx((legs - zone) / 2.0, abs=1e-9)
    assert found == pytest.approx((legs - 0.64 * sheet - 1.57 * radius) / 2.0, abs=0.06)
    din = np.pi / 2.0 * (radius + 0.65 * sheet / 2.0)
    assert found == pytest.approx((legs - din) / 2.0, abs=0.16)
    assert [cut.face_beyond_mm for cut in cuts if cut.key != "F1"] == [0.0, 0.0, 0.0]


def test_the_flat_panel_and_its_flange_are_as_long_as_the_bend_allows() -> None:
    """The panel's outside, net line and what lies beyond, and the flange's, less the bend's."""
    stock = BendStock(1.6, 3.0)
    asked = EdgeAllowance("flange", 25.0, angle_deg=60.0)
    panel = 200.0
    flat = panel + flat_width_mm("F1", asked, stock)
    beyond = face_beyond_mm(asked, stock)
    assert beyond is not None
    outside = (panel + beyond) + 25.0
    setback, zone = (3.0 + 1.6) * np.tan(np.pi / 6.0), (0.01743 * 3.0 + 0.0078 * 1.6) * 60.0
    assert flat == pytest.approx(outside - 2.0 * setback + zone, abs=1e-9)


def test_nobody_says_where_a_flange_ends_whose_radius_is_not_known() -> None:
    assert face_beyond_mm(EdgeAllowance("flange", 20.0), BendStock(1.6)) is None


def test_a_flange_takes_its_width_less_half_of_what_its_bend_saves() -> None:
    """The worked bracket of a public sheet metal workbook: .050 over .032 at 90 degrees saves .079
    a bend; legs .740, .420, 1.050 and 1.000 lie flat in 2.973. Bend lines part the flat sheet into
    .740 - s, .420 - 2 s, 1.050 - 2 s and 1.000 - s with s half of .079.
    """
    stock = BendStock(0.050 * INCH, 0.032 * INCH)
    tip = flat_width_mm("F1", EdgeAllowance("flange", 1.0 * INCH), stock) / INCH
    other = flat_width_mm("F1", EdgeAllowance("flange", 0.74 * INCH), stock) / INCH
    saved = 1.0 - tip
    assert 2.0 * saved == pytest.approx(0.079, abs=0.0005)
    between = 0.42 + 1.05 - 4.0 * saved
    assert tip + other + between == pytest.approx(2.973, abs=0.0015)


def test_a_flange_of_known_metal_is_bent_over_its_own_radius() -> None:
    metal = sheet_metal("5052-H32")
    radius = metal.bend_radius_at(1.6)
    assert radius is not None
    known, unknown = BendStock(1.6, radius.value), BendStock(1.6)
    asked = EdgeAllowance("flange", 20.0)
    assert flat_width_mm("F1", asked, unknown) == 20.0
    assert flat_width_mm("F1", asked, known) < 20.0
    fold = fold_of(asked, known)
    assert fold is not None
    assert fold.half_zone_mm == pytest.approx(45.0 * (0.01743 * radius.value + 0.0078 * 1.6))


def test_a_joggle_steps_down_one_sheet() -> None:
    """Rise t over a run of 3 t: its lap begins t root 10 outside the net, two lines turn back."""
    stock = BendStock(1.6)
    assert joggle_step_mm(1.6) == pytest.approx(1.6 * np.sqrt(10.0))
    cuts = edge_cuts(
        EDGES, {"F1": EdgeAllowance("joggle", 12.0)}, trim_mm=12.7, rim=RIM, stock=stock
    )
    assert cuts[1].cut_mm == pytest.approx(12.0 + 1.6 * np.sqrt(10.0))
    outline = np.array([[-12.7, -12.7], [217.06, -12.7], [217.06, 92.7], [-12.7, 92.7]])
    first, second = bend_lines(EDGES, cuts, stock, outline)
    assert (first.outside_mm, second.outside_mm) == (0.0, joggle_step_mm(1.6))
    assert first.angle_deg == -second.angle_deg == pytest.approx(np.rad2deg(np.arctan(1 / 3)))
    assert second.points == pytest.approx(EDGES[1].points + [joggle_step_mm(1.6), 0.0])


def test_a_second_fold_line_keeps_its_distance_round_a_tight_inside_curve() -> None:
    """Within 0.1 mm, and far better: chords of 0.005 mm, the library's thinning of a hundredth."""
    turn = np.linspace(0.0, -np.pi, 91)
    bite = 9.0 * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    line = edge("F1", [[60.0, 0.0], *bite.tolist(), [-60.0, 0.0]], 0)
    cuts = edge_cuts(
        (line,), {"F1": EdgeAllowance("joggle", 12.0)}, trim_mm=12.7, rim=RIM, stock=BendStock()
    )
    outline = np.array([[-80.0, -30.0], [80.0, -30.0], [80.0, 40.0], [-80.0, 40.0]])
    lines = bend_lines((line,), cuts, BendStock(), outline)[1:]
    dense = shapely.segmentize(shapely.MultiLineString([each.points for each in lines]), 0.2)
    off = shapely.distance(
        shapely.points(shapely.get_coordinates(dense)), shapely.LineString(line.points)
    )
    assert np.abs(off - joggle_step_mm(1.6)).max() < 0.06


def test_a_hem_and_a_flange_are_folded_on_the_net_line() -> None:
    asked = {"F1": EdgeAllowance("hem", 8.0), "F3": EdgeAllowance("flange", 20.0, -75.0)}
    cuts = edge_cuts(EDGES, asked, trim_mm=12.7, rim=RIM, stock=BendStock())
    outline = np.array([[-30.0, -30], [230, -30], [230, 110], [-30, 110]])
    lines = bend_lines(EDGES, cuts, BendStock(), outline)
    hem, flange = (line for line in lines if not line.is_tangent)
    assert (hem.letter, hem.kind, hem.angle_deg, hem.outside_mm) == ("F1", "hem", 180.0, 0.0)
    assert (flange.letter, flange.kind, flange.angle_deg) == ("F3", "flange", -75.0)
    assert np.array_equal(hem.points, EDGES[1].points)
    zone = 75.0 * (0.01743 * 1.6 + 0.0078 * 1.6) / 2.0
    tangents = [line for line in lines if line.is_tangent and line.letter == "F3"]
    assert [line.outside_mm for line in tangents] == pytest.approx([-zone, zone])
    assert [line.points[0, 0] for line in tangents] == pytest.approx([zone, -zone])


@pytest.mark.parametrize(
    ("asked", "field"),
    [
        (EdgeAllowance("trim", -1.0), "width"),
        (EdgeAllowance("trim", float("nan")), "width"),
        (EdgeAllowance("lap", float("inf")), "width"),
        (EdgeAllowance("hem", 0.0), "width"),
        (EdgeAllowance("flange", 20.0, 0.0), "angle"),
        (EdgeAllowance("flange", 20.0, 151.0), "angle"),
        (EdgeAllowance("flange", 20.0, float("nan")), "angle"),
        (EdgeAllowance("wing", 20.0), "kind"),  # type: ignore[arg-type]
        (EdgeAllowance("trim", 20.0, corner="square"), "corner"),  # type: ignore[arg-type]
        (EdgeAllowance("flange", 1.2), "flange"),
        (EdgeAllowance("flange", 0.99), "narrow"),
        (EdgeAllowance("hem", 0.01), "narrow"),
        (EdgeAllowance("lap", 0.5), "narrow"),
        (EdgeAllowance("joggle", 0.5), "narrow"),
        (EdgeAllowance("hem", 50.1), "hem"),
        (EdgeAllowance("flange", 20.0, 4.9), "angle"),
        (EdgeAllowance("flange", 20.0, -4.9), "angle"),
        (EdgeAllowance("flange", 20.0, 400.0), "angle"),
    ],
)
def test_an_allowance_that_cannot_be_is_refused(asked: EdgeAllowance, field: str) -> None:
    with pytest.raises(BadAllowanceError) as caught:
        edge_cuts(EDGES, {"F1": asked}, trim_mm=12.7, rim=RIM, stock=BendStock(1.6, 1.6))
    assert (caught.value.edge, caught.value.field) == ("F1", field)


@pytest.mark.parametrize("trim_mm", [-0.1, float("nan"), float("inf")])
def test_a_usual_trim_that_cannot_be_is_refused(trim_mm: float) -> None:
    with pytest.raises(BadAllowanceError) as caught:
        edge_cuts(EDGES, {}, trim_mm=trim_mm, rim=RIM, stock=BendStock())
    assert caught.value.edge == ""


def test_an_edge_that_is_not_there_is_named_with_those_that_are() -> None:
    with pytest.raises(NoSuchEdgeError) as caught:
        edge_cuts(EDGES, {"F9": EdgeAllowance()}, trim_mm=12.7, rim=RIM, stock=BendStock())
    assert caught.value.edge == "F9"
    assert caught.value.edges == ("rail|top", "F1", "F2", "F3")


@pytest.mark.parametrize(("kind", "most"), [("trim", 100.0), ("flange", 100.0), ("hem", 40.0)])
def test_an_allowance_wider_than_the_blank_is_refused(kind: str, most: float) -> None:
    """A hem may reach across the blank, 40 mm; anything else as far as it is long, 100 mm."""
    half = tuple(replace(each, points=0.5 * each.points) for each in EDGES)
    wide = EdgeAllowance(kind, most + 0.1)  # type: ignore[arg-type]
    with pytest.raises(AllowanceTooWideError) as caught:
        edge_cuts(half, {"F1": wide}, trim_mm=12.7, rim=RIM, stock=BendStock())
    assert (caught.value.edge, caught.value.width_mm) == ("F1", most + 0.1)
    assert caught.value.most_mm == pytest.approx(most)
    fits = EdgeAllowance(kind, most - 0.1)  # type: ignore[arg-type]
    assert edge_cuts(half, {"F1": fits}, trim_mm=12.7, rim=RIM, stock=BendStock())


def test_a_usual_trim_wider_than_the_blank_is_long_is_refused() -> None:
    """The plate is 200 mm long; on a small one 4 in may be left all the same."""
    edge_cuts(EDGES, {}, trim_mm=200.0, rim=RIM, stock=BendStock())
    with pytest.raises(AllowanceTooWideError) as refused:
        edge_cuts(EDGES, {}, trim_mm=201.0, rim=RIM, stock=BendStock())
    assert refused.value.edge == ""
    assert refused.value.most_mm == pytest.approx(200.0)
    small = tuple(replace(each, points=each.points / 100.0) for each in EDGES)
    edge_cuts(small, {}, trim_mm=101.0, rim=RIM, stock=BendStock())
