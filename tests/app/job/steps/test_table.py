"""The table of steps: how each stands, what is out of date, what runs next, what may leave."""

import pickle
import re
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from app.job import (
    STEPS,
    Blank,
    EdgeChoice,
    JobState,
    MetalChoice,
    NoSuchPanelError,
    PaperKind,
    SizeChoice,
    StepState,
    Sure,
    Task,
    all_made,
    carried_through,
    check_choices,
    failure,
    idle_edges,
    latest,
    line_of,
    made,
    needed,
    next_tasks,
    overlap_words,
    panel_names,
    paper_kind,
    part_state,
    parts_of,
    reason_words,
    state_of,
    step,
    stock_of,
    sure_words,
    task_for,
    why_no_cut,
    with_blank_choice,
    with_edge,
    with_failure,
    with_forming,
    with_marked_face,
    with_metal,
    with_name,
    with_panel_names,
    with_result,
    with_scan,
    with_seams,
    with_size,
    with_tape,
    with_trim,
)
from app.job.making.sure import errors_of_panel
from app.job.making.surface_to_paper import is_fitting
from geometry.blank import Work
from geometry.datum import Tape, TapeOffError
from geometry.metal import METALS
from geometry.pattern import BendStock, Pattern
from geometry.progress import Cancelled, Report, silent
from geometry.surface import Opening
from tests.app.job.small_tank import (
    RADIUS_MM,
    carried,
    decided,
    dome_scan,
    on_dome,
    straight_seam,
)

TO_DO, MADE = StepState.TO_DO, StepState.MADE
OUT_OF_DATE, NEEDS_YOU = StepState.OUT_OF_DATE, StepState.NEEDS_YOU
NAMES = [row.name for row in STEPS]
BESIDES = [row.name for row in STEPS if row.besides]
LEFT_OUT = dict.fromkeys(
    ["Datum", "Halves", "Sides", "Lines", "Flat faces", "Stood", *BESIDES], TO_DO
)
"""What a job goes on without unless it is asked for."""


def standing(state: JobState) -> dict[str, StepState]:
    return {name: state_of(state, name) for name in NAMES}


def test_the_table_runs_from_scan_to_paper_and_hangs_only_on_rows_above() -> None:
    assert [name for name in NAMES if name not in BESIDES] == [
        "Scan", "Size", "Tidy", "Datum", "Halves", "Sides", "Lines", "Flat faces", "Surface",
        "Seams", "Blanks", "Sure", "Stood", "Paper", "Thickness", "Difference", "Coarse", "Judged",
        "Advice", "Costs",
    ]  # fmt: skip
    behind = [row.name for row in STEPS if not row.shown]
    assert behind == [
        "Halves", "Flat faces", "Surface", "Sure", "Stood", "Thickness", "Difference", "Coarse",
        "Judged", "Advice", "Costs",
    ]  # fmt: skip
    for place, row in enumerate(STEPS):
        assert set(row.hangs_on) <= set(NAMES[:place])
        assert step(row.name) is row


def test_states_read_as_words() -> None:
    assert [state.value for state in StepState] == ["to do", "made", "out of date", "needs you"]


def test_an_empty_job_needs_a_scan_and_can_do_nothing() -> None:
    state = JobState()
    assert standing(state) == dict.fromkeys(NAMES, TO_DO) | {"Scan": NEEDS_YOU}
    assert "Open a scan" in needed(state, "Scan")
    assert [needed(state, name) for name in NAMES[1:]] == [""] * (len(NAMES) - 1)
    assert next_tasks(state) == ()
    assert parts_of(state, "Blanks") == ()


def test_a_scan_alone_asks_for_its_size_and_then_for_a_seam() -> None:
    state = carried_through(with_scan(JobState(), dome_scan()), "Paper")
    assert standing(state) == dict.fromkeys(NAMES, TO_DO) | {"Scan": MADE, "Size": NEEDS_YOU}
    assert "unit" in needed(state, "Size")
    state = carried_through(with_size(state, SizeChoice("mm")), "Paper")
    assert state_of(state, "Surface") is MADE
    assert state_of(state, "Seams") is NEEDS_YOU
    assert "seam" in needed(state, "Seams")
    assert state_of(state, "Blanks") is TO_DO


