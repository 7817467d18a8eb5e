"""How a pattern is split: counts worked by hand, names of columns, turns, papers and margins."""

import numpy as np
import pytest
import shapely

from app.exports.output import A3, A4, Correction, Paper
from app.exports.pages.tiling import (
    FILING_MM,
    FRAME_MM,
    MARGIN_MM,
    OVERLAP_MM,
    TilePage,
    column_letters,
    fewest_pages,
    frame,
    tile_counts,
    tiling,
    turned,
    turns,
    upright_and_turned,
)
from geometry.arrays import FloatArray


def rectangle_of(width: float, height: float) -> FloatArray:
    return np.array([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])


def plain_page(width: float, height: float, correction: Correction | None = None) -> TilePage:
    """A page that shows so much of the pattern."""
    sides = (FILING_MM + MARGIN_MM, 2.0 * MARGIN_MM)
    return TilePage(width + sides[0], height + sides[1], 0.0, correction or Correction())


@pytest.mark.parametrize(
    ("shown", "counts"),
    [((190.0, 277.0), (4, 2)), ((277.0, 400.0), (3, 2)), ((277.0, 190.0), (3, 3))],
)
def test_pages_counted_by_hand(shown: tuple[float, float], counts: tuple[int, int]) -> None:
    """640 x 420 with 10 overlap: A4 shows 190 x 277, so 640 / 180 -> 4, 420 / 267 -> 2: 8 sheets.

    A3 shows 277 x 400: 640 / 267 -> 3, 420 / 390 -> 2: 6 sheets (own sums).
    """
    assert tile_counts((640.0, 420.0), shown, 10.0) == counts
    found = tiling(rectangle_of(640.0, 420.0), plain_page(*shown))
    assert (found.columns, found.rows) == counts
    assert len(found.used) == counts[0] * counts[1]


def test_a_pattern_just_as_long_as_its_pages_needs_no_more() -> None:
    assert tile_counts((3 * 180.0, 267.0), (190.0, 277.0)) == (3, 1)
    assert tile_counts((3 * 180.0 + 0.01, 267.0), (190.0, 277.0)) == (4, 1)


def test_cells_lie_edge_to_edge_and_pages_show_half_an_overlap_more() -> None:
    found = tiling(rectangle_of(640.0, 420.0), plain_page(190.0, 277.0))
    for column, row in found.used:
        left, bottom, right, top = found.cell(column, row)
        shown = found.shown(column, row)
        assert np.array(shown) - [left, bottom, right, top] == pytest.approx(
            np.array([-1, -1, 1, 1]) * OVERLAP_MM / 2.0
        )
        assert (shown[2] - shown[0], shown[3] - shown[1]) == pytest.approx((190.0, 277.0))
        assert right == pytest.approx(found.cell(column + 1, row)[0], abs=1e-9)
        assert top == pytest.approx(found.cell(column, row + 1)[1], abs=1e-9)
    union = shapely.union_all([shapely.box(*found.cell(*at)) for at in found.used])
    assert shapely.box(0.0, 0.0, 640.0, 420.0).within(union)


def test_columns_go_on_past_z() -> None:
    letters = [column_letters(column) for column in range(800)]
    assert len(set(letters)) == 800
    assert (letters[25], letters[26], letters[27], letters[701], letters[702]) == (
        "Z", "AA", "AB", "ZZ", "AAA",
    )  # fmt: skip
    found = tiling(rectangle_of(5200.0, 200.0), plain_page(190.0, 277.0))
    assert found.columns == 29
    assert found.name(0, 0) == "A1"
    assert found.name(28, 0) == "AC1"


def test_names_run_from_the_top_left_and_in_the_order_of_the_pages() -> None:
    found = tiling(rectangle_of(500.0, 500.0), plain_page(190.0, 277.0))
    names = [found.name(*at) for at in found.used]
    assert names == ["A1", "B1", "C1", "A2", "B2", "C2"]
    assert found.cell(0, 1)[3] > found.cell(0, 0)[3]
    assert found.name(0, 1) == "A1"


def test_pages_that_carry_nothing_are_left_out() -> None:
    """An angle 40 mm wide leaves all cells empty but those along its two arms."""
    corner = np.array([[0.0, 0.0], [1000.0, 0.0], [1000.0, 40.0], [40.0, 40.0], [40.0, 1000.0],
                       [0.0, 1000.0]])  # fmt: skip
    angled = tiling(corner, plain_page(190.0, 277.0))
    assert (angled.columns, angled.rows) == (6, 4)
    assert len(angled.used) == 6 + 4 - 1


