"""`Legend`: the strip under the tank that says what its colours, hatches and lines mean."""

from dataclasses import dataclass
from typing import Literal

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.window.look import EDGE, INK, MIRRORED, PAPER

Sample = Literal[
    "plain", "striped", "hatch", "cross", "solid", "dash", "short", "dot", "dashdot", "ring"
]

DASHES: dict[str, tuple[float, ...]] = {
    "solid": (),
    "dash": (5.0, 2.0),
    "short": (2.0, 1.8),
    "dot": (0.8, 1.6),
    "dashdot": (3.5, 1.3, 1.0, 1.3),
}
"""Drawn, left out, drawn, ...; the same on the tank and in the legend. In pitches."""

_PITCH_PX = 2.8
_LINE_PX = 3.0
_SAMPLE = 32
_HIGH = 13
_GAP, _BETWEEN = 6, 16


@dataclass(frozen=True)
class Swatch:
    """One entry: a sample and what it means.

    Attributes
    ----------
    sample : str
        An area ("plain", "striped" over its colour, "hatch" or "cross" in its colour), a line
        ("solid", "dash", "short", "dot", "dashdot"), or a "ring" round a place.
    colour : str
    words : str
    """

    sample: Sample
    colour: str
    words: str


NOT_SCANNED = Swatch("hatch", "#3c3c3c", "NOT SCANNED - FILLED BY GUESS")
"""Shown wherever there is a guess; nothing switches it off."""


def mirrored(side: str) -> Swatch:
    """Return the mark of what was made from the other hand."""
    name = side.upper() if side in ("left", "right") else "OTHER"
    return Swatch("cross", MIRRORED, f"MIRRORED FROM THE {name} SIDE")


class Legend(QWidget):
    """Samples with their words in as few rows as the width allows; away when there is nothing."""

    def __init__(self) -> None:
        super().__init__()
        self._swatches: tuple[Swatch, ...] = ()
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.hide()

    @property
    def words(self) -> tuple[str, ...]:
        """What the samples mean, in their order."""
        return tuple(swatch.words for swatch in self._swatches)

    def show_swatches(self, swatches: tuple[Swatch, ...]) -> None:
        """Show these."""
        if swatches != self._swatches:
            self._swatches = swatches
            self.setAccessibleName("; ".join(self.words))
            self.updateGeometry()
            self.update()
        self.setVisible(bool(swatches))

    def sizeHint(self) -> QSize:  # noqa: N802
        """Return room for every row."""
        return QSize(200, self.heightForWidth(self.width()))

    def hasHeightForWidth(self) -> bool:  # noqa: N802
        """Return that the height hangs on the width."""
        return True

    def heightForWidth(self, width: int) -> int:  # noqa: N802
        """Return the height that shows every row."""
        rows = 1 + max((row for row, _ in self._placed(width)), default=0)
        return rows * self._row_height() + 8

    def resizeEvent(self, event: object) -> None:  # noqa: N802
        """Take as many rows as are needed at this width."""
        height = self.heightForWidth(self.width())
        if height != self.height():
            self.setFixedHeight(height)

    def _row_height(self) -> int:
        return max(_HIGH, self.fontMetrics().height()) + 4

    def _placed(self, width: int) -> list[tuple[int, int]]:
        """Return the row and the left edge of every entry."""
        places, row, left = [], 0, 10
        for swatch in self._swatches:
            wide = _SAMPLE + _GAP + self.fontMetrics().horizontalAdvance(swatch.words)
            if left > 10 and left + wide > width - 8:
                row, left = row + 1, 10
            places.append((row, left))
            left += wide + _BETWEEN
        return places

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        """Paint samples and words."""
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(PAPER))
        painter.setPen(QColor(EDGE))
        painter.drawLine(0, 0, self.width(), 0)
        high = self._row_height()
        for swatch, (row, left) in zip(self._swatches, self._placed(self.width()), strict=True):
            middle = 4.0 + (row + 0.5) * high
            paint_sample(painter, swatch, QRectF(left, middle - _HIGH / 2.0, _SAMPLE, _HIGH))
            painter.setPen(QColor(INK))
            words = QRectF(left + _SAMPLE + _GAP, middle - high / 2.0, 2000.0, high)
            painter.drawText(words, Qt.AlignmentFlag.AlignVCenter, swatch.words)
        painter.end()


def paint_sample(painter: QPainter, swatch: Swatch, box: QRectF) -> None:
    """Paint one sample into a box."""
    colour = QColor(swatch.colour)
    if swatch.sample in DASHES:
        pen = QPen(colour, _LINE_PX, Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap)
        if DASHES[swatch.sample]:
            pen.setDashPattern([part * _PITCH_PX / _LINE_PX for part in DASHES[swatch.sample]])
        painter.setPen(pen)
        painter.drawLine(
            QPointF(box.left(), box.center().y()), QPointF(box.right(), box.center().y())
        )
        return
    if swatch.sample == "ring":
        painter.setPen(QPen(colour, 3.0))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawEllipse(box.center(), 5.0, 5.0)
        return
    if swatch.sample == "plain":
        painter.fillRect(box, colour)
    else:
        cross, striped = swatch.sample == "cross", swatch.sample == "striped"
        painter.fillRect(box, colour if striped else QColor("white"))
        style = Qt.BrushStyle.DiagCrossPattern if cross else Qt.BrushStyle.BDiagPattern
        painter.fillRect(box, QBrush(QColor(INK) if striped else colour, style))
    painter.setPen(QColor(EDGE))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRect(box)