def test_a_job_carried_through_is_made_in_every_step_and_needs_nothing() -> None:
    state = carried()
    assert standing(state) == dict.fromkeys(NAMES, MADE) | LEFT_OUT
    assert [needed(state, name) for name in NAMES] == [""] * len(NAMES)
    assert all(line_of(state, name) for name in NAMES if name not in LEFT_OUT)
    assert next_tasks(state) == ()
    assert set(panel_names(state)) == {"left", "top", "right"}
    assert all(all_made(state, name) for name in NAMES if name not in LEFT_OUT)


def test_the_panels_carried_through_have_the_area_of_the_dome() -> None:
    """A spherical cap has area 2 pi r^2 (1 - cos a).

    The facets of an inscribed mesh lie inside by a part of order (edge / radius)^2 / 8, and the
    working surface's spacing is 3 mm on a radius of 50: 0.0005; one hundredth is allowed.
    """
    blanks: list[Blank] = [made(carried(), "Blanks", name) for name in panel_names(carried())]
    area = sum(blank.flat.formed_area for blank in blanks)
    cap = 2.0 * np.pi * RADIUS_MM**2 * (1.0 - np.cos(1.2))
    assert area == pytest.approx(cap, rel=0.01)


def test_the_two_outer_panels_mirror_each_other() -> None:
    """Seams at y = 14 and y = -14: equal areas to the scatter of the triangles, 1 part in 200."""
    left, right = (made(carried(), "Blanks", name).flat for name in ("left", "right"))
    assert left.blank_area == pytest.approx(right.blank_area, rel=5e-3)


# ---- out of date


def test_a_moved_seam_puts_seams_and_all_after_it_out_of_date_and_nothing_before() -> None:
    seams = (straight_seam("left rail", 18.0), decided().seams[1])
    state = with_seams(carried(), seams)
    late = {"Seams", "Blanks", "Sure", "Paper", "Thickness", "Judged", "Advice", "Costs"}
    assert standing(state) == {n: OUT_OF_DATE if n in late else MADE for n in NAMES} | LEFT_OUT
    assert made(state, "Seams") is None
    assert latest(state, "Seams") is made(carried(), "Seams")
    assert made(state, "Paper", "top") is None
    assert latest(state, "Paper", "top") is made(carried(), "Paper", "top")
    assert line_of(state, "Seams") == ""
    assert [task.step for task in next_tasks(state)] == ["Seams"]


def test_a_result_out_of_date_may_never_leave() -> None:
    assert paper_kind(carried(), "top") is PaperKind.ALL
    assert why_no_cut(carried(), "top") == ""
    for stale in (
        with_trim(carried(), 6.0),
        with_blank_choice(carried(), "top", Work(bias=0.5)),
        with_seams(carried(), decided().seams[:1]),
        with_scan(carried(), dome_scan()),
    ):
        assert paper_kind(stale, "top") is PaperKind.NOTHING
        assert "out of date" in why_no_cut(stale, "top")
    assert paper_kind(carried(), "no such panel") is PaperKind.NOTHING


def test_a_result_made_of_an_equal_but_other_object_is_out_of_date() -> None:
    """Results and scans count by identity: the same scan read twice is two scans."""
    again = pickle.loads(pickle.dumps(dome_scan()))
    old = carried()
    state = JobState(scan=again, size=old.size, metal=old.metal, results=old.results)
    assert state_of(state, "Scan") is OUT_OF_DATE
    remade = carried_through(state, "Scan")
    assert state_of(remade, "Scan") is MADE
    assert state_of(remade, "Size") is OUT_OF_DATE


def test_one_panels_choice_puts_only_that_panel_out_of_date() -> None:
    state = with_blank_choice(carried(), "top", Work(bias=0.5))
    assert part_state(state, "Blanks", "top") is OUT_OF_DATE
    assert part_state(state, "Blanks", "left") is MADE
    assert part_state(state, "Paper", "left") is MADE
    assert state_of(state, "Blanks") is OUT_OF_DATE
    assert [(task.step, task.part) for task in next_tasks(state)] == [("Blanks", "top")]
    again = carried_through(state, "Paper")
    assert made(again, "Blanks", "left") is made(carried(), "Blanks", "left")
    assert made(again, "Blanks", "top") is not latest(state, "Blanks", "top")
    assert made(again, "Blanks", "top").flat.work == Work(bias=0.5)


