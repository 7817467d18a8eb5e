"""The centre plane of a scan: looked for everywhere, laid finely, and told honestly."""

from dataclasses import dataclass, replace

import numpy as np

from geometry.arrays import FloatArray
from geometry.datum.centre_plane import CentrePlane, NoSymmetryError, positive_along_largest
from geometry.datum.symmetry_fit import Fit, Mirror, coarse_fit, coarse_scores, fine_fit
from geometry.datum.symmetry_patches import Patches, patches_of
from geometry.datum.symmetry_sureness import Sureness, sureness_of
from geometry.datum.symmetry_votes import likely_mirrors
from geometry.mesh import TriMesh, face_areas
from geometry.progress import Report, part_of, silent

_TRIED = 12
_VOTERS = 900
_LOOKED_AT = 6
_QUICK = 3000
"""Patches mirrored to see which planes are worth laying with all of them."""

LEAST_ALIKE = 0.25
"""A plane with less of the scanned area alike on both hands is not believed: a good tank with a
third of its metal unseen, all of that on one hand, still has half."""

MOST_AGAINST = 0.5
"""Nor is one about which more than this share, of what is seen on both hands, is not alike. Scanned
tanks have hardly any, one dented all over 0.4; half a tank, or a lump, laid onto itself as well as
can be, 0.6 and more."""

_HOPELESS = 0.6

AS_GOOD = 0.6
"""Other planes are told when they have this share of the best one's area alike."""

SEVERAL_PLANES = "another plane is as good: choose the one between left and right"

_TIE = 0.04
_SAME_RAD = np.deg2rad(3.0)


@dataclass(frozen=True, eq=False)
class _Found:
    fit: Fit
    sure: Sureness
    share: float
    against: float

    @property
    def floats(self) -> bool:
        """Whether it can turn and slide, or turn any way: as planes across a mere floor can."""
        return len(self.sure.open_moves) > 1

    @property
    def is_sound(self) -> bool:
        return self.share >= LEAST_ALIKE and self.against <= MOST_AGAINST


def centre_plane(
    mesh: TriMesh, *, near: CentrePlane | None = None, report: Report = silent
) -> CentrePlane:
    """Return the plane about which most of a scan is alike, dents and handed things let go.

    Parameters
    ----------
    mesh : TriMesh, mm
        Faces outward; may have holes, rims and other pieces.
    near : CentrePlane, optional
        Look only near this one: rough picks, or one of another plane's `others`.

    Raises
    ------
    NoSymmetryError
        Too little of the scan is alike about any plane.
    """
    if not face_areas(mesh.vertices, mesh.faces).any():
        raise NoSymmetryError(0.0)
    patches = patches_of(mesh, report=part_of(report, 0.0, 0.3))
    if near is None:
        starts = _starts(patches, part_of(report, 0.3, 0.6))
    else:
        offset = float((near.point - patches.middle) @ near.normal)
        chosen = patches.thinned(_VOTERS)
        starts = [coarse_fit(patches, Mirror(near.normal, offset), chosen)]
    found = _laid(patches, starts, part_of(report, 0.6, 1.0))
    sound = [one for one in found if one.is_sound]
    if not sound:
        raise NoSymmetryError(max(one.share for one in found))
    ordered = _ordered(patches, sound)
    best, *others = [_told(patches, one) for one in ordered]
    as_good = any(one.share > ordered[0].share - _TIE for one in ordered[1:])
    return replace(
        best, others=tuple(others), weak=(*best.weak, *([SEVERAL_PLANES] if as_good else []))
    )


def _laid(patches: Patches, starts: list[Mirror], report: Report) -> list[_Found]:
    """Return the planes worth it laid with all patches, most area alike first."""
    quick = patches.thinned(_QUICK)
    looked: list[tuple[float, float, Mirror]] = []
    for number, start in enumerate(starts):
        report(0.4 * number / len(starts), "Laying left onto right")
        fit = fine_fit(patches, start, quick, rounds=10, tolerance_mm=0.02)
        looked.append((fit.alike_share(patches), fit.against_share(patches), fit.mirror))
    hopeful = [one for one in looked if one[1] <= _HOPELESS]
    if not hopeful:
        raise NoSymmetryError(max(share for share, _, _ in looked))
    most = max(share for share, _, _ in hopeful)
    worth = [mirror for share, _, mirror in hopeful if share >= AS_GOOD * most]
    found = []
    for number, mirror in enumerate(worth):
        report(0.4 + 0.6 * number / len(worth), "Laying left onto right")
        fit = fine_fit(patches, mirror, np.arange(len(patches.points)))
        share, against = fit.alike_share(patches), fit.against_share(patches)
        found.append(_Found(fit, sureness_of(patches, fit), share, against))
    report(1.0, "Laying left onto right")
    return sorted(found, key=lambda one: (one.floats, -one.share))


