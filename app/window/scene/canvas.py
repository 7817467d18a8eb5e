"""`Canvas`: the drawing surface and its camera, and the mouse: a drag turns, a click points.

Left drag turns, or draws while a tool draws on the picture, or takes along what it grips; middle or
right drag moves, the wheel zooms. A press and release in one place is a click.
"""

import os
from collections.abc import Callable
from typing import Any

import numpy as np
import pyvista as pv
from PySide6.QtCore import QEvent, QObject, QPointF, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QResizeEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from app.window.look import VIEW_HIGH, VIEW_LOW
from geometry.arrays import FloatArray

os.environ.setdefault("QT_API", "pyside6")

STILL_PX = 4.0
"""A press and release no farther apart is a click."""

VIEW_ANGLE_DEG = 22.0
FRAMED = 0.8
"""How much of the sphere round the whole a view keeps: a tank does not fill its sphere."""


class Canvas(QWidget):
    """Draws painters' shapes and tells what the mouse does on them, in picture points."""

    hovered = Signal(float, float)
    left = Signal()
    clicked = Signal(float, float)
    turned = Signal()
    pulled = Signal(float, float)
    pull_ended = Signal()
    freed = Signal()
    """The key with which nothing is caught on was pressed or let go."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        from pyvistaqt import QtInteractor

        interactor: Any = QtInteractor
        self.plotter = interactor(self, auto_update=False, multi_samples=_samples())
        self.plotter.set_background(VIEW_LOW, top=VIEW_HIGH)
        self.plotter.enable_custom_trackball_style(
            left="rotate", shift_left="pan", control_left="pan", middle="pan", right="pan"
        )
        self.plotter.camera.view_angle = VIEW_ANGLE_DEG
        self.plotter.setAcceptDrops(False)
        self.plotter.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.plotter.setMouseTracking(True)
        self.plotter.installEventFilter(self)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.plotter)
        self.setFocusProxy(self.plotter)
        self.pulls = False
        """Whether a left drag draws instead of turning."""
        self.grip: Callable[[float, float], bool] | None = None
        """Asked at the start of a left drag whether it takes along what lies there."""
        self.is_free = False
        """Whether the key is held with which nothing is caught on: Shift."""
        self._gripped = False
        self._free_by_key = False
        self._pressed: QPointF | None = None
        self._dragging = False
        self._press_kept: QEvent | None = None
        self._hover_at: QPointF | None = None
        self._drawing_soon = QTimer(self)
        self._drawing_soon.setSingleShot(True)
        self._drawing_soon.setInterval(0)
        self._drawing_soon.timeout.connect(self._draw)
        self._hovering_soon = QTimer(self)
        self._hovering_soon.setSingleShot(True)
        self._hovering_soon.setInterval(15)
        self._hovering_soon.timeout.connect(self._tell_hover)
        self._radius = 1.0
        self._middle = np.zeros(3)

    # ---- drawing

    def draw_soon(self) -> None:
        """Draw once, after what is going on now."""
        self._drawing_soon.start()

    def _draw(self) -> None:
        self.plotter.renderer.ResetCameraClippingRange()
        self.plotter.update()  # painting renders; asking VTK to render as well would do it twice

    def close_canvas(self) -> None:
        """Let go of the picture driver; nothing is drawn afterwards."""
        self._drawing_soon.stop()
        self._hovering_soon.stop()
        self.plotter.removeEventFilter(self)
        self.plotter.close()

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802
        """Keep what was in view in view."""
        super().resizeEvent(event)
        if event.oldSize().isValid() and self._radius > 0.0:
            before = _half_angle(event.oldSize().width(), event.oldSize().height())
            now = _half_angle(event.size().width(), event.size().height())
            self.zoom(float(np.sin(now) / np.sin(before)))

    # ---- the camera

    def set_extent(self, low: FloatArray, high: FloatArray) -> None:
        """Say what the whole is, to fit and turn about."""
        self._middle = (low + high) / 2.0
        self._radius = float(np.linalg.norm(high - low)) / 2.0

    @property
    def middle(self) -> FloatArray:
        """Middle of the whole."""
        return self._middle

    def look_from(self, direction: FloatArray, up: FloatArray) -> None:
        """Look at the middle of the whole from a direction, all of it in view."""
        camera = self.plotter.camera
        width, height = max(1, self.width()), max(1, self.height())
        distance = FRAMED * self._radius / np.sin(_half_angle(width, height))
        camera.focal_point = tuple(self._middle)
        camera.position = tuple(self._middle + direction * distance)
        camera.up = tuple(up)
        camera.parallel_scale = distance * np.tan(np.deg2rad(camera.view_angle) / 2.0)
        self.turned.emit()
        self.draw_soon()

    def fit(self) -> None:
        """Bring all of the whole into view, from where it is looked at now."""
        self.look_from(self.eye_direction(), np.array(self.plotter.camera.up))

    def eye_direction(self) -> FloatArray:
        """Return the unit direction from what is looked at to the eye."""
        camera = self.plotter.camera
        away = np.array(camera.position) - np.array(camera.focal_point)
        return np.asarray(away / np.linalg.norm(away), np.float64)

    def turn(self, sideways_deg: float, upward_deg: float) -> None:
        """Turn the view."""
        camera = self.plotter.camera
        camera.Azimuth(sideways_deg)
        camera.Elevation(upward_deg)
        camera.OrthogonalizeViewUp()
        self.turned.emit()
        self.draw_soon()

    def zoom(self, factor: float) -> None:
        """Come closer by a factor, or go off."""
        camera = self.plotter.camera
        if camera.parallel_projection:
            camera.parallel_scale = camera.parallel_scale / factor
        else:
            camera.Dolly(factor)
        self.draw_soon()

    def look_square(self, on: bool) -> None:
        """Look with all rays alongside each other, as on a drawing; or from one eye again."""
        camera = self.plotter.camera
        if on == bool(camera.parallel_projection):
            return
        half = np.tan(np.deg2rad(camera.view_angle) / 2.0)
        away = np.array(camera.position) - np.array(camera.focal_point)
        if on:
            camera.parallel_scale = float(np.linalg.norm(away)) * half
            camera.enable_parallel_projection()
        else:
            camera.disable_parallel_projection()
            away *= camera.parallel_scale / half / np.linalg.norm(away)
            camera.position = tuple(np.array(camera.focal_point) + away)
        self.draw_soon()

    # ---- from picture points to space and back

    def ray(self, x: float, y: float) -> tuple[FloatArray, FloatArray]:
        """Return two points far before and behind everything under a picture point."""
        scale = self.plotter.devicePixelRatioF()
        renderer = self.plotter.renderer
        ends = []
        across, down = x * scale, (self.plotter.height() - 1 - y) * scale
        for depth in (0.0, 1.0):
            renderer.SetDisplayPoint(across, down, depth)
            renderer.DisplayToWorld()
            place = np.array(renderer.GetWorldPoint())
            ends.append(place[:3] / place[3])
        camera = self.plotter.camera
        eye = np.array(camera.position)
        way = ends[1] - ends[0]
        way /= np.linalg.norm(way)
        reach = float(np.linalg.norm(eye - self._middle)) + 3.0 * self._radius
        if camera.parallel_projection:  # rays do not meet in the eye
            start = ends[0] + ((self._middle - ends[0]) @ way - reach) * way
            return start, start + 2.0 * reach * way
        return eye, eye + way * reach

    def place_before(self, x: float, y: float) -> FloatArray:
        """Return where a picture point lies on a plane before the whole, square to the eye."""
        start, end = self.ray(x, y)
        eye = self.eye_direction()
        middle = self._middle + 1.1 * self._radius * eye
        along = ((middle - start) @ eye) / ((end - start) @ eye)
        return np.asarray(start + along * (end - start), np.float64)

    def move_pointer(self, across: float, down: float) -> None:
        """Move the place pointed at by keys, inside the view."""
        x, y = self.pointer
        self._hover_at = QPointF(
            min(max(x + across, 0.0), self.plotter.width() - 1.0),
            min(max(y + down, 0.0), self.plotter.height() - 1.0),
        )

    def picture_point(self, point: FloatArray) -> tuple[float, float]:
        """Return where a point of space is drawn."""
        scale = self.plotter.devicePixelRatioF()
        renderer = self.plotter.renderer
        renderer.SetWorldPoint(*point, 1.0)
        renderer.WorldToDisplay()
        across, up, _ = renderer.GetDisplayPoint()
        return across / scale, self.plotter.height() - 1 - up / scale

    def pixel_size(self, point: FloatArray) -> float:
        """Return how long one picture point is at a point of space."""
        camera = self.plotter.camera
        distance = float(np.linalg.norm(np.array(camera.position) - point))
        half = distance * np.tan(np.deg2rad(camera.view_angle) / 2.0)
        height = 2.0 * (camera.parallel_scale if camera.parallel_projection else half)
        return float(height) / max(1.0, float(self.plotter.height()))

    @property
    def pointer(self) -> tuple[float, float]:
        """Where the pointer is on the picture; its middle when it is elsewhere."""
        if self._hover_at is not None:
            return self._hover_at.x(), self._hover_at.y()
        return self.plotter.width() / 2.0, self.plotter.height() / 2.0

    # ---- the mouse

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802
        """Tell clicks from drags; keep keys for the window's own actions."""
        react = _REACTIONS.get(event.type())
        return react(self, event) if react is not None else False

    def _press(self, event: QEvent) -> bool:
        if not isinstance(event, QMouseEvent):
            return False
        if event.button() == Qt.MouseButton.LeftButton:
            self._pressed, self._dragging = event.position(), False
            self._press_kept = event.clone()
            return True  # VTK hears of it when it becomes a drag: a click draws once, not thrice
        return False

    def _move(self, event: QEvent) -> bool:
        if not isinstance(event, QMouseEvent):
            return False
        self._hover_at = event.position()
        self._hear_free(event.modifiers())
        if event.buttons() == Qt.MouseButton.NoButton:
            self._hovering_soon.start()
            return True  # VTK needs no moves without a button
        if self._pressed is not None and not self._dragging:
            moved = event.position() - self._pressed
            self._dragging = moved.manhattanLength() > STILL_PX
            if self._dragging and not self.pulls and self.grip is not None:
                self._gripped = self.grip(self._pressed.x(), self._pressed.y())
            if self._dragging and self._draws:
                place = event.position() if self._gripped else self._pressed
                self.pulled.emit(place.x(), place.y())
            elif self._dragging:
                self.plotter.mousePressEvent(self._press_kept)
            return not self._dragging or self._draws  # nothing turns until it is a drag
        if self._pressed is not None and self._draws:
            self.pulled.emit(event.position().x(), event.position().y())
            return True
        return False

    def _release(self, event: QEvent) -> bool:
        if not isinstance(event, QMouseEvent):
            return False
        if event.button() == Qt.MouseButton.LeftButton and self._pressed is not None:
            still, self._pressed = not self._dragging, None
            self._hover_at = event.position()
            if still:
                self.clicked.emit(event.position().x(), event.position().y())
                return True
            if self._draws:
                self._gripped = False
                self.pull_ended.emit()
                return True
            self.turned.emit()
        return False

    @property
    def _draws(self) -> bool:
        """Whether the left drag under way draws or takes something along."""
        return self.pulls or self._gripped

    def _key(self, event: QEvent) -> bool:
        """Hear of the key with which nothing is caught on; leave keys to the window's actions."""
        if isinstance(event, QKeyEvent) and event.key() == Qt.Key.Key_Shift:
            self._set_free(event.type() == QEvent.Type.KeyPress)
        event.ignore()
        return True

    def _hear_free(self, held: Qt.KeyboardModifier) -> None:
        shift = bool(held & Qt.KeyboardModifier.ShiftModifier)
        if shift or not self._free_by_key:
            self._free_by_key = False
            self._set_free(shift, by_key=False)

    def _set_free(self, on: bool, *, by_key: bool = True) -> None:
        self._free_by_key = on and by_key
        if on != self.is_free:
            self.is_free = on
            self.freed.emit()

    def _lose_focus(self, event: QEvent) -> bool:
        self._set_free(False)
        return False

    def _leave(self, event: QEvent) -> bool:
        self._hover_at = None
        self._hovering_soon.stop()
        self.left.emit()
        return False

    def _tell_hover(self) -> None:
        if self._hover_at is not None:
            self.hovered.emit(self._hover_at.x(), self._hover_at.y())


