"""Threads of taps and fittings: their measures and the drill before the tap.

Pipe threads by their inch names, as they are called at the bench: a G 1/4 measures half an inch.
"""

from dataclasses import dataclass
from typing import Literal

from geometry.errors import GeometryError

ThreadKind = Literal["BSP parallel", "NPT", "metric"]

_MM_PER_INCH = 25.4
_METRIC_DEPTH = 1.0825317547305484  # 5/8 of the sharp height, both sides: 5/4 x sqrt(3)/2


class NoThreadError(GeometryError):
    """A thread that is not in the table.

    Attributes
    ----------
    name : str
    near : tuple of str
        Those that come nearest.
    """

    def __init__(self, name: str, near: tuple[str, ...]) -> None:
        self.name, self.near = name, near
        super().__init__(f"no thread {name!r}")


@dataclass(frozen=True)
class Thread:
    """One thread.

    Attributes
    ----------
    name : str
        As at the bench: "G 1/4", "NPT 3/8", "M22x1.5".
    kind : str
    major_mm, minor_mm : float
        Across the male's crests; across the crests of the female. A tapered one's major is that
        of the pipe, its minor that at the small end.
    pitch_mm : float
    per_inch : float
    drill_mm : float
        Drill before tapping.
    drill_name : str
        As drills are called, "" for one by its mm.
    """

    name: str
    kind: ThreadKind
    major_mm: float
    minor_mm: float
    pitch_mm: float
    per_inch: float
    drill_mm: float
    drill_name: str = ""

    @property
    def depth_left(self) -> float | None:
        """How much of the female thread's depth the drill leaves, 1 for all; None of a taper.

        Source: own derivation: what the drill does not take, (major - drill) / (major - minor).

        >>> round(thread_named("G 1/4").depth_left, 3)  # (13.157 - 11.8) / (13.157 - 11.445)
        0.793
        """
        if self.kind == "NPT":
            return None
        return (self.major_mm - self.drill_mm) / (self.major_mm - self.minor_mm)


def _bsp(size: str, per_inch: float, major: float, minor: float, drill: float) -> Thread:
    return Thread(
        f"G {size}", "BSP parallel", major, minor, _MM_PER_INCH / per_inch, per_inch, drill
    )


def _npt(size: str, per_inch: float, pipe_in: float, drill_in: float, drill: str) -> Thread:
    """Return a tapered pipe thread; the pitch line at its small end is pipe - (0.05 pipe + 1.1) p.

    Source: [asme-b1.20.1], the standard's own formula; the depth is 0.8 of the pitch.
    """
    pitch_in = 1.0 / per_inch
    minor_in = pipe_in - (0.05 * pipe_in + 1.1) * pitch_in - 0.8 * pitch_in
    return Thread(
        f"NPT {size}",
        "NPT",
        pipe_in * _MM_PER_INCH,
        minor_in * _MM_PER_INCH,
        pitch_in * _MM_PER_INCH,
        per_inch,
        drill_in * _MM_PER_INCH,
        drill,
    )


# Where major less pitch falls between two drills: [tapping-drills], the one both tables take.
_BETWEEN_DRILLS_MM = {(8.0, 1.25): 6.8, (10.0, 1.25): 8.8, (12.0, 1.25): 10.8, (12.0, 1.75): 10.2}


def metric(major_mm: float, pitch_mm: float) -> Thread:
    """Return a metric thread: minor 5/4 of the sharp height less than major, drill by the pitch.

    Source: [iso-724], the form; [tapping-drills], major less pitch to a drill that is made.

    >>> metric(8.0, 1.25).minor_mm.__round__(3), metric(22.0, 1.5).drill_mm
    (6.647, 20.5)
    """
    name = f"M{major_mm:g}x{pitch_mm:g}"
    minor = major_mm - _METRIC_DEPTH * pitch_mm
    drill = _BETWEEN_DRILLS_MM.get((major_mm, pitch_mm), round(major_mm - pitch_mm, 2))
    return Thread(name, "metric", major_mm, minor, pitch_mm, _MM_PER_INCH / pitch_mm, drill)


