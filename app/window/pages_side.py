"""`PagesSide`: every file and page that will come out, one of them shown as it will."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.exports import Sheaf
from app.units import length_text
from app.window.caption import Caption
from app.window.page_canvas import PageCanvas

_LIST_PX = 212
_COUNT_PX = 54


class PagesSide(QWidget):
    """A list of files beside the page, and a strip to leaf through them."""

    asked = Signal(str)
    """An action of the table, by its key."""

    def __init__(self) -> None:
        super().__init__()
        self.canvas = PageCanvas()
        self._sheaves: tuple[Sheaf, ...] = ()
        self._place = (0, 0)
        self._show, self._words = "mm", ""
        self._stale: frozenset[str] = frozenset()
        across = QHBoxLayout(self)
        across.setContentsMargins(0, 0, 0, 0)
        across.setSpacing(0)
        across.addWidget(self._listed())
        shown = QVBoxLayout()
        shown.setSpacing(0)
        self._caption = Caption()
        shown.addWidget(self._caption)
        shown.addWidget(self.canvas, 1)
        shown.addLayout(self._strip())
        across.addLayout(shown, 1)

    def _listed(self) -> QWidget:
        side = QWidget()
        side.setFixedWidth(_LIST_PX)
        column = QVBoxLayout(side)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        self._count = Caption()
        self.list = QTreeWidget()
        self.list.setHeaderLabels(["File", "Pages"])
        self.list.setRootIsDecorated(False)
        self.list.setUniformRowHeights(True)
        self.list.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        header = self.list.header()
        header.setStretchLastSection(False)
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        header.setSectionResizeMode(1, QHeaderView.ResizeMode.Fixed)
        header.resizeSection(1, _COUNT_PX)
        self.list.currentItemChanged.connect(self._choose)
        column.addWidget(self._count)
        column.addWidget(self.list, 1)
        return side

    def _strip(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setContentsMargins(8, 5, 8, 5)
        row.setSpacing(6)
        self._before = self._button("\u2039", "previous_page", "Page before (Page Up)")
        self._at = QLabel()
        self._at.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._at.setMinimumWidth(96)
        self._after = self._button("\u203a", "next_page", "Next page (Page Down)")
        row.addWidget(self._before)
        row.addWidget(self._at)
        row.addWidget(self._after)
        row.addStretch(1)
        row.addWidget(self._button("\u2212", "zoom_out", "Smaller (-)"))
        row.addWidget(self._button("+", "zoom_in", "Larger (+)"))
        row.addWidget(self._button("Fit", "fit", "The whole page (F)"))
        return row

    def _button(self, words: str, key: str, tip: str) -> QPushButton:
        button = QPushButton(words)
        button.setToolTip(tip)
        button.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        button.setProperty("asks", key)
        button.clicked.connect(self._ask)
        return button

    def _ask(self) -> None:
        self.asked.emit(str(self.sender().property("asks")))

    # ---- what is shown

    @property
    def sheaf(self) -> Sheaf | None:
        """The file whose page is shown."""
        return self._sheaves[self._place[0]] if self._sheaves else None

    @property
    def page_number(self) -> int:
        """Number of the page shown in its file, from 0."""
        return self._place[1]

    def refresh(
        self, sheaves: tuple[Sheaf, ...], words: str, *, stale: frozenset[str], show: str
    ) -> None:
        """Show these files; words where there are none; a veil over those that are out of date."""
        if sheaves is not self._sheaves:
            name, number = ("", 0) if self.sheaf is None else (self.sheaf.name, self._place[1])
            self._sheaves = sheaves
            names = [sheaf.name for sheaf in sheaves]
            at = names.index(name) if name in names else 0
            pages = len(sheaves[at].pages) if sheaves else 1
            self._place = (at, min(number, pages - 1))
            self._fill()
        self._words, self._stale, self._show = words, stale, show
        self._display()

    def next_page(self) -> None:
        """Show the page after, of the file after where this one ends."""
        self._leaf(1)

    def previous_page(self) -> None:
        """Show the page before."""
        self._leaf(-1)

    def choose(self, name: str, number: int = 0) -> None:
        """Show a page of a file."""
        at = next(at for at, sheaf in enumerate(self._sheaves) if sheaf.name == name)
        self._place = (at, number)
        self._display()

    def show_panel(self, panel: str) -> None:
        """Show the first page of a panel, unless one of its pages is shown."""
        if self.sheaf is None or self.sheaf.title.endswith(f": {panel}"):
            return
        found = [each.name for each in self._sheaves if each.title.endswith(f": {panel}")]
        if found:
            self.choose(found[0])

    def _leaf(self, by: int) -> None:
        places = [
            (at, number)
            for at, sheaf in enumerate(self._sheaves)
            for number in range(len(sheaf.pages))
        ]
        if self._place in places:
            at = min(max(places.index(self._place) + by, 0), len(places) - 1)
            self._place = places[at]
            self._display()

    def _fill(self) -> None:
        self.list.blockSignals(True)
        self.list.clear()
        for at, sheaf in enumerate(self._sheaves):
            row = QTreeWidgetItem([sheaf.name, str(len(sheaf.pages))])
            row.setData(0, Qt.ItemDataRole.UserRole, at)
            row.setToolTip(0, f"{sheaf.name}: {sheaf.title}")
            row.setTextAlignment(1, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
            self.list.addTopLevelItem(row)
        self.list.blockSignals(False)

    def _choose(self, row: QTreeWidgetItem | None) -> None:
        if row is not None:
            at = int(row.data(0, Qt.ItemDataRole.UserRole))
            if at != self._place[0]:
                self._place = (at, 0)
                self._display()

    def _display(self) -> None:
        sheaf, number = self.sheaf, self._place[1]
        page = None if sheaf is None else sheaf.pages[number]
        old = sheaf is not None and sheaf.name in self._stale
        self.canvas.show_page(page, self._words, stale=old)
        pages = sum(len(each.pages) for each in self._sheaves)
        self._count.say(f"{len(self._sheaves)} files, {pages} pages" if pages else "Nothing yet")
        self._before.setEnabled(pages > 0 and self._place != (0, 0))
        last = len(self._sheaves) - 1
        self._after.setEnabled(
            sheaf is not None and self._place != (last, len(self._sheaves[last].pages) - 1)
        )
        if sheaf is None or page is None:
            self._caption.say("What will come out", "")
            self._at.setText("")
            return
        self._at.setText(f"page {number + 1} of {len(sheaf.pages)}")
        self._caption.say(sheaf.name, size_words(page.width_mm, page.height_mm, self._show))
        row = self.list.topLevelItem(self._place[0])
        if row is not None:
            self.list.blockSignals(True)
            self.list.setCurrentItem(row)
            self.list.blockSignals(False)


def size_words(width_mm: float, height_mm: float, show: str) -> str:
    """Return how large a page is.

    >>> size_words(210.0, 297.0, "mm")
    '210 mm (8 1/4 in) x 297 mm (11 11/16 in)'
    """
    return f"{length_text(width_mm, show)} x {length_text(height_mm, show)}"
