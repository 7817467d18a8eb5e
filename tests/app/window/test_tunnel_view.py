"""The tunnel in the window: begun, typed into, over a tube, told and shown in the tank."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QFileDialog, QMessageBox

from app.job import (
    JobState,
    carried_through,
    made,
    task_for,
    with_directions,
    with_rest,
    with_result,
)
from app.job.choices.state import Directions
from app.window.rest import row_of
from app.window.steps import Desk, TunnelView
from geometry.metal import METALS, metal_from_facts
from geometry.tank import RoundBody, TunnelEnd, TunnelPlace, TunnelSpec
from tests.app.job.small_tank import decided
from tests.app.window.conftest import spin, spin_until

pytestmark = pytest.mark.window

TUBE = RoundBody("frame tube", (0.0, 0.0, 4.0), (90.0, 0.0, 4.0), 8.0)
SPEC = TunnelSpec(
    50.0,
    TunnelEnd(12.0, 12.0),
    TunnelEnd(12.0, 12.0),
    sheet_mm=0.8,
    place=TunnelPlace(20.0, fore_aft_mm=1.0, up_down_mm=1.0),
    tube=TUBE,
    run_out_mm=3.0,
)


def laid(spec: TunnelSpec) -> JobState:
    state = carried_through(decided(), "Surface")
    state = replace(state, directions=Directions((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)))
    state = carried_through(with_rest(state, tunnel=spec), "Stood")
    task = task_for(state, "Tunnel")
    assert task is not None
    return with_result(state, task, task.run())


@pytest.fixture(scope="module")
def state() -> JobState:
    return laid(SPEC)


def shown(window: Any, state: JobState) -> tuple[TunnelView, list[tuple[str, Any, str]]]:
    view = TunnelView()
    view.setParent(window)
    told: list[tuple[str, Any, str]] = []
    view.decided.connect(lambda field, spec, name: told.append((field, spec, name)))
    view.refresh(state, Desk())
    return view, told


def test_a_tunnel_is_begun_with_usual_sizes(window: Any) -> None:
    view, told = shown(window, decided())
    QTest.mouseClick(view.begin, Qt.MouseButton.LeftButton)
    field, spec, _ = told[-1]
    assert field == "tunnel"
    assert isinstance(spec, TunnelSpec)
    assert 300.0 < spec.length_mm < 450.0
    assert spec.front is not None


def test_what_is_typed_changes_one_value(window: Any, state: JobState) -> None:
    view, told = shown(window, state)
    edit: Any = view.form.fields["length_mm"]
    edit.setText("55 mm")
    QTest.keyClick(edit, Qt.Key.Key_Return)
    assert told[-1][1] == replace(SPEC, length_mm=55.0)
    high: Any = view.ends_form.fields["rear.height_mm"]
    high.setText("11")
    QTest.keyClick(high, Qt.Key.Key_Return)
    assert told[-1][1] == replace(SPEC, rear=TunnelEnd(11.0, 12.0))


def test_ends_follow_the_tube_when_asked_and_keep_what_came_when_not(
    window: Any, state: JobState
) -> None:
    view, told = shown(window, state)
    view.follows_tube.setChecked(True)
    spec = told[-1][1]
    assert (spec.front, spec.rear) == (None, None)
    follows = laid(
        replace(
            spec, room=replace(spec.room, left=replace(spec.room.left, over_mm=2.0, side_mm=1.0))
        )
    )
    view, told = shown(window, follows)
    assert not view.ends_form.isVisibleTo(view)
    view.follows_tube.setChecked(False)
    found = made(follows, "Tunnel").tunnel.spans[-1].ahead
    assert told[-1][1].front == found


def test_a_tube_a_step_a_bolt_and_a_height_are_added_and_taken_away(
    window: Any, state: JobState
) -> None:
    view, told = shown(window, state)
    QTest.mouseClick(view.others.add, Qt.MouseButton.LeftButton)
    assert told[-1][1].others[0].name == "bolt"
    QTest.mouseClick(view.steps.add, Qt.MouseButton.LeftButton)
    assert told[-1][1].steps[0].at_mm == pytest.approx(25.0)
    view.foot_said.setChecked(True)
    assert told[-1][1].place.foot_mm == pytest.approx(
        made(state, "Tunnel").tunnel.seat.foot_mm, abs=0.05
    )
    view.bend_said.setChecked(True)
    assert told[-1][1].bend_radius_mm == 0.8
    view.tube.has_tube.setChecked(False)
    assert told[-1][1].tube is None
    assert "after" in view.told_words


def test_its_own_sheet_is_chosen_and_its_least_radius_told(window: Any) -> None:
    """3003-H14 bends flat at 0.8 mm, 5052-H32 over its thickness at 1.6 mm, 5754 over 1.5 of it."""
    own = metal_from_facts({"alloy": "5754", "density": 2.67, "bend_radius": 1.5})
    desk = Desk(metals={**METALS, own.name: own})
    state = laid(replace(SPEC, top="three sided", sheet_mm=None))
    view, told = shown(window, state)
    view.refresh(state, desk)

    def now(spec: TunnelSpec) -> None:
        view.refresh(with_rest(state, tunnel=spec), desk)

    view.sheet.said.setChecked(True)
    assert told[-1][1].sheet_mm == 1.6
    now(told[-1][1])
    _choose(view.sheet.metal, "5052-H32")
    assert (told[-1][1].metal, told[-1][1].bend_ratio) == ("5052-H32", None)
    now(told[-1][1])
    assert "5052-H32 is bent cold over an inside radius of 1.6 mm" in view.sheet.least.text()
    _choose(view.sheet.metal, "5754")
    now(told[-1][1])
    thickness: Any = view.sheet.thickness.fields["sheet_mm"]
    thickness.setText("2 mm")
    QTest.keyClick(thickness, Qt.Key.Key_Return)
    assert (told[-1][1].sheet_mm, told[-1][1].bend_ratio) == (2.0, 1.5)
    now(told[-1][1])
    assert "3 mm" in view.sheet.least.text()
    view.bend_said.setChecked(True)
    assert told[-1][1].bend_radius_mm == 3.0
    view.sheet.said.setChecked(False)
    back = told[-1][1]
    assert (back.sheet_mm, back.metal, back.bend_ratio) == (None, None, None)


def _choose(box: Any, value: str) -> None:
    box.setCurrentIndex(box.findData(value))
    box.activated.emit(box.currentIndex())


def test_the_tank_shows_tunnel_tube_and_where_it_is_cut(window: Any, state: JobState) -> None:
    row = row_of("Tunnel")
    assert row is not None
    picture = row.picture(state, Desk())
    assert picture.see_through
    assert [body.words for body in picture.bodies] == ["", "frame tube"]
    laid_now = made(state, "Tunnel")
    size = made(state, "Size").mm_per_unit
    back = laid_now.axes.to_tank(np.asarray(picture.curves[0].points) * size)
    low = laid_now.tunnel.seat.foot_mm
    assert np.abs(back[:, 2] - low).max() < 1.0
    close = laid(replace(SPEC, tube=replace(TUBE, diameter_mm=11.0)))
    assert row.picture(close, Desk()).bodies[1].pitch > 0.0
    assert row.picture(JobState(), Desk()).bodies == ()


def test_a_tube_is_fitted_to_its_scan_shown_undone_and_typed_on(
    window: Any, made_shell: JobState, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The shell stands at z = 0: a tube scanned 6 mm up lies 6 mm up in the tank's axes too."""
    stood = with_directions(made_shell, Directions((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)))
    end = TunnelEnd(20.0, 20.0)
    begun = replace(SPEC, length_mm=100.0, front=end, rear=end, place=TunnelPlace(20.0), tube=None)
    window.document.open(with_rest(stood, tunnel=replace(begun, tube=TUBE)), None)
    window.foreman.choose_step("Tunnel")
    view = next(each for each in window.rest.views if each.step == "Tunnel")
    spin_until(lambda: made(window.document.state, "Tunnel") is not None)
    before = window.document.state
    path = _tube_file(tmp_path)
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *asked: (str(path), ""))
    QTest.mouseClick(view.tube.fit, Qt.MouseButton.LeftButton)
    spin_until(lambda: window.document.state.rest.tunnel.scanned_tube is not None)
    path.unlink()
    spin_until(lambda: "tube.stl" in view.told_words)
    laid_now = made(window.document.state, "Tunnel")
    assert laid_now.tunnel.spec.tube.start_mm[2] == pytest.approx(6.0, abs=0.1)
    assert not view.tube.form.isVisibleTo(view)
    assert "8 mm" in view.tube.source.text()
    QTest.mouseClick(view.tube.let_go, Qt.MouseButton.LeftButton)
    typed = window.document.state.rest.tunnel
    assert (typed.scanned_tube, typed.tube) == (None, laid_now.tunnel.spec.tube)
    window.document.undo()
    window.document.undo()
    assert window.document.state is before


