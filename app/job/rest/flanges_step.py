"""The step "Flanges": along each line asked for, station by station, from the tank as it stands."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from app.job.choices import (
    ON_LINE,
    RIM,
    EdgeChoice,
    FlangeChoice,
    FlangesChoice,
    JobState,
    SeamLine,
    flange_words,
)
from app.job.making import Reader, Step, Surface, step_besides
from app.job.rest.stood import StoodTank
from app.units import counted, percent_text
from geometry.arrays import FloatArray, IntArray, locked
from geometry.datum import Point3
from geometry.errors import GeometryError
from geometry.gauges import TankAxes
from geometry.mesh import NearestPoint, PathFinder, SurfacePoint, TriMesh, rims
from geometry.polyline import in_pieces, line_length
from geometry.progress import Report
from geometry.tank import (
    Flange,
    FlangeRun,
    Lip,
    RootLine,
    Stationing,
    flange_run,
    lip_run,
    lips_along,
    root_of_lip,
)

LEAST_PITCH_MM, MOST_STATIONS = 5.0, 400
_LINE_STEP_MM = 3.0
_ALONG_LIP_MM = 15.0
_HOLE_WORDS = ("hole", "filler")


class NoFlangeLineError(GeometryError):
    """A flange along something the tank does not have.

    Attributes
    ----------
    edge : str
    edges : tuple of str
        What there is.
    """

    def __init__(self, edge: str, edges: Sequence[str]) -> None:
        self.edge, self.edges = edge, tuple(edges)
        super().__init__(f"nothing called {edge!r} to turn a flange along")


class FlangeOnHoleError(GeometryError):
    """A flange along the rim of a hole.

    Attributes
    ----------
    edge : str
    """

    def __init__(self, edge: str) -> None:
        self.edge = edge
        super().__init__(f"{edge} is the rim of a hole")


class LipThereError(GeometryError):
    """A flange asked for where a lip is in the scan already.

    Attributes
    ----------
    width_mm, turn_rad, length_mm : float
        Of the lip.
    """

    def __init__(self, width_mm: float, turn_rad: float, length_mm: float) -> None:
        self.width_mm, self.turn_rad, self.length_mm = width_mm, turn_rad, length_mm
        super().__init__(f"a lip {width_mm:.3g} mm wide is there already")


class NoLipThereError(GeometryError):
    """A lip to be kept or cut off where the scan has none.

    Attributes
    ----------
    edge : str
    """

    def __init__(self, edge: str) -> None:
        self.edge = edge
        super().__init__(f"no lip along {edge}")


class FlangePitchError(GeometryError):
    """Stations too close together.

    Attributes
    ----------
    pitch_mm, least_mm : float
    """

    def __init__(self, pitch_mm: float, least_mm: float) -> None:
        self.pitch_mm, self.least_mm = pitch_mm, least_mm
        super().__init__(f"stations {pitch_mm:.3g} mm apart, at least {least_mm:.3g} needed")


class FlangeRefusedError(GeometryError):
    """One of several flanges that cannot be.

    Attributes
    ----------
    number : int
        From 1.
    words : str
        What it runs along.
    error : GeometryError
        Why not.
    """

    def __init__(self, number: int, words: str, error: GeometryError) -> None:
        self.number, self.words, self.error = number, words, error
        super().__init__(number, words, error)


@dataclass(frozen=True, eq=False)
class FlangeMade:
    """A flange as it comes out.

    Attributes
    ----------
    choice : FlangeChoice
    run : FlangeRun
    root : (k, 3) float, mm
        Its root line, tank axes; a closed one does not repeat its first point.
    is_closed : bool
    lip : Lip or None
        The lip that is there already along this line.
    guessed : tuple of bool
        For each station: whether nobody scanned the skin there.
    twice : tuple of (panel, edge)
        Edges of blanks with a flange of their own although a lip is kept in the panel: there its
        metal would be counted twice.
    more_lips : int
        How many further lips the open edge has; this is the longest.
    """

    choice: FlangeChoice
    run: FlangeRun
    root: FloatArray
    is_closed: bool
    lip: Lip | None
    guessed: tuple[bool, ...]
    twice: tuple[tuple[str, str], ...]
    more_lips: int = 0

    def __post_init__(self) -> None:
        locked(self.root)

    @property
    def is_kept_lip(self) -> bool:
        """Whether it tells a lip that stays part of the panel, and adds nothing."""
        return self.lip is not None and self.choice.lip == "keep"

    @property
    def words(self) -> str:
        """What it runs along."""
        if self.lip is None:
            return flange_words(self.choice)
        return "the lip of the open edge" if self.is_kept_lip else "the root line of the lip"


@dataclass(frozen=True, eq=False)
class Flanges:
    """The flanges of a job.

    Attributes
    ----------
    made : tuple of FlangeMade
    axes : TankAxes
    sheet_mm : float
    has_plane : bool
        Whether left and right are told by a centre plane.
    guessed : tuple of str
        "front", "up" where nobody said them.
    """

    made: tuple[FlangeMade, ...]
    axes: TankAxes
    sheet_mm: float
    has_plane: bool
    guessed: tuple[str, ...]


@dataclass(frozen=True)
class DrawnLines:
    """Seams and locked lines a flange may run along, in the file's own numbers.

    Attributes
    ----------
    seams : tuple of SeamLine
    locked : tuple of lines
    """

    seams: tuple[SeamLine, ...]
    locked: tuple[tuple[Point3, ...], ...]

    @property
    def names(self) -> tuple[str, ...]:
        """All that can be asked for."""
        numbered = (f"{ON_LINE}{at + 1}" for at in range(len(self.locked)))
        return (RIM, *(seam.name for seam in self.seams), *numbered)


@dataclass(frozen=True)
class FlangeSheet:
    """What flanges are turned in.

    Attributes
    ----------
    thickness_mm : float
    folded : tuple of EdgeChoice
        Edges of blanks that have a flange.
    mm_per_unit : float
        Of the file's own numbers.
    """

    thickness_mm: float
    folded: tuple[EdgeChoice, ...]
    mm_per_unit: float


def flanges_row(read: Reader) -> Step:
    """Return the row of the table of steps."""

    def inputs(state: JobState, part: str) -> tuple[Any, ...] | None:
        stood, surface, size = read(state, "Stood"), read(state, "Surface"), read(state, "Size")
        choice = state.rest.flanges
        if stood is None or surface is None or size is None or choice is None or not choice.runs:
            return None
        asked = {run.edge for run in choice.runs}
        seams = tuple(seam for seam in state.seams if seam.name in asked)
        on_lines = any(edge.startswith(ON_LINE) for edge in asked)
        lines = tuple(line.points for line in state.lines if line.state == "locked" and on_lines)
        folded = tuple(edge for edge in state.edges if edge.kind == "flange")
        sheet = FlangeSheet(state.metal.thickness_mm, folded, size.mm_per_unit)
        return (stood, surface, choice, DrawnLines(seams, lines), sheet)

    does = "Tip flanges: how far each stretches or shrinks, station by station, both hands."
    return step_besides(
        "Flanges",
        does,
        inputs=inputs,
        function=flanges_step,
        line=lambda flanges, _, show: flanges_line(flanges),
    )


def flanges_line(flanges: Flanges) -> str:
    """Return what was made, in a line."""
    stations = [station for each in flanges.made for station in each.run.stations]
    words = counted(len(flanges.made), "flange")
    if not stations:
        return words
    most = max(stations, key=lambda station: abs(station.stretch - 1.0))
    return f"{words}, {counted(len(stations), 'station')}; most {percent_text(most.stretch)}"


def flanges_step(
    stood: StoodTank,
    surface: Surface,
    choice: FlangesChoice,
    drawn: DrawnLines,
    sheet: FlangeSheet,
    *,
    report: Report,
) -> Flanges:
    """Return the flanges of a tank.

    Parameters
    ----------
    stood : StoodTank
    surface : Surface
        Whose points' errors are known.
    choice : FlangesChoice
    drawn : DrawnLines
    sheet : FlangeSheet
    report : Report

    Raises
    ------
    FlangeRefusedError
    """
    working = surface.working
    noise_mm = float(np.median(working.error_mm))
    ground = _Ground(stood, drawn, sheet, noise_mm, working.correlation_mm)
    found: list[FlangeMade] = []
    for at, asked in enumerate(choice.runs):
        report(at / len(choice.runs), "laying out flanges")
        try:
            found.append(_made(ground, asked, report))
        except GeometryError as error:
            raise FlangeRefusedError(at + 1, flange_words(asked), error) from error
    report(1.0, "laying out flanges")
    return Flanges(tuple(found), stood.axes, sheet.thickness_mm, stood.has_plane, stood.guessed)


@dataclass(frozen=True, eq=False)
class _Ground:
    stood: StoodTank
    drawn: DrawnLines
    sheet: FlangeSheet
    noise_mm: float
    apart_mm: float


def _made(ground: _Ground, asked: FlangeChoice, report: Report) -> FlangeMade:
    stood = ground.stood
    line, lip, more = _line_of(ground, asked)
    length = line_length(line.points)
    least = max(LEAST_PITCH_MM, length / MOST_STATIONS)
    if not asked.pitch_mm >= least:
        raise FlangePitchError(asked.pitch_mm, least)
    how = Stationing(
        asked.pitch_mm, stood.has_plane, ground.noise_mm, ground.apart_mm, asked.calm_mm
    )
    if lip is not None and asked.lip == "keep":
        run = lip_run(stood.outside, lip, how)
    else:
        flange = Flange(
            asked.width_mm,
            asked.turn_rad,
            asked.to,
            asked.lies,
            asked.root_radius_mm,
            ground.sheet.thickness_mm,
        )
        run = flange_run(stood.outside, line, flange, how)
    kept = lip is not None and asked.lip == "keep"
    twice = tuple((e.panel, e.edge) for e in ground.sheet.folded if kept and "|" not in e.edge)
    places = np.array([station.place for station in run.stations])
    beside = NearestPoint(stood.outside).find(places).faces
    guessed = tuple(bool(each) for each in stood.filled[beside])
    return FlangeMade(asked, run, line.points, line.is_closed, lip, guessed, twice, more)


_Line = tuple[RootLine, Lip | None, int]


def _line_of(ground: _Ground, asked: FlangeChoice) -> _Line:
    """Return the line a flange is turned along, the lip that is there, how many more there are."""
    mesh = ground.stood.outside
    if asked.edge == RIM:
        return _along_rim(mesh, _open_rim(mesh), asked, ground.noise_mm)
    if asked.edge.split(" ", maxsplit=1)[0] in _HOLE_WORDS:
        raise FlangeOnHoleError(asked.edge)
    if asked.edge not in ground.drawn.names:
        raise NoFlangeLineError(asked.edge, ground.drawn.names)
    line = _drawn_line(ground, asked)
    lips = lips_along(mesh, _open_rim(mesh), noise_mm=ground.noise_mm) if rims(mesh) else ()
    lip = next((each for each in lips if _follows(line, each)), None)
    if lip is not None and asked.lip == "keep":
        return root_of_lip(lip), lip, 0
    if lip is not None:
        line = replace(line, skip_mm=root_of_lip(lip).skip_mm)
    return line, None, 0


def _open_rim(mesh: TriMesh) -> IntArray:
    found = rims(mesh)
    if not found:
        raise NoFlangeLineError(RIM, ())
    return max(found, key=lambda loop: line_length(mesh.vertices[loop]))


def _along_rim(mesh: TriMesh, rim: IntArray, asked: FlangeChoice, noise_mm: float) -> _Line:
    lips = lips_along(mesh, rim, noise_mm=noise_mm)
    if not lips:
        if asked.lip == "keep":
            raise NoLipThereError(flange_words(asked))
        return RootLine(mesh.vertices[rim], is_closed=True), None, 0
    lip = lips[0]
    if asked.lip == "ask":
        width, turn = float(np.median(lip.width_mm)), float(np.median(np.abs(lip.turn_rad)))
        raise LipThereError(width, turn, lip.length_mm)
    return root_of_lip(lip), lip, len(lips) - 1


def _drawn_line(ground: _Ground, asked: FlangeChoice) -> RootLine:
    """Return a seam or a locked line over the skin, its panel on the left."""
    mesh = ground.stood.outside
    if asked.edge.startswith(ON_LINE) and asked.edge not in [s.name for s in ground.drawn.seams]:
        points = ground.drawn.locked[int(asked.edge.removeprefix(ON_LINE)) - 1]
        is_closed = len(points) > 2 and points[0] == points[-1]
        points = points[:-1] if is_closed else points
    else:
        seam = next(each for each in ground.drawn.seams if each.name == asked.edge)
        points, is_closed = seam.points, seam.closed
    places = ground.stood.axes.to_tank(np.array(points, np.float64) * ground.sheet.mm_per_unit)
    near = NearestPoint(mesh).find(places)
    stops = [
        SurfacePoint(int(face), weights)
        for face, weights in zip(near.faces, near.barycentric, strict=True)
    ]
    path = PathFinder(mesh).through(stops, closed=is_closed).points
    even = _evenly(np.asarray(path), is_closed)
    return RootLine(even if asked.side == "left" else even[::-1].copy(), is_closed)


def _evenly(line: FloatArray, is_closed: bool) -> FloatArray:
    """Return places evenly along a line; the first is not repeated where it closes."""
    even = in_pieces(line, max(1, round(line_length(line) / _LINE_STEP_MM)))
    return even[:-1] if is_closed else even


def _follows(line: RootLine, lip: Lip) -> bool:
    """Return whether a line runs along a lip nearly all its way."""
    off = np.linalg.norm(line.points[:, None] - lip.root[None], axis=2).min(axis=1)
    return bool(np.mean(off < _ALONG_LIP_MM) > 0.8)
