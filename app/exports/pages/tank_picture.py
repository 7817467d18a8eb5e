"""Pictures of the whole tank without a screen: a small depth buffer, panels told by hatch too."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt

from app.exports.drawing import Colour
from app.exports.facts import TankModel
from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.mesh import face_normals

PANEL_COLOURS: tuple[Colour, ...] = (
    (0.62, 0.79, 0.93),
    (0.98, 0.80, 0.55),
    (0.73, 0.87, 0.67),
    (0.90, 0.72, 0.82),
    (0.96, 0.92, 0.62),
    (0.78, 0.76, 0.90),
    (0.70, 0.88, 0.87),
    (0.93, 0.69, 0.62),
)
_LONE_COLOUR: Colour = (0.86, 0.86, 0.86)

_THUMBNAIL_PX = 14
"""Pitch of the hatches on the small picture with one panel black."""

_SIDEWAYS_DEG = (35.0, 145.0, 215.0, 325.0, 90.0, 270.0, 0.0, 180.0)
_UPWARD_DEG = (25.0, 60.0, -30.0)
_ROUGH_PX = (72, 54)
"""Width and height of the picture by which views are compared."""

_SLACK_PX = 1e-6
"""A triangle's box takes in pixels whose middles lie so little outside it: rounding hides none."""


@dataclass(frozen=True, eq=False)
class TankView:
    """The tank as seen from one side.

    Attributes
    ----------
    panel : (h, w) int
        Index of the panel at each pixel; -1 for a face without panel, -2 where there is no tank.
    shade : (h, w) float
        0 dark to 1 light.
    front_on_page : (2,) float or None
        Which way FRONT points on the picture, x right, y up; length 1 where it lies flat in it.
    guessed, copied : (h, w) bool
        Where nobody scanned, and where the other side was put.
    """

    panel: IntArray
    shade: FloatArray
    front_on_page: FloatArray | None
    guessed: BoolArray
    copied: BoolArray

    def middle_of(self, panel: int) -> tuple[float, float] | None:
        """Return the pixel (column, row) deepest inside a panel's part of the picture, if seen."""
        return self._deepest(panel)[0]

    def depth_of(self, panel: int) -> float:
        """Return how many pixels the deepest place of a panel lies from its border, 0 unseen."""
        return self._deepest(panel)[1]

    def _deepest(self, panel: int) -> tuple[tuple[float, float] | None, float]:
        """Return the pixel (column, row) deepest inside a panel's part, if seen, and how deep."""
        seen = self.panel == panel
        rows, columns = np.flatnonzero(seen.any(axis=1)), np.flatnonzero(seen.any(axis=0))
        if not len(rows):
            return None, 0.0
        low, left = int(rows[0]), int(columns[0])
        part = np.pad(seen[low : rows[-1] + 1, left : columns[-1] + 1], 1)
        depth = np.asarray(distance_transform_edt(part), np.float64)[1:-1, 1:-1]
        row, column = np.unravel_index(int(depth.argmax()), depth.shape)
        return (float(left + column), float(low + row)), float(depth.max())

    def seen_pixels(self, panel: int) -> int:
        """Return how many pixels show a panel."""
        return int((self.panel == panel).sum())


def view_of(
    tank: TankModel, sideways_deg: float, upward_deg: float, width: int, height: int
) -> TankView:
    """Return the tank seen from a direction, filling the picture.

    Parameters
    ----------
    tank : TankModel
    sideways_deg : float
        0 looks at its front, 90 at its left side.
    upward_deg : float
        How far above level the eye is.
    width, height : int
        Pixels.
    """
    right, upright, eye = looking(tank, sideways_deg, upward_deg)
    face = _face_at(tank, (sideways_deg, upward_deg), (width, height))
    normals = _normals(tank)
    lamp = 0.75 * eye + 0.45 * upright - 0.35 * right
    normals = normals * np.where(normals @ eye < 0.0, -1.0, 1.0)[:, None]  # the side in sight
    light = 0.5 + 0.5 * normals @ (lamp / np.linalg.norm(lamp))
    hit = face >= 0
    panel = np.where(hit, tank.panel_of_face[np.maximum(face, 0)], -2)
    shade = np.where(hit, 0.35 + 0.65 * light[np.maximum(face, 0)], 1.0)
    front = None if tank.front is None else np.array([tank.front @ right, tank.front @ upright])
    marks = [
        hit & (False if marked is None else marked[np.maximum(face, 0)])
        for marked in (tank.filled, tank.copied)
    ]
    return TankView(panel, shade, front, *marks)


