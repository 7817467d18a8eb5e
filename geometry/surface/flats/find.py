"""Flat faces found on a skin, noisy or not."""

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray, locked
from geometry.errors import GeometryError
from geometry.fitting import fit_quadric, frames_of_normals
from geometry.mesh import (
    TriMesh,
    non_manifold_vertices,
    part_of_mesh,
    piece_of_face,
    rims,
    typical_edge_length,
    vertex_areas,
)
from geometry.progress import Report, part_of, silent
from geometry.scan import scan_noise
from geometry.surface.crown import crown_of
from geometry.surface.flats.edge import Edge, edge_of
from geometry.surface.flats.flat_face import FlatFace, area_of, width_of
from geometry.surface.flats.height import calm_heights
from geometry.surface.flats.region import Region, plane_of, regions

_STRAIGHT_PER_MM = 1.0 / 800.0
_BENT_PER_MM = 1.0 / 2500.0
_LEAST_WIDTH_MM, _LEAST_AREA_MM2 = 15.0, 300.0
_ENDED = 0.7
_MOSTLY_RIM = 0.6
_WITHIN_MM = 0.3
_AROUND_MM = 12.0
_REACH_MM = 11.0
_FEWEST_FACES = 12
_ALMOST_ALL = (0.01, 0.99)


def flat_faces(mesh: TriMesh, *, report: Report = silent) -> tuple[FlatFace, ...]:
    """Return the flat faces of a skin, the largest first.

    A face counts where its skin has no sweep tighter than 800 mm either way, is 15 mm wide and 300
    mm2 large at least, and ends, for seven tenths of its edge at least, by turning away over a
    radius under 25 mm or at a rim. One that ends at rims mostly has no sweep tighter than 2500 mm
    over its whole width. Common practice, no source; domes and tubes have none.

    Parameters
    ----------
    mesh : TriMesh
        Sound, oriented outward, mm.
    """
    noise = scan_noise(mesh, report=part_of(report, 0.0, 0.1))
    reach = max(3.0 * typical_edge_length(mesh), _REACH_MM if noise > 0.01 else 0.0)
    crown = crown_of(mesh, reach_mm=reach, report=part_of(report, 0.1, 0.7))
    straight = np.abs(crown.curvatures).max(axis=1) < _STRAIGHT_PER_MM
    found = []
    for number, region in enumerate(regions(mesh, crown.normals, straight, noise)):
        report(0.7 + 0.3 * number / (number + 2), "find flat faces")
        face = _face(mesh, region, noise, crown.normals)
        if face is not None:
            found.append(face)
    report(1.0, "find flat faces")
    return tuple(sorted(found, key=lambda face: -face.area))


def _face(mesh: TriMesh, region: Region, noise_mm: float, calm: FloatArray) -> FlatFace | None:
    """Return the flat face of a region, or None where it does not end as one does."""
    outline = _outline(mesh, region)
    if outline is None or width_of(outline) < _LEAST_WIDTH_MM:
        return None
    frame = frames_of_normals(region.normal[None])[0]
    around = _around(mesh, region, outline, frame, calm)
    local = (mesh.vertices[around] - region.point) @ frame.T
    edge = edge_of(outline, local[:, :2], local[:, 2], typical_edge_length(mesh))
    area, width = area_of(edge.points), width_of(edge.points)
    if edge.turned + edge.rim < _ENDED or area < _LEAST_AREA_MM2 or width < _LEAST_WIDTH_MM:
        return None
    if edge.rim > _MOSTLY_RIM and _is_bent(local[_inside(edge.points, local[:, :2])]):
        return None
    return _measured(mesh, region, edge, frame, noise_mm)


