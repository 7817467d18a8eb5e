"""What a point of a seam catches on, how strongly, and what is said of it. No Qt."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal, get_args

import numpy as np

from app.job import JobState, SeamLine, on_mirror, on_seam
from app.window.line_rows import line_rows
from app.window.seam_ground import Ground
from geometry.arrays import FloatArray
from geometry.datum import Datum
from geometry.polyline import in_pieces, line_length
from geometry.seams import Caught, SnapKind, SnapLine, SnapLines, mirrored

Strength = Literal["weak", "usual", "strong", "set"]
STRENGTHS: tuple[Strength, ...] = get_args(Strength)

REACH_PX: dict[Strength, float] = {"weak": 6.0, "usual": 11.0, "strong": 20.0}
"""How near the pointer must be drawn to a line to catch on it."""

LEAST_REACH_MM, MOST_REACH_MM = 0.5, 50.0

_FELT: dict[SnapKind, float] = {"station": 0.5, "mirror": 0.8}
"""A station catches from half as far as a rim, a seam, a locked line or the centre plane."""

_ABOUT = 8.0
"""How far off in space, in catching distances, a rim may be that is drawn under the pointer: at the
tank's outline the skin runs away from the eye."""

_SHOWN_MM = 60.0
"""How much of the line caught on is lit up to each side of the place."""

Gap = Callable[[FloatArray], float]
"""How far from the pointer a point of space is drawn."""


@dataclass(frozen=True)
class SnapChoice:
    """How drawn points catch.

    Attributes
    ----------
    is_on : bool
    strength : "weak", "usual", "strong" or "set"
    reach_mm : float
        What "set" stands for.
    """

    is_on: bool = True
    strength: Strength = "usual"
    reach_mm: float = 5.0

    def next_strength(self) -> "SnapChoice":
        """Return the next strength; after the strongest the weakest.

        >>> SnapChoice().next_strength().strength
        'strong'
        """
        at = STRENGTHS.index(self.strength)
        return replace(self, is_on=True, strength=STRENGTHS[(at + 1) % len(STRENGTHS)])

    def words(self) -> str:
        """Return how it catches, as it is said under the tank.

        >>> SnapChoice(strength="set", reach_mm=3.0).words()
        'catches from 3 mm'
        """
        if not self.is_on:
            return "catches on nothing"
        if self.strength == "set":
            return f"catches from {self.reach_mm:g} mm"
        return {"weak": "catches weakly", "usual": "catches", "strong": "catches strongly"}[
            self.strength
        ]


@dataclass(frozen=True, eq=False)
class Catch:
    """What a point has caught on.

    Attributes
    ----------
    kind : str
        "line", "rim", "station", "centre plane", "mirror" or "seam".
    on : str
        As a seam keeps it.
    point : (3,) float
        File coordinates.
    line : (k, 3) float
        The line caught on, about the place.
    """

    kind: SnapKind
    on: str
    point: FloatArray
    line: FloatArray

    def words(self) -> str:
        """Return what it is, as it is said at the pointer."""
        return catch_words(self.on)


def catch_words(on: str) -> str:
    """Return where a point is, in words; "" where it lies free.

    >>> catch_words("seam: top seam"), catch_words("mirror: top seam"), catch_words("rim")
    ('on top seam', 'on the mirror image of top seam', 'on the rim')
    """
    if not on:
        return ""
    kind, _, name = on.partition(": ")
    if name and kind in ("seam", "mirror"):
        return f"on the mirror image of {name}" if kind == "mirror" else f"on {name}"
    return f"on the {on}" if on in ("rim", "centre plane") else f"on {on}"