def pixels_of(
    tank: TankModel, points: FloatArray, angles_deg: tuple[float, float], extent: tuple[int, int]
) -> FloatArray:
    """Return (k, 3) column, row and height towards the eye of places in a picture of the tank.

    Parameters
    ----------
    tank : TankModel
    points : (k, 3) float, mm
    angles_deg : (float, float)
        Sideways and upward, as for `view_of`.
    extent : (int, int)
        Width and height of the picture, pixels.
    """
    box = _seen_box(tank, angles_deg)
    asked = points @ box.axes
    scale = picture_scale(tank, *angles_deg, *extent)
    return np.stack(
        [
            extent[0] / 2.0 + scale * (asked[:, 0] - box.middle[0]),
            extent[1] / 2.0 - scale * (asked[:, 1] - box.middle[1]),
            scale * asked[:, 2],
        ],
        axis=1,
    )


def picture_scale(
    tank: TankModel, sideways_deg: float, upward_deg: float, width: int, height: int
) -> float:
    """Return how many pixels a millimetre square to the line of sight takes."""
    box = _seen_box(tank, (sideways_deg, upward_deg))
    return 0.94 * min(width / box.across, height / box.tall)


@dataclass(frozen=True, eq=False)
class _SeenBox:
    """The box a tank fills from one side: right, up and eye as columns, middle and size, mm."""

    axes: FloatArray
    middle: FloatArray
    across: float
    tall: float


@lru_cache(maxsize=64)
def _seen_box(tank: TankModel, angles_deg: tuple[float, float]) -> _SeenBox:
    right, upright, eye = looking(tank, *angles_deg)
    axes = np.stack([right, upright, eye], axis=1)
    seen = tank.vertices @ axes
    low, high = seen[:, :2].min(axis=0), seen[:, :2].max(axis=0)
    across, tall = (float(np.ptp(tank.vertices @ axis)) for axis in (right, upright))
    return _SeenBox(axes, (low + high) / 2.0, across, tall)


@lru_cache(maxsize=8)
def _normals(tank: TankModel) -> FloatArray:
    return face_normals(tank.vertices, tank.faces)


def _face_at(tank: TankModel, angles_deg: tuple[float, float], extent: tuple[int, int]) -> IntArray:
    """Return (h, w) the face seen at each pixel, -1 where there is no tank."""
    return nearest_face(pixels_of(tank, tank.vertices, angles_deg, extent), tank.faces, *extent)


def looking(
    tank: TankModel, sideways_deg: float, upward_deg: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the picture's right and up, and the direction to the eye, each of length 1."""
    forward, left, up = _axes(tank)
    side, lift = np.deg2rad(sideways_deg), np.deg2rad(upward_deg)
    eye = np.cos(lift) * (np.cos(side) * forward + np.sin(side) * left) + np.sin(lift) * up
    right = np.cross(up, eye)
    right /= np.linalg.norm(right)
    return right, np.cross(eye, right), eye


def best_view_of_panel(tank: TankModel, panel: int, width: int, height: int) -> TankView:
    """Return the view that shows most of one panel, from above rather than from below."""
    return view_of(tank, *best_angles(tank, panel), width, height)


@lru_cache(maxsize=64)
def best_angles(tank: TankModel, panel: int) -> tuple[float, float]:
    """Return sideways and upward angles: the few that face the panel most, tried one by one."""
    mine = tank.faces[tank.panel_of_face == panel]
    corners = tank.vertices[mine]
    vectors = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])

    def liking(angles: tuple[float, float]) -> float:
        return 1.0 if angles[1] == _UPWARD_DEG[0] else 0.75

    def facing(angles: tuple[float, float]) -> float:
        return liking(angles) * float(np.maximum(vectors @ looking(tank, *angles)[2], 0.0).sum())

    def seen(angles: tuple[float, float]) -> float:
        face = _face_at(tank, angles, _ROUGH_PX)
        return liking(angles) * int((tank.panel_of_face[face[face >= 0]] == panel).sum())

    every = [(sideways, upward) for upward in _UPWARD_DEG for sideways in _SIDEWAYS_DEG]
    return max(sorted(every, key=facing, reverse=True)[:4], key=seen)


