"""Random seam networks, as bad as a hand draws them, and what must hold of what comes out."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.mesh import (
    NearestPoint,
    NoPathError,
    PathFinder,
    SurfacePoint,
    TriMesh,
    check_manifold,
    edge_table,
    face_areas,
    is_oriented,
    rims,
    section,
)
from geometry.panels import (
    CutSurface,
    Panel,
    PanelPointError,
    Seam,
    SeamError,
    Surface,
    cut_along,
    panels,
)

GOOD = ("slice", "slice", "slice", "ring", "branch")
BAD = (*GOOD, "over", "wander", "beside", "retraced")


class Networks:
    """Draws seams over one surface: from rim to rim, in rings, off each other, and badly."""

    def __init__(self, surface: Surface) -> None:
        self.outside = TriMesh(surface.outside, surface.mesh.faces)
        self.nearest = NearestPoint(self.outside)
        self.finder = PathFinder(self.outside)
        loops = rims(self.outside)
        self.rim = np.concatenate(loops) if loops else np.unique(self.outside.faces)
        self.size = float(np.linalg.norm(np.ptp(surface.outside, axis=0)))

    def drawn(self, seed: int) -> list[Seam]:
        """Return the seams of one network."""
        rng = np.random.default_rng(seed)
        kinds = GOOD if rng.random() < 0.6 else BAD
        seams: list[Seam] = []
        for number in range(int(rng.integers(1, 6))):
            kind = kinds[int(rng.integers(len(kinds)))]
            points, closed = self._points(kind, rng, seams)
            shake = float(rng.choice([0.0, 0.3, 0.8])) if kinds is BAD else 0.0
            points = points + shake * rng.standard_normal(points.shape)
            seams.append(Seam(f"{kind} {number}", points, closed))
        return seams

    def _points(
        self, kind: str, rng: np.random.Generator, seams: Sequence[Seam]
    ) -> tuple[FloatArray, bool]:
        if kind == "ring":
            return self._ring(rng), True
        if kind == "over":
            return self._line(self._at_rim(rng), self._at_rim(rng), rng), False
        if kind == "wander":
            middle = self._somewhere(rng)
            steps = 0.1 * self.size * rng.standard_normal((int(rng.integers(2, 8)), 3))
            return self._on(middle + np.cumsum(steps, axis=0)), bool(rng.integers(2))
        if kind == "slice" or not seams:
            return self._slice(rng)
        return self._by_another(kind, rng, seams[int(rng.integers(len(seams)))].points), False

    def _by_another(self, kind: str, rng: np.random.Generator, other: FloatArray) -> FloatArray:
        """Return a line off another seam, hard beside it, or over it and back."""
        if kind == "branch":
            return self._line(other[int(rng.integers(len(other)))], self._at_rim(rng), rng)
        if kind == "beside":
            off = float(rng.choice([0.1, 1.0, 5.0])) * rng.standard_normal(3)
            return self._on(other + off)
        half = other[: max(2, len(other) // 2)]
        return np.concatenate([half, half[-2::-1]])

    def _line(self, start: FloatArray, end: FloatArray, rng: np.random.Generator) -> FloatArray:
        """Return a taut line over the skin between two places, by way of a few others."""
        stops = [start, *(self._somewhere(rng) for _ in range(int(rng.integers(0, 2)))), end]
        found = self.nearest.find(np.stack(stops))
        places = [
            SurfacePoint(int(face), share)
            for face, share in zip(found.faces, found.barycentric, strict=True)
        ]
        try:
            line = self.finder.through(places).points
        except (NoPathError, ValueError):  # pieces that do not hang together; one place twice
            return np.stack(stops)
        step = int(rng.integers(1, 6)) if len(line) > 12 else 1
        return np.concatenate([line[:-1:step], line[-1:]])

    def _slice(self, rng: np.random.Generator) -> tuple[FloatArray, bool]:
        """Return one line of where a plane cuts the skin."""
        lines: tuple[FloatArray, ...] = ()
        while not lines:  # a plane may touch the skin in one place alone
            normal = rng.standard_normal(3)
            lines = section(self.outside, self._somewhere(rng), normal / np.linalg.norm(normal))
        line = lines[int(rng.integers(len(lines)))]
        closed = bool((line[0] == line[-1]).all())
        step = int(rng.integers(1, 8)) if len(line) > 30 else 1
        rest = line[:-1:step]
        return (rest if closed else np.concatenate([rest, line[-1:]])), closed

    def _ring(self, rng: np.random.Generator) -> FloatArray:
        middle = self._somewhere(rng)
        turn = 2.0 * np.pi * np.arange(int(rng.integers(3, 40)))
        turn = turn / len(turn)
        sides = np.linalg.qr(rng.standard_normal((3, 3)))[0][:2]
        radius = self.size * float(rng.choice([0.005, 0.03, 0.1, 0.2]))
        return self._on(middle + radius * np.stack([np.cos(turn), np.sin(turn)], axis=1) @ sides)

    def _somewhere(self, rng: np.random.Generator) -> FloatArray:
        return np.asarray(self.outside.vertices[int(rng.integers(len(self.outside.vertices)))])

    def _at_rim(self, rng: np.random.Generator) -> FloatArray:
        return np.asarray(self.outside.vertices[int(rng.choice(self.rim))])

    def _on(self, points: FloatArray) -> FloatArray:
        return self.nearest.find(points).points.copy()


def cut_or_refused(surface: Surface, seams: Sequence[Seam]) -> str:
    """Return "cut" or the refusal's name, after checking all that must hold of either."""
    refusal: SeamError | PanelPointError | NoPathError
    try:
        cut = cut_along(surface, seams)
        parts = panels(cut, ())
    except (SeamError, PanelPointError, NoPathError) as error:
        refusal = error
    else:
        assert_clean(surface, cut, parts)
        return "cut"
    place = refusal.start if isinstance(refusal, NoPathError) else refusal.point
    assert place.shape == (3,)
    assert np.isfinite(place).all()
    return type(refusal).__name__


