"""Pages as they will come out: drawn as the PDF has them, leafed through by mouse and keys."""

from dataclasses import replace
from typing import Any

import numpy as np
import pypdfium2
import pytest

from app.exports import A3, A4, Sheaf, sheaf_bytes, sheaves_of_panel
from app.exports.drawing import STROKES, Drawing, Line, Meaning, Page, Placed, Text
from app.job import JobCard, JobState, panel_names, with_card
from tests.app.exports.sample_sheets import panel_sheet
from tests.app.window.conftest import spin, spin_until
from tests.app.window.test_window import press, rest

pytestmark = pytest.mark.window

DPI = 100.0
FINER = 3
"""Pictures are drawn so many times finer and averaged: a PDF reader sets letters on whole dots."""


def reader_picture(sheaf: Sheaf, number: int) -> np.ndarray:
    """Return a page of a file as a PDF reader shows it, greys 0 to 255."""
    pdf = pypdfium2.PdfDocument(sheaf_bytes(sheaf))
    shown = pdf[number].render(scale=FINER * DPI / 72.0, grayscale=True).to_numpy()
    return np.asarray(shown, np.float64).reshape(shown.shape[:2])


def own_picture(page: Page, shape: tuple[int, ...]) -> np.ndarray:
    """Return a page as the window draws it, in as many dots as a reader took."""
    from PySide6.QtCore import QPointF
    from PySide6.QtGui import QImage, QPainter

    from app.window.page_painter import draw_page

    image = QImage(shape[1], shape[0], QImage.Format.Format_RGB32)
    image.fill(0xFFFFFFFF)
    with QPainter(image) as painter:
        painter.scale(shape[1] / page.width_mm, shape[0] / page.height_mm)
        draw_page(painter, page, QPointF(0.0, 0.0), 1.0)
    grey = image.convertToFormat(QImage.Format.Format_Grayscale8)
    rows = np.frombuffer(grey.constBits(), np.uint8).reshape(shape[0], -1)
    return rows[:, : shape[1]].astype(np.float64)