class Snaps:
    """Lines to catch on, in file coordinates."""

    def __init__(
        self,
        lines: tuple[SnapLine, ...] = (),
        mm_per_unit: float = 1.0,
        choice: SnapChoice | None = None,
    ) -> None:
        self.choice = SnapChoice() if choice is None else choice
        self._lines, self._scale = lines, mm_per_unit
        self._all = SnapLines(lines)
        self._named = {(line.kind, line.name): line for line in lines}
        rims = [line.points for line in lines if line.kind == "rim"]
        self._rims = SnapLines([line for line in lines if line.kind == "rim"])
        self._rim_points = np.concatenate(rims) if rims else np.empty((0, 3))

    def caught(
        self, point: FloatArray, pixel: float, gap: Gap, *, without: tuple[SnapKind, ...] = ()
    ) -> Catch | None:
        """Return what a point catches on, None for nothing.

        Parameters
        ----------
        point : (3,) float
            On the skin, file coordinates.
        pixel : float
            How long one picture point is there.
        gap : function
        without : tuple of str
            Kinds not to catch on.
        """
        if not self.choice.is_on:
            return None
        reach = self.reach(pixel)
        if "rim" not in without:
            at_rim = self._rim_drawn_near(point, reach, reach / pixel if pixel else 0.0, gap)
            if at_rim is not None:
                return at_rim
        felt = {**_FELT, **dict.fromkeys(without, 0.0)}
        found = self._all.caught(point * self._scale, reach * self._scale, strength=felt)
        return None if found is None else self._catch(found)

    def reach(self, pixel: float) -> float:
        """Return from how far points catch, file coordinates."""
        if self.choice.strength == "set":
            return self.choice.reach_mm / self._scale
        return REACH_PX[self.choice.strength] * pixel

    def _rim_drawn_near(
        self, point: FloatArray, reach: float, reach_px: float, gap: Gap
    ) -> Catch | None:
        """Return the place of the rim drawn under the pointer, not one on the tank's far side."""
        off = np.linalg.norm(self._rim_points - point * self._scale, axis=1)
        about = np.flatnonzero(off <= _ABOUT * reach * self._scale)
        gaps = [gap(self._rim_points[at] / self._scale) for at in about]
        if not gaps or min(gaps) > reach_px:
            return None
        drawn = self._rim_points[about[int(np.argmin(gaps))]]
        step = off[about].min()  # the place of the rim beside it that is nearest to the point
        near = self._rims.caught(point * self._scale, float(step) + 1e-9)
        if near is not None and gap(near.point / self._scale) <= min(gaps):
            return self._catch(near)
        return self._catch(Caught("rim", "rim", drawn, 0.0, 0.0))

    def _catch(self, found: Caught) -> Catch:
        line = self._lit(found)
        on = {"seam": on_seam(found.name), "mirror": on_mirror(found.name)}.get(
            found.kind, found.name
        )
        return Catch(found.kind, on, found.point / self._scale, line / self._scale)

    def _lit(self, found: Caught) -> FloatArray:
        """Return the piece of the line about the place, to be lit up."""
        alike = [
            line.points for line in self._lines
            if (line.kind, line.name) == (found.kind, found.name) and len(line.points) > 1
        ]  # fmt: skip
        if not alike:
            return np.empty((0, 3))
        gaps = [np.linalg.norm(points - found.point, axis=1) for points in alike]
        which = int(np.argmin([each.min() for each in gaps]))
        near = np.flatnonzero(gaps[which] <= _SHOWN_MM)
        if not len(near):
            return np.empty((0, 3))
        middle = int(gaps[which].argmin())
        low, high = middle, middle
        inside = set(near.tolist())
        while low - 1 in inside:
            low -= 1
        while high + 1 in inside:
            high += 1
        return np.asarray(alike[which][low : high + 1])


def moving_lines(
    state: JobState,
    lines: tuple[FloatArray, ...],
    ground: Ground,
    datum: Datum | None,
    *,
    without: tuple[str, ...] = (),
) -> tuple[SnapLine, ...]:
    """Return what the maker made that points catch on, mm: locked lines, seams, their images.

    Parameters
    ----------
    state : JobState
    lines : tuple of (k, 3) float
        The seams as they run, file coordinates.
    ground : Ground
    datum : Datum or None
        Without one there are no mirror images.
    without : tuple of str
        Names of seams not to catch on: the one that is changed, and its twin.
    """
    scale = ground.mm_per_unit
    found = [
        SnapLine("line", f"line {row.number + 1}", row.points * scale)
        for row in line_rows(state) if row.standing == "locked"
    ]  # fmt: skip
    twins = {seam.mirror_of for seam in state.seams} | {
        seam.name for seam in state.seams if seam.mirror_of
    }
    for seam, line in zip(state.seams, lines, strict=True):
        if seam.name in without or len(line) < 2:
            continue
        found.append(SnapLine("seam", seam.name, line * scale))
        if datum is not None and seam.name not in twins:
            image = mirrored(
                ground.in_mm, _thinned(line * scale), datum.plane.point, datum.plane.normal
            )
            kept = image.off_mm <= 10.0
            if kept.all():
                found.append(SnapLine("mirror", seam.name, image.points))
    return tuple(found)


def _thinned(line: FloatArray) -> FloatArray:
    """Return a line at places about 4 mm apart: its mirror image is looked for at each."""
    return in_pieces(line, max(1, round(line_length(line) / 4.0)))


def twin_of(seams: tuple[SeamLine, ...], place: int) -> int:
    """Return the number of a seam's linked mirror image, or of what it is the image of; -1."""
    mine = seams[place]
    for at, other in enumerate(seams):
        if at != place and (other.mirror_of == mine.name or mine.mirror_of == other.name):
            return at
    return -1
