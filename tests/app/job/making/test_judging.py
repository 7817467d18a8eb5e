"""What seams cost: roughly at once, then of the blanks; marks and directions say what is seen."""

from dataclasses import replace

import numpy as np
import pytest

from app.job import (
    Directions,
    JobState,
    SeamNote,
    made,
    next_tasks,
    state_of,
    step,
    task_for,
    with_directions,
    with_seam_note,
    with_seams,
    without_seam,
)
from app.job.making.judging import seen_marks
from geometry.breakups import BreakUpFigures
from geometry.panels import SeamDoesNotPartError
from tests.app.job.small_tank import carried, straight_seam


def run(state: JobState, name: str) -> BreakUpFigures:
    """Return a step run here and now."""
    task = task_for(state, name, "")
    assert task is not None
    found: BreakUpFigures = task.run()
    return found


def costs(name: str) -> BreakUpFigures:
    found: BreakUpFigures = made(carried(), name)
    return found


def test_the_rough_figures_are_those_of_the_blanks_but_for_the_coarse_triangles() -> None:
    """On R 50 a triangle of 8 mm turns by 9 degrees: work, which hangs on the turn, a quarter."""
    rough, exact = costs("Judged"), costs("Costs")
    assert [panel.name for panel in rough.panels] == ["left", "top", "right"]
    assert {p.name for p in exact.panels} == {p.name for p in rough.panels}
    assert rough.weld_mm == pytest.approx(exact.weld_mm, rel=0.01)
    assert rough.metal_mm2 == pytest.approx(exact.metal_mm2, rel=0.03)
    assert rough.worst_shrink == pytest.approx(exact.worst_shrink, abs=0.01)
    assert rough.work_mm2 == pytest.approx(exact.work_mm2, rel=0.25)


def test_the_weld_is_as_long_as_the_arcs_drawn() -> None:
    """Each in a plane 14 mm off the middle of a dome of R 50, between rims 1.2 rad down."""
    radius = np.sqrt(50.0**2 - 14.0**2)
    rim = 50.0 * np.cos(1.2)
    arc = 2.0 * radius * np.arccos(rim / radius)
    assert costs("Costs").weld_mm == pytest.approx(2.0 * arc, rel=2e-3)


def test_what_the_maker_says_of_a_seam_goes_before_where_it_faces() -> None:
    state = with_seam_note(carried(), SeamNote("left rail", "hidden"))
    assert made(state, "Judged") is None
    left, right = run(state, "Judged").seams
    assert (left.seen_mm, right) == (0.0, costs("Judged").seams[1])
    assert seen_marks(state.seam_notes) == (("left rail", "hidden"),)


def test_advice_hushed_puts_no_figure_out_of_date() -> None:
    state = with_seam_note(carried(), SeamNote("left rail", hushed=("low crown",)))
    assert made(state, "Judged") is made(carried(), "Judged")
    assert made(state, "Costs") is made(carried(), "Costs")


def test_a_moved_seam_is_judged_before_it_is_cut() -> None:
    state = carried()
    moved = with_seams(state, (straight_seam("left rail", 16.0), state.seams[1]))
    assert made(moved, "Seams") is None
    before = costs("Judged")
    assert run(moved, "Judged").work_mm2 != before.work_mm2
    assert run(state, "Judged").work_mm2 == pytest.approx(before.work_mm2, rel=1e-9)


def test_without_seams_or_with_one_that_parts_nothing_there_is_no_verdict() -> None:
    state = without_seam(without_seam(carried(), 0), 0)
    assert step("Judged").inputs(state, "") is None
    short = replace(straight_seam("left rail", 14.0), points=((0.0, 0.0, 50.0), (5.0, 0.0, 49.7)))
    with pytest.raises(SeamDoesNotPartError):
        run(with_seams(carried(), (short,)), "Judged")


def test_figures_wait_for_nothing_and_nothing_waits_for_them() -> None:
    state = carried()
    assert next_tasks(state, "Costs") == ()
    assert state_of(state, "Costs").value == "made"
    assert all(
        "Judged" not in row.hangs_on and "Costs" not in row.hangs_on
        for row in (step(name) for name in ("Seams", "Blanks", "Sure", "Paper"))
    )


def test_without_directions_all_of_a_seam_is_seen() -> None:

    state = with_directions(carried(), Directions())
    assert run(state, "Judged").hidden_mm == 0.0
