"""Laying a scan, mirrored, onto itself: the plane at which the hands agree, wrong places let go."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.datum.symmetry_patches import Patches

ALIKE_SHARE = 0.01
"""Two hands are alike where they differ by less than this share of the scan's size: hand-made
tanks differ by some millimetres. Common practice, no source."""

FACING_COSINE = np.cos(np.deg2rad(25.0))
_COARSE_COSINE = np.cos(np.deg2rad(60.0))
_BEYOND = 1.3
"""A patch is trusted this many times its reach from its point: farther is past a rim."""
_TUKEY = 4.685
_MAD_TO_SIGMA = 1.4826
_FREE = 1e-4
"""Directions in which the surface answers a move with less than this share of what it answers in
the best one are not moved in: squares of lengths."""
_LEAST_SIGMA = 2e-4
"""Of the size: 0.04 mm on a tank. No two hands are told to be more alike than that."""


@dataclass(frozen=True, eq=False)
class Mirror:
    """A plane n.x = d about the patches' middle.

    Attributes
    ----------
    normal : (3,) float
        Unit.
    offset : float, mm
    """

    normal: FloatArray
    offset: float

    def points(self, points: FloatArray) -> FloatArray:
        """Return (k, 3) points mirrored."""
        return np.asarray(
            points - 2.0 * (points @ self.normal - self.offset)[:, None] * self.normal
        )

    def directions(self, directions: FloatArray) -> FloatArray:
        """Return (k, 3) directions mirrored."""
        return np.asarray(directions - 2.0 * (directions @ self.normal)[:, None] * self.normal)

    def axes(self) -> FloatArray:
        """Return (2, 3) unit directions in the plane, square to each other."""
        _, _, rows = np.linalg.svd(self.normal[None])
        return np.asarray(rows[1:])

    def moved(self, step: FloatArray, size: float) -> "Mirror":
        """Return the plane after a step: two turns, in mm at `size` from the middle, a shift."""
        turned = self.normal + (step[:2] / size) @ self.axes()
        return Mirror(turned / np.linalg.norm(turned), self.offset + float(step[2]))


@dataclass(frozen=True, eq=False)
class Pairing:
    """Patches mirrored, each against the patch it meets.

    Attributes
    ----------
    seen : (k,) bool
        Something of the scan is there at all, and not only a rim nearby.
    facing : (k,) bool
        Seen, and it faces the same way.
    telling : (k,) float
        How much the patch has to say of the plane: little where a move of the plane leaves it in
        its surface, as on a floor below it.
    gap : (k,) float, mm
        How far the mirrored patch stands outside the one it meets.
    answer : (k, 3) float
        Change of the gap by each of the steps of `Mirror.moved`.
    """

    seen: BoolArray
    facing: BoolArray
    telling: FloatArray
    gap: FloatArray
    answer: FloatArray

    def alike(self, limit_mm: float) -> BoolArray:
        """Return (k,) which patches have their like on the other hand."""
        return np.asarray(self.facing & (np.abs(self.gap) < limit_mm))


@dataclass(frozen=True, eq=False)
class Fit:
    """A plane, found.

    Attributes
    ----------
    mirror : Mirror
    pairing : Pairing
        Of the chosen patches, at that plane.
    sigma_mm : float
        Usual gap where the hands match.
    weights : (k,) float
        How far each patch was believed; 0 where nothing faces it.
    """

    mirror: Mirror
    pairing: Pairing
    sigma_mm: float
    weights: FloatArray

    def alike_share(self, patches: Patches) -> float:
        """Return the share of the scanned area that has its like on the other hand."""
        return float(self.pairing.alike(ALIKE_SHARE * patches.size).mean())

    def against_share(self, patches: Patches) -> float:
        """Return the share that meets something else, of all that is seen on both hands.

        Each place is counted by how much it has to say.
        """
        alike = _share(self.pairing, self.pairing.alike(ALIKE_SHARE * patches.size))
        return 1.0 - alike / max(_share(self.pairing, self.pairing.seen), 1e-12)


def coarse_fit(patches: Patches, start: Mirror, chosen: IntArray) -> Mirror:
    """Return the plane near a start about which some of the patches agree, roughly."""
    mirror = start
    for scale in np.geomspace(0.1, ALIKE_SHARE, 10) * patches.size:
        pairing = _pairing(patches, mirror, chosen, None, _COARSE_COSINE)
        weights = pairing.facing / (1.0 + (pairing.gap / scale) ** 2) ** 2
        mirror = mirror.moved(_step(pairing, weights), patches.size)
    return mirror


def coarse_scores(patches: Patches, mirror: Mirror, chosen: IntArray) -> tuple[float, float]:
    """Return how well the patches agree about a plane, by area and by what they have to say.

    1 all of them, 0 none.
    """
    pairing = _pairing(patches, mirror, chosen, None, _COARSE_COSINE)
    scale = 2.0 * ALIKE_SHARE * patches.size
    agree = pairing.facing / (1.0 + (pairing.gap / scale) ** 2)
    return float(agree.mean()), _share(pairing, agree)


def fine_fit(
    patches: Patches,
    start: Mirror,
    chosen: IntArray,
    *,
    rounds: int = 25,
    tolerance_mm: float = 1e-4,
) -> Fit:
    """Return the plane at which the chosen patches agree best with all, from a start some mm off.

    Gaps are weighed by Tukey's biweight on their own scale, so that dents, handed things and what
    meets nothing do not pull. Source: [beaton1974] for the weights, [chen1992] for gaps taken along
    the normal; the steps of a mirror are our own derivation.
    """
    mirror, asked = start, start
    meets = _meeting(patches, mirror, chosen)
    for _ in range(rounds):
        pairing = _pairing(patches, mirror, chosen, meets, FACING_COSINE)
        step = _step(pairing, _believed(pairing, _usual(pairing, patches)))
        mirror = mirror.moved(step, patches.size)
        if np.abs(step).max() < tolerance_mm:
            break
        if _apart(mirror, asked, patches.size) > 0.1 * patches.spacing:
            meets, asked = _meeting(patches, mirror, chosen), mirror
    pairing = _pairing(patches, mirror, chosen, None, FACING_COSINE)
    sigma = _usual(pairing, patches)
    return Fit(mirror, pairing, sigma, _believed(pairing, sigma))


def _apart(one: Mirror, other: Mirror, size: float) -> float:
    turn = np.linalg.norm(one.normal - other.normal) * size
    return float(turn + abs(one.offset - other.offset))


def _meeting(patches: Patches, mirror: Mirror, chosen: IntArray) -> IntArray:
    return patches.facing(
        mirror.points(patches.points[chosen]), mirror.directions(patches.normals[chosen])
    )


def _pairing(
    patches: Patches,
    mirror: Mirror,
    chosen: IntArray,
    meets: IntArray | None,
    cosine: float,
) -> Pairing:
    """Return the chosen patches, mirrored, against those they meet (looked for where not known)."""
    if meets is None:
        meets = _meeting(patches, mirror, chosen)
    met, meets = meets >= 0, np.maximum(meets, 0)
    points = patches.points[chosen]
    frames = patches.frames[meets]
    local = np.einsum("kix,kx->ki", frames, mirror.points(points) - patches.points[meets])
    u, v, w = local.T
    c0, c1, c2 = patches.curvature[meets].T
    rise_u, rise_v = c0 * u + c1 * v, c1 * u + c2 * v
    steep = np.sqrt(1.0 + rise_u**2 + rise_v**2)
    gap = (w - 0.5 * (u * rise_u + v * rise_v)) / steep
    normals = (
        frames[:, 2] - rise_u[:, None] * frames[:, 0] - rise_v[:, None] * frames[:, 1]
    ) / steep[:, None]
    near = u**2 + v**2 < (_BEYOND * max(patches.reach, patches.spacing)) ** 2
    seen = met & near & (np.abs(gap) < 0.1 * patches.size)
    own = mirror.directions(patches.normals[chosen])
    same = np.einsum("kx,kx->k", own, normals) > cosine
    return Pairing(
        seen=seen,
        facing=seen & same,
        telling=(_answer(mirror, points, own, patches.size) ** 2).sum(axis=1),
        gap=gap,
        answer=_answer(mirror, points, normals, patches.size),
    )


def _answer(mirror: Mirror, points: FloatArray, normals: FloatArray, size: float) -> FloatArray:
    """Return (k, 3) changes of gaps, along normals, of mirrored points by a mirror's steps."""
    along, axes = normals @ mirror.normal, mirror.axes()
    beside = points @ mirror.normal - mirror.offset
    turns = along[:, None] * (points @ axes.T) + beside[:, None] * (normals @ axes.T)
    return np.asarray(-2.0 * np.concatenate([turns / size, -along[:, None]], axis=1))


