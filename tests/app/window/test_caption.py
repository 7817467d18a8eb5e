"""The line over a view: whole words where there is room, an end that says so where there is not."""

import re

import pytest
from PySide6.QtGui import QFont, QFontMetrics

from app.window.caption import Caption

TITLE, HINT = "The smooth surface", "drag turns, wheel zooms, F fits"


def shown(caption: Caption) -> str:
    return re.sub("<[^>]*>", "", caption.text()).replace("&nbsp;", " ")


def wide(caption: Caption, words: str) -> int:
    font = QFont(caption.font())
    font.setBold(True)
    return QFontMetrics(font).horizontalAdvance(words)


@pytest.mark.parametrize("width", range(60, 700, 40))
def test_a_caption_is_never_wider_than_its_room(app: object, width: int) -> None:
    caption = Caption()
    caption.resize(width, 30)
    caption.show()
    caption.say(TITLE, HINT)
    words = shown(caption)
    if HINT in words:
        assert words == f"{TITLE}   {HINT}"
        assert caption.sizeHint().width() <= width
    else:
        assert words == TITLE or words.endswith("\u2026")
        assert wide(caption, words) + 20 <= width
    assert caption.toolTip() == ("" if words.startswith(TITLE) else TITLE)


def test_a_caption_says_more_when_it_is_given_room(app: object) -> None:
    caption = Caption()
    caption.show()
    caption.say(TITLE, HINT)
    told = []
    for width in (80, 200, 600):
        caption.resize(width, 30)
        told.append(shown(caption))
    assert told[0].endswith("\u2026")
    assert told[1:] == [TITLE, f"{TITLE}   {HINT}"]


def test_what_a_panel_is_called_is_shown_letter_by_letter(app: object) -> None:
    caption = Caption()
    caption.resize(400, 30)
    caption.say("left <b> & right")
    assert caption.text() == "<b>left &lt;b&gt; &amp; right</b>"
