"""Weight and cost of sheet against handbook sums.

A 4 x 8 ft sheet of .063 in 3003 at .099 lb/in3 is 28.7401 lb: 48 x 96 x .063 x .099. Our density is
[density-table]'s 2.73 g/cm3, .0986 lb/in3; tables round it to .099.
"""

import numpy as np
import pytest

from geometry.metal import STOCK_SHEETS, Figure, SheetMetal, blank_use, sheet_metal, sheet_use

LB = 0.45359237
POINT_063 = 0.063 * 25.4


def one_sheet(index: int, thickness_mm: float):  # type: ignore[no-untyped-def]
    stock = STOCK_SHEETS[index]
    width, length = stock.width_mm, stock.length_mm
    outline = np.array([[0.0, 0], [width, 0], [width, length], [0, length]])
    return sheet_use(sheet_metal("3003-H14"), thickness_mm, [blank_use("sheet", outline)])


@pytest.mark.parametrize(("index", "inches"), [(0, (48, 96)), (1, (48, 120))])
def test_at_a_handbooks_density_stock_sheets_weigh_what_it_says(
    index: int, inches: tuple[int, int]
) -> None:
    """Width x length x .063 in x .099 lb/in3: 28.7401 and 35.9251 lb."""
    per_cubic_inch = 0.099 * LB * 1000.0 / 25.4**3 * 1000.0  # g/cm3
    stock = STOCK_SHEETS[index]
    metal = SheetMetal("3003", "", Figure(per_cubic_inch, "a handbook, rounded"))
    found = metal.mass_kg(stock.area_mm2, POINT_063) / LB
    assert found == pytest.approx(inches[0] * inches[1] * 0.063 * 0.099, abs=1e-9)


def test_a_four_by_eight_sheet_of_063_weighs_28_7_pounds() -> None:
    """Within a tenth, at the density of [density-table]: 28.63."""
    assert one_sheet(0, POINT_063).rectangle_kg / LB == pytest.approx(28.7, abs=0.1)


@pytest.mark.parametrize(("index", "kilograms"), [(2, 8.7), (3, 13.7)])
def test_stock_sheets_in_metres_weigh_what_the_trade_reckons(index: int, kilograms: float) -> None:
    """Area x 1.6 mm x 2.73 g/cm3: 8.736 and 13.65 kg; the trade's round figures, no source."""
    assert one_sheet(index, 1.6).rectangle_kg == pytest.approx(kilograms, abs=0.06)


def test_a_sheet_a_millimetre_and_a_half_thick_weighs_8_19_kg() -> None:
    """1000 x 2000 x 1.5 in 3003: a published figure, [density-table]."""
    assert one_sheet(2, 1.5).blank_kg == pytest.approx(8.19, abs=0.005)


def test_a_blank_weighs_less_than_the_rectangle_it_is_cut_from() -> None:
    """A disk fills pi / 4 of its square."""
    turn = np.linspace(0.0, 2.0 * np.pi, 720, endpoint=False)
    disk = blank_use("disk", 100.0 * np.stack([np.cos(turn), np.sin(turn)], axis=1))
    use = sheet_use(sheet_metal("3003-H14"), 1.6, [disk])
    assert use.blank_kg / use.rectangle_kg == pytest.approx(np.pi / 4.0, rel=1e-4)


def test_the_area_of_a_blank_does_not_hang_on_where_it_lies_or_which_way_it_runs() -> None:
    corners = np.array([[0.0, 0], [120, 10], [90, 80], [-10, 60]])
    there = blank_use("lid", corners + 1e6)
    assert there.blank_mm2 == pytest.approx(blank_use("lid", corners).blank_mm2, abs=1e-6)
    assert blank_use("lid", corners[::-1]).blank_mm2 == pytest.approx(there.blank_mm2, abs=1e-6)


def test_three_ways_to_price_the_same_sheet_agree() -> None:
    """A whole 4 x 8 sheet: by the sheet, by its kilograms and by its pounds."""
    use = one_sheet(0, POINT_063)
    by_kg = use.cost(7.0, "kg")
    assert use.cost(7.0 * LB, "lb") == pytest.approx(by_kg)
    assert use.cost(by_kg, "sheet", STOCK_SHEETS[0]) == pytest.approx(by_kg)
    assert use.share_of(STOCK_SHEETS[0]) == pytest.approx(1.0)
    assert use.cost(100.0, "sheet", STOCK_SHEETS[1]) == pytest.approx(80.0)


def test_a_blank_too_long_for_a_sheet_is_told() -> None:
    long = blank_use("long", np.array([[0.0, 0], [2100, 0], [2100, 300], [0, 300]]))
    use = sheet_use(sheet_metal("3003-H14"), 1.6, [long])
    assert [use.fits(sheet) for sheet in STOCK_SHEETS] == [True, True, False, True]
