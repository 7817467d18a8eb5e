"""Two ways side by side: the second laid on the first, and the table of their differences."""

from dataclasses import replace

import numpy as np
import pytest

from app.job import BlankChoice, Comparison, Panels, compared, compared_rows, made
from app.job.answers.compare import laid_on
from app.job.choices.state import MAKING, Directions
from geometry.blank import Work
from geometry.progress import Cancelled
from tests.app.job.small_tank import carried

STRETCH = BlankChoice("top", MAKING["mostly stretch"])
SHRINK = BlankChoice("top", MAKING["mostly shrink"])


@pytest.fixture(scope="module")
def found() -> Comparison:
    cut: Panels = made(carried(), "Seams")
    panel = next(panel for panel in cut.panels if panel.name == "top")
    return compared(panel, (STRETCH, SHRINK), Directions((1.0, 0.0, 0.0), None))


def test_the_second_is_the_same_blank_only_moved_and_turned(found: Comparison) -> None:
    first, second = found.blanks
    turn = np.array([[np.cos(0.4), np.sin(0.4)], [-np.sin(0.4), np.cos(0.4)]])
    away = replace(
        second, flat=replace(second.flat, flat_vertices=second.flat.flat_vertices @ turn + 70.0)
    )
    back = laid_on(first, away)
    np.testing.assert_allclose(
        back.flat.flat_vertices, second.flat.flat_vertices, atol=1e-9, rtol=0.0
    )
    assert back.flat.blank_area == pytest.approx(second.flat.blank_area, rel=1e-12)


def test_no_turn_or_move_lays_the_second_nearer_to_the_first(found: Comparison) -> None:
    """The sum of squares is stationary: a hundredth of a degree or of a mm makes it larger."""
    first, second = (blank.flat.flat_vertices for blank in found.blanks)
    least = ((first - second) ** 2).sum()
    for angle in (1e-4, -1e-4):
        turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
        assert ((first - second @ turn) ** 2).sum() > least
    for step in ([0.01, 0.0], [-0.01, 0.0], [0.0, 0.01], [0.0, -0.01]):
        assert ((first - second - step) ** 2).sum() > least


def test_made_mostly_by_shrinking_the_blank_is_larger_and_the_panel_thicker(
    found: Comparison,
) -> None:
    first, second = (blank.flat for blank in found.blanks)
    assert second.blank_area > first.blank_area
    assert second.thickness.min() > first.thickness.min()
    assert second.rim_blank - second.rim_formed > first.rim_blank - first.rim_formed


def test_the_table_holds_the_second_less_the_first_in_mm_and_inch(found: Comparison) -> None:
    rows = {row.name: row for row in compared_rows(found, sheet_mm=1.6, trim_mm=12.7)}
    assert list(rows) == [
        "Size to cut", "Area", "Thinnest", "Thickest", "Edge, taken up", "Edge, let out",
    ]  # fmt: skip
    one, two = (blank.flat.blank_size[0] + 25.4 for blank in found.blanks)
    assert rows["Size to cut"].first.startswith(f"{one:.0f} x ")
    assert rows["Size to cut"].difference.startswith(f"+{two - one:.1f} mm (")
    assert rows["Area"].difference.startswith("+")
    assert all("in" in row.difference or "same" in row.difference for row in rows.values())
    swapped = replace(found, blanks=(found.blanks[1], found.blanks[0]))
    back = {row.name: row for row in compared_rows(swapped, sheet_mm=1.6, trim_mm=12.7)}
    assert back["Thinnest"].difference == rows["Thinnest"].difference.replace("+", "\u2212")


def test_the_same_way_twice_is_the_same(found: Comparison) -> None:
    same = compared(found.panel, (STRETCH, STRETCH), Directions())
    rows = compared_rows(same, sheet_mm=1.6, trim_mm=12.7)
    assert rows[0].difference == "the same along, the same across"
    np.testing.assert_allclose(
        same.blanks[0].flat.flat_vertices, same.blanks[1].flat.flat_vertices, atol=1e-9
    )


def test_progress_rises_and_a_stop_halfway_is_heard(found: Comparison) -> None:
    choices = (BlankChoice("top", Work(bias=0.11), exact=True), SHRINK)
    seen: list[float] = []
    compared(found.panel, choices, Directions(), report=lambda done, stage: seen.append(done))
    assert seen == sorted(seen)
    assert seen[-1] == pytest.approx(1.0)

    def stop(done: float, stage: str) -> None:
        if done > 0.4:
            raise Cancelled

    with pytest.raises(Cancelled):
        compared(found.panel, choices, Directions(), report=stop)


def test_in_inches_no_difference_is_told_as_nought_with_a_sign(found: Comparison) -> None:
    """What a rule's 1/32 in does not tell is told in thousandths."""
    for row in compared_rows(found, sheet_mm=1.6, trim_mm=12.7, show="in"):
        assert not row.difference.startswith(("+0 ", "\u22120 ", "+.000", "\u2212.000")), row
