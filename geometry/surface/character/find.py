"""Character lines found on a scan: where it turns, linked, measured, joined, judged."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial import cKDTree

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.mesh import TriMesh, typical_edge_length, vertex_normals
from geometry.polyline import line_length
from geometry.progress import Report, part_of, silent
from geometry.scan import scan_noise
from geometry.surface.character.chain import chains_of, joined_chains
from geometry.surface.character.line import CharacterLine
from geometry.surface.character.places import ridge_places
from geometry.surface.character.profile import ScanPoints
from geometry.surface.character.stations import STEP_MM, Measured, RoughLine, measured
from geometry.surface.character.told import told

_LEAST_NOISE, _LEAST_NOISE_SHARE = 0.01, 0.015
_BRIDGED_MM = 15.0
_SHORTEST_MM = 8.0
_SAME_MM = 2.0
_GROWN_MM, _GROWN_FROM_MM = 18.0, 24.0
_GROWTHS = 4
_LEAST_CONFIDENCE = 0.5
_LEAST_LENGTH_MM = 12.0


def character_lines(
    mesh: TriMesh, *, noise_mm: float | None = None, report: Report = silent
) -> tuple[CharacterLine, ...]:
    """Return the character lines of a scan, longest first.

    Parameters
    ----------
    mesh : TriMesh
        The scanned face, oriented outward, mm.
    noise_mm : float, optional
        White noise of the vertices, one standard deviation; measured if not given.
    """
    report(0.0, "look for lines")
    noise = noise_of(mesh, noise_mm)
    normals = vertex_normals(mesh.vertices, mesh.faces)
    measurer = LineMeasurer(ScanPoints(mesh.vertices, normals), noise)
    spacing = typical_edge_length(mesh)
    parts = measurer.first_parts(mesh.vertices, normals, spacing, part_of(report, 0.05, 0.65))
    joined = joined_chains(without_doubles(parts))
    grown = measurer.grown(joined, part_of(report, 0.65, 0.85))
    last = joined_chains(without_doubles(grown))
    lines = measurer.lines(last, part_of(report, 0.85, 1.0))
    report(1.0, "fit the lines")
    return tuple(sorted(lines, key=lambda line: -line_length(line.points)))


def noise_of(mesh: TriMesh, noise_mm: float | None) -> float:
    """Return the noise given, or else what the scan's is; never less than lines can tell."""
    noise = scan_noise(mesh) if noise_mm is None else noise_mm
    return max(noise, _LEAST_NOISE, _LEAST_NOISE_SHARE * typical_edge_length(mesh))


class LineMeasurer:
    """Measures rough lines on a scan."""

    def __init__(self, scan: ScanPoints, noise_mm: float) -> None:
        self._scan, self._noise = scan, noise_mm

    def measured(self, lines: Sequence[RoughLine], report: Report = silent) -> list[Measured]:
        """Return what sections across rough lines show."""
        return measured(self._scan, lines, self._noise, report=report)

    def first_parts(
        self, points: FloatArray, normals: FloatArray, spacing_mm: float, report: Report = silent
    ) -> list[RoughLine]:
        """Return the parts along which there is a line, as linked from places of some points."""
        levels = ridge_places(
            points,
            normals,
            spacing_mm=spacing_mm,
            noise_mm=self._noise,
            report=part_of(report, 0.0, 0.6),
        )
        chains = chains_of(levels, report=part_of(report, 0.6, 0.65))
        return self.parts(chains, part_of(report, 0.65, 1.0))

    def parts(self, lines: Sequence[RoughLine], report: Report) -> list[RoughLine]:
        """Return the parts of rough lines along which there is a line."""
        long = [line for line in lines if line.length_mm >= _SHORTEST_MM]
        shown = self.measured(long, report)
        return [part for a, b in zip(long, shown, strict=True) for part in good_parts(a, b)]

    def grown(self, lines: Sequence[RoughLine], report: Report) -> list[RoughLine]:
        """Return rough lines led on at both ends while there is a line."""
        points = [line.points for line in lines]
        growing = [
            (n, at_end) for n, line in enumerate(lines) if not line.closed for at_end in (0, 1)
        ]
        for turn in range(_GROWTHS):
            report(turn / _GROWTHS, "fit the lines")
            tried = [_End.of(points[n][:: 1 if at_end else -1]) for n, at_end in growing]
            drawn = [
                RoughLine(end.drawn_out(), lines[n].kind, False)
                for end, (n, _) in zip(tried, growing, strict=True)
            ]
            still = []
            shown = self.measured(drawn)
            for end, line, sight, (n, at_end) in zip(tried, drawn, shown, growing, strict=True):
                longer = end.led_on(good_parts(line, sight))
                if longer is not None:
                    whole = np.concatenate([points[n][:: 1 if at_end else -1], longer])
                    points[n] = whole[:: 1 if at_end else -1]
                    still.append((n, at_end))
            growing = still
        return [replace(line, points=places) for line, places in zip(lines, points, strict=True)]

    def lines(self, rough: Sequence[RoughLine], report: Report) -> list[CharacterLine]:
        """Return the rough lines that are lines, as lines."""
        long = [line for line in rough if line.length_mm >= _LEAST_LENGTH_MM]
        shown = self.measured(long, report)
        parts = [part for a, b in zip(long, shown, strict=True) for part in whole_parts(a, b)]
        parts = [part for part in _parted(parts) if part[0].length_mm >= _LEAST_LENGTH_MM]
        found = [told(sight, part.kind) for part, sight in parts]
        return [line for line in found if line.confidence >= _LEAST_CONFIDENCE]