def test_what_no_result_is_made_from_puts_nothing_out_of_date() -> None:
    state = with_marked_face(with_name(carried(), "other"), "outside")
    assert standing(state) == dict.fromkeys(NAMES, MADE) | LEFT_OUT


def test_numbers_set_by_hand_are_another_way_than_the_same_numbers_in_plain_words() -> None:
    plain = with_blank_choice(carried(), "top", Work())
    assert part_state(plain, "Blanks", "top") is MADE
    by_hand = with_blank_choice(carried(), "top", Work(), exact=True)
    assert part_state(by_hand, "Blanks", "top") is OUT_OF_DATE


def test_a_panel_that_does_not_let_it_says_what_was_asked_and_what_was_reached() -> None:
    state = carried_through(with_blank_choice(carried(), "top", Work(bias=-0.7)), "Blanks")
    blank: Blank = made(state, "Blanks", "top")
    assert blank.asked == Work(bias=-0.7)
    assert blank.is_eased
    assert blank.flat.converged
    assert -0.7 < blank.flat.work.bias <= 0.0
    assert not made(carried(), "Blanks", "top").is_eased


# ---- tasks


def test_next_tasks_are_those_whose_inputs_stand_up_to_the_step_asked_for() -> None:
    state = decided()
    seen: list[list[tuple[str, str]]] = []
    while tasks := next_tasks(state, "Seams"):
        seen.append([(task.step, task.part) for task in tasks])
        for task in tasks:
            entry = carried().results[task.step, task.part]
            state = with_result(state, task, entry.value)
    one_by_one = ("Scan", "Size", "Tidy", "Surface", "Seams")
    assert seen == [[(name, "")] for name in one_by_one]
    assert state_of(state, "Blanks") is TO_DO
    assert [task.part for task in next_tasks(state)] == list(panel_names(state))


def test_a_task_can_be_pickled_and_runs_to_the_same_result_elsewhere() -> None:
    task = task_for(carried(), "Blanks", "left")
    assert task is not None
    away: Task = pickle.loads(pickle.dumps(task))
    there: Blank = away.run()
    here: Blank = made(carried(), "Blanks", "left")
    np.testing.assert_array_equal(there.flat.flat_vertices, here.flat.flat_vertices)


def test_more_tapes_make_sizes_surer_and_the_cut_line_comes_closer() -> None:
    """Their scale error falls as 1 / sqrt of the sum of squared lengths."""
    state = with_tape(carried(), decided().size.tapes[0])
    state = carried_through(state, "Paper")
    assert part_state(state, "Sure", "top") is MADE
    before, after = (made(s, "Sure", "top").bands for s in (carried(), state))
    assert after.measuring_mm < before.measuring_mm
    assert after.model_mm == before.model_mm
    closer, wider = (
        sum(edge.grown_by_mm for edge in made(s, "Paper", "top").allowance_of_edge)
        for s in (state, carried())
    )
    assert closer < wider


def test_what_is_not_sure_comes_on_top_of_every_edge_and_is_said() -> None:
    sure: Sure = made(carried(), "Sure", "top")
    pattern: Pattern = made(carried(), "Paper", "top")
    grown = [edge.grown_by_mm for edge in pattern.allowance_of_edge]
    assert max(grown) == sure.most_growth_mm > 0.0
    assert [edge.cut_mm for edge in pattern.allowance_of_edge] == [12.7 + by for by in grown]
    assert pattern.trim_mm == 12.7 + min(grown)
    words = sure_words(sure)
    assert words.startswith("Size sure to \u00b1")
    assert "; depending on how you work it \u00b1" in words
    assert words.endswith("further out to cover both.")
    assert sure_words(sure, bare=["A", "F1"]).endswith("not along A and F1, cut to size.")
    assert sure.bands is not None
    still = replace(sure.bands.model, offsets=0.0 * sure.bands.model.offsets)
    stiff = replace(sure, bands=replace(sure.bands, model=still))
    assert "how you work it" not in sure_words(stiff)
    assert sure_words(stiff).endswith("further out to cover that.")


