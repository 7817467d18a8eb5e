"""The fields of the Paper step: papers, roll, printer check, and what is left along each edge."""

from dataclasses import replace
from typing import Any

import pytest

from app.exports import A3, A4, Correction, Output, checked_lengths
from app.job import EdgeChoice, JobState, made, panel_names, with_edge
from app.settings import Printer, load_settings
from app.window.steps import Desk
from tests.app.window.conftest import spin

pytestmark = pytest.mark.window


def typed(field: Any, words: str) -> None:
    """Type into a field and press Return, which leaves it too."""
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, words)
    QTest.keyClick(field, Qt.Key.Key_Return)
    spin(0.02)


def output_fields(app: object) -> tuple[Any, list[Output]]:
    from app.window.steps.output_fields import OutputFields

    asked: list[Output] = []
    fields = OutputFields()
    fields.output_requested.connect(asked.append)
    fields.show()
    fields.refresh(Output(), "mm")
    return fields, asked


def test_papers_and_roll_are_asked_for_as_chosen_and_typed(app: object) -> None:
    fields, asked = output_fields(app)
    fields.papers["A3"].click()
    assert asked[-1].papers == (A4, A3, *Output().papers[1:])
    fields.refresh(asked[-1], "mm")
    typed(fields.other, "500x700mm")
    assert [paper.size for paper in asked[-1].papers][-1] == (500.0, 700.0)
    fields.refresh(asked[-1], "mm")
    typed(fields.roll, "24in")
    assert asked[-1].roll_mm == pytest.approx(609.6)
    fields.refresh(asked[-1], "in")
    assert fields.other.text() == "500x700mm"


def test_a_paper_that_cannot_be_is_refused_in_words(app: object) -> None:
    fields, asked = output_fields(app)
    typed(fields.other, "100x100mm")
    assert asked == []
    assert "206 x 270 mm" in fields._wrong.text()
    typed(fields.other, "a2")
    assert not fields._wrong.isVisible()
    assert asked[-1].papers[-1].name == "A2"


def test_a_printer_is_put_right_by_what_its_bars_measure(app: object) -> None:
    """Measured 1 mm short of 190 and 0.5 mm long on 270: drawn out by 190/189 and 270/270.5."""
    from app.window.steps.printer_check import PrinterCheck

    fields, asked = PrinterCheck(), []
    fields.checked.connect(lambda name, found: asked.append((name, found)))
    fields.show()
    fields.refresh(Desk(output=Output((A4,))))
    assert checked_lengths(A4) == (190.0, 270.0)
    assert "190 mm" in fields.level.placeholderText()
    fields.take.click()
    assert "both bars" in fields.wrong.text()
    fields.printer.setCurrentText("shop printer")
    fields.level.setText("189")
    fields.upright.setText("10,6496 in")
    fields.take.click()
    name, found = asked[-1]
    assert name == "shop printer"
    assert found.x == pytest.approx(190.0 / 189.0)
    assert found.y == pytest.approx(270.0 / (10.6496 * 25.4))
    fields.level.setText("170")
    fields.upright.setText("270")
    fields.take.click()
    assert len(asked) == 1
    assert "fit the page" in fields.wrong.text()


def test_a_printer_checked_again_is_put_right_by_what_is_still_off(app: object) -> None:
    """A page drawn 1 in 100 longer whose bar then measures true stays at 1 in 100."""
    from app.window.steps.printer_check import PrinterCheck

    fields, asked = PrinterCheck(), []
    fields.checked.connect(lambda name, found: asked.append(found))
    fields.refresh(Desk(output=Output((A4,), correction=Correction(1.01, 1.0))))
    fields.level.setText("190")
    fields.upright.setText("270")
    fields.take.click()
    assert asked[-1].x == pytest.approx(1.01)
    assert asked[-1].y == pytest.approx(1.0)


def test_each_printer_keeps_its_own_correction(window: Any) -> None:
    before = window.keeper.settings
    window.foreman.check_printer("one", Correction(1.01, 1.0))
    window.foreman.check_printer("two", Correction(0.99, 1.0))
    assert window.foreman.desk.output.correction == Correction(0.99, 1.0)
    window.foreman.take_printer("one")
    assert window.foreman.desk.output.correction == Correction(1.01, 1.0)
    settings = load_settings()
    assert settings.printer == "one"
    assert settings.printers == (Printer("one", 1.01), Printer("two", 0.99))
    window.foreman.take_printer("")
    assert window.foreman.desk.output.correction.is_none
    window.keeper.keep_settings(before)


def test_an_edge_is_hemmed_by_its_fields_and_left_as_usual_again(
    app: object, made_shell: JobState
) -> None:
    from app.window.steps import PaperView

    name = panel_names(made_shell)[0]
    view = PaperView()
    asked: list[EdgeChoice] = []
    left: list[tuple[str, ...]] = []
    view.edges.edge_requested.connect(asked.append)
    view.edges.edge_left.connect(lambda *which: left.append(which))
    view.refresh(made_shell, Desk(panel=name))
    assert view.edges.isHidden()  # folded away until it is asked for
    view._edges_part.heading.click()
    assert not view.edges.isHidden()
    pattern = made(made_shell, "Paper", name)
    assert [line.key for line in view.edges.rows] == [
        (name, cut.key) for cut in pattern.allowance_of_edge
    ]
    line = next(each for each in view.edges.rows if "free" in each._title.text())
    line.kind.setCurrentIndex(line.kind.findData("hem"))
    line.kind.activated.emit(line.kind.currentIndex())
    hemmed = with_edge(made_shell, asked[-1])
    view.refresh(hemmed, Desk(panel=name))
    line.width_edit.setText("0.3 in")
    line.width_edit.take()
    edge = asked[-1]
    assert (edge.panel, edge.edge, edge.kind) == (*line.key, "hem")
    assert edge.width_mm == pytest.approx(7.62)
    view.refresh(with_edge(hemmed, edge), Desk(panel=name, show="in"))
    assert line.width_edit.text() == ".300 in"
    line.taken.emit(replace(edge, kind="trim", width_mm=made_shell.trim_mm))
    assert left == [line.key]  # the usual trim is no choice of its own
