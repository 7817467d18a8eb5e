"""What the shaper is told about a scan before anything is made of it. Nothing is changed here."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.mesh import TriMesh
from geometry.progress import Report, part_of, silent
from geometry.scan.holes import Hole, listed_holes, rim_count
from geometry.scan.noise import scan_noise
from geometry.scan.pairing import partners, piece_of_each_face
from geometry.scan.pieces import Piece, PieceMeasures, piece_measures
from geometry.scan.sound import SoundScan
from geometry.scan.unit import MM_PER_UNIT, UNIT_WORDS, Unit

_LISTED = 200
_USUAL_TANK_MM = 600.0
_TANK_FROM_MM, _TANK_TO_MM = 250.0, 1500.0
_LARGE_PIECE = 0.25
_SCRAP = 0.02
"""Shares of the largest piece's area: above the first perhaps a tank, below the second a scrap."""
_ROUGH = 0.15
"""Of the spacing: beyond it the raw surface measures 5 to 9 per cent too large (2 to 4 r^2)."""
_SIZE_SAMPLE = 20_000


@dataclass(frozen=True, eq=False)
class ScanReport:
    """A scan in numbers and doubts; lengths in the file's unit.

    Attributes
    ----------
    triangles : int
    pieces : tuple of Piece
        Largest area first; at most the first 200.
    piece_count : int
    holes : tuple of Hole
        Longest rim first; at most the first 200.
    hole_count : int
    noise : float
        One standard deviation of the vertices off the surface.
    spacing : float
        Median length of an edge.
    size : (3,) float
        Of the box around everything.
    likely_unit : "mm", "cm", "m" or "in"
        A guess from the size a tank usually has, never more.
    unit : "mm", "cm", "m", "in" or None
        What the file says, where it does.
    doubts : tuple of str
        What may be wrong, in plain words.
    about_unit : int
        How many of the first doubts are about the unit: they fall once the size is known.
    """

    triangles: int
    pieces: tuple[Piece, ...]
    piece_count: int
    holes: tuple[Hole, ...]
    hole_count: int
    noise: float
    spacing: float
    size: FloatArray
    likely_unit: Unit
    doubts: tuple[str, ...]
    about_unit: int = 0
    unit: Unit | None = None


def report_on(sound: SoundScan, *, report: Report = silent) -> ScanReport:
    """Return what can be said about a sound scan without knowing its unit."""
    mesh = sound.mesh
    report(0.0, "Counting pieces")
    partner = partners(mesh.faces)
    piece = piece_of_each_face(partner)
    report(0.35, "Counting pieces")
    measures = piece_measures(mesh.vertices, mesh.faces, piece)
    largest = np.argsort(-measures.area, kind="stable")
    report(0.45, "Finding holes")
    rims = rim_count(mesh, partner)
    holes = listed_holes(mesh, partner, piece, _LISTED)
    report(0.5, "Measuring the spacing")
    spacing = _median_edge(mesh)
    noise = scan_noise(mesh, report=part_of(report, 0.55, 0.98))
    length = _length_of_piece(mesh, piece, int(largest[0]))
    about_unit = _doubts_about_unit(length, sound.unit)
    doubts = (
        *about_unit,
        *_doubts_about_pieces(measures, largest),
        *_doubts_about_surface(sound, noise, spacing, rims),
    )
    report(1.0, "Measuring the noise")
    return ScanReport(
        triangles=len(mesh.faces),
        pieces=tuple(measures.piece(int(at)) for at in largest[:_LISTED]),
        piece_count=len(largest),
        holes=holes,
        hole_count=rims,
        noise=noise,
        spacing=spacing,
        size=np.ptp(mesh.vertices, axis=0),
        likely_unit=likely_unit(length),
        doubts=doubts,
        about_unit=len(about_unit),
        unit=sound.unit,
    )


def likely_unit(length: float) -> Unit:
    """Return the unit in which a tank of this length comes nearest to a usual one's 600 mm.

    The usual length is common practice, no source.

    >>> [likely_unit(length) for length in (580.0, 58.0, 0.58, 22.8)]
    ['mm', 'cm', 'm', 'in']
    """
    return min(MM_PER_UNIT, key=lambda unit: _factor_off(length * MM_PER_UNIT[unit]))


