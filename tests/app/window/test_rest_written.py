"""What is besides the panels goes to a folder: with the patterns, and a step by itself."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtWidgets import QFileDialog, QMessageBox

from app.job import CapacityChoice, GaugeChoice, JobState, SeatChoice, made, with_rest
from tests.app.window.conftest import at_step, spin, spin_until, stood
from tests.app.window.test_window import press, rest

pytestmark = pytest.mark.window

GAUGES = GaugeChoice(spacing_mm=60.0, only_stations=True)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return the folder that is named wherever one is asked for."""
    chosen = tmp_path / "out"
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *asked: str(chosen))
    return chosen


def names_in(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def test_what_is_begun_is_made_and_written_with_the_patterns(
    window: Any, made_shell: JobState, folder: Path
) -> None:
    """Also from a step that makes none of it; what cannot be made is named."""
    begun = with_rest(stood(made_shell), gauges=GAUGES, seat=SeatChoice())
    window.document.open(begun, None)
    window.foreman.choose_step("Scan")
    rest(window)
    assert made(window.document.state, "Gauges") is None
    said: list[str] = []
    window.press.said.connect(said.append)
    press(window, "Ctrl+E")
    spin_until(lambda: window.press.written)
    assert any(name.startswith("station 01") for name in names_in(folder))
    assert "gauges" in json.loads((folder / "summary.json").read_text())
    assert said[-1].endswith("NOT among them, as not made: Seat face.")  # the shell has no flat
    assert names_in(folder) == set(window.press.written)


def test_a_step_is_written_by_itself_before_any_seam(
    window: Any, made_shell: JobState, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    alone = replace(stood(made_shell), seams=())
    view = at_step(window, with_rest(alone, gauges=GAUGES), "Gauges")
    assert not view.write_out.isVisible()
    spin_until(lambda: made(window.document.state, "Gauges") is not None)
    spin_until(lambda: window.rest.side.pages)
    assert view.write_out.isVisible()
    before = window.document.state
    press(window, "Ctrl+Shift+E")
    spin_until(folder.exists)
    rest(window)
    shown = {name for name, _ in window.rest.side.pages}
    assert shown <= names_in(folder)
    assert "gauges.json" in names_in(folder)
    assert [name for name in names_in(folder) if name.endswith(".dxf")]
    assert window.foreman.step == "Gauges"
    assert window.document.state.rest is before.rest
    asked: list[str] = []

    def refuse(*words: Any) -> QMessageBox.StandardButton:
        asked.append(words[2])
        return QMessageBox.StandardButton.No

    monkeypatch.setattr(QMessageBox, "question", refuse)
    (folder / "gauges.json").write_text("mine")
    view.write_out.click()
    spin()
    assert asked
    assert (folder / "gauges.json").read_text() == "mine"


def test_undo_and_redo_go_to_the_very_jobs_after_pages_left(
    window: Any, made_shell: JobState, folder: Path
) -> None:
    """But for the print: paper that left is not undone."""
    view = at_step(window, with_rest(stood(made_shell), gauges=GAUGES), "Gauges")
    spin_until(lambda: made(window.document.state, "Gauges") is not None)
    view.decide(GaugeChoice(spacing_mm=50.0, only_stations=True), "Closer")
    spin_until(lambda: made(window.document.state, "Gauges") is not None)
    view.write_out.click()
    spin_until(folder.exists)
    rest(window)
    left = window.document.state
    assert left.prints
    press(window, "Ctrl+Z")
    rest(window)
    assert window.document.state.rest.gauges is GAUGES
    assert window.document.state.prints == left.prints
    press(window, "Ctrl+Shift+Z")
    rest(window)
    assert window.document.state.rest.gauges is left.rest.gauges
    assert window.document.state.prints == left.prints
    assert made(window.document.state, "Gauges") is made(left, "Gauges")


def test_nothing_is_written_of_a_step_that_is_not_made(
    window: Any, made_shell: JobState, folder: Path
) -> None:
    view = at_step(window, with_rest(stood(made_shell), capacity=CapacityChoice()), "Capacity")
    spin_until(lambda: "The tank is open" in view._ask.text())
    assert not window.actions_["export_step"].isEnabled()
    assert not view.write_out.isVisible()
    window.press.write_step_with_dialog()
    rest(window)
    assert not folder.exists()
