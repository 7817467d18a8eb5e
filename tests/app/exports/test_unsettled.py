"""Paper of a blank that did not settle says nothing that hangs on its stretch."""

from dataclasses import replace
from pathlib import Path

import pytest

from app.exports import OverviewSheet, PanelSheet, write_overview, write_panel
from app.exports.drawing.drawing import Meaning
from app.exports.facts import told_of
from app.exports.pages.panel_drawing import pattern_drawing
from tests.app.exports.reading_back import reader
from tests.app.exports.sample_sheets import panel_sheet, tank_model


@pytest.fixture(scope="module")
def unsettled() -> PanelSheet:
    sheet = panel_sheet("left side")
    return replace(sheet, flat=replace(sheet.flat, converged=False))  # type: ignore[type-var]


def test_contours_ticks_and_thin_marks_are_left_off_net_marks_and_patches_stay(
    unsettled: PanelSheet,
) -> None:
    drawn = {line.meaning for line in pattern_drawing(told_of(unsettled)).lines}
    assert not drawn & {
        Meaning.STRETCH_CONTOUR, Meaning.SHRINK_CONTOUR, Meaning.TICK, Meaning.THINNEST,
        Meaning.THIN, Meaning.CUT,
    }  # fmt: skip
    assert drawn >= {Meaning.NET, Meaning.MARK, Meaning.NO_DATA, Meaning.GRID}
    settled = panel_sheet("left side")
    assert told_of(settled) is settled


def test_its_files_carry_no_figure_of_stretch(unsettled: PanelSheet, tmp_path: Path) -> None:
    paths = {path.name: path for path in write_panel(unsettled, tmp_path)}
    shape = reader(paths["left side_shape.pdf"].read_bytes()).pages[0].extract_text()
    assert "NOT SETTLED" in shape
    assert "beyond" not in shape
    assert "most stretch" not in shape
    full = reader(paths["left side.pdf"].read_bytes()).pages[0].extract_text()
    assert "ticks every" not in full
    assert "stretch, numbers" not in full
    assert "left side.dxf" not in paths


def test_the_overview_says_not_settled_instead_of_figures(
    unsettled: PanelSheet, tmp_path: Path
) -> None:
    overview = OverviewSheet(unsettled.job, tank_model(), (unsettled, panel_sheet("top strip")))
    words = reader(write_overview(overview, tmp_path).read_bytes()).pages[0].extract_text()
    assert words.count("not settled") == 2
    assert words.count("100 \u2192") == 2  # the other panel's own
    assert "2 panels" in words
