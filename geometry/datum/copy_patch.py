"""A round place of one surface put into another: led over at its border, and sewn in.

Within the place the patch is as it was; around it, over the width of the blend, it is led into
the surface it is put into, so that position and slope are that surface's where they are sewn.
"""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.datum.centre_plane import CentrePlane
from geometry.datum.copy_body import NEW_FACE, Body, cut_off_below, rim_sides, together
from geometry.datum.copy_half import carried_on, smooth_rise
from geometry.datum.left_right_skin import skin_of, standing_out
from geometry.mesh import TriMesh, part_of_mesh, piece_of_face, typical_edge_length, vertex_normals
from geometry.polyline import lengths_along, line_length

_WIDER = (1.0, 1.07, 0.94, 1.15, 1.24, 0.88)
"""What the seam's radius is tried at, of what is asked: a rim in the way may be passed by."""

_GAP_IN_EDGES = 1.0
_AROUND_IN_EDGES = 9.0
_FAR_IN_EDGES = 2.5
_SNAPPED_SHARE = 0.2


@dataclass(frozen=True)
class Ball:
    """A round place: all of the skin nearer than a radius."""

    centre: tuple[float, float, float]
    radius_mm: float

    def away(self, points: FloatArray) -> FloatArray:
        """Return how far (k, 3) points lie from its middle."""
        return np.asarray(np.linalg.norm(points - np.array(self.centre), axis=1))


@dataclass(frozen=True, eq=False)
class Patched:
    """A body with a patch sewn in, and what is left between them at the seam.

    Attributes
    ----------
    body : Body
    step_mm, kink_rad : float
        Largest difference in position and in slope at the seam, scan noise fitted away.
    """

    body: Body
    step_mm: float
    kink_rad: float


def patched(
    base: Body, patch: Body, ball: Ball, plane: CentrePlane, *, blend_mm: float
) -> Patched | None:
    """Return `base` with `patch` within a ball, or None where their rims cannot be sewn together.

    The seam runs the width of the blend outside the ball. Where the patch has nothing within the
    ball, nothing is put in.
    """
    edge = typical_edge_length(base.mesh)
    away = ball.away(patch.vertices)
    reach = max(_WIDER) * (ball.radius_mm + blend_mm) + 2.0 * edge
    near = patch.part(np.flatnonzero((away < reach)[patch.faces].any(axis=1)))
    if not len(near.faces):
        outside = cut_off_below(base, ball.away(base.vertices) - ball.radius_mm)[0]
        return Patched(outside, 0.0, 0.0)
    for wider in _WIDER:
        blend = wider * (ball.radius_mm + blend_mm) - ball.radius_mm
        if blend < 3.0 * edge:
            continue
        led, step, kink = _led_over(base, near, ball, plane, blend)
        sewn = _sewn_in(base, led, Ball(ball.centre, ball.radius_mm + blend), edge)
        if sewn is not None:
            return Patched(sewn, step, kink)
    return None


def _led_over(
    base: Body, patch: Body, ball: Ball, plane: CentrePlane, blend_mm: float
) -> tuple[Body, float, float]:
    """Return the patch led into the base, and the step and kink left at the outside."""
    edge = typical_edge_length(base.mesh)
    reach = ball.radius_mm + blend_mm + _AROUND_IN_EDGES * edge
    under = _near(base.mesh, ball, reach)
    if under is None:
        return patch, 0.0, 0.0
    away = ball.away(patch.vertices)
    ring = np.flatnonzero((away > ball.radius_mm) & (away < reach))
    normals = vertex_normals(patch.vertices, patch.faces)[ring]
    below, places = skin_of(under, plane), patch.vertices[ring]
    found = standing_out(skin_of(patch.mesh, plane), below, places, normals).value
    share = smooth_rise((away[ring] - ball.radius_mm) / blend_mm)
    vertices = patch.vertices.copy()
    vertices[ring] -= (share * carried_on(places, found))[:, None] * normals
    led = patch.moved(vertices)
    at_seam = np.abs(away[ring] - ball.radius_mm - blend_mm) < 2.0 * edge
    left = standing_out(skin_of(led.mesh, plane), below, vertices[ring][at_seam], normals[at_seam])
    kink = np.linalg.norm(left.slope, axis=1)
    return led, float(np.nanmax(np.abs(np.append(left.value, 0.0)))), float(kink.max(initial=0.0))