def test_a_strip_is_turned_where_that_saves_pages_and_only_then() -> None:
    """A strip of 250 x 20 is longer than a page of 180 x 240 both ways; its diagonal is 300."""
    page = plain_page(180.0, 240.0)
    turn, found = fewest_pages(rectangle_of(262.0, 10.0), [page], turns())
    assert len(found.used) == 1
    assert 0.0 < turn < np.pi
    assert np.rad2deg(turn) % 90.0 != pytest.approx(0.0)
    turn, found = fewest_pages(rectangle_of(150.0, 200.0), [page], turns())
    assert (turn, len(found.used)) == (0.0, 1)
    turn, found = fewest_pages(rectangle_of(200.0, 150.0), [page], turns())
    assert (turn, len(found.used)) == (np.pi / 2.0, 1)


def test_turning_never_costs_a_page() -> None:
    rng = np.random.default_rng(7)
    pages = upright_and_turned(A4, lambda _: 45.0, Correction())
    for _ in range(10):
        angle = np.sort(rng.uniform(0.0, 2.0 * np.pi, 9))
        out = rng.uniform(100.0, 500.0, 9)
        outline = np.stack([out * np.cos(angle), 0.5 * out * np.sin(angle)], axis=1)
        _, straight = fewest_pages(outline, pages, [0.0])
        turn, best = fewest_pages(outline, pages, turns())
        assert len(best.used) <= len(straight.used)
        if len(best.used) == len(straight.used):
            assert turn == 0.0


def test_no_turn_that_is_passed_over_needs_fewer_pages() -> None:
    """Against every turn and page tried in full: the first of those that need the fewest."""
    rng = np.random.default_rng(11)
    pages = upright_and_turned(A4, lambda _: 45.0, Correction())
    for high in (0.05, 0.3, 0.8):
        angle = np.sort(rng.uniform(0.0, 2.0 * np.pi, 12))
        out = rng.uniform(200.0, 600.0, 12)
        outline = np.stack([out * np.cos(angle), high * out * np.sin(angle)], axis=1)
        tried = [(turn, tiling(turned(outline, turn), page)) for turn in turns() for page in pages]
        wanted = min(tried, key=lambda each: len(each[1].used))
        turn, best = fewest_pages(outline, pages, turns())
        assert (turn, best.page, best.used) == (wanted[0], wanted[1].page, wanted[1].used)


def test_turns_are_five_degrees_apart_the_straight_ones_first() -> None:
    degrees = [round(float(np.rad2deg(turn))) for turn in turns()]
    assert degrees[:2] == [0, 90]
    assert sorted(degrees) == list(range(0, 180, 5))
    assert turns(straight_only=True) == (0.0, np.pi / 2.0)
    square = rectangle_of(3.0, 1.0)
    assert turned(square, np.pi / 2.0)[1] == pytest.approx((0.0, 3.0), abs=1e-12)


@pytest.mark.parametrize("paper", [A4, A3, Paper("500x700mm", 500.0, 700.0)])
def test_margins_and_frame_are_those_of_iso_5457(paper: Paper) -> None:
    """ISO 5457: 20 mm on the left for filing, 10 mm on the other sides, the frame 0.7 mm wide.

    From memory of its table: the drawing space of A4 upright is 180 x 277, of A3 277 wide + 390
    on its side.
    """
    page = upright_and_turned(paper, lambda _: 0.0, Correction())[0]
    left, bottom, right, top = page.window
    assert (left, bottom) == (20.0, 10.0)
    assert (right - left, top - bottom) == (paper.width_mm - 30.0, paper.height_mm - 20.0)
    if paper == A4:
        assert page.shown_mm == (180.0, 277.0)
    (fill,) = frame(paper.width_mm, paper.height_mm).fills
    outer, inner = (np.ptp(loop, axis=0) for loop in fill.loops)
    assert outer - inner == pytest.approx([2.0 * FRAME_MM] * 2)
    assert (outer + inner) / 2.0 == pytest.approx([right - left, top - bottom])


def test_a_printer_that_prints_small_shows_more_and_its_margins_stay() -> None:
    """Corrected by 1.02, 180 mm of paper carry 180 / 1.02 mm of pattern."""
    by = Correction(1.02, 0.99)
    upright, side = upright_and_turned(A4, lambda _: 0.0, by)
    assert upright.window == (20.0, 10.0, 200.0, 287.0)
    assert upright.shown_mm == pytest.approx((180.0 / 1.02, 277.0 / 0.99))
    assert side.correction == Correction(0.99, 1.02)
    assert side.shown_mm == pytest.approx((267.0 / 0.99, 190.0 / 1.02))


def test_an_outline_without_any_size_takes_one_page() -> None:
    for outline in (np.zeros((1, 2)), np.zeros((4, 2)), np.array([[0.0, 0.0], [50.0, 0.0]])):
        found = tiling(outline, plain_page(190.0, 277.0))
        assert len(found.used) == 1