@dataclass(frozen=True, eq=False)
class _End:
    """The end of a rough line, to be led on: its last points and the way out."""

    tail: FloatArray
    way: FloatArray

    @classmethod
    def of(cls, points: FloatArray) -> "_End":
        near = np.linalg.norm(points - points[-1], axis=1) < _GROWN_FROM_MM
        first = int(np.flatnonzero(~near)[-1]) + 1 if not near.all() else 0
        tail = points[first:]
        return cls(tail, _way_out(tail))

    def drawn_out(self) -> FloatArray:
        """Return the end led straight on."""
        steps = np.arange(1.0, _GROWN_MM / STEP_MM + 0.5) * STEP_MM
        return np.concatenate([self.tail, self.tail[-1] + steps[:, None] * self.way])

    def led_on(self, parts: Sequence[RoughLine]) -> FloatArray | None:
        """Return the points beyond the end that parts of the end led on have; None without."""
        place = self.tail[-1]
        for part in parts:
            near = np.linalg.norm(part.points - place, axis=1).min()
            beyond: FloatArray = part.points[(part.points - place) @ self.way > STEP_MM / 2.0]
            if near < 2.0 * STEP_MM and len(beyond):
                return beyond
        return None


def _way_out(points: FloatArray) -> FloatArray:
    near = points[np.linalg.norm(points - points[-1], axis=1) < _GROWN_FROM_MM / 2.0]
    way = near[-1] - near[0]
    return np.asarray(way / max(float(np.linalg.norm(way)), 1e-300))


def runs_of(good: BoolArray, bridged: int, closed: bool) -> list[IntArray]:
    """Return the runs of good stations, gaps up to some length bridged.

    >>> [run.tolist() for run in runs_of(np.array([1, 1, 0, 1, 0, 0, 0, 1], bool), 1, False)]
    [[0, 1, 2, 3], [7]]
    """
    rows = np.flatnonzero(good)
    if not len(rows):
        return []
    if closed:
        gaps = np.diff(np.append(rows, rows[0] + len(good)))
        if gaps.max() - 1 <= bridged:
            return [np.arange(len(good))]
        begin = rows[(int(np.argmax(gaps)) + 1) % len(rows)]
        turned = runs_of(np.roll(good, -begin), bridged, False)
        return [(run + begin) % len(good) for run in turned]
    parts = np.split(rows, np.flatnonzero(np.diff(rows) - 1 > bridged) + 1)
    return [np.arange(part[0], part[-1] + 1) for part in parts]


def whole_parts(chain: RoughLine, shown: Measured) -> list[tuple[RoughLine, Measured]]:
    """Return the parts of a measured chain along which there is a line."""
    closed = shown.course.closed
    bridged = int(_BRIDGED_MM / shown.course.step_mm)
    out = []
    for run in runs_of(shown.good, bridged, closed):
        whole = closed and len(run) == len(shown.good)
        if len(run) < 3:
            continue
        part = shown.at(run, closed=whole)
        out.append((RoughLine(part.course.places, chain.kind, whole), part))
    return out


def good_parts(chain: RoughLine, shown: Measured) -> list[RoughLine]:
    """Return the same as chains."""
    parts = [part for part, _ in whole_parts(chain, shown)]
    return [part for part in parts if part.length_mm >= _SHORTEST_MM / 2.0]


def without_doubles(chains: Sequence[RoughLine]) -> list[RoughLine]:
    """Return chains without the parts that run where a longer one does."""
    out: list[RoughLine] = []
    for chain in sorted(chains, key=lambda chain: -chain.length_mm):
        runs = _alone(chain, out)
        if len(runs) == 1 and len(runs[0]) == len(chain.points):
            out.append(chain)
            continue
        parts = [RoughLine(chain.points[run], chain.kind, False) for run in runs]
        out += [part for part in parts if part.length_mm >= _SHORTEST_MM / 2.0]
    return out


def _parted(parts: Sequence[tuple[RoughLine, Measured]]) -> list[tuple[RoughLine, Measured]]:
    """Return measured lines without the stations that lie where a longer one runs."""
    out: list[tuple[RoughLine, Measured]] = []
    for line, shown in sorted(parts, key=lambda part: -part[0].length_mm):
        for run in _alone(line, [other for other, _ in out]):
            whole = line.closed and len(run) == len(line.points)
            part = shown.at(run, closed=whole)
            out.append((RoughLine(part.course.places, line.kind, whole), part))
    return out


def _alone(chain: RoughLine, others: Sequence[RoughLine]) -> list[IntArray]:
    """Return the runs of a chain's points off which no other of its kind runs near."""
    same = [other.points for other in others if other.kind == chain.kind]
    free = np.ones(len(chain.points), bool)
    if same:
        tree = cKDTree(np.concatenate([_filled_in(points) for points in same]))
        free = np.asarray(tree.query(chain.points)[0]) > _SAME_MM
    if free.all():
        return [np.arange(len(free))]
    return [run for run in runs_of(free, 1, chain.closed) if len(run) > 2]


def _filled_in(points: FloatArray) -> FloatArray:
    middle = (points[1:] + points[:-1]) / 2.0
    return np.concatenate([points, middle])