def _near(mesh: TriMesh, ball: Ball, reach_mm: float) -> TriMesh | None:
    rows = np.flatnonzero((ball.away(mesh.vertices) < reach_mm)[mesh.faces].any(axis=1))
    return part_of_mesh(mesh, rows)[0] if len(rows) else None


def _sewn_in(base: Body, patch: Body, ball: Ball, edge_mm: float) -> Body | None:
    """Return the base outside a ball, the patch inside it, and a narrow strip between."""
    snap = _SNAPPED_SHARE * edge_mm
    outer, outer_cut = _cut(base, ball.away(base.vertices) - ball.radius_mm, snap)
    inside = ball.radius_mm - _GAP_IN_EDGES * edge_mm - ball.away(patch.vertices)
    inner, inner_cut = _cut(patch, inside, snap)
    if not len(inner.faces) or not len(outer.faces):
        return None
    both = together(outer, inner)
    far, near = _chains(outer.faces, outer_cut), _chains(inner.faces, inner_cut)
    far, near = _without_small(far, outer, edge_mm), _without_small(near, inner, edge_mm)
    if not far or not near:
        return None
    reach = _FAR_IN_EDGES * edge_mm
    far, near = (
        _without_small(_facing_parts(far, outer, near, inner, reach), outer, edge_mm),
        _without_small(_facing_parts(near, inner, far, outer, reach), inner, edge_mm),
    )
    pairs = _pairs(far, near, outer.vertices, inner.vertices, 2.0 * reach)
    if pairs is None:
        return None
    strips = [_strip(both.vertices, one, other + len(outer.vertices)) for one, other in pairs]
    strip = np.concatenate(strips)
    made = bool(outer.copied.any() or inner.copied.any())
    added = len(strip)
    whole = Body(
        both.vertices,
        np.concatenate([both.faces, strip]),
        np.concatenate([both.scan_face, np.full(added, NEW_FACE)]),
        np.concatenate([both.copied, np.full(added, made)]),
        np.concatenate([both.guessed, np.zeros(added, bool)]),
    )
    return whole.part(_hangs_on(whole.faces, len(outer.faces), added))


def _cut(body: Body, values: FloatArray, snap: float) -> tuple[Body, BoolArray]:
    return cut_off_below(body, np.where(np.abs(values) < snap, 0.0, values))


def _hangs_on(faces: IntArray, outer: int, strip: int) -> BoolArray:
    """Return which faces to keep: all outside, and what inside hangs together with a strip."""
    piece = piece_of_face(faces)
    stays = np.isin(piece, piece[len(faces) - strip :])
    stays[:outer] = True
    return stays


def _chains(faces: IntArray, cut: BoolArray) -> list[IntArray]:
    """Return runs of rim made by a cut, in their faces' direction; closed ones repeat the first."""
    sides = rim_sides(faces)
    sides = sides[cut[sides].all(axis=1)]
    following = dict(sides.tolist())
    if len(following) < len(sides):
        return []  # runs touch at a vertex
    starts = sorted(set(following) - set(following.values()))
    runs = []
    while following:
        run = [starts.pop(0) if starts else min(following)]
        while run[-1] in following:
            run.append(following.pop(run[-1]))
        runs.append(np.array(run))
    return runs


def _without_small(runs: list[IntArray], body: Body, edge_mm: float) -> list[IntArray]:
    """Leave out runs so short that they go round a speck or clip a corner."""
    length = [line_length(body.vertices[run]) for run in runs]
    return [run for run, mm in zip(runs, length, strict=True) if mm > 5.0 * edge_mm]