def _starts(patches: Patches, report: Report) -> list[Mirror]:
    """Return the few planes, apart from each other, about which the patches agree best."""
    report(0.0, "Looking for the centre plane")
    chosen = patches.thinned(_VOTERS)
    likely = likely_mirrors(patches, chosen, _TRIED)
    tried: list[Mirror] = []
    scores: list[tuple[float, float]] = []
    for number, start in enumerate(likely):
        report((number + 1) / (len(likely) + 1), "Looking for the centre plane")
        tried.append(coarse_fit(patches, start, chosen))
        scores.append(coarse_scores(patches, tried[-1], chosen))
    by_area, by_telling = np.argsort(-np.array(scores), axis=0, kind="stable").T
    kept: list[Mirror] = []
    for number in np.stack([by_area, by_telling], axis=1).ravel():
        mirror = tried[number]
        if len(kept) < _LOOKED_AT and not any(_same(mirror, one, patches.size) for one in kept):
            kept.append(mirror)
    return kept


def _same(one: Mirror, other: Mirror, size: float) -> bool:
    cosine = float(one.normal @ other.normal)
    shift = abs(one.offset - np.sign(cosine) * other.offset)
    return bool(abs(cosine) > np.cos(_SAME_RAD)) and bool(shift < 0.05 * size)


def _ordered(patches: Patches, found: list[_Found]) -> list[_Found]:
    """Return the planes worth telling, best first.

    Of planes about as good, one that runs along the part goes before one across its length: a tank
    is longer than it is wide. Planes the best one can freely move into are the same plane.
    """
    longest = np.linalg.eigh(patches.points.T @ patches.points)[1][:, -1]
    most = found[0].share
    worth = [one for one in found if one.share >= AS_GOOD * most and one.floats == found[0].floats]
    ties = [one for one in worth if one.share >= most - _TIE]
    rest = [one for one in worth if one.share < most - _TIE]
    ties.sort(key=lambda one: bool(abs(one.fit.mirror.normal @ longest) > np.cos(np.pi / 4)))
    kept: list[_Found] = []
    for one in [*ties, *rest]:
        if not any(_moves_into(patches, known, one) for known in kept):
            kept.append(one)
    return kept


def _moves_into(patches: Patches, known: _Found, other: _Found) -> bool:
    """Say whether a plane is another one after a move the shape leaves open."""
    one, two = known.fit.mirror, other.fit.mirror
    if abs(float(one.normal @ two.normal)) > np.cos(_SAME_RAD):
        return True  # alongside it, and worse
    turns = known.sure.open_moves[:, :2] @ one.axes()  # (j, 3) ways the normal may go
    turns = turns[np.linalg.norm(turns, axis=1) > 0.5]
    if not len(turns):
        return False
    within = np.linalg.svd(np.vstack([one.normal, turns]), full_matrices=False)[2]
    out = float(np.linalg.norm(two.normal - within.T @ (within @ two.normal)))
    return out < float(np.sin(2.0 * _SAME_RAD))


def _told(patches: Patches, found: _Found) -> CentrePlane:
    mirror, fit = found.fit.mirror, found.fit
    weights = fit.weights
    squares = float(weights @ fit.pairing.gap**2) / max(float(weights.sum()), 1e-12)
    point: FloatArray = patches.middle + mirror.offset * mirror.normal
    return CentrePlane(
        point=point,
        normal=positive_along_largest(mirror.normal),
        spread_rad=found.sure.spread_rad,
        spread_mm=found.sure.spread_mm,
        weak=found.sure.weak,
        matched_share=found.share,
        residual_mm=float(np.sqrt(squares)),
    )
