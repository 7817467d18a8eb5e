"""The sentences of a title and a bench page: both units, and only what is there."""

from dataclasses import replace

import pytest

from app.exports import PanelSheet
from app.exports.pages.bench_page import SCALES, plain_scale
from app.exports.pages.title import edge_rows, line_legend
from app.exports.words import fact_words, flange_sentences, spacing_text, trim_words
from app.units import MM_PER_INCH, parse_length
from geometry.pattern import BendStock, EdgeAllowance, dress, edge_key
from tests.app.exports.sample_sheets import cut_panel, flat_panel, panel_sheet


def flanged(stock: BendStock, angle_deg: float = 90.0, name: str = "left side") -> PanelSheet:
    """Return a panel whose first free edge gets a flange of 20 mm."""
    sheet = panel_sheet(name)
    free = next(edge for edge in sheet.pattern.edges if not edge.seam)
    asked = {edge_key(free): EdgeAllowance("flange", 20.0, angle_deg)}
    pattern = dress(flat_panel(name), cut_panel(name), allowances=asked, stock=stock)
    return replace(sheet, pattern=pattern)


@pytest.mark.parametrize("spacing", [25.0, 50.0, 75.0, 100.0, 25.4, 50.8, 76.2, 101.6])
def test_both_units_of_a_spacing_say_the_same_length(spacing: float) -> None:
    """To half of 1/64 in, and to half of 0.1 mm."""
    for show in ("mm", "in"):
        first, other = spacing_text(spacing, show).removesuffix(")").split(" (")
        assert parse_length(first) == pytest.approx(spacing, abs=0.5 * MM_PER_INCH / 64.0)
        assert parse_length(other) == pytest.approx(spacing, abs=0.5 * MM_PER_INCH / 64.0)
    assert spacing_text(25.0) == "25 mm (63/64 in)"


def test_widths_that_read_alike_in_inches_are_told_in_inches_once() -> None:
    sheet = panel_sheet()
    first, *rest = sheet.pattern.allowance_of_edge
    cuts = (replace(first, cut_mm=13.8), *(replace(cut, cut_mm=14.6) for cut in rest))
    both = replace(sheet, pattern=replace(sheet.pattern, allowance_of_edge=cuts))
    assert trim_words(both) == "13.8 to 14.6 mm (9/16 in)"


def test_a_flange_s_outside_face_is_told_with_its_number() -> None:
    """1.6 mm over R 1.6, square: 1.38 mm by the zone of FAA-H-8083-31."""
    sheet = flanged(BendStock(1.6, 1.6))
    (told,) = flange_sentences(sheet)
    assert "its outside face ends 1.4 mm (1/16 in) outside the net line" in told
    assert told in fact_words(sheet)
    assert flange_sentences(panel_sheet()) == []


def test_a_flange_over_an_unknown_radius_asks_for_a_strip() -> None:
    (told,) = flange_sentences(flanged(BendStock(1.6)))
    assert "bend a strip first and measure" in told


def test_numbered_marks_are_told_of_only_where_there_are_any() -> None:
    sheet = panel_sheet()
    bare = replace(sheet, pattern=replace(sheet.pattern, marks=()))
    for each, has in ((sheet, True), (bare, False)):
        cell = " ".join(edge_rows(each))
        assert ("Numbered marks" in cell) == has
    legend = " ".join(words for _, words in line_legend(bare, with_cut=True))
    assert "witness" not in legend


def test_a_scale_is_the_largest_plain_one_that_fits() -> None:
    for times in SCALES:
        assert plain_scale(1.0 / times) == 1.0 / times
        assert plain_scale(1.1 / times) == 1.0 / times
    for most in (0.9, 0.6, 0.39, 0.26, 0.101, 0.011):
        found = plain_scale(most)
        assert found <= most
        assert any(found == 1.0 / times for times in SCALES)