def nearest_face(pixels: FloatArray, faces: IntArray, width: int, height: int) -> IntArray:
    """Return (h, w) which face is nearest the eye at each pixel's middle, -1 where none is.

    Parameters
    ----------
    pixels : (n, 3) float
        Column, row, and height towards the eye.
    faces : (m, 3) int
    width, height : int
    """
    corners = _Corners(*(pixels[faces[:, k]].T for k in range(3)))
    first, count = _middles_within(corners, (width, height))
    widest = count.max(axis=0)
    size = np.where(count.min(axis=0) > 0, widest, 0)
    size = np.where(size > 2, 2 ** np.ceil(np.log2(np.maximum(size, 1))).astype(np.int64), size)
    best = np.full(width * height, -np.inf)
    nearest = np.full(width * height, -1, np.int64)
    for side in np.unique(size[size > 0]):
        rows = np.flatnonzero(size == side)
        batch = max(1, 500_000 // int(side * side))
        for start in range(0, len(rows), batch):
            chosen = rows[start : start + batch]
            pixel, depth, face = _covered(corners, first, chosen, int(side), (width, height))
            closer = depth > best[pixel]
            best[pixel[closer]] = depth[closer]
            nearest[pixel[closer]] = face[closer]
    return nearest.reshape(height, width)


@dataclass(frozen=True, eq=False)
class _Corners:
    """The corners of triangles, (3, m) each: columns, rows, heights towards the eye."""

    a: FloatArray
    b: FloatArray
    c: FloatArray


def _middles_within(corners: _Corners, extent: tuple[int, int]) -> tuple[IntArray, IntArray]:
    """Return (2, m) the first column and row whose pixels' middles a triangle's box holds, and how
    many there are, none where it holds none: most triangles of a small picture.
    """
    a, b, c = (each[:2] for each in (corners.a, corners.b, corners.c))
    low, high = np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)
    first = np.maximum(np.ceil(low - 0.5 - _SLACK_PX).astype(np.int64), 0)
    last = np.floor(high - 0.5 + _SLACK_PX).astype(np.int64)
    last = np.minimum(last, np.array(extent)[:, None] - 1)
    return first, np.maximum(last - first + 1, 0)


def _covered(
    corners: _Corners, first: IntArray, chosen: IntArray, side: int, extent: tuple[int, int]
) -> tuple[IntArray, FloatArray, IntArray]:
    """Return pixels that faces cover whose boxes are at most `side` wide: each pixel once.

    Returns
    -------
    (k,) int, (k,) float, (k,) int
        Pixel, depth and face of the nearest of these faces there.
    """
    width, height = extent
    step = np.arange(side)
    column = first[0, chosen][:, None, None] + step[None, None, :]
    row = first[1, chosen][:, None, None] + step[None, :, None]
    a, b, c = (each[:, chosen] for each in (corners.a, corners.b, corners.c))
    area = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    flat = np.abs(area) < 1e-12
    area = np.where(flat, 1.0, area)[:, None, None]
    x, y = np.asarray(column + 0.5, np.float64), np.asarray(row + 0.5, np.float64)
    weight_b = _signed(c, a, x, y) / area
    weight_c = _signed(a, b, x, y) / area
    weight_a = 1.0 - weight_b - weight_c
    inside = (weight_a >= 0) & (weight_b >= 0) & (weight_c >= 0) & ~flat[:, None, None]
    inside &= (column < width) & (row < height)
    at, r, k = np.nonzero(inside)
    depth = weight_a[at, r, k] * a[2, at] + weight_b[at, r, k] * b[2, at]
    depth = depth + weight_c[at, r, k] * c[2, at]
    pixel = (first[1, chosen[at]] + r) * width + first[0, chosen[at]] + k
    order = np.lexsort((chosen[at], depth, pixel))
    last = np.flatnonzero(np.diff(pixel[order], append=-1) != 0)  # the nearest face of each pixel
    winner = order[last]
    return pixel[winner], depth[winner], chosen[at[winner]]


def _signed(start: FloatArray, end: FloatArray, x: FloatArray, y: FloatArray) -> FloatArray:
    """Return twice the area left of start -> end at pixels (f, r, c)."""
    sx, sy, ex, ey = (each[:, None, None] for each in (start[0], start[1], end[0], end[1]))
    return np.asarray((ex - sx) * (y - sy) - (ey - sy) * (x - sx))


