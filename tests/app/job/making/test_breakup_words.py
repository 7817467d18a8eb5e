"""What break-ups cost, in words: nothing told of what cannot be laid flat, sheets by size."""

from dataclasses import replace
from math import nan, pi

import numpy as np
import pytest

from app.job import HEADINGS, NOT_FLAT, breakup_row, lift_words, panel_words, seam_words
from app.job.making.breakup_words import fits_words, move_words, way_words
from geometry.blank import NoAreaError, Standing
from geometry.breakups import (
    BreakUpFigures,
    Choice,
    LiftOut,
    PanelFigures,
    SeamFigures,
    SeamMove,
)
from geometry.gauges import TankAxes
from geometry.metal import StockSheet
from geometry.panels import Seam

FREE = LiftOut(np.array([0.0, 0.0, 1.0]), np.zeros(4, bool), 0.0, 0.0, pi / 15)
HELD = LiftOut(np.array([0.0, 0.0, 1.0]), np.ones(4, bool), 1234.0, pi / 12, 0.0)
SMALL, LARGE = StockSheet("small", 400.0, 600.0), StockSheet("large", 1000.0, 2000.0)


def panel(name: str, cut: tuple[float, float] = (500.0, 300.0)) -> PanelFigures:
    return PanelFigures(
        name, np.zeros(3), 12.0, 1.08, 0.935, 1.5, 1.7, (474.6, 274.6), cut, 1.2e5, 1.22e5,
        Standing.SETTLED, 0.0, FREE,
    )  # fmt: skip


SEAM = SeamFigures("top", 812.4, 700.0, 112.4)
TWO = BreakUpFigures((panel("left"), panel("right")), (SEAM,))


def test_a_row_says_what_its_headings_name() -> None:
    found = dict(zip(HEADINGS, breakup_row("two", TWO, "mm", (SMALL, LARGE)).cells, strict=True))
    assert found == {
        "break-up": "two",
        "pieces": "2",
        "most stretch": "+8",
        "most shrink": "\u22126.5",
        "thinnest": "1.5 mm (.059 in)",
        "shaping work": "24",
        "weld seen": "700 mm (27 9/16 in)",
        "weld hidden": "112 mm (4 7/16 in)",
        "sheet needed": "3000 cm\u00b2 (465 sq in)",
        "longest blank": "500 mm (19 11/16 in)",
        "fits on": "any stock sheet",
        "out of the form": "all lift out",
    }


def test_in_inches_the_inch_comes_first() -> None:
    row = breakup_row("two", TWO, "in")
    assert (row.stretch, row.shrink) == ("+.96", "\u2212.78")
    assert row.seen.startswith("27 9/16 in")


def test_what_cannot_be_laid_flat_has_no_figures_but_its_seams() -> None:
    refused = replace(
        panel("right"), work_mm2=nan, worst_stretch=nan, worst_shrink=nan, cut_mm=(nan, nan),
        standing=None, refusal=NoAreaError(np.array([0]), np.zeros((1, 3))),
    )  # fmt: skip
    row = breakup_row("two", BreakUpFigures((panel("left"), refused), (SEAM,)))
    assert {row.stretch, row.shrink, row.thinnest, row.work, row.metal, row.longest, row.fits} == {
        NOT_FLAT
    }
    assert (row.pieces, row.seen) == ("2", "700 mm (27 9/16 in)")
    assert panel_words(refused)[0] == ("blank", NOT_FLAT)


@pytest.mark.parametrize(
    ("cut", "words"),
    [
        ((500.0, 300.0), "any stock sheet"),
        ((500.0, 450.0), "large"),
        ((2100.0, 300.0), "too large: left"),
    ],
)
def test_sheets_are_told_by_what_fits_on_them(cut: tuple[float, float], words: str) -> None:
    figures = BreakUpFigures((panel("left", cut), panel("right")), ())
    assert fits_words(figures, (SMALL, LARGE)) == words


def test_a_locked_panel_is_named_with_area_and_angle() -> None:
    figures = BreakUpFigures((replace(panel("left"), lift=HELD), panel("right")), ())
    assert breakup_row("two", figures).form == "locked: left"
    assert lift_words(HELD) == "locked here: 12 cm\u00b2 (2 sq in), 15\u00b0 past square"
    assert lift_words(FREE) == "lifts out, least draft 12\u00b0"
    assert panel_words(figures.panels[0])[-1] == ("form", lift_words(HELD))


@pytest.mark.parametrize(
    ("towards", "hand", "words"),
    [
        ((0.9, 0.1, 0.2), 1.0, "to the front"),
        ((-0.9, 0.1, 0.2), 1.0, "to the rear"),
        ((0.1, 0.2, 0.9), 1.0, "up"),
        ((0.1, 0.2, -0.9), 1.0, "down"),
        ((0.1, 0.9, 0.2), 80.0, "outward"),
        ((0.1, -0.9, 0.2), 80.0, "inward"),
        ((0.1, -0.9, 0.2), -80.0, "outward"),
    ],
)
def test_a_move_is_told_by_where_it_goes_on_the_tank(
    towards: tuple[float, float, float], hand: float, words: str
) -> None:
    assert way_words(np.array(towards), hand) == words


def test_what_a_moved_seam_would_change_is_told_where_all_pieces_still_lie_flat() -> None:
    axes = TankAxes(np.array([0.0, 0.0, 10.0]), np.eye(3), named=True)
    seam = Seam("side", np.array([[0.0, 50.0, 0.0], [40.0, 60.0, 0.0], [90.0, 50.0, 0.0]]))
    move = SeamMove("side", 5.0, np.array([0.0, 1.0, 0.0]), 60.0, 1.04, 0.93, 1204.0)
    choice = Choice(
        "2 pieces A", 2, 50.0, 1.05, 0.94, 1200.0, 1200.0, 0.0, 1e5, 0.0, (), 0.06,
        (seam,), ("",), (),
        (move,),
    )  # fmt: skip
    assert move_words(move, choice, axes) == (
        "side 5 mm (3/16 in) outward: work x 1.20, shrink \u22127, weld 1204 mm (47 3/8 in)"
    )
    assert move_words(replace(move, work=nan), choice, axes) == ""


def test_a_seam_says_what_of_it_is_hidden() -> None:
    assert seam_words(SEAM) == "812.4 mm (32 in), 112.4 mm (4 7/16 in) of it hidden"
    assert seam_words(SeamFigures("a", 100.0, 100.0, 0.0)).endswith(", seen")
    assert seam_words(SeamFigures("a", 100.0, 0.0, 100.0)).endswith(", hidden")