def _measured(
    mesh: TriMesh, region: Region, edge: Edge, frame: FloatArray, noise_mm: float
) -> FlatFace | None:
    local = (mesh.vertices - region.point) @ frame.T
    held = region.vertices | (np.abs(local[:, 2]) < 3.0)
    held &= _inside(edge.points, local[:, :2], among=held)
    faces = np.flatnonzero(held[mesh.faces].all(axis=1))
    piece, _ = part_of_mesh(mesh, faces)
    try:
        plane = plane_of(piece.vertices, vertex_areas(piece.vertices, piece.faces))
    except GeometryError:
        return None
    normal = plane.normal * np.sign(plane.normal @ region.normal)
    off = calm_heights(piece, plane.centre, normal, noise_mm, width_of(edge.points))
    line = region.point + edge.points @ frame[:2]
    line = line - ((line - plane.centre) @ normal)[:, None] * normal
    return FlatFace(
        faces=locked(faces),
        point=locked(plane.centre),
        normal=locked(normal),
        flatness_mm=float(np.ptp(np.quantile(off, _ALMOST_ALL))),
        off=locked(off[piece.faces].mean(axis=1)),
        edge=locked(np.concatenate([line, line[:1]])),
        area=area_of(edge.points),
        width=width_of(edge.points),
    )


def _outline(mesh: TriMesh, region: Region) -> FloatArray | None:
    """Return the region's rough outer rim in the plane, counter-clockwise."""
    piece = _without_pinches(mesh, np.flatnonzero(region.vertices[mesh.faces].all(axis=1)))
    if piece is None:
        return None
    frame = frames_of_normals(region.normal[None])[0]
    flat = (piece.vertices - region.point) @ frame[:2].T
    loops: list[FloatArray] = [flat[loop] for loop in rims(piece)]
    if not loops:
        return None
    outer = max(loops, key=lambda loop: abs(area_of(loop)))
    return outer if area_of(outer) > 0.0 else outer[::-1]


def _without_pinches(mesh: TriMesh, faces: IntArray) -> TriMesh | None:
    """Return the largest piece of some faces, those at which parts only touch left out."""
    while len(faces) >= _FEWEST_FACES:
        piece, _ = part_of_mesh(mesh, faces)
        number = piece_of_face(piece.faces)
        kept = number == 0
        pinched = np.zeros(len(piece.vertices), bool)
        pinched[non_manifold_vertices(piece.faces, len(piece.vertices))] = True
        kept &= ~pinched[piece.faces].any(axis=1)
        if kept.all():
            return piece
        faces = faces[kept]
    return None


def _around(
    mesh: TriMesh, region: Region, outline: FloatArray, frame: FloatArray, calm: FloatArray
) -> BoolArray:
    """Return the vertices near the region that do not face away."""
    local = (mesh.vertices - region.point) @ frame.T
    low, high = outline.min(axis=0) - _AROUND_MM, outline.max(axis=0) + _AROUND_MM
    near = (np.abs(local[:, 2]) < 4.0) & (local[:, :2] > low).all(axis=1)
    near &= (local[:, :2] < high).all(axis=1) & (calm @ region.normal > -0.3)
    return np.asarray(near)


def _inside(loop: FloatArray, points: FloatArray, among: BoolArray | None = None) -> BoolArray:
    """Return which (k, 2) points lie within a loop, `_WITHIN_MM` off it at least."""
    out = np.zeros(len(points), bool)
    index = np.arange(len(points)) if among is None else np.flatnonzero(among)
    some = points[index]
    winding = np.zeros(len(some), bool)
    for (x0, y0), (x1, y1) in zip(loop, np.roll(loop, -1, axis=0), strict=True):
        spans = (some[:, 1] < y0) != (some[:, 1] < y1)
        if y0 != y1:
            winding ^= spans & (some[:, 0] < x0 + (some[:, 1] - y0) * (x1 - x0) / (y1 - y0))
    close = cKDTree(loop).query(some)[0] if len(some) else np.zeros(0)
    out[index] = winding & (close > _WITHIN_MM)
    return out


def _is_bent(local: FloatArray) -> bool:
    """Return whether points about the plane z = 0 show a sweep over the whole."""
    middle = local.mean(axis=0)
    fit = fit_quadric(middle, np.array([0.0, 0.0, 1.0]), local, np.ones(len(local)))
    c0, c1, c2 = fit.curvature[0]
    return bool(np.abs(np.linalg.eigvalsh([[c0, c1], [c1, c2]])).max() > _BENT_PER_MM)
