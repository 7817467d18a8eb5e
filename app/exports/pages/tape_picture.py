"""A small picture of the tank with a tape on it: seen parts black, hidden parts broken."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import binary_dilation

from app.exports.facts import TankModel
from app.exports.pages.tank_picture import nearest_face, picture_scale, pixels_of
from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.mesh import face_normals
from geometry.polyline import in_pieces, lengths_along

_ANGLES = (
    (35.0, 25.0),
    (325.0, 25.0),
    (145.0, 25.0),
    (215.0, 25.0),
    (90.0, 8.0),
    (270.0, 8.0),
    (40.0, 62.0),
    (180.0, 12.0),
    (60.0, -35.0),
)
_ROUGH = (96, 72)
_SHARP_PX = 8
"""Pixels of a millimetre on paper."""

_UNDER_MM = 6.0
"""A place no deeper than this under the nearest triangle's middle is on it."""

_TAPE_MM = 0.55
_HALO_MM = 0.45
_DASH_MM = (1.1, 1.0)
_DOT_MM = 0.75
_DOTS_COUNT = 0.6
"""How much more a view is liked that shows every place the tape is held at."""


@dataclass(frozen=True, eq=False)
class TapePicture:
    """A picture with a tape.

    Attributes
    ----------
    pixels : (h, w, 3), 0-255
    held : (k, 2) float
        Where the places it is held at lie in it, from 0 to 1 across and up.
    front : (2,) float or None
        Which way FRONT points on it.
    """

    pixels: NDArray[np.uint8]
    held: FloatArray
    front: FloatArray | None


class TapePainter:
    """Paints tapes on one tank, the views of it kept from one tape to the next."""

    def __init__(self, tank: TankModel, width_mm: float, height_mm: float) -> None:
        self._tank = tank
        self._extent = (round(width_mm * _SHARP_PX), round(height_mm * _SHARP_PX))
        self._middles = tank.vertices[tank.faces].mean(axis=1)
        self._normals = face_normals(tank.vertices, tank.faces)
        self._rough: dict[tuple[float, float], IntArray] = {}
        self._sharp: dict[tuple[float, float], tuple[IntArray, FloatArray, FloatArray | None]] = {}

    def picture(self, line: FloatArray, held: FloatArray | None = None) -> TapePicture:
        """Return the picture that shows most of a tape.

        Parameters
        ----------
        line : (k, 3) float, mm
            In the tank's axes.
        held : (j, 3) float, mm, optional
            Where it is held: dots. Its two ends if not given.
        """
        points = line[[0, -1]] if held is None else held
        places = in_pieces(line, 200 - 1)
        angles = max(_ANGLES, key=lambda each: self._shown(places, points, each))
        face, shade, front = self._sharp_view(angles)
        pixels = pixels_of(self._tank, in_pieces(line, 1500 - 1), angles, self._extent)
        seen = self._seen(pixels, face, angles, self._extent)
        grey = np.where(face < 0, 1.0, 0.62 + 0.36 * shade)
        grey = np.where(_outline(face >= 0), 0.35, grey)
        dots = pixels_of(self._tank, points, angles, self._extent)
        picture = _with_tape(grey, pixels, seen, dots[:, :2])
        places = dots[:, :2] / np.array(self._extent)
        places[:, 1] = 1.0 - places[:, 1]
        return TapePicture(picture, places, front)

    def _shown(self, places: FloatArray, held: FloatArray, angles: tuple[float, float]) -> float:
        """Return how much of a tape a view shows, as long as it appears; hidden parts for less.

        Every place it is held at that is seen counts as well.
        """
        if angles not in self._rough:
            pixels = pixels_of(self._tank, self._tank.vertices, angles, _ROUGH)
            self._rough[angles] = nearest_face(pixels, self._tank.faces, *_ROUGH)
        pixels = pixels_of(self._tank, places, angles, _ROUGH)
        seen = self._seen(pixels, self._rough[angles], angles, _ROUGH)
        steps = np.linalg.norm(np.diff(pixels[:, :2], axis=0), axis=1)
        scale = picture_scale(self._tank, *angles, *_ROUGH)
        liking = 0.35 if angles[1] < 0.0 else 1.0  # from below only where nothing else shows it
        weight = np.where(seen[1:] & seen[:-1], 1.0, 0.4)
        dots = pixels_of(self._tank, held, angles, _ROUGH)
        clear = self._seen(dots, self._rough[angles], angles, _ROUGH).mean() if len(held) else 1.0
        return liking * (1.0 + _DOTS_COUNT * float(clear)) * float((steps * weight).sum()) / scale

    def _sharp_view(
        self, angles: tuple[float, float]
    ) -> tuple[IntArray, FloatArray, FloatArray | None]:
        """Return the face at each pixel, how light it is, and which way FRONT points."""
        if angles not in self._sharp:
            tank, extent = self._tank, self._extent
            pixels = pixels_of(tank, tank.vertices, angles, extent)
            face = nearest_face(pixels, tank.faces, *extent)
            scale = picture_scale(tank, *angles, *extent)
            axes = pixels_of(tank, np.eye(3), angles, extent)
            axes = (axes - pixels_of(tank, np.zeros((1, 3)), angles, extent)) / scale
            lamp = axes @ np.array([-0.3, -0.4, 0.8])  # from the upper left, towards the eye
            light = np.abs(self._normals @ (lamp / np.linalg.norm(lamp)))
            front = None if tank.front is None else tank.front @ axes[:, :2] * [1.0, -1.0]
            self._sharp[angles] = (face, light[np.maximum(face, 0)], front)
        return self._sharp[angles]

    def _seen(
        self,
        pixels: FloatArray,
        face: IntArray,
        angles: tuple[float, float],
        extent: tuple[int, int],
    ) -> BoolArray:
        """Return which of (k, 3) pixels no metal hides."""
        column = np.clip(pixels[:, 0].astype(np.int64), 0, extent[0] - 1)
        row = np.clip(pixels[:, 1].astype(np.int64), 0, extent[1] - 1)
        there = face[row, column]
        depth = pixels_of(self._tank, self._middles[np.maximum(there, 0)], angles, extent)[:, 2]
        under = _UNDER_MM * picture_scale(self._tank, *angles, *extent)
        return np.asarray((there < 0) | (pixels[:, 2] > depth - under))


