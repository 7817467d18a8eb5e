"""The page of keys, drawn from the table of actions; and what this program is."""

from PySide6.QtWidgets import QDialog, QGridLayout, QLabel, QMessageBox, QVBoxLayout, QWidget

from app.version import __version__
from app.window.actions import ACTIONS


def keys_page(parent: QWidget | None) -> QDialog:
    """Return the page of keys."""
    page = QDialog(parent)
    page.setWindowTitle("All keys")
    column = QVBoxLayout(page)
    column.setContentsMargins(24, 20, 24, 20)
    title = QLabel("All keys")
    title.setProperty("role", "title")
    column.addWidget(title)
    note = QLabel("On the tank: press F6 or click it first for the arrow keys, Space, + and -.")
    note.setProperty("role", "soft")
    column.addWidget(note)
    grid = QGridLayout()
    grid.setHorizontalSpacing(14)
    grid.setVerticalSpacing(3)
    rows = [row for row in ACTIONS if row.shortcuts]
    per_column = -(-len(rows) // 3)
    for at, row in enumerate(rows):
        line, side = at % per_column, 3 * (at // per_column)
        keys = QLabel(" or ".join(row.shortcuts))
        keys.setStyleSheet("font-weight: bold;")
        grid.addWidget(keys, line, side)
        grid.addWidget(QLabel(row.text.rstrip(".")), line, side + 1)
        if side < 6:
            grid.setColumnMinimumWidth(side + 2, 26)
    column.addLayout(grid)
    return page


def show_keys(parent: QWidget) -> None:
    """Show the page of keys until it is closed."""
    keys_page(parent).exec()


def show_about(parent: QWidget) -> None:
    """Say what this program is, and whose libraries it stands on."""
    QMessageBox.about(
        parent,
        "About Lowcrown",
        f"<b>Lowcrown {__version__}</b><p>From a laser scan of a fuel tank to panel patterns you "
        "can cut, form and trust.</p><p>Licence: MIT. The window is drawn with Qt and PySide6 "
        "under the LGPL; the full notices lie beside the program, in app/notices.</p>"
        "<p>Shop aid, not an approval. Check fit and safety on the machine; follow local code.</p>",
    )
