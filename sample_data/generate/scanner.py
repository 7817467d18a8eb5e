"""The invented scanner: two shells of triangles, with everything a real scan gets wrong.

The order: places of the skin, thinned more in flat patches; triangles; holes left by stickers
and by shadow; noise along the normal, white and slowly varying; passes that do not quite line
up; spikes on rims; a scrap of something else. Each defect stands in `Defects` for the tests.
"""

from dataclasses import dataclass

import numpy as np

from sample_data.generate.sampling import (
    IntArray,
    base_surface,
    bottom_rim,
    filler_rim,
    scattered,
    thinned,
)
from sample_data.generate.shape import BoolArray, FloatArray, beyond_filler, on_skin, skin
from sample_data.generate.triangles import (
    edges_turned,
    packed,
    rim_vertices,
    star_triangles,
    without_pinches,
)

SEED = 225
SPACING = 1.48  # least distance between places, mm; edges come out near 2.2
RIM_SPACING = 1.95
CANDIDATES = 520_000
WHITE_NOISE = 0.05  # standard deviations, mm
SLOW_NOISE = 0.03
PASS_SHIFT = 0.05

OVERLAP_STATION, OVERLAP_WIDTH = 118.0, 4.0  # the rear shell reaches this far over the main one
COARSE_SPACING = 3.4
COARSE_PATCHES = (  # centre, radius: flat places the scanner's software thinned
    ((410.0, 132.0, 70.0), 34.0),
    ((300.0, -123.0, 60.0), 30.0),
    ((215.0, 20.0, 205.0), 26.0),
)
STICKERS = (  # centre near the skin, diameter
    ((470.0, 60.0, 200.0), 6.0),
    ((285.0, -70.0, 210.0), 8.0),
    ((180.0, 45.0, 185.0), 6.0),
    ((85.0, -20.0, 165.0), 6.0),
    ((330.0, 131.0, 120.0), 8.0),
    ((235.0, 112.0, 100.0), 6.0),
    ((440.0, 120.0, 45.0), 6.0),
    ((70.0, 75.0, 100.0), 6.0),
    ((420.0, -130.0, 125.0), 8.0),
    ((215.0, -105.0, 45.0), 6.0),
    ((105.0, -75.0, 60.0), 6.0),
    ((545.0, 30.0, 90.0), 8.0),
    ((10.0, -20.0, 80.0), 6.0),
)
SHADOW_CENTRE = (292.0, -124.0, 152.0)  # under the right side line
SHADOW_SIZE = (40.0, 15.0)
SPIKES = 14
SCRAP_CENTRE = (205.0, -214.0, 12.0)


@dataclass(frozen=True)
class Defects:
    """Which vertices of the scan are not on the tank, or belong to what; all (n,) bool."""

    rear_shell: BoolArray
    spike: BoolArray
    scrap: BoolArray


@dataclass(frozen=True)
class Scan:
    """The scan in the tank's own frame, mm."""

    vertices: FloatArray
    faces: IntArray
    defects: Defects


def _in_shadow(points: FloatArray) -> BoolArray:
    """Return which places the scanner could not see: a long oval with rounded ends."""
    arm = points - np.array(SHADOW_CENTRE)
    along = np.abs(arm[:, 0]) / (SHADOW_SIZE[0] / 2)
    across = np.abs(arm[:, 2] - 0.06 * arm[:, 0]) / (SHADOW_SIZE[1] / 2)
    return np.asarray((along**3 + across**3 < 1) & (np.abs(arm[:, 1]) < 30))


def sticker_centres() -> FloatArray:
    """Return the middles of the stickers, on the skin."""
    return on_skin(np.array([centre for centre, _ in STICKERS]), rounds=20)


def _under_sticker(points: FloatArray) -> BoolArray:
    away = np.linalg.norm(points[:, None] - sticker_centres()[None], axis=2)
    return np.asarray((away < np.array([size / 2 for _, size in STICKERS])).any(axis=1))


def _places(
    rng: np.random.Generator, base: tuple[FloatArray, IntArray]
) -> tuple[FloatArray, BoolArray]:
    """Return places of one shell, and which of them lie on the true rims."""
    rims = np.concatenate([bottom_rim(RIM_SPACING), filler_rim(RIM_SPACING)])
    points = np.concatenate([rims, scattered(rng, CANDIDATES, base)])
    order = np.concatenate(
        [np.arange(len(rims)), len(rims) + rng.permutation(len(points) - len(rims))]
    )
    stay = thinned(points, np.full(len(points), SPACING), order)
    points, order = points[stay], order[stay]
    spacing = np.full(len(points), SPACING)
    for centre, radius in COARSE_PATCHES:
        away = np.linalg.norm(points - np.array(centre), axis=1) / radius
        spacing = np.maximum(spacing, np.where(away < 1, COARSE_SPACING, SPACING))
    stay = thinned(points, spacing, order)
    return points[stay], order[stay] < len(rims)


def _past_overlap(points: FloatArray) -> FloatArray:
    """Return the distance ahead of the middle of the overlap, mm along the tank."""
    return np.asarray(points[:, 0] - OVERLAP_STATION + 0.15 * (points[:, 2] - 100.0))


def _shell(
    rng: np.random.Generator, base: tuple[FloatArray, IntArray], *, rear: bool
) -> tuple[FloatArray, IntArray]:
    """Return one shell without noise: places and triangles, its openings and holes left out."""
    points, on_rim = _places(rng, base)
    ahead = _past_overlap(points) * (-1.0 if rear else 1.0)
    near = ahead > -12.0
    points, on_rim = points[near], on_rim[near]
    faces = star_triangles(points)
    faces = faces[~on_rim[faces].all(axis=1)]
    middle = points[faces].mean(axis=1)
    ahead = _past_overlap(middle) * (-1.0 if rear else 1.0)
    faces = faces[ahead > -OVERLAP_WIDTH / 2]
    faces = edges_turned(points, faces)
    hidden = _under_sticker(points) | _in_shadow(points)
    faces = faces[~hidden[faces].any(axis=1)]
    points, faces, _ = packed(points, without_pinches(faces, len(points)))
    return points, faces


