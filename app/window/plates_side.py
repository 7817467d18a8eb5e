"""`PlatesSide`: the pages of a step besides the panels, one of them shown beside the tank."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from app.exports import Page, Sheaf
from app.window.caption import Caption
from app.window.page_canvas import PageCanvas
from app.window.pages_side import size_words
from app.window.steps import NarrowBox


class PlatesSide(QWidget):
    """A box to choose a page by, and the page."""

    page_chosen = Signal(str)
    """Name of the file whose page is shown."""

    def __init__(self) -> None:
        super().__init__()
        self.canvas = PageCanvas()
        self.canvas.setMinimumWidth(200)
        self._sheaves: tuple[Sheaf, ...] = ()
        self._show = "mm"
        self._words, self._stale = "", False
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        self._caption = Caption()
        column.addWidget(self._caption)
        row = QHBoxLayout()
        row.setContentsMargins(8, 4, 8, 4)
        self.box = NarrowBox()
        self.box.setAccessibleName("Which of its pages is shown")
        self.box.activated.connect(self._choose)
        row.addWidget(self.box, 1)
        self.buttons: list[QPushButton] = []
        for words, tip, react in (
            ("\u2039", "The page before", self.previous_page),
            ("\u203a", "The next page", self.next_page),
            ("\u2212", "Smaller", self.smaller), ("+", "Larger", self.larger),
            ("Fit", "The whole page", self.canvas.fit),
        ):  # fmt: skip
            button = QPushButton(words)
            button.setToolTip(tip)
            button.setAccessibleName(tip)
            button.clicked.connect(react)
            row.addWidget(button)
            self.buttons.append(button)
        column.addLayout(row)
        column.addWidget(self.canvas, 1)

    @property
    def pages(self) -> list[tuple[str, Page]]:
        """Every page with the name of its file."""
        return [(sheaf.name, page) for sheaf in self._sheaves for page in sheaf.pages]

    def refresh(self, sheaves: tuple[Sheaf, ...], words: str, *, stale: bool, show: str) -> None:
        """Show these pages; words where there are none; a veil where they are out of date."""
        if sheaves is not self._sheaves:
            before = self.box.currentText()
            self._sheaves = sheaves
            self.box.clear()
            for sheaf in sheaves:
                for number, _ in enumerate(sheaf.pages, start=1):
                    more = f" {number}/{len(sheaf.pages)}" if len(sheaf.pages) > 1 else ""
                    self.box.addItem(sheaf.name.removesuffix(".pdf") + more)
            self.box.setCurrentIndex(max(0, self.box.findText(before)))
        self._words, self._stale, self._show = words, stale, show
        self._display()

    def choose(self, name: str) -> None:
        """Show the first page of a file."""
        names = [each for each, _ in self.pages]
        if name in names:
            self.box.setCurrentIndex(names.index(name))
            self._display()

    def next_page(self) -> None:
        """Show the page after."""
        self._leaf(1)

    def previous_page(self) -> None:
        """Show the page before."""
        self._leaf(-1)

    def larger(self) -> None:
        """Show the page larger."""
        self.canvas.zoom(1.2)

    def smaller(self) -> None:
        """Show the page smaller."""
        self.canvas.zoom(1.0 / 1.2)

    def _leaf(self, by: int) -> None:
        if self.box.count():
            self._choose(min(max(self.box.currentIndex() + by, 0), self.box.count() - 1))

    def _choose(self, at: int) -> None:
        self.box.setCurrentIndex(at)
        self._display()
        self.page_chosen.emit(self.pages[at][0])

    def _display(self) -> None:
        at, pages = self.box.currentIndex(), self.pages
        page = pages[at][1] if 0 <= at < len(pages) else None
        for part in (self.box, *self.buttons):
            part.setEnabled(page is not None)
        self.canvas.show_page(page, self._words, stale=self._stale and page is not None)
        size = "" if page is None else size_words(page.width_mm, page.height_mm, self._show)
        self._caption.say("Its pages", size)
