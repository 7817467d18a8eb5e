"""The job board over a folder, and the job card, by mouse and keys."""

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from app.job import (
    JobCard,
    JobState,
    Reading,
    next_step_words,
    panel_names,
    save_job,
    with_card,
    with_model,
    with_name,
    with_print,
    with_stage_state,
    with_trim,
)
from tests.app.window.conftest import spin
from tests.app.window.test_window import press, rest

pytestmark = pytest.mark.window


def board_folder(folder: Path, job: JobState) -> Path:
    """Return a folder of three jobs: one printed and changed since, one waiting, one broken."""
    printed = with_print(with_name(job, "first tank"), date(2026, 11, 20))
    save_job(with_trim(printed, 20.0), folder / "first.lowcrown")
    waiting = with_card(
        with_model(with_name(job, "second tank"), "225 scrambler"),
        with_stage_state(JobCard(), 0, "waiting", "metal"),
    )
    save_job(waiting, folder / "second.lowcrown")
    (folder / "third.lowcrown").write_bytes(b"not a job")
    return folder


def test_the_board_tells_every_job_and_what_is_wrong_with_a_file(
    window: Any, made_shell: JobState, tmp_path: Path
) -> None:
    window.board.show_folder(board_folder(tmp_path, made_shell))
    assert window.board.window_.isVisible()
    first, second, third = window.board.view.words()
    assert first[0] == "first tank"
    assert "rev 1 of 2026-11-20, changed since: print it again" in first[3]
    assert second[:3] == ["second tank", "225 scrambler", "take the order: waiting for metal"]
    assert second[3] == "not printed"
    assert third[0] == "third.lowcrown"
    assert "third.lowcrown" in third[2] or "job" in third[2]
    assert "Traceback" not in third[2]
    window.board.window_.close()


def test_a_job_is_opened_from_the_board_at_its_patterns_in_two_clicks(
    window: Any, made_shell: JobState, tmp_path: Path
) -> None:
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    window.keeper.settings = window.keeper.settings.with_recent_file(
        board_folder(tmp_path, made_shell) / "second.lowcrown"
    )
    window.react("board")  # the first click: its button
    shown = window.board.view.list
    spin(0.1)
    place = shown.visualItemRect(shown.topLevelItem(1)).center()
    for click in (QTest.mouseClick, QTest.mouseDClick):
        click(shown.viewport(), Qt.MouseButton.LeftButton, pos=place)
    assert not window.board.window_.isVisible()
    spin(0.5)
    rest(window)
    assert window.document.state.name == "second tank"
    assert window.foreman.step == "Paper"
    names = [sheaf.name for sheaf in window.page_keeper.sheaves]
    assert f"{panel_names(made_shell)[0]}.pdf" in names


def test_the_card_takes_stages_and_readings_and_is_undone(
    window: Any, made_shell: JobState
) -> None:
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    window.keeper.begin(made_shell, None, unsaved=False)
    press(window, "Ctrl+J")
    view = window.card.view
    assert window.card.window_.isVisible()
    name = panel_names(made_shell)[0]
    view.stages.item(1, 2).setText("the customer")
    state = window.document.state
    assert state.card.stages[1].state == "waiting"
    assert state.card.stages[1].waiting_for == "the customer"
    view._box(0).setCurrentText("done")
    view._box(0).activated.emit(0)
    assert next_step_words(window.document.state.card).endswith("waiting for the customer")
    view._anneal()
    view.place.setText("crown")
    view.reading.setText("1,42")
    view._add_thickness()
    QTest.keyClicks(view.more_hours, "2.5")
    QTest.keyClick(view.more_hours, Qt.Key.Key_Return)
    there = window.document.state.card.panel_card(name)
    assert (there.anneals, there.hours, there.thickness) == (1, 2.5, (Reading("crown", 1.42),))
    assert "crown: thick 1.42 mm" in view.readings.text()
    before = window.document.state
    view.stages.item(0, 0).setText("")
    assert window.document.state is before  # refused, in words
    assert "name" in view._wrong.text()
    for _ in range(5):
        window.document.undo()
    assert window.document.state is made_shell
    window.card.window_.close()


def test_nothing_entered_on_the_card_makes_patterns_out_of_date(made_shell: JobState) -> None:
    from app.job import all_made, paper_digest

    card = replace(JobCard(), note="waits for the cap")
    after = with_card(made_shell, card)
    assert all_made(after, "Paper")
    assert paper_digest(after) == paper_digest(made_shell)
