"""The window's own colours, whatever the desktop's are."""

from collections.abc import Iterator
from typing import Any

import pytest
from PySide6.QtGui import QColor, QPalette

from app.window.look import DONE, INK, dress_application

ROLES = [
    role
    for role in QPalette.ColorRole
    if role not in {QPalette.ColorRole.NColorRoles, QPalette.ColorRole.NoRole}
]
GROUPS = (
    QPalette.ColorGroup.Active,
    QPalette.ColorGroup.Inactive,
    QPalette.ColorGroup.Disabled,
)
WRITTEN_ON = (
    (QPalette.ColorRole.WindowText, QPalette.ColorRole.Window),
    (QPalette.ColorRole.Text, QPalette.ColorRole.Base),
    (QPalette.ColorRole.Text, QPalette.ColorRole.AlternateBase),
    (QPalette.ColorRole.ButtonText, QPalette.ColorRole.Button),
    (QPalette.ColorRole.ToolTipText, QPalette.ColorRole.ToolTipBase),
    (QPalette.ColorRole.HighlightedText, QPalette.ColorRole.Highlight),
    (QPalette.ColorRole.Link, QPalette.ColorRole.Window),
)


def colours(palette: QPalette) -> dict[tuple[Any, Any], str]:
    return {(g, r): palette.color(g, r).name() for g in GROUPS for r in ROLES}


@pytest.fixture
def desktop(app: Any) -> Iterator[Any]:
    """Return the application; its colours are put back afterwards."""
    yield app
    dress_application(app)


def brightness(colour: QColor) -> float:
    """Return the relative luminance of a colour. Source: WCAG 2.1, its definition, from memory."""
    channels = (colour.redF(), colour.greenF(), colour.blueF())
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_a_dark_desktop_changes_no_colour_of_ours(desktop: Any) -> None:
    found = []
    for base in ("#efefef", "#1e1e1e"):
        desktop.setPalette(QPalette(QColor(base)))
        dress_application(desktop)
        found.append(colours(desktop.palette()))
    assert found[0] == found[1]


def test_what_is_written_can_be_read(desktop: Any) -> None:
    """Contrast of at least 4.5 to 1. Source: WCAG 2.1, success criterion 1.4.3, from memory."""
    desktop.setPalette(QPalette(QColor("#1e1e1e")))
    dress_application(desktop)
    palette = desktop.palette()
    pairs = [(palette.color(ink), palette.color(ground)) for ink, ground in WRITTEN_ON]
    pairs.append((QColor(INK), QColor(DONE)))  # how far a task is, written over its bar
    for pair in pairs:
        bright = [brightness(colour) + 0.05 for colour in pair]
        assert max(bright) / min(bright) >= 4.5, pair
