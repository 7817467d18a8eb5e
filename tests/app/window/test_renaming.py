"""Naming a panel in the window: nothing is cut or laid flat anew, and undo is exact."""

import pytest

from app.job import made, next_tasks, panel_names
from tests.app.window.conftest import spin
from tests.app.window.test_window import laid_flat, press, rest

pytestmark = pytest.mark.window


def test_a_panel_named_after_it_was_laid_flat_stays_laid_flat(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    name = laid_flat(window, shell_file)
    before = window.document.state
    flat = made(before, "Blanks", name).flat
    press(window, "Ctrl+7")
    window.foreman.choose_panel(name)
    spin(0.1)
    edit = window.views["Seams"]._panel_name
    edit.setFocus()
    edit.selectAll()
    QTest.keyClicks(edit, "left cheek")
    QTest.keyClick(edit, Qt.Key.Key_Return)
    spin(0.2)
    state = window.document.state
    assert "left cheek" in panel_names(state)
    assert window.foreman.desk.panel == "left cheek"
    assert made(state, "Blanks", "left cheek").flat is flat
    assert next_tasks(state, "Seams") == ()
    press(window, "Ctrl+8")
    rest(window)
    assert "at the crown" in window.views["Blanks"]._answer.text()
    assert "Out of date" not in window.views["Blanks"]._warning.text()
    press(window, "Ctrl+Z")
    assert window.document.state is before


def test_what_was_read_out_under_its_old_name_goes_when_a_panel_is_named(  # type: ignore[no-untyped-def]
    window, shell_file
) -> None:
    from PySide6.QtCore import QPointF

    name = laid_flat(window, shell_file)
    spot = window.sheet.spot_at(QPointF(window.sheet.rect().center()) + QPointF(0.0, 20.0))
    window.sheet.pointed.emit(spot)
    assert name in window._middle.readout.text()
    window.foreman.rename_panel(name, "left cheek")
    spin(0.1)
    assert name not in window._middle.readout.text()
    window.sheet.pointed.emit(
        window.sheet.spot_at(QPointF(window.sheet.rect().center()) + QPointF(0.0, 20.0))
    )
    assert "left cheek" in window._middle.readout.text()


def test_a_panel_named_while_it_is_laid_flat_is_laid_flat_under_its_new_name(  # type: ignore[no-untyped-def]
    window, shell_file
) -> None:
    from tests.app.window.test_window import opened, with_middle_seam

    opened(window, shell_file)
    with_middle_seam(window)
    name = panel_names(window.document.state)[0]
    window.foreman.choose_panel(name)
    window.foreman.flatten()
    window.foreman.rename_panel(name, "left cheek")
    rest(window)
    state = window.document.state
    for step in ("Blanks", "Sure", "Paper", "Thickness"):
        assert made(state, step, "left cheek") is not None
