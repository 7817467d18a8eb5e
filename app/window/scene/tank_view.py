"""`TankView`: the tank on the canvas. Told what to show; tells what is pointed at and clicked."""

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from PySide6.QtCore import QPoint, QRect, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QLabel, QWidget

from app.window.legend import Swatch
from app.window.look import DRAWN
from app.window.scene.body_painter import Body, BodyPainter, VeilPainter
from app.window.scene.canvas import Canvas, lamps
from app.window.scene.curve_painter import Curve, CurvePainter
from app.window.scene.datum_painter import DatumPainter, PaintedDatum
from app.window.scene.hatch_painter import HatchPainter, HeldPainter, PaintedHeld, PaintedMarks
from app.window.scene.mark_painter import (
    Drawn,
    NamePainter,
    SpotPainter,
    TapePainter,
    WarningPainter,
)
from app.window.scene.panel_painter import (
    PaintedChange,
    PaintedSurface,
    PanelPainter,
)
from app.window.scene.scan_painter import RemovedPainter, ScanPainter
from app.window.scene.seam_painter import DrawnPainter, PaintedSeams, SeamPainter
from app.window.scene.skin_painter import SKIN_PAINTERS
from app.window.scene.surface_pick import Hit, On, SurfacePick
from geometry.arrays import FloatArray, IntArray

Pick = tuple[On, object, FloatArray, IntArray]

NOTHING = np.empty((0, 3))
NO_SEAMS = PaintedSeams()

NEARBY_PX = (
    (0, 0), (3, 0), (-3, 0), (0, 3), (0, -3), (6, 0), (-6, 0), (0, 6), (0, -6), (4, 4), (4, -4),
    (-4, 4), (-4, -4),
)  # fmt: skip


@dataclass(frozen=True, eq=False)
class TankPicture:
    """Everything the tank view shows, file coordinates.

    Attributes
    ----------
    scan : (vertices, faces) or None
        The scan or its proxy, when it is what is shown.
    rims : tuple of (k, 3)
    surface : PaintedSurface or None
        Shown instead of the scan.
    chosen_panel : int
        -1 for none.
    change : PaintedChange or None
    names, name_places
        Of panels.
    seams : PaintedSeams
    tapes : tuple of (k, 3)
        The points each passes.
    tape_words : tuple of str
    chosen_tape : int
    marks : PaintedMarks or None
        What was not scanned, and what was mirrored: hatched whatever else is shown.
    held : PaintedHeld or None
        Where a form locks its panel, hatched as well.
    curves : tuple of Curve
        Rims, lines, zones, picks.
    bodies : tuple of Body
        What stands in and round the tank: a tunnel, frame tubes.
    veiled : PaintedSurface or None
        The skin drawn so that what is inside is seen through it, in place of `surface`.
    datum : PaintedDatum or None
    removed : (vertices, faces) or None
        What of the scan is left out, drawn faintly.
    warned : (k, 3) float
        Places to be looked at, with what is wrong there in `warnings`.
    warnings : tuple of str
    skin : (key, painted) or None
        The skin in the colours of a way of looking, in place of scan or surface.
    pick : (on, key, vertices, faces) or None
        Where the pointer is found: on the faces of this, `key` the object they belong to.
    legend : tuple of Swatch
        What its colours, hatches and lines mean.
    what : str
        What is shown, as the caption says it; "" for the scan or the surface.
    """

    scan: tuple[FloatArray, IntArray] | None = None
    rims: tuple[FloatArray, ...] = ()
    surface: PaintedSurface | None = None
    chosen_panel: int = -1
    change: PaintedChange | None = None
    names: tuple[str, ...] = ()
    name_places: FloatArray = field(default_factory=lambda: NOTHING)
    seams: PaintedSeams = NO_SEAMS
    tapes: tuple[FloatArray, ...] = ()
    tape_words: tuple[str, ...] = ()
    chosen_tape: int = -1
    marks: PaintedMarks | None = None
    held: PaintedHeld | None = None
    curves: tuple[Curve, ...] = ()
    bodies: tuple[Body, ...] = ()
    veiled: PaintedSurface | None = None
    datum: PaintedDatum | None = None
    removed: tuple[FloatArray, IntArray] | None = None
    warned: FloatArray = field(default_factory=lambda: NOTHING)
    warnings: tuple[str, ...] = ()
    skin: tuple[str, Any] | None = None
    pick: Pick | None = None
    legend: tuple[Swatch, ...] = ()
    what: str = ""


