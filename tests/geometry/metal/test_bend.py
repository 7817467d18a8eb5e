"""Bends by handbook figures: .050 over .032 worked, the U channel, 90 degree rows, setbacks."""

import numpy as np
import pytest

from geometry.metal import bend_saving_mm, bend_zone_mm, relief_diameter_mm, setback_mm

RIGHT = np.pi / 2.0

ROWS = {
    0.032: (0.121, 0.219, 0.317),
    0.040: (0.127, 0.224, 0.323),
    0.050: (0.134, 0.231, 0.330),
    0.063: (0.143, 0.240, 0.339),
    0.080: (0.155, 0.252, 0.351),
}
"""Bend allowance in inches, 90 degrees, inside radius .063, .125 and .188 in: the chart of
FAA-H-8083-31, chapter 4 (its top numbers; some rows from memory), three places."""


@pytest.mark.parametrize("sheet", ROWS)
def test_right_angled_bends_take_what_the_chart_says(sheet: float) -> None:
    """Tolerance: the chart is rounded to .001, and its formula's to half of that again."""
    for radius, charted in zip((0.063, 0.125, 0.188), ROWS[sheet], strict=True):
        assert bend_zone_mm(RIGHT, radius, sheet) == pytest.approx(charted, abs=0.0011)


def test_the_worked_bracket_comes_out() -> None:
    """.050 in sheet over .032: BA .085, BD .079; legs .740, .420, 1.050, 1.000 lie flat in 2.973.

    The worked example of a public sheet metal workbook ("90 degree bends"); three bends.
    """
    assert bend_zone_mm(RIGHT, 0.032, 0.05) == pytest.approx(0.085, abs=0.0005)
    saving = bend_saving_mm(RIGHT, 0.032, 0.05)
    assert saving == pytest.approx(0.079, abs=0.0005)
    assert 0.740 + 0.420 + 1.050 + 1.000 - 3.0 * saving == pytest.approx(2.973, abs=0.0015)


def test_the_channel_of_the_handbook_comes_out_by_its_formula() -> None:
    """FAA-H-8083-31: .040 2024-T3 over .16, flats .8, 1.6, .8; by the formula 3.758 in in all.

    The handbook prints .27 for the bend and 3.74 in all (from memory): rounded down.
    """
    zone = bend_zone_mm(RIGHT, 0.16, 0.04)
    assert setback_mm(RIGHT, 0.16, 0.04) == pytest.approx(0.2)
    assert zone == pytest.approx(0.279072, abs=1e-9)
    assert 0.8 + 1.6 + 0.8 + 2.0 * zone == pytest.approx(3.758144, abs=1e-9)


@pytest.mark.parametrize(
    ("degrees", "factor"),
    [(30, 0.26795), (45, 0.41421), (60, 0.57735), (90, 1.0), (120, 1.73205), (135, 2.41421)],
)
def test_setbacks_are_the_charts(degrees: float, factor: float) -> None:
    """K = tan(A / 2) of the handbook's setback chart, five places."""
    assert setback_mm(np.radians(degrees), 0.75, 0.25) == pytest.approx(factor, abs=5e-6)


def test_relief_holes_are_at_least_an_eighth_of_an_inch() -> None:
    """1/8 in up to .064 in sheet, .063 included; more in thicker sheet and over wider bends."""
    assert relief_diameter_mm(0.0, 0.063 * 25.4) == 3.175
    assert relief_diameter_mm(0.0, 0.064 * 25.4) == 3.175
    assert relief_diameter_mm(0.0, 0.080 * 25.4) > 3.175
    assert relief_diameter_mm(5.0, 1.6) == 5.0