def _share(pairing: Pairing, counted: FloatArray | BoolArray) -> float:
    return float(pairing.telling @ counted) / max(float(pairing.telling.sum()), 1e-300)


def _step(pairing: Pairing, weights: FloatArray) -> FloatArray:
    """Return the (3,) step that closes the gaps best, none where the surface gives no answer."""
    total = max(float(weights.sum()), 1e-12)
    weighted = pairing.answer * weights[:, None]
    values, vectors = np.linalg.eigh(weighted.T @ pairing.answer / total)
    pull = vectors.T @ (weighted.T @ pairing.gap) / total
    held = values > max(_FREE * values[-1], 1e-12)
    return np.asarray(-vectors @ np.where(held, pull / np.where(held, values, 1.0), 0.0))


def _usual(pairing: Pairing, patches: Patches) -> float:
    """Return the usual gap of facing patches, by what they have to say, half of it maybe wrong."""
    rows = np.flatnonzero(pairing.facing)
    if not len(rows):
        return ALIKE_SHARE * patches.size
    gaps = np.abs(pairing.gap[rows])
    order = np.argsort(gaps)
    said = np.cumsum(pairing.telling[rows[order]])
    median = gaps[order[min(int(np.searchsorted(said, 0.5 * said[-1])), len(rows) - 1)]]
    return max(_MAD_TO_SIGMA * float(median), _LEAST_SIGMA * patches.size)


def _believed(pairing: Pairing, sigma: float) -> FloatArray:
    share = pairing.gap / (_TUKEY * sigma)
    return np.asarray(pairing.facing * np.maximum(0.0, 1.0 - share**2) ** 2)
