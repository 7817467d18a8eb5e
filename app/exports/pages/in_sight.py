"""The tank as a grey picture with lines drawn on it: those in sight, the hidden ones left out."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.ndimage import minimum_filter

from app.exports.drawing import Picture
from app.exports.facts import PanelSheet, TankModel
from app.exports.pages.tank_picture import best_angles, looking, nearest_face
from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.mesh import face_normals
from geometry.polyline import lengths_along, points_along

PICTURE_MM = (118.0, 54.0)
_PIXELS_PER_MM = 4
_ROOM = 0.88
_UNDER_SKIN_MM = 2.5
"""Lines lie on the middle of the metal and on flat facets: so far behind the skin is in sight."""

_LEAST_RUN = 2
_PITCH_PX = 9


@dataclass(frozen=True, eq=False)
class Sight:
    """One look at a tank.

    Attributes
    ----------
    axes : (3, 3) float
        Unit rows: the picture's right and up, and the direction to the eye.
    middle : (2,) float, mm
        Of what fills the picture, along right and up.
    scale : float
        Millimetres of the picture a millimetre square to the line of sight takes.
    depth : (h, w) float, mm
        Of the skin towards the eye at each pixel; minus infinity where there is none.
    pixels : (h, w) float
        0 black to 1 white.
    """

    axes: FloatArray
    middle: FloatArray
    scale: float
    depth: FloatArray
    pixels: FloatArray

    @property
    def picture(self) -> Picture:
        """The grey picture, its lower left corner at (0, 0)."""
        grey = np.round(255.0 * np.clip(self.pixels, 0.0, 1.0)).astype(np.uint8)
        return Picture(np.repeat(grey[:, :, None], 3, axis=2), (0.0, 0.0), *PICTURE_MM)

    def front_on_page(self, front: FloatArray | None) -> FloatArray | None:
        """Return which way FRONT points in the picture."""
        return None if front is None else np.asarray(self.axes[:2] @ front)

    def on_picture(self, points: FloatArray) -> FloatArray:
        """Return the (k, 2) places of points in the picture, mm."""
        seen = points @ self.axes[:2].T
        return np.asarray((seen - self.middle) * self.scale + np.array(PICTURE_MM) / 2.0)

    def in_sight(self, points: FloatArray) -> BoolArray:
        """Return which (k,) points no metal hides."""
        places = self.on_picture(points)
        column, row = (places * _PIXELS_PER_MM).astype(int).T
        height, width = self.depth.shape
        row = height - 1 - row
        within = (column >= 0) & (column < width) & (row >= 0) & (row < height)
        skin = self.depth[np.clip(row, 0, height - 1), np.clip(column, 0, width - 1)]
        return np.asarray(within & (points @ self.axes[2] >= skin - _UNDER_SKIN_MM))

    def lines_in_sight(self, line: FloatArray) -> list[FloatArray]:
        """Return the parts of a line (k, 3) that no metal hides, (j, 2) in the picture, mm."""
        line = _close_enough(line, 0.8 / self.scale)
        shown = np.concatenate([[False], self.in_sight(line), [False]])
        starts = np.flatnonzero(shown[1:] & ~shown[:-1])
        stops = np.flatnonzero(~shown[1:] & shown[:-1])
        places = self.on_picture(line)
        return [
            places[start:stop]
            for start, stop in zip(starts, stops, strict=True)
            if stop - start >= _LEAST_RUN
        ]


def _close_enough(line: FloatArray, step: float) -> FloatArray:
    """Return a line with points no farther apart than a step."""
    along = lengths_along(line)
    count = int(np.ceil(along[-1] / step)) + 1
    at = np.union1d(along, np.linspace(0.0, along[-1], max(count, 2)))
    return points_along(line, at)


@lru_cache(maxsize=8)
def sight_of_panel(tank: TankModel, panel: str) -> Sight:
    """Return the look at a tank that shows most of a panel, the panel filling the picture.

    Parameters
    ----------
    tank : TankModel
    panel : str
        In white; the rest of the tank in grey.
    """
    index = tank.names.index(panel)
    axes = np.stack(looking(tank, *best_angles(tank, index)))
    seen = tank.vertices @ axes.T
    mine = tank.panel_of_face == index
    filling = seen[np.unique(tank.faces[mine]), :2]
    low, high = filling.min(axis=0), filling.max(axis=0)
    scale = _ROOM * float(np.min(np.array(PICTURE_MM) / np.maximum(high - low, 1e-6)))
    middle = (low + high) / 2.0
    width, height = (round(side * _PIXELS_PER_MM) for side in PICTURE_MM)
    per_mm = scale * _PIXELS_PER_MM
    placed = np.stack(
        [
            width / 2.0 + per_mm * (seen[:, 0] - middle[0]),
            height / 2.0 - per_mm * (seen[:, 1] - middle[1]),
            per_mm * seen[:, 2],
        ],
        axis=1,
    )
    face = nearest_face(placed, tank.faces, width, height)
    depth = _depth(placed, tank.faces, face) / per_mm
    return Sight(axes, middle, scale, depth, _greys(tank, axes, face, mine))


def _depth(placed: FloatArray, faces: IntArray, face: IntArray) -> FloatArray:
    """Return the (h, w) height towards the eye at pixels, the least of each and its neighbours."""
    row, column = np.nonzero(face >= 0)
    a, b, c = (placed[faces[face[row, column], corner]] for corner in range(3))
    normal = np.cross(b - a, c - a)
    upright = np.where(np.abs(normal[:, 2]) < 1e-9, 1.0, normal[:, 2])
    x, y = column + 0.5 - a[:, 0], row + 0.5 - a[:, 1]
    height = a[:, 2] - (normal[:, 0] * x + normal[:, 1] * y) / upright
    corners = np.stack([a[:, 2], b[:, 2], c[:, 2]])
    depth = np.full(face.shape, np.inf)
    depth[row, column] = np.clip(height, corners.min(axis=0), corners.max(axis=0))
    depth = minimum_filter(depth, 3)
    return np.asarray(np.where(np.isfinite(depth), depth, -np.inf))


def _greys(tank: TankModel, axes: FloatArray, face: IntArray, mine: BoolArray) -> FloatArray:
    """Return the picture: the panel all but white, the rest light grey, seams darker."""
    eye = axes[2]
    normals = face_normals(tank.vertices, tank.faces)
    slope = np.abs(normals @ eye)[np.maximum(face, 0)]
    on_panel = mine[np.maximum(face, 0)] & (face >= 0)
    grey = np.where(on_panel, 0.90 + 0.10 * slope, 0.70 + 0.16 * slope)
    grey = np.where(face >= 0, grey, 1.0)
    panel = np.where(face >= 0, tank.panel_of_face[np.maximum(face, 0)], -2)
    edge = np.zeros(panel.shape, bool)
    edge[:, 1:] |= panel[:, 1:] != panel[:, :-1]
    edge[1:] |= panel[1:] != panel[:-1]
    grey = np.where(edge, 0.2, grey)
    return np.asarray(np.where(_patch_hatch(tank, face), 0.15, grey))


def _patch_hatch(tank: TankModel, face: IntArray) -> BoolArray:
    """Return the pixels of the crossed hatch over what is filled by guess, and of the broken
    steep one over what was put there from the other side.
    """
    row, column = np.indices(face.shape)
    hatch = np.zeros(face.shape, bool)
    if tank.filled is not None:
        crossed = ((row + column) % _PITCH_PX == 0) | ((row - column) % _PITCH_PX == 0)
        hatch |= crossed & tank.filled[np.maximum(face, 0)]
    if tank.copied is not None:
        steep = ((3 * column + row) % (6 * _PITCH_PX) < 3) & (row % (2 * _PITCH_PX) < _PITCH_PX)
        hatch |= steep & tank.copied[np.maximum(face, 0)]
    return np.asarray(hatch & (face >= 0))


def panel_rim(sheet: PanelSheet) -> FloatArray:
    """Return the (k, 3) formed rim of a panel, back to its start."""
    rim = sheet.flat.vertices[np.append(sheet.flat.rim, sheet.flat.rim[0])]
    return np.asarray(rim)


def parts_in_sight(sight: Sight, lines: Sequence[FloatArray]) -> list[FloatArray]:
    """Return the parts of several lines that no metal hides."""
    return [part for line in lines for part in sight.lines_in_sight(line)]