@dataclass(frozen=True)
class SlowWaves:
    """A smooth random field: many plane waves of random direction, length and phase."""

    waves: FloatArray  # (w, 3) radians per mm
    phases: FloatArray  # (w,)

    def at(self, points: FloatArray) -> FloatArray:
        """Return the field at (k, 3) places; its standard deviation is 1."""
        total = np.zeros(len(points))
        for wave, phase in zip(self.waves, self.phases, strict=True):
            total += np.cos(points @ wave + phase)
        return np.asarray(total * np.sqrt(2.0 / len(self.phases)))


def _slow_waves(rng: np.random.Generator, shortest: float, longest: float) -> SlowWaves:
    directions = rng.normal(size=(64, 3))
    directions /= np.linalg.norm(directions, axis=1)[:, None]
    lengths = rng.uniform(shortest, longest, 64)
    return SlowWaves(2 * np.pi / lengths[:, None] * directions, rng.uniform(0, 2 * np.pi, 64))


def _rigid_shift(rng: np.random.Generator, points: FloatArray) -> FloatArray:
    """Return how a pass that lies slightly wrong moves the places: about 0.05 mm."""
    shift = rng.normal(size=3)
    shift *= PASS_SHIFT / np.linalg.norm(shift)
    turn = rng.normal(size=3) * 6e-5
    return np.asarray(shift + np.cross(turn, points - points.mean(axis=0)))


def _measured(rng: np.random.Generator, points: FloatArray, *, passes: int) -> FloatArray:
    """Return the places as a scanner reports them: noise along the normal, passes misaligned."""
    normal = skin(points).normal
    noise = WHITE_NOISE * rng.normal(size=len(points))
    noise += SLOW_NOISE * _slow_waves(rng, 14.0, 45.0).at(points)
    weights = np.stack([_slow_waves(rng, 250.0, 500.0).at(points) for _ in range(passes)], axis=1)
    weights = np.exp(2 * weights)
    weights /= weights.sum(axis=1, keepdims=True)
    shifts = np.stack([_rigid_shift(rng, points) for _ in range(passes)], axis=1)
    moved = points + noise[:, None] * normal + np.einsum("ij,ijk->ik", weights, shifts)
    return np.asarray(moved)


def _spiked(
    rng: np.random.Generator, points: FloatArray, faces: IntArray
) -> tuple[FloatArray, BoolArray]:
    """Return the places with a few rim vertices thrown out by 4-9 mm, and which those are.

    They sit on the bottom edge and on holes; filler rim and overlapping rims are clean.
    """
    clean = (np.abs(_past_overlap(points)) < 8.0) | (np.abs(beyond_filler(points)) < 8.0)
    rim = np.flatnonzero(rim_vertices(faces, len(points)) & ~clean)
    chosen = rng.choice(rim, SPIKES, replace=False)
    throw = skin(points[chosen]).normal + 0.6 * rng.normal(size=(SPIKES, 3))
    throw /= np.linalg.norm(throw, axis=1)[:, None]
    points = points.copy()
    points[chosen] += rng.uniform(4.0, 9.0, SPIKES)[:, None] * throw
    is_spike = np.zeros(len(points), dtype=bool)
    is_spike[chosen] = True
    return points, is_spike


def _scrap(rng: np.random.Generator) -> tuple[FloatArray, IntArray]:
    """Return a bent strip beside the tank: a bit of the stand that got into the picture."""
    rows, columns = 8, 23
    i, j = np.meshgrid(np.arange(rows), np.arange(columns), indexing="ij")
    u = 2.2 * (j + rng.uniform(-0.3, 0.3, i.shape)).ravel()
    v = 2.2 * (i + rng.uniform(-0.3, 0.3, i.shape)).ravel()
    points = np.stack([u, v * 0.8, 0.6 * v + 9.0 * np.sin(u / 22.0)], axis=1)
    points += np.array(SCRAP_CENTRE) + WHITE_NOISE * rng.normal(size=points.shape)
    a = (i[:-1, :-1] * columns + j[:-1, :-1]).ravel()
    lower = np.stack([a, a + 1, a + columns + 1], axis=1)
    upper = np.stack([a, a + columns + 1, a + columns], axis=1)
    return points, np.concatenate([lower, upper]).astype(np.int64)


def scan_tank() -> Scan:
    """Return the scan of the Brackwater 225 tank, the same every time."""
    rng = np.random.default_rng(SEED)
    base = base_surface(56)
    main, main_faces = _shell(rng, base, rear=False)
    rear, rear_faces = _shell(rng, base, rear=True)
    main = _measured(rng, main, passes=3)
    rear = _measured(rng, rear, passes=1)
    points = np.concatenate([main, rear])
    faces = np.concatenate([main_faces, rear_faces + len(main)])
    points, spike = _spiked(rng, points, faces)
    scrap, scrap_faces = _scrap(rng)
    number = np.arange(len(points) + len(scrap))
    return Scan(
        np.concatenate([points, scrap]),
        np.concatenate([faces, scrap_faces + len(points)]),
        Defects(
            rear_shell=(number >= len(main)) & (number < len(points)),
            spike=np.concatenate([spike, np.zeros(len(scrap), dtype=bool)]),
            scrap=number >= len(points),
        ),
    )