def test_an_edge_has_its_own_allowance_and_its_neighbours_the_usual_one() -> None:
    hem = EdgeChoice("top", "left rail|left", "hem", 8.0)
    none = EdgeChoice("top", "right rail|right", "none", 0.0)
    state = carried_through(with_edge(with_edge(carried(), hem), none), "Paper")
    cuts = {edge.key: edge for edge in made(state, "Paper", "top").allowance_of_edge}
    assert cuts[hem.edge].allowance == hem.allowance
    assert (cuts[none.edge].cut_mm, cuts[none.edge].grown_by_mm) == (0.0, 0.0)
    assert {cut.allowance.width_mm for key, cut in cuts.items() if key[0] == "F"} == {12.7}
    assert made(state, "Paper", "left") is made(carried(), "Paper", "left")
    assert idle_edges(state) == ()


def test_an_allowance_for_an_edge_that_is_gone_is_passed_over_and_told() -> None:
    gone = EdgeChoice("top", "old rail|left", "hem", 8.0)
    away = EdgeChoice("lid", "F1", "hem", 8.0)
    state = carried_through(with_edge(with_edge(carried(), gone), away), "Paper")
    assert {cut.allowance.kind for cut in made(state, "Paper", "top").allowance_of_edge} == {"trim"}
    assert idle_edges(state) == (gone, away)
    with pytest.raises(NoSuchPanelError, match="lid"):
        check_choices(state)


def test_freehand_leaves_an_inch_all_round() -> None:
    state = carried_through(with_forming(carried(), "freehand"), "Paper")
    pattern: Pattern = made(state, "Paper", "left")
    assert {edge.allowance.width_mm for edge in pattern.allowance_of_edge} == {25.4}


def test_a_known_sheet_is_bent_over_its_own_radius_and_another_over_none() -> None:
    thin = stock_of(MetalChoice(1.6, "3003-H14"))
    known = METALS["3003-H14"].bend_radius_at(1.6)
    assert thin == BendStock(1.6, None if known is None else known.value)
    assert stock_of(MetalChoice(1.6, "no such metal")) == BendStock(1.6, None)
    assert stock_of(MetalChoice(1.6, "5754", bend_radius_mm=2.4)) == BendStock(1.6, 2.4)


def test_another_bend_radius_makes_flanges_out_of_date_and_nothing_before_them() -> None:
    own = with_metal(carried(), replace(carried().metal, alloy="5754", bend_radius_mm=2.4))
    assert all_made(own, "Sure")
    assert not any(made(own, "Paper", name) for name in panel_names(own))


def test_what_makes_a_size_unsure_is_told_the_most_first() -> None:
    sure: Sure = made(carried(), "Sure", "left")
    assert sure.bands is not None
    words = reason_words(sure)
    assert words.startswith("Least sure by ")
    told = [float(found) for found in re.findall(r"\u00b1([0-9.]+)", words)]
    assert told == sorted(told, reverse=True)
    assert "where the scan's own edge lies" in words
    assert reason_words(Sure(None)) == ""


def test_a_blank_that_is_not_settled_is_sure_of_nothing() -> None:
    blank: Blank = made(carried(), "Blanks", "top")
    bad = replace(blank, flat=replace(blank.flat, converged=False))
    task = task_for(carried(), "Blanks", "top")
    assert task is not None
    state = carried_through(with_result(carried(), task, bad), "Sure")
    sure: Sure = made(state, "Sure", "top")
    assert sure.bands is None
    assert sure_words(sure) == ""
    assert (sure.growth, sure.most_growth_mm) == (None, 0.0)