def averaged(picture: np.ndarray) -> np.ndarray:
    """Return a picture of as many dots to the inch as asked, each the mean of finer ones."""
    rows, columns = (side // FINER * FINER for side in picture.shape)
    parts = picture[:rows, :columns].reshape(rows // FINER, FINER, columns // FINER, FINER)
    return np.asarray(parts.mean(axis=(1, 3)))


def solid(page: Page) -> Page:
    """Return a page without its words and broken lines.

    A reader sets letters on whole dots, and lays dashes along curves it has flattened itself.
    """
    return replace(
        page,
        contents=tuple(
            replace(
                placed,
                drawing=replace(
                    placed.drawing,
                    texts=(),
                    lines=tuple(
                        line for line in placed.drawing.lines if not STROKES[line.meaning].dashes
                    ),
                ),
            )
            for placed in page.contents
        ),
    )


@pytest.mark.parametrize("ending", [".pdf", "_a4.pdf", "_shape.pdf"])
def test_a_page_is_drawn_as_a_reader_shows_its_pdf(app: object, ending: str) -> None:
    """At 100 dots an inch, by two libraries that share no code, nearly all dots are alike.

    Within a quarter of black: 999 of 1,000 of solid lines, areas and pictures, 98 of 100 with
    words and broken lines too. A line moved by half a millimetre (two dots) would make its own
    length of them differ by all of black.
    """
    sheaf = next(each for each in sheaves_of_panel(panel_sheet()) if each.name.endswith(ending))
    for page, alike in ((sheaf.pages[-1], 0.98), (solid(sheaf.pages[-1]), 0.999)):
        theirs = reader_picture(Sheaf(sheaf.name, sheaf.title, (page,)), 0)
        off = np.abs(averaged(own_picture(page, theirs.shape)) - averaged(theirs))
        assert averaged(theirs).min() < 60.0  # there is ink
        assert (off <= 64.0).mean() > alike


def test_a_line_drawn_elsewhere_is_seen_by_that_comparison(app: object) -> None:
    line = Line(Meaning.NET, np.array([[20.0, 20.0], [80.0, 20.0]]))
    words = Text("FRONT", (50.0, 60.0), 5.0, "middle", 90.0, bold=True)
    true, moved = (
        Page(100.0, 100.0, (Placed(Drawing((line,), (words,)), 0.0, by),)) for by in (0.0, 0.5)
    )
    theirs = reader_picture(Sheaf("a.pdf", "a", (true,)), 0)
    same, off = (
        np.abs(averaged(own_picture(page, theirs.shape)) - averaged(theirs)).max()
        for page in (true, moved)
    )
    assert same < 64.0
    assert off > 120.0


def test_what_lies_outside_a_clip_is_not_drawn(app: object) -> None:
    line = Line(Meaning.NET, np.array([[0.0, 50.0], [100.0, 50.0]]))
    page = Page(100.0, 100.0, (Placed(Drawing((line,)), 0.0, 0.0, (0.0, 0.0, 50.0, 100.0)),))
    shown = own_picture(page, (400, 400))
    assert shown[:, :198].min() < 40.0
    assert (shown[:, 202:] == 255.0).all()


def a_sheaf(name: str, count: int) -> Sheaf:
    line = Line(Meaning.FRAME, np.array([[10.0, 10.0], [90.0, 130.0]]))
    return Sheaf(
        name,
        f"job: {name}",
        tuple(Page(100.0, 140.0, (Placed(Drawing((line,))),)) for _ in range(count)),
    )


def test_pages_are_leafed_through_from_file_to_file_and_zoomed_about_the_pointer(
    app: object,
) -> None:
    from PySide6.QtCore import QPointF

    from app.window.pages_side import PagesSide

    side = PagesSide()
    side.resize(800, 600)
    side.show()
    spin()
    sheaves = (a_sheaf("one.pdf", 2), a_sheaf("two.pdf", 1))
    side.refresh(sheaves, "", stale=frozenset(), show="mm")
    seen = [(side.sheaf.name, side.page_number)]  # type: ignore[union-attr]
    for _ in range(3):
        side.next_page()
        seen.append((side.sheaf.name, side.page_number))  # type: ignore[union-attr]
    assert seen == [("one.pdf", 0), ("one.pdf", 1), ("two.pdf", 0), ("two.pdf", 0)]
    side.show_panel("one.pdf")  # their titles end in a panel's name
    assert side.sheaf is sheaves[0]
    place = QPointF(200.0, 150.0)
    before = side.canvas.place_at(place)
    side.canvas.zoom(3.0, place)
    assert side.canvas.place_at(place) == pytest.approx(before)
    side.canvas.fit()
    corners = (
        side.canvas.place_at(QPointF(0.0, 0.0)),
        side.canvas.place_at(QPointF(side.canvas.width(), side.canvas.height())),
    )
    assert corners[0][0] < 0.0
    assert corners[0][1] > 140.0
    assert corners[1][0] > 100.0
    side.close()


def keyed(window: Any, keys: str) -> None:
    """Press keys on the page shown."""
    from PySide6.QtTest import QTest

    window.activateWindow()
    window.pages.canvas.setFocus()
    spin(0.05)
    QTest.keySequence(window.pages.canvas, keys)
    spin(0.05)


def test_the_paper_step_shows_what_will_come_out_and_marks_it_when_it_no_longer_holds(
    window: Any, made_shell: JobState
) -> None:
    window.keeper.begin(made_shell, None, unsaved=False)
    assert window.page_keeper.sheaves == ()  # nothing is composed before it is looked for
    press(window, "Ctrl+9")
    assert window.pages.isVisible()
    assert not window.tank.isVisible()
    rest(window)
    names = [sheaf.name for sheaf in window.page_keeper.sheaves]
    assert {f"{panel_names(made_shell)[0]}.pdf", "overview.pdf"} <= set(names)
    canvas = window.pages.canvas
    assert not canvas.is_stale
    page = canvas.page
    keyed(window, "PgDown")
    assert canvas.page != page
    before = canvas.dots_per_mm
    keyed(window, "+")
    assert canvas.dots_per_mm == pytest.approx(1.2 * before)
    keyed(window, "F")
    assert canvas.dots_per_mm == pytest.approx(before)
    window.foreman.set_trim(20.0)
    assert canvas.is_stale
    rest(window)  # dressed and composed anew without being asked
    assert not canvas.is_stale
    keyed(window, "Ctrl+Z")
    assert canvas.is_stale
    rest(window)
    assert not canvas.is_stale
    patterns = window.page_keeper.sheaves[:-1]
    window.document.edit(with_card(window.document.state, JobCard(note="a note")), "job card")
    assert not canvas.is_stale  # only the card's own pages hang on what is entered on it
    window.pages.choose("job card.pdf")
    assert canvas.is_stale
    rest(window)
    assert not canvas.is_stale
    assert window.page_keeper.sheaves[:-1] == patterns


def test_pages_nobody_waits_for_any_longer_are_not_made(window: Any, made_shell: JobState) -> None:
    made: list[int] = []
    window.page_keeper.changed.connect(lambda: made.append(len(window.page_keeper.sheaves)))
    window.keeper.begin(made_shell, None, unsaved=False)
    before = window.foreman.desk.output
    window.foreman.set_output(replace(before, papers=(A3,)))
    press(window, "Ctrl+9")
    window.foreman.set_output(replace(before, papers=(A4,)))
    rest(window)
    assert len(made) == 1
    names = [sheaf.name for sheaf in window.page_keeper.sheaves]
    assert any(name.endswith("_a4.pdf") for name in names)
    assert not any(name.endswith("_a3.pdf") for name in names)
    window.foreman.set_output(before)
    window.bench.stop()
    rest(window)


def test_pages_that_were_stopped_are_gone_on_with_by_their_button(
    window: Any, made_shell: JobState
) -> None:
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    window.keeper.begin(made_shell, None, unsaved=False)
    press(window, "Ctrl+9")
    spin_until(window.bottom._stop.isVisible)
    QTest.mouseClick(window.bottom._stop, Qt.MouseButton.LeftButton)
    rest(window)
    assert window.page_keeper.sheaves == ()
    assert window.page_keeper.was_stopped
    assert window.bottom._words.text() == "Stopped."
    assert "Go on below" in window.pages._words
    QTest.mouseClick(window.bottom._go_on, Qt.MouseButton.LeftButton)
    rest(window)
    assert window.page_keeper.sheaves
    assert not window.bottom._go_on.isVisible()
