"""What hangs on the maker's settings, unit and least thickness, is put on where sheets are made."""

from pathlib import Path

import numpy as np
import pytest

from app.delivery import single_blank, single_panel, single_sheet, single_sure
from app.exports import PanelSheet, Show
from app.job import MetalChoice
from tests.app.delivery.test_single import DATED, job_on
from tests.bodies import dome


def sheet_of_a_dome(folder: Path, show: Show, least_mm: float) -> PanelSheet:
    metal = MetalChoice(2.0, face="middle")
    state = job_on(dome(120.0, np.radians(50.0), 12), folder, metal)
    single = single_panel(state)
    blank = single_blank(single, state)
    sure = single_sure(state, single, blank)
    return single_sheet(state, single, blank, sure, dated=DATED, show=show, least_mm=least_mm)


@pytest.mark.parametrize(("show", "tick", "side"), [("mm", 100.0, 25.0), ("in", 101.6, 25.4)])
def test_ticks_and_grid_are_in_the_shown_unit(
    tmp_path: Path, show: Show, tick: float, side: float
) -> None:
    pattern = sheet_of_a_dome(tmp_path, show, 1.2).pattern
    for gather in (*pattern.gathers, *pattern.cut_gathers):
        np.testing.assert_allclose(gather.flat_mm[:-1], tick, atol=1e-9)
    assert pattern.squares is not None
    assert pattern.grid_mm == pattern.squares.side_mm == side


def test_the_maker_s_least_over_this_sheet_draws_the_outline(tmp_path: Path) -> None:
    """None while the least is met; all that is thinner than it, as soon as it is not."""
    met = sheet_of_a_dome(tmp_path, "mm", 1.2)
    thinnest = met.pattern.thinnest
    assert thinnest is not None
    assert met.pattern.thin_regions == ()
    assert 2.0 * thinnest.ratio > 1.2
    unmet = sheet_of_a_dome(tmp_path, "mm", 2.0 * thinnest.ratio + 0.01)
    (region,) = unmet.pattern.thin_regions
    assert np.linalg.norm(region.outline - thinnest.place, axis=1).max() > 5.0
    assert unmet.job.least_mm == 2.0 * thinnest.ratio + 0.01
