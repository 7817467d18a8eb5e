"""How the window looks: its colours, its letters, its style sheet. No decisions."""

from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QFont, QFontDatabase, QPalette
from PySide6.QtWidgets import QApplication

INK = "#23282b"
SOFT_INK = "#61686b"
PAPER = "#fbfaf6"
BENCH = "#ebe7de"
EDGE = "#cbc4b6"
ACCENT = "#17586a"
ACCENT_TINT = "#d7e6e8"
DONE = "#9cc6cf"
ASK = "#9a4a00"
ASK_TINT = "#fbead2"
MADE = "#2c6a3f"
VIEW_LOW = "#cfd3d1"
VIEW_HIGH = "#f6f5f1"
METAL = "#b9bfc2"
BOX = "white"
SEAM = "#8c1d40"
DRAWN = "#d1006c"
TAPE = "#17586a"
MIRRORED = "#5a2d82"
HELD = "#9a4a00"
LOCKED = "#8c1d40"
OFFERED = "#c96f00"
REJECTED = "#6f6a60"
LIT = "#d1006c"

PANEL_TINTS = (
    "#9cc3dd",
    "#f0c58e",
    "#a9cf9f",
    "#dcb0cd",
    "#e6dd8f",
    "#b9b4de",
    "#99d1cb",
    "#e2a795",
)

SHRINK_TO_STRETCH = (
    (-1.0, (28, 64, 125)),
    (-0.5, (98, 150, 199)),
    (-0.12, (204, 221, 234)),
    (0.0, (247, 246, 241)),
    (0.12, (246, 221, 190)),
    (0.5, (217, 145, 67)),
    (1.0, (122, 62, 6)),
)
"""Blue shrinks, brown stretches: told apart by every common kind of colour blindness."""

_FONTS = Path(__file__).resolve().parent.parent / "fonts"

STYLE = f"""
QWidget {{ color: {INK}; }}
QMainWindow, QDialog, QScrollArea, QScrollArea > QWidget > QWidget {{ background: {BENCH}; }}
QMenuBar {{ background: {BENCH}; padding: 2px 6px; }}
QMenuBar::item {{ padding: 5px 10px; background: transparent; border-radius: 4px; }}
QMenuBar::item:selected, QMenu::item:selected {{ background: {ACCENT_TINT}; }}
QMenu {{ background: {PAPER}; border: 1px solid {EDGE}; padding: 4px; }}
QMenu::item {{ padding: 5px 26px 5px 22px; border-radius: 4px; }}
QMenu::item:disabled {{ color: #a09a8e; }}
QMenu::separator {{ height: 1px; background: {EDGE}; margin: 4px 8px; }}
QToolBar {{ background: {BENCH}; border: 0; border-bottom: 1px solid {EDGE}; spacing: 4px;
  padding: 4px 8px; }}
QToolBar::separator {{ width: 1px; background: {EDGE}; margin: 4px 6px; }}
QToolButton {{ padding: 5px 10px; border: 1px solid transparent; border-radius: 5px; }}
QToolButton:hover, QToolButton:focus {{ background: {PAPER}; border-color: {EDGE}; }}
QToolButton:checked {{ background: {ACCENT}; color: white; }}
QToolButton:disabled {{ color: #a09a8e; }}
QPushButton {{ background: {PAPER}; border: 1px solid {EDGE}; border-radius: 5px;
  padding: 6px 12px; min-height: 17px; }}
QPushButton:hover {{ border-color: {ACCENT}; }}
QPushButton:focus {{ border: 2px solid {ACCENT}; padding: 5px 11px; }}
QPushButton:disabled {{ color: #a09a8e; background: #f1eee7; }}
QPushButton:checked {{ background: {ACCENT_TINT}; border-color: {ACCENT}; }}
QPushButton[leading="true"] {{ background: {ACCENT}; color: white; border-color: {ACCENT}; }}
QPushButton[leading="true"]:hover {{ background: #1f6d83; }}
QPushButton[leading="true"]:focus {{ border: 2px solid {INK}; }}
QPushButton[leading="true"]:disabled {{ background: #c9d3d4; border-color: #c9d3d4; color: white; }}
QLineEdit, QComboBox {{ background: {BOX}; border: 1px solid {EDGE}; border-radius: 4px;
  padding: 5px 7px; min-height: 17px; selection-background-color: {ACCENT}; }}
QLineEdit:focus, QComboBox:focus {{ border: 2px solid {ACCENT}; padding: 4px 6px; }}
QLineEdit[wrong="true"] {{ border: 2px solid {ASK}; background: {ASK_TINT}; }}
QComboBox {{ combobox-popup: 0; }}
QComboBox::drop-down {{ border: 0; width: 20px; }}
QComboBox::down-arrow {{ image: none; width: 0; height: 0; border-left: 4px solid {BOX};
  border-right: 4px solid {BOX}; border-top: 5px solid {SOFT_INK}; margin-right: 8px; }}
QComboBox QAbstractItemView::item:selected {{ background: {ACCENT_TINT}; color: {INK}; }}
QComboBox QAbstractItemView {{ background: white; border: 1px solid {EDGE};
  selection-background-color: {ACCENT_TINT}; selection-color: {INK}; }}
QRadioButton, QCheckBox {{ spacing: 7px; padding: 2px 0; }}
QRadioButton:focus, QCheckBox:focus {{ color: {ACCENT}; }}
QTreeWidget, QListWidget, QTableWidget {{ background: white; border: 1px solid {EDGE};
  border-radius: 4px; outline: 0; alternate-background-color: {PAPER}; }}
QListWidget::item {{ padding: 3px 6px; }}
QListWidget::item:selected, QTableWidget::item:selected, QTreeWidget::item:selected {{
  background: {ACCENT_TINT}; color: {INK}; }}
QHeaderView::section {{ background: {BENCH}; border: 0; border-bottom: 1px solid {EDGE};
  padding: 5px 6px; }}
QTableWidget::item {{ padding: 2px 2px; }}
QTreeWidget::item {{ padding: 3px 2px; }}
QTableCornerButton::section {{ background: {BENCH}; border: 0; border-bottom: 1px solid {EDGE}; }}
QProgressBar {{ background: white; border: 1px solid {EDGE}; border-radius: 4px; height: 14px;
  text-align: center; }}
QProgressBar::chunk {{ background: {DONE}; border-radius: 3px; }}
QSplitter::handle {{ background: {EDGE}; }}
QSplitter::handle:hover {{ background: {ACCENT}; }}
QToolTip {{ background: {INK}; color: white; border: 0; padding: 4px 6px; }}
QScrollBar:vertical {{ background: {BENCH}; width: 11px; margin: 0; }}
QScrollBar::handle:vertical {{ background: {EDGE}; min-height: 30px; border-radius: 5px; }}
QScrollBar::add-line, QScrollBar::sub-line {{ height: 0; width: 0; }}
QLabel[role="title"] {{ font-size: 15pt; font-weight: bold; }}
QLabel[role="heading"] {{ font-weight: bold; margin-top: 8px; }}
QLabel[role="soft"] {{ color: {SOFT_INK}; }}
QLabel[role="wrong"] {{ color: {ASK}; }}
QLabel[role="ask"] {{ background: {ASK_TINT}; color: {ASK}; border-radius: 5px; padding: 8px; }}
QLabel[role="answer"] {{ background: {PAPER}; border: 1px solid {EDGE}; border-radius: 5px;
  padding: 9px; font-size: 11pt; }}
QLabel[role="told"] {{ background: {PAPER}; border: 1px solid {EDGE}; border-radius: 5px;
  padding: 9px; }}
QToolButton[role="fold"], QToolButton[role="fold"]:checked {{ background: transparent; border: 0;
  padding: 4px 0; font-weight: bold; color: {ACCENT}; }}
QToolButton[role="fold"]:focus {{ border-bottom: 2px solid {ACCENT}; }}
QFrame[role="table"] {{ background: {PAPER}; border-top: 1px solid {EDGE}; }}
QLabel[role="good"] {{ color: {MADE}; font-weight: bold; }}
QLabel[role="strip"] {{ background: {PAPER}; border-top: 1px solid {EDGE}; padding: 5px 10px; }}
QLabel[role="caption"] {{ background: {BENCH}; color: {SOFT_INK}; padding: 4px 10px; }}
QFrame[role="column"] {{ background: {BENCH}; }}
QFrame[role="step"] {{ background: transparent; border: 0; border-left: 4px solid transparent; }}
QFrame[role="step"][chosen="true"] {{ background: {PAPER}; border-left: 4px solid {ACCENT}; }}
QFrame[role="step"]:focus {{ background: {ACCENT_TINT}; }}
"""