def assert_clean(surface: Surface, cut: CutSurface, parts: Sequence[Panel]) -> None:
    """Check a cut: sound, nothing lost, and panels that meet point for point along seams."""
    check_manifold(cut.mesh)
    assert is_oriented(cut.mesh.faces)
    whole = face_areas(cut.mesh.vertices, cut.mesh.faces).sum()
    before = face_areas(surface.mesh.vertices, surface.mesh.faces).sum()
    assert whole == pytest.approx(before, rel=1e-9)
    sums = sum(face_areas(part.mesh.vertices, part.mesh.faces).sum() for part in parts)
    assert sums == pytest.approx(whole, rel=1e-9)
    assert sum(len(part.mesh.faces) for part in parts) == len(cut.mesh.faces)
    edges = {(a, b) for a, b in edge_table(cut.mesh.faces).edges.tolist()}
    for path in cut.seam_paths:
        assert {(a, b) for a, b in np.sort(path.edges, axis=1).tolist()} <= edges
    for part in parts:
        check_manifold(part.mesh)
        assert np.array_equal(part.mesh.vertices, cut.mesh.vertices[part.vertex_of_panel_vertex])
    assert_halves_meet(parts)


def assert_halves_meet(parts: Sequence[Panel]) -> None:
    """Check that each edge along a seam is held by both panels, to the last digit."""
    held: dict[tuple[str, str, str], set[tuple[tuple[float, ...], tuple[float, ...]]]] = {}
    for part in parts:
        for half in part.seam_halves:
            points = [tuple(place) for place in part.mesh.vertices[half.vertices].tolist()]
            pairs = {(min(a, b), max(a, b)) for a, b in pairwise(points)}
            held.setdefault((half.seam, part.name, half.other), set()).update(pairs)
    for (seam, own, other), pairs in held.items():
        assert pairs == held[seam, other, own]
