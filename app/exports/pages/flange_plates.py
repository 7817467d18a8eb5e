"""The tally of a flange at full size: a strip laid along the root line, its stations ticked on it.

Between two stations stands what the edge has to lose or gain there.
"""

from functools import lru_cache
from itertools import pairwise

import numpy as np

from app.exports.drawing import Meaning, rectangle, straight
from app.exports.facts import JobFacts
from app.exports.plate import Plate, PlateNote
from app.job import FlangeMade, Flanges
from app.units import counted, decimal_inch_text, mm_text
from geometry.tank import FlangeStation

_TALL_MM = 34.0
_END_MM = 6.0
_TICK_MM = 12.0
_APART_MM = 0.2
"""Hands whose edges change by less apart, between two stations, share one number."""

_NO_CUT = "SIZE NOT TAPED"


@lru_cache(maxsize=4)
def flange_plates(flanges: Flanges, job: JobFacts) -> tuple[Plate, ...]:
    """Return a tally for every flange.

    Parameters
    ----------
    flanges : Flanges
    job : JobFacts
    """
    return tuple(_tally(made, at, job) for at, made in enumerate(flanges.made, start=1))


def _tally(made: FlangeMade, number: int, job: JobFacts) -> Plate:
    length = max(length for _, length in made.run.lengths_mm)
    meaning = Meaning.CUT if job.size_proved else Meaning.NET
    low, high = -_TALL_MM / 2.0, _TALL_MM / 2.0
    outline = np.array(
        [[-_END_MM, low], [length + _END_MM, low], [length + _END_MM, high], [-_END_MM, high]]
    )
    lines = [rectangle(-_END_MM, low, length + _END_MM, high, meaning)]
    notes: list[PlateNote] = []
    hands = [made.run.of_hand(hand) for hand in made.run.hands]
    longest = max(hands, key=len)
    for station in longest:
        x = station.along_mm
        lines.append(straight(x, high - _TICK_MM, x, high, Meaning.TICK))
        notes.append(PlateNote(str(station.number), np.array([x, high - _TICK_MM - 4.0]), 4.0))
    for first, after in pairwise(longest):
        words = _between(hands, made, first.number, job)
        middle = (first.along_mm + after.along_mm) / 2.0
        for row, said in enumerate(words):
            notes.append(PlateNote(said, np.array([middle, -5.0 - 5.0 * row]), 2.8))
    start = "CENTRE LINE" if longest[0].hand == "centre" else "FRONT END"
    notes.append(PlateNote(start, np.array([14.0, low + 3.0]), 2.5))
    return Plate(
        job=job,
        name=f"flange {number} tally",
        makes=f"TALLY ALONG {made.words.upper()}",
        face="",
        material="Paper or card",
        lines=tuple(lines),
        outline=outline,
        notes=tuple(notes),
        facts=(
            f"Laid along the root line from the {start.lower()}, upper edge on the line: "
            f"{counted(len(longest), 'station')}, numbered as on the run sheet. It serves both "
            "hands, turned end for end."
            if len(hands) > 1
            else "Laid along the root line, upper edge on the line; numbered as on the run sheet.",
            "Between two stations: what the edge loses (below 0) or gains on the way, "
            + ("mm; L left hand, R right hand." if job.show == "mm" else "in; L left, R right."),
        ),
        legend=((meaning, "edge of the strip"), (Meaning.TICK, "stations")),
        remarks=("NOT SCANNED in part: filled by guess there.",) if any(made.guessed) else (),
        no_cut=None if job.size_proved else _NO_CUT,
    )


def _between(
    hands: list[tuple[FlangeStation, ...]], made: FlangeMade, number: int, job: JobFacts
) -> list[str]:
    """Return what the edges change by between a station and the next, hand by hand."""
    found: list[tuple[str, float]] = []
    for name, stations in zip(made.run.hands, hands, strict=True):
        pair = [station for station in stations if station.number in (number, number + 1)]
        if len(pair) == 2:
            step = pair[1].along_mm - pair[0].along_mm
            found.append((name, step * (pair[0].per_root + pair[1].per_root) / 2.0))
    if len(found) == 2 and abs(found[0][1] - found[1][1]) < _APART_MM:
        return [_signed(sum(change for _, change in found) / 2.0, job)]
    return [f"{name[:1].upper()} {_signed(change, job)}".strip() for name, change in found]


def _signed(change_mm: float, job: JobFacts) -> str:
    size = abs(change_mm)
    if size < 0.05:
        return "0"
    words = mm_text(size).removesuffix(" mm") if job.show == "mm" else decimal_inch_text(size)
    sign = "+" if change_mm > 0.0 else "\u2212"
    return sign + words.removesuffix(" in")
