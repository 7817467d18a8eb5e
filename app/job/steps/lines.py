"""The one line told of each step that is made: its result in words."""

import math
from collections.abc import Sequence

from app.job.choices import JobState
from app.job.making import (
    Blank,
    Halves,
    Lines,
    Panels,
    Scanned,
    Sides,
    Sure,
    Surface,
    Thicknesses,
    Tidied,
    breakup_line,
)
from app.job.rest import StoodTank
from app.units import angle_text, counted, decimal_inch_text, mm_text, upward_text
from geometry.breakups import Advice, BreakUpFigures
from geometry.datum import Datum, TrueSize
from geometry.scan import UNIT_WORDS
from geometry.surface import CoarseSurface, Difference, FlatFace

_FOOT_MM = 304.8

_LEAST_TURN_RAD, _LEAST_OFF_MM = math.radians(0.01), 0.01
"""What is told of a centre plane that is surer than anybody could use."""


def _fine(length_mm: float, show: str, decimals: int = 2) -> str:
    return decimal_inch_text(length_mm) if show == "in" else mm_text(length_mm, decimals)


def scan_line(scanned: Scanned, state: JobState, show: str) -> str:
    """Return how large a scan is."""
    report = scanned.report
    return f"{counted(report.triangles, 'triangle')}, {counted(report.hole_count, 'open edge')}"


def size_line(size: TrueSize, state: JobState, show: str) -> str:
    """Return what the size hangs on."""
    what = "scaled to the tapes" if size.unit is None else f"file is in {UNIT_WORDS[size.unit]}"
    how = f"{len(size.checks)} tapes agree" if size.proved else "SIZE NOT TAPED"
    return f"{what}; {how}"


def tidy_line(tidied: Tidied, state: JobState, show: str) -> str:
    """Return what of the scan is kept."""
    filled = sum(fate == "filled" for fate in tidied.hole_fates)
    kept = sum(tidied.kept)
    return (
        f"{kept} of {counted(len(tidied.pieces), 'piece')} kept; "
        f"{counted(filled, 'hole')} to be filled"
    )


def datum_line(datum: Datum, state: JobState, show: str) -> str:
    """Return how sure the centre plane is."""
    plane = datum.plane
    if state.datum.how == "given":
        return "centre plane as given"
    if plane.weak:
        return f"centre plane not fixed: {plane.weak[0]}"
    turn, off = max(plane.spread_rad, _LEAST_TURN_RAD), max(plane.spread_mm, _LEAST_OFF_MM)
    return f"centre plane sure to {angle_text(turn, 2)} and {_fine(off, show)}"


def halves_line(halves: Halves, state: JobState, show: str) -> str:
    """Return how the sides differ."""
    found = halves.left_right
    if found is None:
        return "one side alone was scanned"
    most, nearly_all = _fine(found.largest, show, 1), _fine(found.p95, show, 1)
    return f"sides differ by {most} at most, {nearly_all} nearly all over"


def sides_line(sides: Sides, state: JobState, show: str) -> str:
    """Return which side is copied."""
    if sides.copied is None:
        return halves_line(Halves(sides.left_right), state, show)
    hand = state.sides.copy
    return f"{hand} side copied to the other" if hand != "none" else "copied place by place"


def lines_line(found: Lines, state: JobState, show: str) -> str:
    """Return how many lines are found and held."""
    locked = sum(line.state == "locked" for line in state.lines)
    return f"{counted(len(found.found), 'line')} found, {locked} locked"


def flats_line(flats: Sequence[FlatFace], state: JobState, show: str) -> str:
    """Return how many flat faces are found."""
    return counted(len(flats), "flat face")


def coarse_line(coarse: CoarseSurface, state: JobState, show: str) -> str:
    """Return how many triangles seams are judged on."""
    return counted(len(coarse.mesh.faces), "coarse triangle")


def judged_line(judged: BreakUpFigures, state: JobState, show: str) -> str:
    """Return roughly what the seams cost."""
    return "about " + breakup_line(judged, show)


def advice_line(advice: Sequence[Advice], state: JobState, show: str) -> str:
    """Return how much there is to think over."""
    return counted(len(advice), "thing") + " to think over"


def costs_line(costs: BreakUpFigures, state: JobState, show: str) -> str:
    """Return what the seams cost."""
    return breakup_line(costs, show)


def surface_line(surface: Surface, state: JobState, show: str) -> str:
    """Return how many triangles the surface has."""
    return counted(len(surface.working.mesh.faces), "even triangle")


def seams_line(cut: Panels, state: JobState, show: str) -> str:
    """Return how many seams and panels there are."""
    return f"{counted(len(state.seams), 'seam')}, {counted(len(cut.panels), 'panel')}"


def blanks_line(blanks: Sequence[Blank], state: JobState, show: str) -> str:
    """Return how much sheet the blanks take."""
    area = sum(blank.flat.blank_area for blank in blanks)
    sheet = f"{area / _FOOT_MM**2:.1f} sq ft" if show == "in" else f"{area / 1e6:.2f} m2"
    return f"{counted(len(blanks), 'blank')}, {sheet} of sheet"


def sure_line(found: Sequence[Sure], state: JobState, show: str) -> str:
    """Return how sure the sizes are."""
    bands = [each.bands for each in found]
    least = max((each.measuring_mm for each in bands if each is not None), default=None)
    return "not known" if least is None else f"sizes sure to {upward_text(least, show)}"


def stood_line(stood: StoodTank, state: JobState, show: str) -> str:
    """Return what of the axes is a guess."""
    guessed = stood.guessed
    return f"{' and '.join(guessed)} guessed" if guessed else "stands in its own axes"


def thickness_line(thicknesses: Sequence[Thicknesses], state: JobState, show: str) -> str:
    """Return how many panels were made three ways."""
    return counted(len(thicknesses), "panel") + " made three ways"


def difference_line(found: Difference, state: JobState, show: str) -> str:
    """Return how far the surface lies off the scan."""
    return f"nearly all of the scan within {_fine(found.p95, show)} of it"
