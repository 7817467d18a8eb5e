"""Lines to type a value into: what is shown, typed, taken, refused, put back."""

from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.window.steps import AngleEdit, CountEdit, LengthEdit
from tests.app.window.conftest import spin

pytestmark = pytest.mark.window


@pytest.fixture
def line(window: Any) -> tuple[LengthEdit, list[float]]:
    edit, taken = LengthEdit(1.0), list[float]()
    edit.setParent(window)
    edit.taken.connect(taken.append)
    edit.setToolTip("Measure it")
    edit.show_length(40.0, "mm")
    edit.show()
    window.activateWindow()
    edit.setFocus()
    spin(0.05)
    return edit, taken


def test_what_is_being_typed_is_left_alone_and_shown_anew_once_taken(line: Any) -> None:
    edit, taken = line
    edit.selectAll()
    QTest.keyClicks(edit, "5")
    edit.show_length(41.0, "mm")
    assert edit.text() == "5"
    QTest.keyClick(edit, Qt.Key.Key_Return)
    assert taken == [5.0]
    edit.show_length(5.0, "mm")
    assert edit.text() == "5 mm"
    edit.show_length(40.0, "mm")  # undone, while the keys are still here
    assert edit.text() == "40 mm"


def test_escape_puts_back_what_was_shown(line: Any) -> None:
    edit, taken = line
    QTest.keyClicks(edit, "7")
    QTest.keyClick(edit, Qt.Key.Key_Escape)
    assert edit.text() == "40 mm"
    QTest.keyClick(edit, Qt.Key.Key_Return)
    assert taken == []


def test_a_tip_stands_again_once_nothing_is_wrong(line: Any) -> None:
    edit, taken = line
    edit.selectAll()
    QTest.keyClicks(edit, "0.2")
    QTest.keyClick(edit, Qt.Key.Key_Return)
    assert edit.toolTip() == "This is too small."
    assert edit.property("wrong") is True
    edit.selectAll()
    QTest.keyClicks(edit, "2")
    QTest.keyClick(edit, Qt.Key.Key_Return)
    assert (edit.toolTip(), edit.property("wrong"), taken) == ("Measure it", False, [2.0])


def test_a_length_that_may_be_left_out_is_emptied(line: Any) -> None:
    edit, taken = line
    emptied: list[bool] = []
    edit.emptied.connect(lambda: emptied.append(True))
    edit.clear()
    QTest.keyClick(edit, Qt.Key.Key_Return)
    assert (emptied, edit.property("wrong")) == ([], True)
    edit.may_be_empty = True
    QTest.keyClick(edit, Qt.Key.Key_Return)
    assert (emptied, taken, edit.property("wrong")) == ([True], [], False)


def test_an_angle_shown_rounded_is_not_read_back(window: Any) -> None:
    edit, taken = AngleEdit(), list[float]()
    edit.setParent(window)
    edit.taken.connect(taken.append)
    edit.show_angle(0.123456)
    edit.take()
    assert taken == []


@pytest.mark.parametrize(
    ("words", "number"), [("12", 12), ("1", None), ("x", None), ("1000", None)]
)
def test_a_count_is_a_whole_number_within_its_limits(
    window: Any, words: str, number: int | None
) -> None:
    edit, taken = CountEdit(2), list[int]()
    edit.setParent(window)
    edit.taken.connect(taken.append)
    edit.show_text("5")
    edit.setText(words)
    edit.take()
    assert taken == ([] if number is None else [number])
    assert bool(edit.property("wrong")) is (number is None)
