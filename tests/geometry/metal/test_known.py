"""Known metals: figures against published tables and worked masses."""

import itertools
from pathlib import Path

import pytest

from geometry.metal import METALS, Figure, SheetMetal, UnknownMetalError, sheet_metal

INCH = 25.4


@pytest.mark.parametrize(
    ("inches", "least"),
    [(0.025, 0.03), (0.032, 0.04), (0.050, 0.04), (0.051, 0.05), (0.063, 0.05), (0.080, 0.05),
     (0.113, 0.05), (0.125, 0.06)],
)  # fmt: skip
def test_3003_h14_has_the_least_elongation_of_its_table(inches: float, least: float) -> None:
    """ASTM B209's limits by thickness, read in a published temper table: .020-.031 in 3 %,
    .032-.050 4 %, .051-.113 5 %, .114-.161 6 %.
    """
    figure = sheet_metal("3003-H14").elongation_at(inches * INCH)
    assert figure == Figure(least, "astm-b209")


def test_annealed_3003_draws_a_quarter_and_hard_sheet_comes_back_to_it() -> None:
    """ASTM B209: 3003-O, .051-.249 in, 25 %."""
    for name in ("3003-O", "3003-H14"):
        assert sheet_metal(name).annealed_at(1.6) == Figure(0.25, "astm-b209")


@pytest.mark.parametrize(("name", "mass"), [("1100-O", 8.13), ("3003-O", 8.19), ("5052-O", 8.04)])
def test_a_sheet_weighs_what_the_stock_tables_say(name: str, mass: float) -> None:
    """1000 x 2000 x 1.5 mm, kg, rounded to the table's hundredth."""
    assert sheet_metal(name).mass_kg(2e6, 1.5) == pytest.approx(mass, abs=0.0051)


def test_a_four_by_eight_sheet_of_3003_weighs_28_7_pounds() -> None:
    """48 x 96 x .063 in at .099 lb/in3: 28.74 lb. 2.73 g/cm3 is .0986: 0.4 % less."""
    pounds = sheet_metal("3003-H14").mass_kg(48 * 96 * INCH**2, 0.063 * INCH) / 0.45359237
    assert pounds == pytest.approx(28.7401, rel=0.0045)


@pytest.mark.parametrize(
    ("name", "inches", "thicknesses"),
    [
        ("1100-H14", 0.125, 1.0), ("3003-O", 0.1875, 0.5), ("3003-H14", 0.063, 0.0),
        ("5052-O", 0.125, 0.5), ("5052-O", 0.1875, 1.0), ("5052-H32", 0.032, 0.0),
        ("5052-H32", 0.063, 1.0), ("5052-H32", 0.125, 1.5),
    ],
)  # fmt: skip
def test_bends_are_no_tighter_than_the_table(name: str, inches: float, thicknesses: float) -> None:
    """Least radius of a cold right-angled bend, in thicknesses: a published table and a second."""
    figure = sheet_metal(name).bend_radius_at(inches * INCH)
    assert figure is not None
    assert figure.value == pytest.approx(thicknesses * inches * INCH)


def test_every_figure_says_where_it_comes_from() -> None:
    for metal in METALS.values():
        single = [metal.density, metal.usual_elongation, metal.hardening]
        rows = [*metal.elongation, *metal.annealed, *metal.bend_radius]
        figures = [figure for figure in single if figure is not None]
        assert all(figure.source for figure in [*figures, *(row.figure for row in rows)])


def test_every_published_source_is_on_the_sources_page() -> None:
    page = (Path(__file__).resolve().parents[3] / "docs" / "sources.md").read_text("utf-8")
    for metal in METALS.values():
        single = [metal.density, metal.usual_elongation, metal.hardening]
        rows = [*metal.elongation, *metal.annealed, *metal.bend_radius]
        for figure in [*single, *(row.figure for row in rows)]:
            if figure is not None and figure.source != "from memory, not checked":
                assert f"| [{figure.source}] |" in page


def test_rows_follow_each_other_without_a_gap() -> None:
    for metal in METALS.values():
        for rows in (metal.elongation, metal.annealed, metal.bend_radius):
            for before, after in itertools.pairwise(rows):
                assert before.up_to_mm == after.over_mm


def test_metal_sold_hard_draws_further_once_annealed() -> None:
    for metal in METALS.values():
        bought, soft = metal.elongation_at(1.6), metal.annealed_at(1.6)
        assert bought is not None
        assert soft is not None
        assert (soft.value > 2.0 * bought.value) == (metal.temper != "O")


def test_what_no_table_covers_is_not_known() -> None:
    assert sheet_metal("3003-H14").elongation_at(0.3) is None
    assert SheetMetal("odd", "", Figure(2.7, "")).bend_radius_at(1.6) is None


def test_a_name_nobody_gave_is_refused_with_those_known() -> None:
    assert sheet_metal(" 3003-h14 ") is METALS["3003-H14"]
    with pytest.raises(UnknownMetalError) as caught:
        sheet_metal("butter")
    assert caught.value.name == "butter"
    assert "3003-H14" in caught.value.known