_REACTIONS: dict[QEvent.Type, Callable[[Canvas, QEvent], bool]] = {
    QEvent.Type.MouseButtonPress: Canvas._press,
    QEvent.Type.MouseMove: Canvas._move,
    QEvent.Type.MouseButtonRelease: Canvas._release,
    QEvent.Type.MouseButtonDblClick: Canvas._press,
    QEvent.Type.Leave: Canvas._leave,
    QEvent.Type.KeyPress: Canvas._key,
    QEvent.Type.KeyRelease: Canvas._key,
    QEvent.Type.FocusOut: Canvas._lose_focus,
}


def _half_angle(width: int, height: int) -> float:
    """Return half the angle the narrower side of a view spans."""
    half = np.tan(np.deg2rad(VIEW_ANGLE_DEG) / 2.0)
    return float(np.arctan(half * min(1.0, max(1, width) / max(1, height))))


def _samples() -> int:
    """Return how many samples smooth an edge: none where the processor draws."""
    return 0 if os.environ.get("LIBGL_ALWAYS_SOFTWARE") == "1" else 4


def lamps(plotter: Any) -> None:
    """Light the tank from above and a little from everywhere, so that shape shows."""
    plotter.remove_all_lights()
    for place, strength in (((0.4, 0.9, 1.0), 0.62), ((-1.0, 0.1, 0.6), 0.26), ((0, 0, 1), 0.22)):
        lamp = pv.Light(position=place, light_type="camera light", intensity=strength)
        plotter.add_light(lamp)
