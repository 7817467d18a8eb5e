"""Printing: pages come out at full size, corrected once; without a printer a sentence says so."""

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pytest

from app.exports import (
    A4,
    Correction,
    Output,
    OverviewSheet,
    Sheaf,
    checked_lengths,
    sheaves_of_job,
)
from app.job import JobState, with_name, with_print
from tests.app.exports.sample_sheets import job_facts, panel_sheet, tank_model
from tests.app.window.conftest import spin
from tests.app.window.test_window import press, rest

pytestmark = pytest.mark.window

_MM_PER_POINT = 25.4 / 72.0


def check_sheaf(correction: Correction) -> Sheaf:
    overview = OverviewSheet(job_facts(), tank_model(), [panel_sheet()])
    sheaves = sheaves_of_job(overview, Output((A4,), correction=correction))
    return next(each for each in sheaves if each.name == "printer check.pdf")


def printed(sheaf: Sheaf, path: Path) -> pypdfium2.PdfDocument:
    """Return what a printer that is a PDF file was given."""
    from PySide6.QtPrintSupport import QPrinter

    from app.window.printing import Printing

    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(path))
    printing = Printing(printer, sheaf.pages, sheaf.title)
    assert printing.has_begun
    while printing.next_page():
        pass
    return pypdfium2.PdfDocument(path)


def bars_mm(page: Any) -> tuple[float, float]:
    """Return how long the longest level and upright line of a page are, mm.

    A line's box is as much longer as it is wide, whatever the width of its stroke.
    """
    boxes = np.array([found.get_bounds() for found in page.get_objects(max_depth=3)])
    sides = (boxes[:, 2:] - boxes[:, :2]) * _MM_PER_POINT
    level, upright = (sides[np.argmax(np.where(sides[:, 1 - way] < 3.0, sides[:, way], 0.0))]
                      for way in (0, 1))  # fmt: skip
    return float(level[0] - level[1]), float(upright[1] - upright[0])


@pytest.mark.parametrize("correction", [Correction(), Correction(1.01, 0.99)])
def test_bars_are_printed_at_full_size_and_corrected_once(
    app: object, tmp_path: Path, correction: Correction
) -> None:
    """To a dot of the printer's 1,200 to the inch, 0.02 mm."""
    sheaf = check_sheaf(correction)
    document = printed(sheaf, tmp_path / "printed.pdf")
    assert len(document) == len(sheaf.pages)
    size = np.array(document[0].get_size()) * _MM_PER_POINT
    page = sheaf.pages[0]
    assert size == pytest.approx((page.width_mm, page.height_mm), abs=0.2)
    on_paper = bars_mm(document[0])
    wanted = checked_lengths(A4)
    lengths = sorted((wanted[0] * correction.x, wanted[1] * correction.y))
    assert sorted(on_paper) == pytest.approx(lengths, abs=0.03)


def test_without_a_printer_a_sentence_says_what_to_do(
    window: Any, made_shell: JobState, monkeypatch: pytest.MonkeyPatch
) -> None:
    from PySide6.QtWidgets import QMessageBox

    from app.window import printing

    told: list[str] = []
    monkeypatch.setattr(QMessageBox, "information", lambda *a: told.append(a[2]))
    monkeypatch.setattr(printing, "printer_names", lambda: ())
    window.keeper.begin(made_shell, None, unsaved=False)
    press(window, "Ctrl+9")
    rest(window)
    before = window.document.state
    window.press.print_with_dialog()
    assert told == [printing.NO_PRINTER]
    assert window.document.state is before  # nothing left, so there is no new revision


def test_pages_are_made_for_the_printer_chosen_and_noted_as_a_revision_no_undo_takes_back(
    window: Any, made_shell: JobState, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    from PySide6.QtPrintSupport import QPrinter

    from app.window.printing import Asked

    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setOutputFileName(str(tmp_path / "out.pdf"))
    monkeypatch.setattr(
        type(window.press.print_room), "ask", lambda *a: Asked(printer, "shop", (0,))
    )
    window.keeper.begin(made_shell, None, unsaved=False)
    window.document.edit(with_name(made_shell, "a tank"), "job's name")
    window.foreman.desk = replace(
        window.foreman.desk, output=Output((A4,)), printers={"shop": Correction(1.01, 1.0)}
    )
    press(window, "Ctrl+9")
    rest(window)
    window.pages.choose("printer check.pdf")
    window.press.print_with_dialog()
    rest(window)
    spin(0.2)
    document = pypdfium2.PdfDocument(tmp_path / "out.pdf")
    assert len(document) == 1
    assert sorted(bars_mm(document[0])) == pytest.approx([190.0 * 1.01, 270.0], abs=0.03)
    state = window.document.state
    assert [(each.revision, each.dated) for each in state.prints] == [
        (state.revision, date.today().isoformat())
    ]
    assert with_print(state, date.today()) is state
    window.document.undo()
    assert window.document.state.name == made_shell.name
    assert window.document.state.prints == state.prints


def test_paper_is_taken_for_the_same_within_two_mm(app: object) -> None:
    """ISO 216 A4 is 210 x 297 mm; a printer may tell its size in whole points."""
    from PySide6.QtGui import QPageSize

    from app.window.printing import takes

    class Info:
        def __init__(self, *names: QPageSize.PageSizeId) -> None:
            self._sizes = [QPageSize(name) for name in names]

        def supportedPageSizes(self) -> list[QPageSize]:  # noqa: N802
            return self._sizes

        def supportsCustomPageSizes(self) -> bool:  # noqa: N802
            return False

    page = check_sheaf(Correction()).pages[0]
    assert takes(Info(QPageSize.PageSizeId.A4), page)  # type: ignore[arg-type]
    assert not takes(Info(QPageSize.PageSizeId.Letter), page)  # type: ignore[arg-type]
    assert takes(Info(), page)  # type: ignore[arg-type]
