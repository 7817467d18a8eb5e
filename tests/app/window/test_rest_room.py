"""The steps besides the panels: reached by their keys, begun, undone to the very job before."""

from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.job import (
    STEPS,
    CapacityChoice,
    Directions,
    JobState,
    made,
    with_directions,
    with_rest,
)
from app.window.rest import REST_STEPS
from tests.app.window.conftest import spin, spin_until
from tests.app.window.test_window import press

pytestmark = pytest.mark.window


@pytest.mark.parametrize("name", [row.name for row in REST_STEPS])
def test_a_step_is_reached_by_its_key_begun_and_undone_exactly(
    window: Any, made_shell: JobState, name: str
) -> None:
    stood = with_directions(made_shell, Directions((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)))
    window.document.open(stood, None)
    spin()
    press(window, next(row.key for row in REST_STEPS if row.name == name))
    assert window.foreman.step == name
    view = next(each for each in window.rest.views if each.step == name)
    before = window.document.state
    QTest.mouseClick(view.begin, Qt.MouseButton.LeftButton)
    assert getattr(window.document.state.rest, view.FIELD) is not None
    assert not view.begin.isVisible()
    spin(0.2)
    press(window, "Ctrl+Z")
    assert window.document.state is before
    assert view.begin.isVisible()


def test_their_rows_stand_in_the_order_of_the_table_of_steps() -> None:
    assert [row.name for row in REST_STEPS] == [row.name for row in STEPS if row.besides]
    assert [row.key for row in REST_STEPS] == [f"Alt+{at + 1}" for at in range(len(REST_STEPS))]


@pytest.mark.parametrize("name", ["Capacity", "Frame fit"])
def test_what_takes_up_the_tunnel_has_it_laid_out_first(
    window: Any, made_shell: JobState, name: str
) -> None:
    """The tunnel is decided and not made, as in a job just opened; nobody goes to its step."""
    stood = with_directions(made_shell, Directions((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)))
    views = {each.step: each for each in window.rest.views}
    decided = with_rest(
        stood,
        tunnel=views["Tunnel"].usual(stood),
        frame_fit=views["Frame fit"].usual(stood),
        capacity=CapacityChoice(closing="flat", laid_tunnel=True),
    )
    window.document.open(decided, None)
    results: list[tuple[bool, bool]] = []

    def note() -> None:
        state = window.document.state
        results.append((made(state, "Tunnel") is not None, made(state, name) is not None))

    window.document.changed.connect(note)
    window.foreman.choose_step(name)
    spin_until(lambda: made(window.document.state, name) is not None)
    assert (False, True) not in results
    assert (True, False) in results


def test_without_a_scan_nothing_is_begun_and_the_step_says_so(window: Any) -> None:
    for row in REST_STEPS:
        window.foreman.choose_step(row.name)
        spin(0.02)
        view = next(each for each in window.rest.views if each.step == row.name)
        assert not view.begin.isEnabled()
        assert "Open a scan" in view._ask.text()
        assert not any(button.isEnabled() for button in window.rest.side.buttons)


def test_the_keys_go_with_the_step_and_to_its_fields(window: Any, made_shell: JobState) -> None:
    window.document.open(made_shell, None)
    window.activateWindow()
    spin()
    window.steps._rows["Scan"].setFocus()
    QTest.keySequence(window.focusWidget(), "Alt+3")
    spin()
    assert window.steps._rows["Gauges"].hasFocus()
    QTest.keySequence(window.focusWidget(), "F7")
    view = next(each for each in window.rest.views if each.step == "Gauges")
    assert view.begin.hasFocus()
    QTest.keyClick(view.begin, Qt.Key.Key_Space)
    spin()
    QTest.keySequence(window.focusWidget(), "F7")
    assert view.form.fields["spacing_mm"].hasFocus()


def test_the_chosen_step_is_seen_whole_in_a_low_window(window: Any, made_shell: JobState) -> None:
    window.document.open(made_shell, None)
    window.resize(1280, 700)
    spin()
    for row in REST_STEPS:
        window.foreman.choose_step(row.name)
        spin(0.1)
        line, room = window.steps._rows[row.name], window.steps._room.viewport()
        top = line.mapTo(room, line.rect().topLeft()).y()
        assert top >= 0
        assert top + line.height() <= room.height()
