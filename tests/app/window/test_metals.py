"""Choosing a metal, adding one, and what the panel asks of it, driven in the window."""

from pathlib import Path

import pytest

from app.job import made, own_metals_file, panel_names
from app.window.metal_form import MetalForm
from geometry.metal import METALS
from tests.app.window.conftest import spin
from tests.app.window.test_window import laid_flat, press, rest

pytestmark = pytest.mark.window


@pytest.fixture(autouse=True)
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Give each test a settings folder of its own."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "settings"))


def test_a_metal_is_chosen_by_name_and_the_guide_follows_without_laying_flat_again(  # type: ignore[no-untyped-def]
    window, shell_file
) -> None:
    name = laid_flat(window, shell_file)
    view = window.views["Blanks"]
    assert view._guide.text().startswith("3003-H14 as bought stretches about 5 in every 100")
    blank = made(window.document.state, "Blanks", name)
    offered = [view._alloy.itemText(at) for at in range(view._alloy.count())]
    assert offered == [*METALS, "Add a metal of your own..."]
    view._alloy.setCurrentText("5052-H32")
    view._alloy.activated.emit(view._alloy.currentIndex())
    spin(0.1)
    assert window.document.state.metal.alloy == "5052-H32"
    assert view._guide.text().startswith("5052-H32 as bought stretches about 7 in every 100")
    assert "from memory, not checked" in view._worked_out._facts.text()
    assert made(window.document.state, "Blanks", name) is blank
    press(window, "Ctrl+Z")
    assert view._alloy.currentText() == "3003-H14"
    assert view._guide.text().startswith("3003-H14")


def test_how_thick_it_ends_made_three_ways_comes_after_the_pattern(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    name = laid_flat(window, shell_file)
    assert name in panel_names(window.document.state)
    told = window.views["Blanks"]._worked_out._facts.text()
    assert "made three ways:" in told
    assert "Blank of the skin's own area: 1.6 mm (.063 in)" in told


def test_a_metal_of_ones_own_is_typed_kept_and_taken(window, shell_file, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    laid_flat(window, shell_file)

    def typed(form: MetalForm) -> bool:
        for fact, words in (("alloy", "5754"), ("density", "2,67"), ("elongation", "about 8")):
            form.fields[fact].setText(words)
        form.accept()
        assert not form.result()
        assert "elongation is 'about 8'" in form._wrong.text()
        form.fields["elongation"].setText("8,5")
        form.fields["bend_radius"].setText("1.5")
        form.accept()
        return bool(form.result())

    monkeypatch.setattr(MetalForm, "exec", typed)
    view = window.views["Blanks"]
    view._alloy.activated.emit(view._alloy.count() - 1)
    spin(0.1)
    assert window.document.state.metal.alloy == "5754"
    assert view._alloy.currentText() == "5754"
    assert window.document.state.metal.bend_radius_mm == pytest.approx(1.5 * 1.6)
    window.foreman.set_metal(("thickness_mm", 2.0))
    assert window.document.state.metal.bend_radius_mm == pytest.approx(3.0)
    press(window, "Ctrl+Z")
    assert "5754 as bought stretches about 8.5 in every 100" in view._guide.text()
    assert own_metals_file().exists()


def test_a_metal_nobody_knows_is_said_to_be_unknown(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    laid_flat(window, shell_file)
    window.foreman.set_metal(("alloy", "mystery"))
    rest(window)
    view = window.views["Blanks"]
    assert view._alloy.currentText() == "mystery"
    assert "no guide to annealing" in view._guide.text()


def test_a_damaged_file_of_metals_is_told_about_and_the_window_opens(app) -> None:  # type: ignore[no-untyped-def]
    from app.window.main_window import MainWindow

    own_metals_file().parent.mkdir(parents=True)
    own_metals_file().write_text("{")
    window = MainWindow()
    assert dict(window.foreman.desk.metals) == dict(METALS)
    assert "metals.json" in window.bottom._words.text()
    window.close()
    spin()


def test_a_length_shown_in_inches_is_not_read_again_rounded(window, shell_file) -> None:  # type: ignore[no-untyped-def]
    """1.6 mm is shown as .063 in, which is 1.6002 mm: leaving the field must change nothing."""
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    name = laid_flat(window, shell_file)
    window.foreman.show_inches(True)
    spin(0.1)
    before = window.document.state
    edit = window.views["Blanks"]._thickness
    assert edit.text() == ".063 in"
    edit.setFocus()
    QTest.keyClick(edit, Qt.Key.Key_Return)
    window.tank.setFocus()
    spin(0.1)
    assert window.document.state is before
    edit.setFocus()
    edit.selectAll()
    QTest.keyClicks(edit, ".050")
    QTest.keyClick(edit, Qt.Key.Key_Return)
    rest(window)
    assert window.document.state.metal.thickness_mm == pytest.approx(1.27)
    assert made(window.document.state, "Blanks", name) is None
    window.foreman.show_inches(False)
