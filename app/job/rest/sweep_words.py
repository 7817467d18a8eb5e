"""What is told of sweeps in words: on boards, in their list, at the command, in the window."""

import math
from collections.abc import Iterator

from app.units import counted, length_text, mm_text
from geometry.gauges import SweepBoard, SweepSet, SweepUse


def radius_words(board: SweepBoard, show: str) -> str:
    """Return the radius of a board's edges."""
    return f"R {length_text(board.radius_mm, show)}"


def serving_words(found: SweepSet, board: SweepBoard) -> str:
    """Return for how many places a board serves, and within which gap."""
    uses = found.uses_of(board)
    if not uses:
        return "nearest nowhere on this tank"
    return f"{counted(len(uses), 'place')}, gap up to {gap_words(max(u.gap_mm for u in uses))}"


def gap_words(gap_mm: float) -> str:
    """Return a gap; where the edge does not reach over the place, that.

    >>> gap_words(0.123), gap_words(math.inf)
    ('0.12 mm', 'does not reach over')
    """
    return mm_text(gap_mm, 2) if math.isfinite(gap_mm) else "does not reach over"


def use_words(found: SweepSet, use: SweepUse) -> str:
    """Return which edge is laid on a place, and the gap that stays on either face of the sheet."""
    edge = "straight edge" if use.board is None else f"{use.edge} edge"
    told = f"{edge}, gap {gap_words(use.gap_mm)}"
    if use.gap_mm > found.wishes.gap_mm:
        told += ": OVER YOUR GAP"
    if use.board is not None and math.isfinite(use.other_gap_mm):
        other = "crowned" if use.edge == "hollow" else "hollow"
        face = "outside" if found.inside else "inside"
        told += f"; {face}, {other} edge {gap_words(use.other_gap_mm)}"
    if use.place.not_scanned:
        told += "; NOT SCANNED in part"
    return told


def along_words(use: SweepUse, show: str) -> str:
    """Return where along its station's outline a place lies, from the centre line outward."""
    begin = length_text(use.place.from_mm, show, decimals=0)
    end = length_text(use.place.to_mm, show, decimals=0)
    return f"{use.place.hand}, {begin} to {end}"


def missing_words(found: SweepSet, show: str) -> Iterator[str]:
    """Return along how much of the outlines no sweep lies."""
    if found.missing:
        total = sum(each.length_mm for each in found.missing)
        worst = max(found.missing, key=lambda each: each.length_mm)
        yield (
            f"No sweep lies along {length_text(total, show, decimals=0)} of the outlines, most at "
            f"station {worst.station}, {worst.hand} hand "
            f"({length_text(worst.length_mm, show, decimals=0)}): too tight or too uneven for one "
            "radius, or too short for a board. There the station's template is held."
        )
