"""Three ways to make a panel by how thick it ends, told in words."""

from dataclasses import replace

import numpy as np

from app.job import STEPS, Flatteners, case_words, made, thicknesses
from geometry.blank import Work
from tests.app.job.small_tank import carried
from tests.bodies import dome


def test_the_classic_dome_ends_at_050_063_and_068() -> None:
    """A cap 3 in deep and 12 in wide of .063 sheet; common practice's own figures, no source.

    Rim kept: a disc of the rim, mean .050. Equal area: .063. Middle kept: .068.
    """
    rise, half = 3.0 * 25.4, 6.0 * 25.4
    radius = (half**2 + rise**2) / (2.0 * rise)
    flat = Flatteners().laid(dome(radius, float(np.arcsin(half / radius)), 20), Work())
    heading, *lines = case_words(thicknesses(flat), 0.063 * 25.4, "in")
    assert heading == "Mean thickness of the finished panel, made three ways:"
    assert [line.partition(": ")[2].split(" in")[0] for line in lines] == [".050", ".063", ".068"]


def test_a_blank_that_did_not_settle_has_no_cases() -> None:
    blank = made(carried(), "Blanks", "top")
    found = thicknesses(replace(blank.flat, converged=False))
    assert found.cases is None
    assert case_words(found, 1.6) == ()


def test_it_is_a_step_of_its_own_that_nothing_else_waits_for() -> None:
    assert all("Thickness" not in row.hangs_on for row in STEPS)
    for panel in ("left", "top"):
        cases = made(carried(), "Thickness", panel).cases
        assert cases.all_stretched.mean_ratio <= 1.0 <= cases.none_stretched.mean_ratio
