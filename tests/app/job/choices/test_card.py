"""The job card: the maker's own order, what is next, and what is written down for a panel."""

from dataclasses import replace

import pytest

from app.job.choices.card import (
    USUAL_STAGES,
    BadCardEntryError,
    JobCard,
    PanelCard,
    Reading,
    Stage,
    next_step,
    next_step_words,
    with_anneal,
    with_gap,
    with_hours,
    with_panel_card,
    with_panel_card_renamed,
    with_stage_added,
    with_stage_moved,
    with_stage_renamed,
    with_stage_state,
    with_stages_named,
    with_thickness,
    without_panel_card,
    without_stage,
)

SHORT = JobCard(stages=(Stage("cut blanks"), Stage("tack"), Stage("weld")))


def names(card: JobCard) -> list[str]:
    return [stage.name for stage in card.stages]


def test_a_new_card_starts_with_the_trades_order_and_its_first_stage() -> None:
    assert names(JobCard()) == list(USUAL_STAGES)
    assert next_step_words(JobCard()) == USUAL_STAGES[0]


def test_the_next_step_is_what_is_being_done_else_the_first_not_done() -> None:
    card = with_stage_state(SHORT, 0, "done")
    assert next_step(card) == Stage("tack")
    waiting = with_stage_state(card, 1, "waiting", "argon")
    assert next_step_words(waiting) == "tack: waiting for argon"
    assert next_step_words(with_stage_state(waiting, 2, "doing")) == "weld: doing"


def test_when_all_is_done_there_is_no_next_step() -> None:
    card = SHORT
    for at in range(3):
        card = with_stage_state(card, at, "done")
    assert next_step(card) is None
    assert next_step_words(card) == "all done"


def test_two_opposite_orders_both_stand_and_keep_what_was_done() -> None:
    """Makers build the base first or last: the order is theirs."""
    done = with_stage_state(SHORT, 1, "done")
    turned = with_stages_named(done, ["weld", "tack", "base", "cut blanks"])
    assert names(turned) == ["weld", "tack", "base", "cut blanks"]
    assert turned.stages[1].state == "done"
    assert next_step(turned) == Stage("weld")


def test_stages_are_added_moved_renamed_and_taken_out() -> None:
    assert names(with_stage_added(SHORT, "file", 1)) == ["cut blanks", "file", "tack", "weld"]
    assert names(with_stage_added(SHORT, "file"))[-1] == "file"
    assert names(with_stage_moved(SHORT, 0, 2)) == ["tack", "weld", "cut blanks"]
    assert names(with_stage_moved(SHORT, 2, 0)) == ["weld", "cut blanks", "tack"]
    assert names(without_stage(SHORT, 1)) == ["cut blanks", "weld"]
    card = with_panel_card(SHORT, PanelCard("top", stage="tack"))
    renamed = with_stage_renamed(card, 1, "tack up")
    assert names(renamed)[1] == renamed.panel_card("top").stage == "tack up"


def test_an_edit_leaves_the_card_before_it_as_it_was() -> None:
    before = replace(SHORT)
    with_thickness(with_anneal(SHORT, "top"), "top", Reading("crown", 1.3))
    assert before == SHORT


def test_what_is_written_down_for_a_panel_adds_up() -> None:
    card = with_anneal(with_anneal(SHORT, "top"), "top")
    card = with_thickness(card, "top", Reading("crown", 1.31))
    card = with_gap(card, "top", Reading("seam A, mark 3", 0.4))
    card = with_hours(with_hours(with_hours(card, 2.5, "top"), 1.0, "top"), 0.5)
    top = card.panel_card("top")
    assert (top.anneals, top.hours, card.hours, card.all_hours) == (2, 3.5, 0.5, 4.0)
    assert top.thickness == (Reading("crown", 1.31),)
    assert top.gaps == (Reading("seam A, mark 3", 0.4),)
    assert card.panel_card("side") == PanelCard("side")


def test_a_panel_is_renamed_and_taken_off() -> None:
    card = with_anneal(with_anneal(SHORT, "top"), "side")
    renamed = with_panel_card_renamed(card, "top", "lid")
    assert [each.panel for each in renamed.panels] == ["lid", "side"]
    assert [each.panel for each in without_panel_card(card, "top").panels] == ["side"]


@pytest.mark.parametrize(
    ("make", "entry"),
    [
        (lambda: Stage("  "), "stage"),
        (lambda: Stage("tack", "perhaps"), "stage state"),  # type: ignore[arg-type]
        (lambda: Stage("tack", "done", "metal"), "waiting for"),
        (lambda: Reading("crown", -0.1), "reading at crown"),
        (lambda: Reading("", float("nan")), "reading at no place"),
        (lambda: PanelCard("top", anneals=-1), "anneals"),
        (lambda: PanelCard("top", anneals=1.5), "anneals"),  # type: ignore[arg-type]
        (lambda: PanelCard("top", hours=float("inf")), "hours"),
        (lambda: PanelCard("top", metal_mm2=-1.0), "metal used"),
        (lambda: with_hours(SHORT, -1.0), "hours"),
        (lambda: with_stage_added(SHORT, "tack"), "stage"),
        (lambda: JobCard(panels=(PanelCard("top"), PanelCard("top"))), "panel"),
    ],
)
def test_an_entry_no_card_can_hold_is_refused_and_named(make, entry: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(BadCardEntryError) as caught:
        make()
    assert caught.value.entry == entry
    assert caught.value.wanted