def _with_tape(
    grey: FloatArray, pixels: FloatArray, seen: BoolArray, held: FloatArray
) -> NDArray[np.uint8]:
    """Return a grey picture with a tape: whole where it is seen, broken where it is hidden.

    Where it is held, (j, 2) pixels, there are dots.
    """
    run = lengths_along(pixels[:, :2])
    on, off = (length * _SHARP_PX for length in _DASH_MM)
    shown = seen | (run % (on + off) < on)
    tape = np.zeros(grey.shape, bool)
    places = _dots(pixels[:, :2], shown)
    inside = (places >= 0).all(axis=1) & (places < np.array(grey.shape[::-1])).all(axis=1)
    tape[places[inside, 1], places[inside, 0]] = True
    dots = np.zeros(grey.shape, bool)
    edge = np.array(grey.shape[::-1]) - 1
    at = np.clip(held.astype(np.int64), 0, edge) if len(held) else np.zeros((0, 2), np.int64)
    dots[at[:, 1], at[:, 0]] = True
    ground = binary_dilation(tape, _disk((_TAPE_MM / 2.0 + _HALO_MM) * _SHARP_PX))
    ground |= binary_dilation(dots, _disk((_DOT_MM + _HALO_MM) * _SHARP_PX))
    black = binary_dilation(tape, _disk(_TAPE_MM / 2.0 * _SHARP_PX))
    black |= binary_dilation(dots, _disk(_DOT_MM * _SHARP_PX))
    picture = np.where(black, 0.0, np.where(ground, 1.0, grey))
    grey_bytes = np.round(np.clip(picture, 0.0, 1.0) * 255.0).astype(np.uint8)
    return np.repeat(grey_bytes[:, :, None], 3, axis=2)


def _dots(places: FloatArray, shown: BoolArray) -> IntArray:
    """Return the pixels between places a tape is shown at."""
    found: list[FloatArray] = []
    for one, other, visible in zip(places[:-1], places[1:], shown[:-1], strict=True):
        if visible:
            count = int(np.abs(other - one).max()) + 2
            found.append(np.linspace(one, other, count))
    return np.concatenate(found or [np.zeros((0, 2))]).astype(np.int64)


def _disk(radius_px: float) -> BoolArray:
    reach = int(np.ceil(radius_px))
    row, column = np.mgrid[-reach : reach + 1, -reach : reach + 1]
    return np.asarray(row**2 + column**2 <= radius_px**2)


def _outline(tank: BoolArray) -> BoolArray:
    return np.asarray(binary_dilation(tank, iterations=2) & ~tank)


def pictures_of(
    tank: TankModel,
    tapes: Sequence[tuple[FloatArray, FloatArray]],
    width_mm: float,
    height_mm: float,
) -> tuple[TapePicture, ...]:
    """Return a picture of each tape: its line, and the places it is held at."""
    painter = TapePainter(tank, width_mm, height_mm)
    return tuple(painter.picture(line, held) for line, held in tapes)