class TankView(Canvas):
    """The tank."""

    pointed = Signal(object)
    hit = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        lamps(self.plotter)
        self._scan = ScanPainter(self.plotter)
        self._panels = PanelPainter(self.plotter)
        self._seams = SeamPainter(self.plotter)
        self._names = NamePainter(self.plotter)
        self._hatch = HatchPainter(self.plotter)
        self._held = HeldPainter(self.plotter)
        self._curves = CurvePainter(self.plotter)
        self._bodies = BodyPainter(self.plotter)
        self._veil = VeilPainter(self.plotter)
        self._datum = DatumPainter(self.plotter)
        self._removed = RemovedPainter(self.plotter)
        self._tapes = TapePainter(self.plotter)
        self._warnings = WarningPainter(self.plotter)
        self._drawn = DrawnPainter(self.plotter)
        self._spot = SpotPainter(self.plotter)
        self._skins = {key: painter(self.plotter) for key, painter in SKIN_PAINTERS.items()}
        self._pick: SurfacePick | None = None
        self._on_picture = False
        self._picks: dict[str, tuple[Any, SurfacePick]] = {}
        self._words = QLabel(self)
        self._words.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._words.setWordWrap(True)
        self._words.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self._words.setStyleSheet("font-size: 13pt; color: #61686b; background: transparent;")
        self._cross = QLabel("+", self)
        self._cross.setStyleSheet(f"font-size: 26pt; color: {DRAWN}; background: transparent;")
        self._cross.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._cross.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self._cross.hide()
        self.turned.connect(self._turn_skins)
        self.hovered.connect(self._hover)
        self.clicked.connect(self._click)
        self.left.connect(self._point_nowhere)

    def show_picture(self, picture: TankPicture) -> None:
        """Show this and nothing else."""
        key, painted = picture.skin if picture.skin is not None else ("", None)
        for each, painter in self._skins.items():
            if each == key:
                painter.draw(painted)
            else:
                painter.clear()
        if picture.scan is None or key:
            self._scan.clear()
        else:
            self._scan.draw(*picture.scan, picture.rims)
        if picture.surface is None or key:
            self._panels.clear()
        else:
            self._panels.draw(picture.surface, picture.chosen_panel, picture.change)
        self._seams.draw(picture.seams)
        chosen = picture.names[picture.chosen_panel] if picture.chosen_panel >= 0 else ""
        self._names.draw(picture.name_places, picture.names, chosen)
        self._tapes.draw(picture.tapes, picture.tape_words, picture.chosen_tape)
        self._hatch.draw(picture.marks)
        self._held.draw(picture.held)
        self._curves.draw(picture.curves)
        self._bodies.draw(picture.bodies)
        self._veil.draw(picture.veiled)
        self._datum.draw(picture.datum)
        self._removed.draw(picture.removed)
        self._warnings.draw(picture.warned, picture.warnings)
        self.draw_soon()

    def say(self, words: str) -> None:
        """Say in the middle of an empty view what to do next."""
        self._words.setText(words)
        self._words.setVisible(bool(words))

    def show_cross(self, on: bool) -> None:
        """Show where a point goes when there is no pointer over the tank."""
        self._cross.setVisible(on)
        across, down = (round(at) for at in self.pointer)
        self._cross.move(QPoint(across - 20, down - 20))

    def set_pick(self, on: On, key: object, vertices: FloatArray, faces: IntArray) -> None:
        """Say on what the pointer is found; `key` is the object it belongs to."""
        known = self._picks.get(on)
        if known is None or known[0] is not key:
            known = (key, SurfacePick(on, vertices, faces))
            self._picks[on] = known
        self._pick = known[1]

    def forget_picks(self) -> None:
        """Find nothing under the pointer until told again."""
        self._pick = None
        self._picks.clear()

    def hit_at(self, x: float, y: float) -> Hit | None:
        """Return the place of the tank under a picture point."""
        if self._on_picture:
            return Hit("picture", -1, self.place_before(x, y), np.zeros(3))
        if self._pick is None:
            return None
        for across, down in NEARBY_PX:  # a hair beside the outline still means the outline
            hit = self._pick.along(*self.ray(x + across, y + down))
            if hit is not None:
                return hit
        return None

    def hit_at_pointer(self) -> Hit | None:
        """Return the place under the pointer, or in the middle of the view."""
        return self.hit_at(*self.pointer)

    def look_at(self, normal: FloatArray) -> None:
        """Look square on at a place of the skin that faces one way, what is up kept upright."""
        up = np.array(self.plotter.camera.up)
        if abs(float(up @ normal)) > 0.95:
            up = self.eye_direction() * -np.sign(float(up @ normal))
        self.look_from(normal / np.linalg.norm(normal), up)

    def draw_on_picture(self, on: bool) -> None:
        """Point at the picture before the tank, seen square on, and let a held button draw there.

        Off again, the tank is pointed at, and a held button turns it.
        """
        self._on_picture = self.pulls = on
        self.look_square(on)

    def show_drawn(self, drawn: Drawn) -> None:
        """Show what is being drawn."""
        self._drawn.draw(drawn)
        self.draw_soon()

    def show_gripping(self, kind: str) -> None:
        """Show by the pointer what a press would do: "grip" a point, put one "in", or ""."""
        shape = {"grip": Qt.CursorShape.OpenHandCursor, "in": Qt.CursorShape.CrossCursor}.get(kind)
        if shape is None:
            self.plotter.unsetCursor()
        else:
            self.plotter.setCursor(shape)

    def show_spot(self, point: FloatArray | None) -> None:
        """Light up a place that is pointed at elsewhere."""
        self._spot.draw(point)
        self.draw_soon()

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802
        """Keep the words in the middle."""
        super().resizeEvent(event)
        width = min(460, max(120, self.width() - 40))
        self._words.setGeometry(
            QRect((self.width() - width) // 2, self.height() // 2 - 90, width, 180)
        )
        self._cross.setGeometry(QRect(0, 0, 40, 40))
        self._cross.move(QPoint(self.width() // 2 - 20, self.height() // 2 - 20))

    def _turn_skins(self) -> None:
        for painter in self._skins.values():
            painter.turned()

    def _hover(self, x: float, y: float) -> None:
        self.pointed.emit(self.hit_at(x, y))

    def _point_nowhere(self) -> None:
        self.pointed.emit(None)

    def _click(self, x: float, y: float) -> None:
        self.hit.emit(self.hit_at(x, y))
