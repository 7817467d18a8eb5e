"""A name changes no metal: everything made stands, under the new name, as if cut with it."""

import numpy as np
import pytest

from app.job import (
    JobState,
    carried_through,
    made,
    next_tasks,
    panel_names,
    why_no_cut,
    with_blank_choice,
    with_panel_names,
    with_panel_renamed,
    with_seam_renamed,
    with_seams,
)
from geometry.blank import Work
from tests.app.job.small_tank import carried, decided


def test_everything_made_stands_under_the_new_name() -> None:
    before = carried()
    state = with_panel_renamed(before, "top", "lid")
    assert set(panel_names(state)) == {"left", "lid", "right"}
    assert next_tasks(state, "Thickness") == ()
    for name in ("Sure", "Thickness"):
        assert made(state, name, "lid") is made(before, name, "top")
    assert made(state, "Blanks", "lid").flat is made(before, "Blanks", "top").flat
    assert made(state, "Blanks", "lid").panel == "lid"
    assert made(state, "Blanks", "top") is None
    assert made(state, "Blanks", "left").flat is made(before, "Blanks", "left").flat
    assert why_no_cut(state, "lid") == ""
    assert panel_names(before) == ("left", "top", "right")  # the job before is untouched


def test_it_is_what_cutting_with_that_name_gives() -> None:
    state = with_panel_renamed(carried(), "top", "lid")
    fresh = carried_through(with_panel_names(decided(), state.panel_names), "Paper")
    assert panel_names(fresh) == panel_names(state)
    for one, other in zip(made(state, "Seams").panels, made(fresh, "Seams").panels, strict=True):
        assert one.name == other.name
        np.testing.assert_array_equal(one.mesh.vertices, other.mesh.vertices)
        assert [h.other for h in one.seam_halves] == [h.other for h in other.seam_halves]
    for name in panel_names(state):
        one, other = (made(each, "Paper", name) for each in (state, fresh))
        told = [[(e.letter, e.other, e.flat_mm) for e in each.edges] for each in (one, other)]
        assert told[0] == told[1]


def test_how_it_will_be_made_goes_along() -> None:
    state = with_panel_renamed(with_blank_choice(carried(), "top", Work(bias=0.5)), "top", "lid")
    assert state.choice_for("lid").work.bias == 0.5
    assert state.choice_for("left").work.bias == 0.0
    assert made(state, "Blanks", "lid") is None  # it was out of date before


def test_naming_one_of_several_numbered_panels_gives_no_other_a_new_number() -> None:
    state = carried_through(with_panel_names(carried(), ()), "Blanks")
    assert panel_names(state) == ("panel 1", "panel 2", "panel 3")
    named = with_panel_renamed(state, "panel 1", "lid")
    assert panel_names(named) == ("lid", "panel 2", "panel 3")
    for name in ("panel 2", "panel 3"):
        assert made(named, "Blanks", name).flat is made(state, "Blanks", name).flat
    assert [name.name for name in named.panel_names] == ["lid", "panel 2", "panel 3"]


@pytest.mark.parametrize(("old", "new"), [("top", "left"), ("no such", "lid")])
def test_a_name_taken_or_a_panel_that_is_not_there_changes_nothing(old: str, new: str) -> None:
    assert with_panel_renamed(carried(), old, new) is carried()


def test_before_the_panels_are_cut_nothing_is_renamed() -> None:
    moved = with_seams(carried(), decided().seams[:1])
    assert with_panel_renamed(moved, "top", "lid") is moved
    empty = JobState()
    assert with_panel_renamed(empty, "top", "lid") is empty


def test_a_seam_renamed_is_what_cutting_with_that_name_gives_and_nothing_is_made_anew() -> None:
    before = carried()
    state = with_seam_renamed(before, 0, "port rail")
    assert [seam.name for seam in state.seams] == ["port rail", "right rail"]
    assert next_tasks(state, "Thickness") == ()
    fresh = carried_through(with_seams(before, state.seams), "Paper")
    for each in (state, fresh):
        cut = made(each, "Seams")
        assert [path.name for path in cut.cut.seam_paths] == ["port rail", "right rail"]
        edges = made(each, "Paper", "top").edges
        assert {edge.seam for edge in edges if edge.other == "left"} == {"port rail"}
    letters = [[e.letter for e in made(each, "Paper", "top").edges] for each in (state, fresh)]
    assert letters[0] == letters[1]
    for name in ("left", "top", "right"):
        assert made(state, "Blanks", name) is not None
        assert made(state, "Sure", name) is made(before, "Sure", name)


def test_a_seam_that_is_not_there_and_a_name_taken_change_nothing() -> None:
    assert with_seam_renamed(carried(), 2, "x") is carried()
    assert with_seam_renamed(carried(), 0, "right rail") is carried()
    assert with_seam_renamed(decided(), 1, "x").seams[1].name == "x"
