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
    with_stages_named,
    with_trim,
)
from app.settings import load_settings
from tests.app.window.conftest import spin, spin_until
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
    spin_until(lambda: window.foreman.step == "Paper", 60.0)
    assert window.bench.is_busy
    assert "second tank are being made anew" in window.pages._words
    rest(window)
    assert window.board.words() == ""
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
    view.stages.table.item(1, 2).setText("the customer")
    state = window.document.state
    assert state.card.stages[1].state == "waiting"
    assert state.card.stages[1].waiting_for == "the customer"
    view.stages.box(0).setCurrentText("done")
    view.stages.box(0).activated.emit(0)
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
    view.stages.table.item(0, 0).setText("")
    assert window.document.state is before  # refused, in words
    assert "name" in view._wrong.text()
    for _ in range(5):
        window.document.undo()
    assert window.document.state is made_shell
    window.card.window_.close()


def card_of(window: Any) -> Any:
    """Open the card by its key and return what shows it, its window the one keys go to."""
    press(window, "Ctrl+J")
    window.card.window_.activateWindow()
    spin_until(window.card.window_.isActiveWindow, 10.0)
    return window.card.view


def named(window: Any) -> list[str]:
    """Return the stages on the job's card, in order."""
    return [stage.name for stage in window.document.state.card.stages]


def drag_row(table: Any, row: int, to: int) -> None:
    """Drag a row of the table by its number."""
    from PySide6.QtCore import QPoint, Qt
    from PySide6.QtTest import QTest

    down = table.verticalHeader()
    middles = [
        QPoint(down.width() // 2, down.sectionViewportPosition(at) + down.sectionSize(at) // 2)
        for at in (row, to)
    ]
    QTest.mousePress(down.viewport(), Qt.MouseButton.LeftButton, pos=middles[0])
    past = middles[1] + QPoint(0, 4 if to > row else -4)
    for step in range(1, 7):
        QTest.mouseMove(down.viewport(), middles[0] + (past - middles[0]) * step / 6)
        spin(0.01)
    QTest.mouseRelease(down.viewport(), Qt.MouseButton.LeftButton, pos=past)
    spin(0.02)


def test_the_stages_are_the_makers_own_list_by_mouse_and_keys(
    window: Any, made_shell: JobState
) -> None:
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    window.keeper.begin(made_shell, None, unsaved=False)
    stages = card_of(window).stages
    table, before = stages.table, named(window)
    table.setFocus()
    table.setCurrentCell(1, 0)
    QTest.keyClick(table, Qt.Key.Key_Insert)  # added below, and at once to be named
    editor = window.card.window_.focusWidget()
    QTest.keyClicks(editor, "pay the foundry")
    QTest.keyClick(editor, Qt.Key.Key_Return)
    spin(0.02)
    assert named(window) == [*before[:2], "pay the foundry", *before[2:]]
    QTest.keyClick(table, Qt.Key.Key_Up, Qt.KeyboardModifier.AltModifier)
    assert named(window)[:3] == [before[0], "pay the foundry", before[1]]
    QTest.keyClick(table, Qt.Key.Key_Space)
    assert window.document.state.card.stages[1].state == "doing"
    drag_row(table, 1, 4)
    assert named(window)[4] == "pay the foundry"
    assert window.document.state.card.stages[4].state == "doing"
    assert table.item(4, 0).text() == "pay the foundry"
    assert stages.box(4).currentText() == "doing"
    QTest.mouseClick(stages.buttons["Down"], Qt.MouseButton.LeftButton)
    assert named(window)[5] == "pay the foundry"
    QTest.keyClick(table, Qt.Key.Key_Delete)
    assert named(window) == before
    for _ in range(7):
        QTest.keySequence(window.card.window_, "Ctrl+Z")
    assert window.document.state is made_shell
    window.card.window_.close()


def test_two_stages_of_one_name_are_refused_in_words(window: Any, made_shell: JobState) -> None:
    window.keeper.begin(made_shell, None, unsaved=False)
    table = card_of(window).stages.table
    table.item(3, 0).setText(table.item(0, 0).text())
    assert window.document.state is made_shell
    assert "on the card once" in window.card.view._wrong.text()
    assert table.item(3, 0).text() == made_shell.card.stages[3].name
    window.card.window_.close()


def test_a_list_kept_is_what_new_jobs_start_with_and_a_stage_done_stays_done(
    window: Any, made_shell: JobState, shell_file: Path
) -> None:
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    mine = with_stages_named(JobCard(), ["base first", "scan", "sides"])
    window.keeper.begin(with_card(made_shell, mine), None, unsaved=False)
    buttons = card_of(window).stages.buttons
    try:
        QTest.mouseClick(buttons["Keep as my list"], Qt.MouseButton.LeftButton)
        assert load_settings().stages == ("base first", "scan", "sides")
        assert not buttons["Keep as my list"].isEnabled()
        window.keeper.open(shell_file)  # read anew: a job kept from another test has its own list
        rest(window)
        assert named(window) == ["base first", "scan", "sides"]
        usual = with_stages_named(JobCard(), ["scan", "cut blanks"])
        window.keeper.begin(
            with_card(made_shell, with_stage_state(usual, 0, "done")), None, unsaved=False
        )
        QTest.mouseClick(buttons["Take my list"], Qt.MouseButton.LeftButton)
        assert named(window) == ["base first", "scan", "sides"]
        assert [s.state for s in window.document.state.card.stages] == ["to do", "done", "to do"]
    finally:
        window.keeper.keep_settings(replace(window.keeper.settings, stages=()))
        window.card.window_.close()


def test_a_panel_has_come_to_a_stage_and_its_card_is_cleared_and_brought_back(
    window: Any, made_shell: JobState
) -> None:
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    window.keeper.begin(made_shell, None, unsaved=False)
    view, name = card_of(window), panel_names(made_shell)[0]
    assert not view.clear.isEnabled()
    view.stage.setFocus()
    for _ in range(9):
        QTest.keyClick(view.stage, Qt.Key.Key_Down)
    there = window.document.state.card.panel_card(name)
    assert there.stage == made_shell.card.stages[8].name
    before = window.document.state
    spin(0.02)
    QTest.mouseClick(view.clear, Qt.MouseButton.LeftButton)
    assert window.document.state.card.panels == ()
    assert view.stage.currentText() == "nobody said"
    QTest.keySequence(window.card.window_, "Ctrl+Z")
    assert window.document.state is before
    window.card.window_.close()


def test_nothing_entered_on_the_card_makes_patterns_out_of_date(made_shell: JobState) -> None:
    from app.job import all_made, paper_digest

    card = replace(JobCard(), note="waits for the cap")
    after = with_card(made_shell, card)
    assert all_made(after, "Paper")
    assert paper_digest(after) == paper_digest(made_shell)
