"""Edits are pure, touch only what they say, and are undone by the earlier object itself."""

from collections.abc import Callable
from dataclasses import FrozenInstanceError, fields, replace

import pytest

from app.job import (
    BlankChoice,
    EdgeChoice,
    JobState,
    MetalChoice,
    PanelName,
    Price,
    SeamLine,
    SizeChoice,
    carried_through,
    made,
    with_anneal,
    with_blank_choice,
    with_card,
    with_directions,
    with_edge,
    with_forming,
    with_grain,
    with_marked_face,
    with_metal,
    with_model,
    with_name,
    with_panel_names,
    with_price,
    with_scan,
    with_seam,
    with_seam_replaced,
    with_seams,
    with_size,
    with_tape,
    with_trim,
    without_seam,
    without_tape,
)
from app.job.choices.state import Directions
from geometry.blank import Work
from tests.app.job.small_tank import (
    carried,
    decided,
    dome_scan,
    on_dome,
    proving_tapes,
    straight_seam,
    straight_tape,
)

Edit = Callable[[JobState], JobState]
MORE = straight_seam("middle rail", 0.0)
SHORT_TAPE = straight_tape(on_dome(0.0, 0.0), on_dome(20.0, 0.0))

EDITS: dict[str, tuple[Edit, set[str]]] = {
    "name": (lambda s: with_name(s, "other"), {"name"}),
    "size": (lambda s: with_size(s, SizeChoice("in")), {"size"}),
    "tape": (lambda s: with_tape(s, SHORT_TAPE), {"size"}),
    "no tape": (lambda s: without_tape(s, 0), {"size"}),
    "metal": (lambda s: with_metal(s, MetalChoice(2.0)), {"metal"}),
    "directions": (lambda s: with_directions(s, Directions()), {"directions"}),
    "seams": (lambda s: with_seams(s, (MORE,)), {"seams"}),
    "seam": (lambda s: with_seam(s, MORE), {"seams"}),
    "seam replaced": (lambda s: with_seam_replaced(s, 1, MORE), {"seams"}),
    "no seam": (lambda s: without_seam(s, 0), {"seams"}),
    "panel names": (lambda s: with_panel_names(s, ()), {"panel_names"}),
    "blank choice": (lambda s: with_blank_choice(s, "top", Work(bias=0.5)), {"blank_choices"}),
    "marked face": (lambda s: with_marked_face(s, "outside"), {"marked_face"}),
    "trim": (lambda s: with_trim(s, 6.0), {"trim_mm"}),
    "model": (lambda s: with_model(s, "225"), {"model"}),
    "forming": (lambda s: with_forming(s, "freehand"), {"forming", "trim_mm"}),
    "edge": (lambda s: with_edge(s, EdgeChoice("top", "F1")), {"edges"}),
    "grain": (lambda s: with_grain(s, "along"), {"grain"}),
    "card": (lambda s: with_card(s, with_anneal(s.card, "top")), {"card"}),
    "price": (lambda s: with_price(s, Price(7.0)), {"price"}),
}


@pytest.mark.parametrize("name", EDITS)
def test_an_edit_changes_what_it_says_and_shares_all_else(name: str) -> None:
    edit, touched = EDITS[name]
    before = carried()
    kept = {field.name: getattr(before, field.name) for field in fields(JobState)}
    after = edit(before)
    changed = {n for n, value in kept.items() if getattr(after, n) is not value}
    assert changed == touched
    assert all(getattr(after, n) != kept[n] for n in touched)
    assert all(getattr(before, n) is value for n, value in kept.items())


@pytest.mark.parametrize("name", EDITS)
def test_the_same_edit_twice_decides_the_same(name: str) -> None:
    edit, touched = EDITS[name]
    one, other = edit(carried()), edit(carried())
    assert all(getattr(one, n) == getattr(other, n) for n in touched)


