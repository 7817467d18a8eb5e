"""Pages through the system's print dialog: at full size, each on paper of its own size.

What a printer does wrong was put right when the pages were composed: nothing is scaled here.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QObject, QPointF, QSizeF, QTimer, Signal
from PySide6.QtGui import QPageLayout, QPageSize, QPainter
from PySide6.QtPrintSupport import QAbstractPrintDialog, QPrintDialog, QPrinter, QPrinterInfo
from PySide6.QtWidgets import QDialog, QMessageBox, QWidget

from app.exports import Page, Sheaf
from app.units import length_text
from app.window.page_painter import draw_page

NO_PRINTER = (
    "No printer is set up on this computer. Set one up in the system's own settings, or write the "
    "patterns to a folder (Ctrl+E) and print the PDF files elsewhere, at 100 of 100, not fitted "
    "to the page."
)
_SAME_MM = 2.0
"""Sizes of paper this near each other are the same paper."""
_MM_PER_INCH = 25.4


def printer_names() -> tuple[str, ...]:
    """Return the printers set up on this computer."""
    return tuple(QPrinterInfo.availablePrinterNames())


def paper_of(width_mm: float, height_mm: float) -> QPageSize:
    """Return paper of exactly this size."""
    size = QSizeF(width_mm, height_mm)
    return QPageSize(size, QPageSize.Unit.Millimeter, "", QPageSize.SizeMatchPolicy.ExactMatch)


def takes(info: QPrinterInfo, page: Page) -> bool:
    """Return whether a printer takes paper of a page's size, upright or on its side."""
    wanted = sorted((page.width_mm, page.height_mm))
    sizes = [size.size(QPageSize.Unit.Millimeter) for size in info.supportedPageSizes()]
    known = [sorted((size.width(), size.height())) for size in sizes]
    if any(all(abs(a - b) < _SAME_MM for a, b in zip(wanted, size, strict=True)) for size in known):
        return True
    if not info.supportsCustomPageSizes():
        return not known  # a printer that tells no sizes is not second-guessed
    most = info.maximumPhysicalPageSize().size(QPageSize.Unit.Millimeter)
    largest = sorted((most.width(), most.height()))
    return all(a <= b + _SAME_MM for a, b in zip(wanted, largest, strict=True))


class Printing:
    """One print under way: every call of `next_page` puts one more on paper."""

    def __init__(self, printer: QPrinter, pages: Sequence[Page], title: str) -> None:
        self._printer, self._pages = printer, tuple(pages)
        self.done = 0
        printer.setDocName(title)
        printer.setCreator("Lowcrown")
        printer.setFullPage(True)
        self._lay(self._pages[0])
        self._painter = QPainter()
        self.has_begun = self._painter.begin(printer)

    @property
    def count(self) -> int:
        """How many pages it has."""
        return len(self._pages)

    def next_page(self) -> bool:
        """Print a page; return whether another is to follow."""
        page = self._pages[self.done]
        if self.done:
            self._lay(page)
            self._printer.newPage()
        dots = self._printer.resolution() / _MM_PER_INCH
        draw_page(self._painter, page, QPointF(0.0, 0.0), dots)
        self.done += 1
        if self.done < self.count:
            return True
        self._painter.end()
        return False

    def stop(self) -> None:
        """Print no more."""
        self._printer.abort()
        self._painter.end()

    def _lay(self, page: Page) -> None:
        """Take paper of the page's own size; a page wider than high lies on its side.

        A printer draws on its side along the paper's length, so that one page of the pattern is
        one sheet from the tray.
        """
        on_side = page.width_mm > page.height_mm
        low, high = sorted((page.width_mm, page.height_mm))
        self._printer.setPageSize(paper_of(low, high))
        way = QPageLayout.Orientation
        self._printer.setPageOrientation(way.Landscape if on_side else way.Portrait)
        self._printer.setFullPage(True)


@dataclass(frozen=True)
class Asked:
    """What was chosen in the system's dialog."""

    printer: QPrinter
    name: str
    pages: tuple[int, ...]
    """Numbers of the pages wanted, from 0."""


