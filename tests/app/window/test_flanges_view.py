"""Flanges in the window: begun, changed, run along a seam, left on a blank, undone, left out."""

from dataclasses import replace
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.job import (
    FlangeChoice,
    Flanges,
    FlangesChoice,
    JobState,
    made,
)
from app.window.rest.flanges_picture import flanges_picture
from app.window.steps import FlangesView
from geometry.metal import METALS
from tests.app.window.conftest import at_step, spin, spin_until, stood, typed

pytestmark = pytest.mark.window


def found(window: Any) -> Flanges | None:
    return made(window.document.state, "Flanges")  # type: ignore[no-any-return]


def test_flanges_are_begun_changed_left_on_a_blank_undone_and_left_out(
    window: Any, made_shell: JobState
) -> None:
    view = at_step(window, stood(made_shell), "Flanges")
    assert isinstance(view, FlangesView)
    before = window.document.state
    QTest.mouseClick(view.begin, Qt.MouseButton.LeftButton)
    assert window.document.state.rest.flanges == FlangesChoice()
    spin_until(lambda: found(window) is not None)
    spin_until(lambda: "from the outside of the bend" in view.told_words)

    typed(view.runs.form.fields["width_mm"], "8 mm")
    assert window.document.state.rest.flanges.runs == (FlangeChoice(width_mm=8.0),)
    QTest.mouseClick(view.runs.add, Qt.MouseButton.LeftButton)
    assert len(window.document.state.rest.flanges.runs) == 2
    view.runs.list.setCurrentRow(1)
    spin(0.1)
    view.edge.setCurrentIndex(view.edge.findData("middle"))
    view.edge.activated.emit(view.edge.currentIndex())
    assert window.document.state.rest.flanges.runs[1].edge == "middle"
    typed(view.runs.form.fields["width_mm"], "6 mm")
    assert window.document.state.rest.flanges.runs[1].width_mm == 6.0
    spin_until(lambda: found(window) is not None)
    assert [each.words for each in made(window.document.state, "Flanges").made] == [
        "the open edge",
        "seam middle",
    ]
    picture = flanges_picture(window.document.state, window.foreman.desk)
    laid = found(window)
    assert laid is not None
    stations = sum(len(each.run.stations) for each in laid.made)
    assert len(picture.curves) == 2 + 2 * stations  # a flange and its number at each

    spin_until(view.on_blanks.isEnabled)
    QTest.mouseClick(view.on_blanks, Qt.MouseButton.LeftButton)
    (edge,) = window.document.state.edges
    assert (edge.kind, edge.width_mm, edge.edge.split("|")[0]) == ("flange", 6.0, "middle")
    spin_until(lambda: window.rest.side.pages, 60.0)
    assert view.page_of("flange", 1) == "flange 2 tally.pdf"
    assert view.row_of("flange 2 tally.pdf") == ("flange", 1)
    assert view.row_of("flanges.pdf") == ("", -1)

    while window.document.state is not before:
        window.document.undo()
    assert found(window) is None
    window.document.redo()
    QTest.mouseClick(view.leave_out, Qt.MouseButton.LeftButton)
    assert window.document.state.rest.flanges is None


def test_a_flange_too_wide_is_told_and_nothing_is_lost(window: Any, made_shell: JobState) -> None:
    view = at_step(window, stood(made_shell), "Flanges")
    assert isinstance(view, FlangesView)
    QTest.mouseClick(view.begin, Qt.MouseButton.LeftButton)
    typed(view.runs.form.fields["width_mm"], "90 mm")
    spin_until(lambda: "does not fit the curve" in view._ask.text())
    assert found(window) is None
    assert window.document.state.rest.flanges.runs[0].width_mm == 90.0
    typed(view.runs.form.fields["width_mm"], "9 mm")
    spin_until(lambda: found(window) is not None)


def test_a_metal_of_the_makers_own_is_told_by_its_own_figures(
    window: Any, made_shell: JobState
) -> None:
    view = at_step(window, stood(made_shell), "Flanges")
    assert isinstance(view, FlangesView)
    QTest.mouseClick(view.begin, Qt.MouseButton.LeftButton)
    spin_until(lambda: found(window) is not None)
    state, desk = window.document.state, window.foreman.desk
    own = replace(METALS["3003-H14"], alloy="sheet of mine", temper="")
    named = replace(state, metal=replace(state.metal, alloy=own.name))
    told = " ".join(view.told(named, replace(desk, metals={own.name: own})))
    assert "sheet of mine, 1.6 mm: a tensile test must show" in told
    assert "No figure is known" in " ".join(view.told(named, replace(desk, metals=METALS)))
