from dataclasses import replace
from math import isnan, pi, radians

import numpy as np
import pytest

from geometry.blank import NotADiskError, flatten
from geometry.breakups import (
    BreakUpFigures,
    PanelFigures,
    SeamFigures,
    panel_figures,
    refused_figures,
)
from geometry.metal import StockSheet
from tests.bodies import band_of_revolution, cylinder_sheet, dome


def panel(name: str) -> PanelFigures:
    mesh = dome(100.0, radians(30.0), 6)
    return panel_figures(name, flatten(mesh), mesh.vertices, sheet_mm=1.6, trim_mm=10.0)


def test_a_break_up_costs_the_sum_of_its_parts_and_is_as_bad_as_the_worst() -> None:
    one = panel("a")
    other = replace(one, name="b", worst_stretch=1.3, worst_shrink=0.7, work_mm2=50.0)
    seams = (SeamFigures("s", 100.0, 80.0, 20.0), SeamFigures("t", 50.0, 0.0, 50.0))
    whole = BreakUpFigures((one, other), seams)
    assert whole.pieces == 2
    assert whole.worst_stretch == 1.3
    assert whole.worst_shrink == 0.7
    assert whole.work_mm2 == one.work_mm2 + 50.0
    assert (whole.weld_mm, whole.seen_mm, whole.hidden_mm) == (150.0, 80.0, 70.0)
    assert whole.metal_mm2 == pytest.approx(2 * one.cut_mm[0] * one.cut_mm[1], rel=1e-12)
    assert whole.longest_mm == one.blank_mm[0] + 20.0
    assert whole.refused == whole.held == ()


def test_a_blank_is_too_large_with_its_trim_and_may_lie_either_way_round() -> None:
    one = replace(panel("a"), cut_mm=(900.0, 400.0))
    whole = BreakUpFigures((one,), ())
    assert whole.too_large(StockSheet("lies across", 400.0, 900.0)) == ()
    assert whole.too_large(StockSheet("lies along", 900.0, 400.0)) == ()
    assert whole.too_large(StockSheet("short", 899.0, 899.0)) == ("a",)
    assert whole.too_large(StockSheet("narrow", 399.0, 2000.0)) == ("a",)


def test_where_a_panel_cannot_be_laid_flat_sums_are_not_told_and_it_is_named() -> None:
    ring = band_of_revolution(np.array([50.0, 60.0]), np.array([0.0, 40.0]), 2 * pi, 24)
    refused = refused_figures("ring", ring, ring.vertices, NotADiskError(1, (), 0))
    whole = BreakUpFigures((panel("a"), refused), ())
    assert whole.refused == ("ring",)
    assert isnan(whole.work_mm2)
    assert isnan(whole.worst_stretch)
    assert isnan(whole.longest_mm)


def test_panels_their_form_holds_are_named() -> None:
    deep = dome(100.0, radians(110.0), 12)
    held = refused_figures("deep", deep, deep.vertices, NotADiskError(1, (), 0))
    flat = cylinder_sheet(100.0, 1.0, 50.0)
    free = refused_figures("flat", flat, flat.vertices, NotADiskError(1, (), 0))
    assert BreakUpFigures((held, free), ()).held == ("deep",)