def test_a_scan_that_is_no_tube_or_is_gone_is_told_and_changes_nothing(
    window: Any, made_shell: JobState, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    box = tmp_path / "box.stl"
    trimesh.creation.box((40.0, 30.0, 20.0)).subdivide().subdivide().export(box)
    window.document.open(with_rest(made_shell, tunnel=SPEC), None)
    before = window.document.state.rest
    told: list[str] = []
    monkeypatch.setattr(QMessageBox, "warning", lambda *asked: told.append(asked[2]))
    for path, words in ((box, "tube"), (tmp_path / "gone.stl", "gone.stl")):
        told.clear()
        window.rest.files.fit_tube(path)
        spin_until(lambda: told)
        assert words in told[0]
    assert window.document.state.rest == before


def _tube_file(folder: Path) -> Path:
    """Write a round tube of 8 mm along x, 6 mm up, open at its ends."""
    tube = trimesh.creation.cylinder(radius=4.0, height=180.0, sections=96)
    tube.vertices = tube.vertices[:, [2, 1, 0]] * [1.0, 1.0, -1.0] + [0.0, 0.0, 6.0]
    path = folder / "tube.stl"
    tube.submesh([np.abs(tube.face_normals[:, 0]) < 0.5], append=True).export(path)
    return path


def test_in_the_window_it_is_begun_made_changed_and_taken_back(
    window: Any, made_shell: JobState
) -> None:
    """The shell is 160 long and 60 high: a usual tunnel fits it; undo puts the earlier job back."""
    stood = with_directions(made_shell, Directions((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)))
    window.document.open(stood, None)
    window.foreman.choose_step("Tunnel")
    spin()
    view = next(each for each in window.rest.views if each.step == "Tunnel")
    before = window.document.state
    QTest.mouseClick(view.begin, Qt.MouseButton.LeftButton)
    begun = window.document.state
    assert begun.rest.tunnel is not None
    spin_until(lambda: made(window.document.state, "Tunnel") is not None)
    spin_until(lambda: "Half round" in view.told_words)
    window.rest.decide("tunnel", replace(begun.rest.tunnel, top="three sided"), "Top")
    spin_until(lambda: "three sided" in view.told_words.lower())
    window.document.undo()
    assert window.document.state.rest == begun.rest
    assert made(window.document.state, "Tunnel") is not None
    window.document.undo()
    assert window.document.state.rest == before.rest