def test_a_job_cannot_be_changed_in_place() -> None:
    state = carried()
    with pytest.raises(FrozenInstanceError):
        state.name = "other"  # type: ignore[misc]
    with pytest.raises(TypeError):
        state.results["Scan", ""] = None  # type: ignore[index]
    assert state.scan is not None
    with pytest.raises(ValueError, match="read-only"):
        state.scan.raw.vertices[0] = 0.0


def test_undo_is_the_earlier_job_itself_with_its_results() -> None:
    before = carried()
    history = [before]
    for edit, _ in EDITS.values():
        history.append(edit(history[-1]))
    assert history[0] is before
    assert made(history[0], "Paper", "top") is made(before, "Paper", "top") is not None


def test_an_edit_taken_back_by_hand_makes_the_old_results_current_again() -> None:
    before = carried()
    away = with_trim(before, 6.0)
    assert made(away, "Paper", "top") is None
    back = with_trim(away, before.trim_mm)
    assert made(back, "Paper", "top") is made(before, "Paper", "top") is not None
    without = without_seam(with_seam(before, MORE), 2)
    assert made(without, "Seams") is made(before, "Seams")


def test_another_scan_carries_over_the_shop_and_nothing_of_the_old_tank() -> None:
    before = with_trim(replace(with_grain(carried(), "along"), revision=2), 9.0)
    before = with_price(with_edge(with_model(before, "225"), EdgeChoice("top", "F1")), Price(7.0))
    after = with_scan(before, dome_scan())
    assert (after.forming, after.grain, after.price) == ("form", "along", Price(7.0))
    assert (after.name, after.metal, after.trim_mm) == (before.name, before.metal, 9.0)
    fresh = JobState()
    for name in (
        "size",
        "directions",
        "seams",
        "panel_names",
        "blank_choices",
        "revision",
        "model",
        "edges",
    ):
        assert getattr(after, name) == getattr(fresh, name)
    assert not after.results
    assert with_scan(before, dome_scan(), "next").name == "next"


def test_tapes_and_seams_are_taken_out_and_replaced_by_place() -> None:
    one, two = proving_tapes()
    state = with_tape(decided(), SHORT_TAPE)
    assert without_tape(state, 1).size.tapes == (one, SHORT_TAPE)
    assert without_tape(state, 2).size.tapes == (one, two)
    left, right = decided().seams
    assert without_seam(decided(), 0).seams == (right,)
    assert with_seam_replaced(decided(), 0, MORE).seams == (MORE, right)
    assert with_seam_replaced(decided(), 1, MORE).seams == (left, MORE)


def test_a_panel_has_one_choice_and_the_last_one_counts() -> None:
    state = with_blank_choice(decided(), "top", Work(bias=0.5))
    state = with_blank_choice(state, "left", Work(bias=-0.5))
    state = with_blank_choice(state, "top", Work(bias=0.25))
    assert state.blank_choices == (
        BlankChoice("left", Work(bias=-0.5)),
        BlankChoice("top", Work(bias=0.25)),
    )
    assert state.choice_for("top").work == Work(bias=0.25)
    assert state.choice_for("right").work is state.work


@pytest.mark.parametrize(
    ("metal", "inward_mm"),
    [
        (MetalChoice(1.6, face="outside"), 0.8),
        (MetalChoice(1.6, face="outside", paint_mm=0.3), 1.1),
        (MetalChoice(1.6, face="middle", paint_mm=0.3), 0.0),
    ],
)
def test_the_middle_of_the_metal_lies_half_the_sheet_and_the_paint_down(
    metal: MetalChoice, inward_mm: float
) -> None:
    """Inward = paint + thickness / 2 below a scanned outside; exact to float rounding."""
    assert metal.inward_mm == pytest.approx(inward_mm, abs=1e-15)


def test_seams_and_names_compare_by_value_scans_by_identity() -> None:
    assert SeamLine("a", ((0.0, 0.0, 0.0),)) == SeamLine("a", ((0.0, 0.0, 0.0),))
    assert PanelName("a", (0.0, 0.0, 0.0)) == PanelName("a", (0.0, 0.0, 0.0))
    assert JobState() != JobState()
    assert carried_through(JobState(), "Paper").results == {}