def test_the_rim_is_exact_where_a_seam_was_cut_and_the_scans_own_elsewhere() -> None:
    """The scan's edge lies anywhere within half a spacing h: standard error h / sqrt(12)."""
    task = task_for(carried(), "Sure", "left")
    assert task is not None
    surface, panel, blank, spacing_mm, tapes_mm = task.inputs
    errors = errors_of_panel(
        surface.working, panel, blank.flat, spacing_mm=spacing_mm, tapes_mm=tapes_mm
    )
    on_seam = np.isin(blank.flat.rim, panel.seam_halves[0].vertices)
    assert 0 < on_seam.sum() < len(on_seam)
    np.testing.assert_array_equal(errors.rim_shift_mm, np.where(on_seam, 0.0, spacing_mm / 12**0.5))
    rim_mm = np.asarray(errors.rim_mm)
    assert not rim_mm[on_seam].any()
    assert (rim_mm[~on_seam] > 0.0).mean() > 0.9
    assert errors.scale == pytest.approx(0.5 / np.hypot(80.0, 80.0), rel=1e-6)


def test_a_task_is_not_to_be_had_before_what_it_hangs_on() -> None:
    assert [task_for(decided(), name) for name in NAMES[1:]] == [None] * (len(NAMES) - 1)
    assert task_for(carried(), "Blanks", "no such panel") is None


def test_a_result_that_comes_too_late_is_dropped() -> None:
    task = task_for(carried(), "Paper", "top")
    assert task is not None
    edited = with_trim(carried(), 6.0)
    value = made(carried(), "Paper", "top")
    assert with_result(edited, task, value) is edited
    assert with_failure(edited, task, RuntimeError()) is edited
    emptied = with_scan(carried(), dome_scan())
    assert with_result(emptied, task, value) is emptied


def test_a_failure_needs_the_shaper_and_is_not_tried_again_until_they_act() -> None:
    state = carried_through(decided(), "Scan")
    task = task_for(state, "Size")
    assert task is not None
    error = TapeOffError((), "mm", ())
    failed = with_failure(state, task, error)
    assert state_of(failed, "Size") is NEEDS_YOU
    assert failure(failed, "Size") is error
    assert made(failed, "Size") is latest(failed, "Size") is None
    assert next_tasks(failed) == ()
    edited = with_size(failed, SizeChoice("mm"))
    assert failure(edited, "Size") is None
    assert part_state(edited, "Size") is TO_DO
    assert [t.step for t in next_tasks(edited)] == ["Size"]


def test_a_cut_that_fails_leaves_the_earlier_panels_to_be_looked_at() -> None:
    moved = with_seams(carried(), (straight_seam("left rail", 18.0), decided().seams[1]))
    task = task_for(moved, "Seams")
    assert task is not None
    failed = with_failure(moved, task, RuntimeError("made to fail"))
    assert panel_names(failed) == panel_names(carried())
    assert latest(failed, "Seams") is made(carried(), "Seams")
    assert made(failed, "Seams") is None
    assert state_of(failed, "Seams") is NEEDS_YOU
    assert state_of(failed, "Blanks") is OUT_OF_DATE
    assert latest(failed, "Blanks", "top") is made(carried(), "Blanks", "top")
    assert paper_kind(failed, "top") is PaperKind.NOTHING
    twice = with_seams(failed, (straight_seam("left rail", 19.0), decided().seams[1]))
    other = task_for(twice, "Seams")
    assert other is not None
    assert latest(with_failure(twice, other, RuntimeError()), "Seams") is latest(failed, "Seams")
    assert part_state(twice, "Seams") is OUT_OF_DATE


def test_carried_through_raises_the_first_error_and_leaves_the_job_alone() -> None:
    state = with_size(
        carried(), SizeChoice("mm", (Tape(on_dome(-40.0, 0.0), on_dome(40.0, 0.0), 95.0),))
    )
    with pytest.raises(TapeOffError) as caught:
        carried_through(state, "Paper")
    assert caught.value.checks[0].off_mm == pytest.approx(80.0 - 95.0, abs=1e-4)  # float32 STL
    assert latest(state, "Size") is made(carried(), "Size")


def test_carried_through_tells_of_every_task_and_can_be_stopped() -> None:
    seen: list[tuple[str, str]] = []
    done: list[float] = []

    def watch(task: Task) -> Report:
        seen.append((task.step, task.part))
        done.clear()

        def report(part: float, stage: str) -> None:
            assert not done or part >= done[-1] - 1e-12
            done.append(part)
            if task.step == "Blanks":
                raise Cancelled

        return report

    state = with_seams(carried(), (decided().seams[0],))
    state = with_panel_names(state, ())
    with pytest.raises(Cancelled):
        carried_through(state, "Paper", watch)
    assert seen[:2] == [("Seams", ""), ("Blanks", "panel 1")]
    assert len(seen) == 2