def one_panel_black(view: TankView, panel: int) -> NDArray[np.uint8]:
    """Return the picture in greys with one panel black, seams as lines."""
    grey = np.where(view.panel == -2, 1.0, 0.62 + 0.36 * view.shade)
    grey = np.where(_seams(view.panel), 0.35, grey)
    grey = np.where(view.panel == panel, 0.0, grey)
    grey = np.where(_copied_hatch(view, _THUMBNAIL_PX), 0.6, grey)
    grey = np.where(_guess_hatch(view, _THUMBNAIL_PX), 0.85, grey)
    return _as_bytes(np.repeat(grey[:, :, None], 3, axis=2))


def panels_coloured(view: TankView, hatch_px: int) -> NDArray[np.uint8]:
    """Return the picture with every panel in its colour and hatch, seams as dark lines."""
    height, width = view.panel.shape
    row, column = np.mgrid[0:height, 0:width]
    colours = np.array([*PANEL_COLOURS, _LONE_COLOUR, (1.0, 1.0, 1.0)])
    count = len(PANEL_COLOURS)
    index = np.where(view.panel >= 0, view.panel % count, np.where(view.panel == -1, count, -1))
    picture = colours[index] * np.where(view.panel == -2, 1.0, view.shade)[:, :, None]
    for panel in np.unique(view.panel[view.panel >= 0]):
        on = (view.panel == panel) & hatch_at(int(panel), row, column, hatch_px)
        picture[on] *= 0.78
    picture[view.copied] = 1.0 - 0.55 * (1.0 - picture[view.copied])
    picture[_copied_hatch(view, hatch_px)] = 0.30
    picture[view.guessed] = 1.0 - 0.25 * (1.0 - picture[view.guessed])
    picture[_guess_hatch(view, hatch_px)] = 0.12
    picture[_seams(view.panel)] = 0.08
    return _as_bytes(picture)


def _guess_hatch(view: TankView, pitch: int) -> BoolArray:
    """Return the pixels of the crossed hatch over what nobody scanned, and of its border."""
    row, column = np.indices(view.panel.shape)
    thick = max(1, pitch // 7)
    crossed = ((row + column) % pitch < thick) | ((row - column) % pitch < thick)
    return np.asarray(view.guessed & (crossed | _seams(view.guessed.astype(np.int64))))


def _copied_hatch(view: TankView, pitch: int) -> BoolArray:
    """Return the pixels of the broken steep hatch over what was put there from the other side."""
    row, column = np.indices(view.panel.shape)
    steep = (3 * column + row) % (3 * 2 * pitch) < 3 * max(1, pitch // 7)
    return np.asarray(view.copied & steep & (row % (2 * pitch) < 1.4 * pitch))


def hatch_at(panel: int, row: IntArray, column: IntArray, pitch: int) -> BoolArray:
    """Return which pixels the hatch of a panel darkens: eight kinds, then coarser ones."""
    pitch = pitch * (1 + panel // 8)
    thick = max(1, pitch // 7)
    directions = (row + column, row - column, row, column)
    first = np.asarray(directions[panel % 4] % pitch < thick)
    if panel % 8 < 4:
        return first
    return np.asarray(first & (directions[(panel + 1) % 4] // thick % 4 < 2))


def _seams(panel: IntArray) -> BoolArray:
    """Return pixels at which the panel changes."""
    edge = np.zeros(panel.shape, bool)
    across, down = panel[:, 1:] != panel[:, :-1], panel[1:] != panel[:-1]
    edge[:, 1:] |= across
    edge[:, :-1] |= across
    edge[1:] |= down
    edge[:-1] |= down
    return edge


def _as_bytes(picture: FloatArray) -> NDArray[np.uint8]:
    return np.asarray(np.round(np.clip(picture, 0.0, 1.0) * 255.0), np.uint8)


@lru_cache(maxsize=8)
def _axes(tank: TankModel) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the tank's forward, left and up; guessed from its shape while the datum is not set."""
    centred = tank.vertices - tank.vertices.mean(axis=0)
    _, _, principal = np.linalg.svd(centred[:: max(1, len(centred) // 5000)], full_matrices=False)
    if tank.up is not None:
        up = tank.up / np.linalg.norm(tank.up)
    else:
        upright = np.eye(3)[2] - (np.eye(3)[2] @ principal[0]) * principal[0]
        up = upright / np.linalg.norm(upright) if np.linalg.norm(upright) > 0.3 else principal[2]
    forward = principal[0] if tank.front is None else np.asarray(tank.front, np.float64)
    forward = forward - (forward @ up) * up
    if np.linalg.norm(forward) < 1e-6:
        forward = principal[1] - (principal[1] @ up) * up
    forward = forward / np.linalg.norm(forward)
    return forward, np.cross(up, forward), up