def _facing_parts(
    runs: list[IntArray], body: Body, others: list[IntArray], beside: Body, reach_mm: float
) -> list[IntArray]:
    """Return the parts of runs beside which others run: elsewhere one of them lies in a hole."""
    tree = cKDTree(beside.vertices[np.concatenate(others)])
    parts = []
    for run in runs:
        faced = np.asarray(tree.query(body.vertices[run])[0]) < reach_mm
        if faced.all():
            parts.append(run)
            continue
        turned = run
        if run[0] == run[-1]:
            first = int(np.argmin(faced[:-1]))
            turned = np.append(np.roll(run[:-1], -first), run[first])
            faced = np.append(np.roll(faced[:-1], -first), faced[first])
        ends = np.flatnonzero(np.diff(np.concatenate([[0], faced.astype(np.int64), [0]])))
        parts += [turned[start:end] for start, end in ends.reshape(-1, 2) if end - start > 1]
    return parts


def _pairs(
    far: list[IntArray], near: list[IntArray], outer: FloatArray, inner: FloatArray, reach: float
) -> list[tuple[IntArray, IntArray]] | None:
    """Return which runs lie beside each other, or None unless each has its own."""
    if not far or len(far) != len(near):
        return None
    pairs, left = [], list(near)
    for run in far:
        tree = cKDTree(outer[run])
        off = [float(np.max(tree.query(inner[other])[0])) for other in left]
        best = int(np.argmin(off))
        other = left.pop(best)
        if off[best] > reach or (run[0] == run[-1]) != (other[0] == other[-1]):
            return None
        if float(np.max(cKDTree(inner[other]).query(outer[run])[0])) > reach:
            return None
        pairs.append((run, other))
    return pairs


def _strip(vertices: FloatArray, outside: IntArray, inside: IntArray) -> IntArray:
    """Return triangles between two runs of rim that go opposite ways beside each other."""
    inside = inside[::-1]
    if inside[0] == inside[-1]:
        first = int(np.linalg.norm(vertices[inside] - vertices[outside[0]], axis=1).argmin())
        inside = np.append(np.roll(inside[:-1], -(first % (len(inside) - 1))), -1)
        inside[-1] = inside[0]
    along = lengths_along(vertices[outside])
    beside = _beside(vertices[outside], along, vertices[inside])
    triangles, i, j = [], 0, 0
    while i + 1 < len(outside) or j + 1 < len(inside):
        at_end = j + 1 == len(inside)
        if at_end or (i + 1 < len(outside) and along[i + 1] <= beside[j + 1]):
            triangles.append((outside[i + 1], outside[i], inside[j]))
            i += 1
        else:
            triangles.append((inside[j], inside[j + 1], outside[i]))
            j += 1
    return np.array(triangles)


def _beside(line: FloatArray, along: FloatArray, points: FloatArray) -> FloatArray:
    """Return how far along a line points beside it lie, never falling."""
    start, step = line[:-1], np.diff(line, axis=0)
    length2 = np.maximum((step**2).sum(axis=1), 1e-18)
    share = np.einsum("kji,ji->kj", points[:, None] - start, step) / length2
    share = np.clip(share, 0.0, 1.0)
    gap = np.linalg.norm(points[:, None] - (start + share[..., None] * step), axis=2)
    at = along[:-1] + share * np.sqrt(length2)
    usual = np.linspace(0.0, along[-1], len(points))
    off = np.abs(at - usual[:, None]) > 0.5 * along[-1]  # of a closed line, not the other end
    best = np.where(off, np.inf, gap).argmin(axis=1)
    found = np.take_along_axis(at, best[:, None], axis=1)[:, 0]
    found[0], found[-1] = 0.0, along[-1]
    return np.maximum.accumulate(np.minimum(found, along[-1]))