# ---- what may leave


def test_without_proof_of_size_there_is_paper_and_nothing_to_cut() -> None:
    """Proof is two tapes in different directions; with one, or none, only paper leaves."""
    for tapes in ((), decided().size.tapes[:1]):
        state = carried_through(with_size(carried(), SizeChoice("mm", tapes)), "Paper")
        assert paper_kind(state, "top") is PaperKind.PAPER_ONLY
        assert "SIZE NOT TAPED" in why_no_cut(state, "top")
        assert "SIZE NOT TAPED" in line_of(state, "Size")
        assert state_of(state, "Size") is NEEDS_YOU
        assert made(state, "Blanks", "top") is made(carried(), "Blanks", "top")
    proved = carried_through(with_tape(state, decided().size.tapes[1]), "Paper")
    assert paper_kind(proved, "top") is PaperKind.ALL


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"overlap_area": 1.0}, "lies over itself"),
        ({"converged": False}, "did not settle"),
        ({"unsound": 7}, "too deep for one piece about the place ("),
    ],
)
def test_a_blank_that_is_not_sound_is_never_cut(change: dict[str, Any], told: str) -> None:
    blank: Blank = made(carried(), "Blanks", "top")
    if "unsound" in change:  # that face alone
        change = {"unsound": np.arange(len(blank.flat.faces)) == change["unsound"]}
    bad = replace(blank, flat=replace(blank.flat, **change))
    task = task_for(carried(), "Blanks", "top")
    assert task is not None
    state = carried_through(with_result(carried(), task, bad), "Paper")
    assert told in why_no_cut(state, "top")
    assert paper_kind(state, "top") is PaperKind.PAPER_ONLY
    assert paper_kind(state, "left") is PaperKind.ALL
    assert line_of(state, "Paper") == "paper only, not to be cut from"


def test_only_a_round_hole_of_20_mm_or_more_is_a_fittings_own() -> None:
    """Common practice, no source: smaller holes are a scanner's markers."""

    def hole(diameter_mm: float, is_round: bool) -> Opening:
        return Opening(
            np.zeros((3, 3)), np.zeros(3), np.array([0.0, 0.0, 1.0]), diameter_mm, 0.0, is_round
        )

    assert is_fitting(hole(20.0, True))
    assert not is_fitting(hole(19.9, True))
    assert not is_fitting(hole(60.0, False))


def test_running_a_task_without_a_report_is_silent(capsys: pytest.CaptureFixture[str]) -> None:
    task = task_for(carried(), "Size")
    assert task is not None
    assert task.run() == task.run(silent)
    assert capsys.readouterr() == ("", "")


def test_the_one_line_results_count_in_words() -> None:
    assert line_of(carried(), "Scan") == "1,536 triangles, 1 open edge"
    assert line_of(carried(), "Size") == "file is in millimetres; 2 tapes agree"
    assert line_of(carried(), "Seams") == "2 seams, 3 panels"
    assert line_of(carried(), "Blanks").startswith("3 blanks, 0.01 m2")
    names = panel_names(carried())
    area = sum(made(carried(), "Blanks", name).flat.blank_area for name in names)
    square_feet = float(line_of(carried(), "Blanks", "in").split()[2])
    assert square_feet == pytest.approx(area / 304.8**2, abs=0.05)  # a foot is 304.8 mm
    assert line_of(carried(), "Paper") == "ready to print and cut"
    one = with_panel_names(with_seams(carried(), decided().seams[:1]), ())
    assert line_of(carried_through(one, "Seams"), "Seams") == "1 seam, 2 panels"


def test_a_blank_over_itself_is_told_with_area_and_place() -> None:
    blank = SimpleNamespace(overlap_area=250.0, overlap_place=np.array([34.0, -78.0]))
    told = overlap_words(blank)
    assert "2.5 cm" in told
    assert "34 mm (1 5/16 in) to the right and 78 mm (3 1/16 in) down from" in told
    flat = SimpleNamespace(overlap_area=0.0, overlap_place=np.full(2, np.nan))
    assert not overlap_words(flat)
