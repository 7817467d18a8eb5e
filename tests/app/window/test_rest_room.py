"""The steps besides the panels: reached by their keys, begun, undone to the very job before."""

from dataclasses import replace
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.job import (
    STEPS,
    CapacityChoice,
    Directions,
    FlangeChoice,
    FlangesChoice,
    GaugeChoice,
    JobState,
    SeatChoice,
    made,
    with_directions,
    with_rest,
)
from app.window.rest import REST_STEPS
from tests.app.window.conftest import at_step, spin, spin_until
from tests.app.window.test_window import click, on_shell, press

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
    """Also when its line comes later, as results do."""
    window.document.open(made_shell, None)
    window.resize(1280, 700)
    spin()
    for row in REST_STEPS:
        window.foreman.choose_step(row.name)
        spin(0.1)
        line, room = window.steps._rows[row.name], window.steps._room.viewport()
        line._line.setText("what came of it, " * 6)
        line._line.show()
        spin(0.1)
        top = line.mapTo(room, line.rect().topLeft()).y()
        assert top >= 0
        assert top + line.height() <= room.height()


def test_a_click_on_the_tank_chooses_the_row_drawn_there_and_its_page(
    window: Any, made_shell: JobState
) -> None:
    stood = with_directions(made_shell, Directions((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)))
    view = next(each for each in window.rest.views if each.step == "Gauges")
    decided = with_rest(stood, gauges=GaugeChoice(spacing_mm=40.0, only_stations=False))
    window.document.open(decided, None)
    window.foreman.choose_step("Gauges")
    spin_until(lambda: made(window.document.state, "Gauges") is not None)
    spin_until(lambda: window.rest.side.pages, 60.0)
    press(window, "5")
    spin(0.3)
    cut = made(window.document.state, "Gauges").cut
    for number in (1, 2):
        back = cut.stations[number].station.back_mm
        click(window, on_shell(80.0 - back, 5.0))
        assert window.foreman.desk.chosen == ("station", number)
        assert view.stations.currentRow() == number
        assert window.rest.side.box.currentText().startswith(f"station {number + 1:02d}")


def test_a_row_chosen_by_its_page_is_the_one_typed_into(window: Any) -> None:
    """Two flanges, none of them made: pages are named all the same."""
    runs = (FlangeChoice(width_mm=10.0), FlangeChoice(width_mm=20.0))
    window.document.open(with_rest(JobState(), flanges=FlangesChoice(runs)), None)
    window.foreman.choose_step("Flanges")
    spin()
    view = next(each for each in window.rest.views if each.step == "Flanges")
    window.rest.side.page_chosen.emit("flange 2 tally.pdf")
    assert view.runs.list.currentRow() == 1
    assert view.runs.form.fields["width_mm"].text() == "20 mm"
    view.runs.add.click()
    assert view.runs.list.currentRow() == 2
    assert window.foreman.desk.chosen == ("flange", 2)


def test_lists_are_as_high_as_their_rows_as_these_wrap(window: Any) -> None:
    view = next(each for each in window.rest.views if each.step == "Gauges")
    window.document.open(with_rest(JobState(), gauges=GaugeChoice()), None)
    window.foreman.choose_step("Gauges")
    for rows in (["short"], ["short", "one that is much too long to stand on a line " * 2]):
        view.stations.show_rows(rows, -1)
        spin(0.1)
        last = view.stations.visualItemRect(view.stations.item(len(rows) - 1))
        room = view.stations.viewport().height()
        assert room - 6 <= last.bottom() <= room
    assert last.height() > 30


def test_pages_of_a_step_that_is_not_made_are_not_said_to_be_under_way(
    window: Any, made_shell: JobState
) -> None:
    stood = with_directions(made_shell, Directions((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)))
    window.document.open(with_rest(stood, gauges=GaugeChoice(), seat=SeatChoice()), None)
    window.foreman.choose_step("Gauges")
    spin_until(lambda: window.rest.side.pages)
    window.foreman.choose_step("Seat face")  # the shell has no flat: it is never made
    spin()
    assert "being made" not in window.rest.pages.words


def test_a_long_refusal_is_short_in_the_list_and_whole_beside_it(
    window: Any, made_shell: JobState
) -> None:
    stood = with_directions(made_shell, Directions((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)))
    window.document.open(with_rest(stood, capacity=CapacityChoice()), None)
    window.foreman.choose_step("Capacity")
    view = next(each for each in window.rest.views if each.step == "Capacity")
    spin_until(lambda: "The tank is open" in view._ask.text())
    whole, short = view._ask.text(), window.steps.words("Capacity")
    assert len(whole) > 150 > len(short)
    assert short.endswith("\u2026")
    assert whole.startswith(short.removesuffix(" \u2026"))
    assert window.steps._rows["Capacity"]._line.toolTip() == whole


def test_gaps_to_a_tank_that_nobody_stood_up_say_so(window: Any, made_shell: JobState) -> None:
    view = next(each for each in window.rest.views if each.step == "Frame fit")
    window.document.open(with_rest(made_shell, frame_fit=view.usual(made_shell)), None)
    window.foreman.choose_step("Frame fit")
    spin_until(lambda: "Check full lock" in view.told_words)
    assert "Nobody said which way is front" in view.told_words


def test_the_keys_stay_in_the_step_as_it_is_begun_and_left_out(
    window: Any, made_shell: JobState
) -> None:
    """Not on the list of steps, where the row they fell on looked like the one chosen."""
    window.document.open(made_shell, None)
    window.activateWindow()
    for row in REST_STEPS:
        window.foreman.choose_step(row.name)
        spin(0.05)
        view = next(each for each in window.rest.views if each.step == row.name)
        for button in (view.begin, view.leave_out):
            button.setFocus()
            QTest.keyClick(button, Qt.Key.Key_Space)
            spin(0.02)
            assert not button.isVisible()
            assert view.isAncestorOf(window.focusWidget()), row.name


def test_the_last_row_taken_away_leaves_the_keys_with_the_list(window: Any) -> None:
    window.document.open(with_rest(JobState(), flanges=FlangesChoice((FlangeChoice(),))), None)
    window.activateWindow()
    window.foreman.choose_step("Flanges")
    spin()
    runs = next(each for each in window.rest.views if each.step == "Flanges").runs
    runs.list.setCurrentRow(0)
    spin(0.05)
    runs.remove.setFocus()
    QTest.keyClick(runs.remove, Qt.Key.Key_Space)
    spin(0.05)
    assert window.document.state.rest.flanges == FlangesChoice(())
    assert runs.add.hasFocus()


def test_a_step_that_was_begun_early_says_what_it_waits_for(
    window: Any, made_shell: JobState
) -> None:
    early = replace(made_shell, size=replace(made_shell.size, tapes=()), results={})
    view = at_step(window, with_rest(early, gauges=GaugeChoice()), "Gauges")
    spin_until(lambda: "Waits for Size: say the unit" in view._ask.text())
    window.document.edit(made_shell, "Size proved")
    window.document.edit(with_rest(made_shell, gauges=GaugeChoice()), "Gauges")
    assert "Waits for Size" not in view._ask.text()


def test_no_option_of_the_command_line_is_named_in_the_window(
    window: Any, made_shell: JobState
) -> None:
    view = at_step(window, with_rest(made_shell, gauges=GaugeChoice()), "Gauges")
    spin_until(lambda: "Nobody said which way" in view._ask.text())
    assert "say which way front and up are." in view._ask.text()
    assert "--" not in view._ask.text()