_ROLES = (
    (QPalette.ColorRole.Window, BENCH),
    (QPalette.ColorRole.Base, BOX),
    (QPalette.ColorRole.AlternateBase, PAPER),
    (QPalette.ColorRole.Button, PAPER),
    (QPalette.ColorRole.ToolTipBase, INK),
    (QPalette.ColorRole.Text, INK),
    (QPalette.ColorRole.WindowText, INK),
    (QPalette.ColorRole.ButtonText, INK),
    (QPalette.ColorRole.ToolTipText, "#ffffff"),
    (QPalette.ColorRole.BrightText, ASK),
    (QPalette.ColorRole.Link, ACCENT),
    (QPalette.ColorRole.LinkVisited, MIRRORED),
    (QPalette.ColorRole.Accent, ACCENT),
    (QPalette.ColorRole.Highlight, ACCENT),
    (QPalette.ColorRole.HighlightedText, "#ffffff"),
    (QPalette.ColorRole.PlaceholderText, "#8d8a82"),
    (QPalette.ColorRole.Light, "#ffffff"),
    (QPalette.ColorRole.Midlight, VIEW_HIGH),
    (QPalette.ColorRole.Mid, EDGE),
    (QPalette.ColorRole.Dark, "#a09a8e"),
    (QPalette.ColorRole.Shadow, SOFT_INK),
)
_GREYED = (
    QPalette.ColorRole.Text,
    QPalette.ColorRole.WindowText,
    QPalette.ColorRole.ButtonText,
)


def light_palette() -> QPalette:
    """Return our colours for every role, so that none is the desktop's, be it light or dark."""
    palette = QPalette()
    for role, colour in _ROLES:
        palette.setColor(role, QColor(colour))
    for role in _GREYED:
        palette.setColor(QPalette.ColorGroup.Disabled, role, QColor("#a09a8e"))
    return palette


def dress_application(app: QApplication) -> None:
    """Give the application its letters, colours and style."""
    for name in ("DejaVuSansCondensed.ttf", "DejaVuSansCondensed-Bold.ttf"):
        QFontDatabase.addApplicationFont(str(_FONTS / name))
    app.setStyle("Fusion")
    app.setFont(QFont("DejaVu Sans Condensed", 10))
    app.styleHints().setColorScheme(Qt.ColorScheme.Light)  # also when the desktop turns dark
    app.setPalette(light_palette())
    app.setStyleSheet(STYLE)