def _factor_off(length_mm: float) -> float:
    return abs(float(np.log(max(length_mm, 1e-300) / _USUAL_TANK_MM)))


def _median_edge(mesh: TriMesh) -> float:
    step = max(len(mesh.faces) // 200_000, 1)
    corners = mesh.vertices[mesh.faces[::step]]
    return float(np.median(np.linalg.norm(np.roll(corners, -1, axis=1) - corners, axis=2)))


def _length_of_piece(mesh: TriMesh, piece: IntArray, wanted: int) -> float:
    """Return the length of a piece along its own longest axis, however it lies in the file."""
    used = np.zeros(len(mesh.vertices), bool)
    used[mesh.faces[piece == wanted]] = True
    vertices = np.flatnonzero(used)
    points = mesh.vertices[vertices[:: max(len(vertices) // _SIZE_SAMPLE, 1)]]
    _, axes = np.linalg.eigh(np.cov(points.T))
    return float(np.ptp(points @ axes, axis=0).max())


def _doubts_about_unit(length: float, said: Unit | None) -> list[str]:
    unit = likely_unit(length)
    if said is not None:
        return _doubts_about_said(length, said, unit)
    length_mm = length * MM_PER_UNIT[unit]
    doubts = [
        "The file does not say its unit. By its size it is likely in "
        f"{UNIT_WORDS[unit]}, but that is a guess: tape the tank."
    ]
    if not _TANK_FROM_MM <= length_mm <= _TANK_TO_MM:
        doubts.append("In no unit is it the size of a motorcycle tank.")
    rest = [other for other in MM_PER_UNIT if other != unit]
    second = min(rest, key=lambda other: _factor_off(length * MM_PER_UNIT[other]))
    nearly = _factor_off(length * MM_PER_UNIT[second]) - _factor_off(length_mm)
    if nearly < 0.5 and _TANK_FROM_MM <= length * MM_PER_UNIT[second] <= _TANK_TO_MM:
        doubts.append(f"It could as well be in {second}.")
    return doubts


def _doubts_about_said(length: float, said: Unit, likely: Unit) -> list[str]:
    doubts = [f"The file says it is in {UNIT_WORDS[said]}; only a tape proves it."]
    if not _TANK_FROM_MM <= length * MM_PER_UNIT[said] <= _TANK_TO_MM:
        better = f" In {UNIT_WORDS[likely]} it would be." if likely != said else ""
        doubts.append(f"In that unit it is not the size of a motorcycle tank.{better}")
    return doubts


def _doubts_about_pieces(measures: PieceMeasures, largest: IntArray) -> list[str]:
    if len(largest) == 1:
        return []
    doubts = []
    if two_apart(measures, largest):
        doubts.append("Two large pieces stand apart: there may be two tanks in the file.")
    shells = int((measures.area >= _SCRAP * measures.area.max()).sum())
    if shells > 1 and not doubts:
        doubts.append(f"The surface comes in {shells} large pieces that do not join.")
    scraps = len(largest) - shells
    if scraps:
        noun = "scrap is" if scraps == 1 else "scraps are"
        doubts.append(f"{scraps} stray {noun} in the file besides.")
    return doubts


def two_apart(measures: PieceMeasures, largest: IntArray) -> bool:
    """Return whether the second piece is large and its box stands clear of the first's."""
    first, second = largest[:2]
    if measures.area[second] < _LARGE_PIECE * measures.area[first]:
        return False
    gap = np.maximum(
        measures.low[second] - measures.high[first], measures.low[first] - measures.high[second]
    )
    size = np.linalg.norm(measures.high[second] - measures.low[second])
    return bool(gap.max() > 0.02 * size)


def _doubts_about_surface(sound: SoundScan, noise: float, spacing: float, rims: int) -> list[str]:
    doubts = []
    repairs = sound.repairs
    if repairs.side_unknown:
        doubts.append("It is too flat to tell its outside from its inside: check which face shows.")
    if repairs.crowded_edges:
        doubts.append(
            f"At {repairs.crowded_edges} edges more than two triangles met: look there for "
            "doubled or torn surface."
        )
    if spacing > 0 and noise > _ROUGH * spacing:
        doubts.append("The surface is rough for how close its points lie: it may need a rescan.")
    if rims > 12:
        doubts.append(f"It has {rims} open edges: much of the surface may be missing.")
    return doubts