# Turns and diameters: [iso-228], read in two published tables. Drills: [tapping-drills].
_BSP = (
    _bsp("1/8", 28, 9.728, 8.566, 8.8),
    _bsp("1/4", 19, 13.157, 11.445, 11.8),
    _bsp("3/8", 19, 16.662, 14.950, 15.25),
    _bsp("1/2", 14, 20.955, 18.631, 19.0),
)
# Pipe, turns and drills: [asme-b1.20.1], read in two published tables.
_NPT = (
    _npt("1/8", 27, 0.405, 0.339, "letter R"),
    _npt("1/4", 18, 0.540, 7 / 16, "7/16 in"),
    _npt("3/8", 18, 0.675, 37 / 64, "37/64 in"),
    _npt("1/2", 14, 0.840, 23 / 32, "23/32 in"),
)
# Pairs met on taps, vents and mounts; pitches of [iso-724].
_METRIC = tuple(
    metric(major, pitch)
    for major, pitch in (
        (5, 0.8),
        (6, 1.0),
        (8, 1.25),
        (8, 1.0),
        (10, 1.5),
        (10, 1.25),
        (10, 1.0),
        (12, 1.75),
        (12, 1.5),
        (12, 1.25),
        (14, 1.5),
        (16, 1.5),
        (18, 1.5),
        (20, 1.5),
        (22, 1.0),
        (22, 1.5),
    )
)

THREADS: tuple[Thread, ...] = (*_BSP, *_NPT, *_METRIC)

HOW_KNOWN: tuple[tuple[ThreadKind, str], ...] = (
    (
        "BSP parallel",
        "ISO 228-1: turns to the inch, major and minor read in two published tables; drills read "
        "in two published tables of tapping drills that agree. A third takes 15 mm for G 3/8",
    ),
    (
        "NPT",
        "ASME B1.20.1: pipe, turns to the inch and drills read in two published tables; minor at "
        "the small end worked from the standard's formula",
    ),
    (
        "metric",
        "ISO 724: minor worked from the thread form; drill is major less pitch, to a drill that is "
        "made, as two published tables of tapping drills have it",
    ),
)
"""Where the figures of each kind come from, in words for the page."""


def thread_named(name: str) -> Thread:
    """Return a thread of the table by its name, however it is spaced or put.

    Raises
    ------
    NoThreadError

    >>> thread_named("g1/4").name, thread_named("3/8 NPT").name, thread_named("m22 x 1.5").name
    ('G 1/4', 'NPT 3/8', 'M22x1.5')
    """
    asked = _key(name)
    for thread in THREADS:
        if _key(thread.name) == asked:
            return thread
    raise NoThreadError(name, _near(asked))


def _key(name: str) -> str:
    """Return a name as letters, then figures, without what people put between."""
    plain = name.lower().replace("bspp", "g").replace("bsp", "g").replace(",", ".")
    plain = "".join(sign for sign in plain if sign.isalnum() or sign in "/.")
    letters = "".join(sign for sign in plain if sign.isalpha() and sign != "x")
    figures = plain.replace("npt", "").strip("gm").replace("g", "")
    return f"{letters}{figures}"


def _near(asked: str) -> tuple[str, ...]:
    """Return threads of the kind asked for, or those whose figures are alike; else one of each."""
    kind = "".join(sign for sign in asked if sign.isalpha() and sign != "x")
    figures = asked[len(kind) :]
    same_kind = [t.name for t in THREADS if kind and _key(t.name).startswith(kind)]
    same_size = [name for name in same_kind if figures and figures[:2] in _key(name)]
    return tuple(same_size or same_kind or [t.name for t in (_BSP[1], _NPT[2], _METRIC[-1])])