def ask(parent: QWidget, count: int, current: int, printer_name: str) -> Asked | None:
    """Ask by the system's dialog which printer prints which pages of a file; None for none."""
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    if printer_name in printer_names():
        printer.setPrinterName(printer_name)
    printer.setFullPage(True)
    printer.setFromTo(1, count)
    dialog = QPrintDialog(printer, parent)
    dialog.setWindowTitle("Print at full size")
    option = QAbstractPrintDialog.PrintDialogOption
    dialog.setOption(option.PrintPageRange)
    dialog.setOption(option.PrintCurrentPage)
    dialog.setMinMax(1, count)
    if dialog.exec() != QDialog.DialogCode.Accepted:
        return None
    chosen = printer.printRange()
    if chosen == QPrinter.PrintRange.CurrentPage:
        return Asked(printer, printer.printerName(), (current,))
    if chosen == QPrinter.PrintRange.PageRange:
        first, last = max(1, printer.fromPage()), min(count, printer.toPage() or count)
        return Asked(printer, printer.printerName(), tuple(range(first - 1, last)))
    return Asked(printer, printer.printerName(), tuple(range(count)))


class PrintRoom(QObject):
    """Prints one file at a time, page by page, so that the window stays alive."""

    said = Signal(str)
    progressed = Signal(str, float, str)
    rested = Signal()

    def __init__(self, window: QWidget) -> None:
        super().__init__(window)
        self._window = window
        self._printing: Printing | None = None
        self._title = ""
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.timeout.connect(self._go_on)

    @property
    def is_busy(self) -> bool:
        """Whether a print is under way."""
        return self._printing is not None

    def tell(self, words: str) -> None:
        """Tell why nothing is printed."""
        QMessageBox.information(self._window, "Nothing was printed", words)

    def ask(self, sheaf: Sheaf, current: int, printer_name: str) -> Asked | None:
        """Ask which printer is to print a file; None where none can, or none was chosen."""
        if not printer_names():
            self.tell(NO_PRINTER)
            return None
        asked = ask(self._window, len(sheaf.pages), current, printer_name)
        if asked is None or asked.printer.outputFileName():
            return asked
        info = QPrinterInfo(asked.printer)
        large = [number for number in asked.pages if not takes(info, sheaf.pages[number])]
        if large:
            page = sheaf.pages[large[0]]
            self.tell(too_large_words(asked.name, page))
            return None
        return asked

    def start(self, asked: Asked, sheaf: Sheaf) -> None:
        """Print what was asked for."""
        pages = [sheaf.pages[number] for number in asked.pages]
        printing = Printing(asked.printer, pages, sheaf.title)
        if not printing.has_begun:
            self.tell(f"The printer {asked.name or 'chosen'} takes nothing now. Is it switched on?")
            return
        self._printing, self._title = printing, sheaf.name
        self._soon.start(0)

    def stop(self) -> None:
        """Print no more pages."""
        if self._printing is not None:
            self._printing.stop()
            self._printing = None
            self.rested.emit()
            self.said.emit("Stopped: not every page was printed.")

    def _go_on(self) -> None:
        printing = self._printing
        if printing is None:
            return
        more = printing.next_page()
        share = printing.done / printing.count
        self.progressed.emit("Printing", share, f"{self._title}, page {printing.done}")
        if more:
            self._soon.start(0)
            return
        self._printing = None
        self.rested.emit()
        pages = "1 page" if printing.count == 1 else f"{printing.count} pages"
        self.said.emit(
            f"{self._title}: {pages} sent to the printer. Check the bars before you cut."
        )


def too_large_words(printer: str, page: Page) -> str:
    """Return that a printer has no paper of a page's size, and what to do."""
    size = f"{length_text(page.width_mm)} x {length_text(page.height_mm)}"
    return (
        f"{printer or 'This printer'} has no paper of {size}. Print the file whose name ends in "
        "your paper's (_a4, _letter), or take this one as a PDF to a copy shop."
    )
