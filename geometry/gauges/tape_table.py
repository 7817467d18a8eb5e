"""The tape table: lengths a tape can prove on the original, taken on its outside as scanned."""

from collections.abc import Sequence

import numpy as np

from geometry.arrays import BoolArray
from geometry.datum import Allowance
from geometry.gauges.centre_line import stretches
from geometry.gauges.girths import girth_values
from geometry.gauges.held_tapes import edge_values, held_values
from geometry.gauges.holds import holds_of, hole_middles, marks_of
from geometry.gauges.spans import span_values
from geometry.gauges.station_girths import station_values
from geometry.gauges.tank_axes import TankAxes
from geometry.gauges.tape_choice import chosen
from geometry.gauges.tape_value import TapeTable, TapeValue
from geometry.gauges.taped_skin import TapedSkin
from geometry.mesh import TriMesh
from geometry.progress import Report, silent
from geometry.surface import CharacterLine, Opening

TEN = 10

_IN_ORDER = ("round", "straight", "callipers", "over", "edge")


def tape_table(
    outside: TriMesh,
    axes: TankAxes,
    *,
    unsure: BoolArray | None = None,
    lines: Sequence[CharacterLine] = (),
    openings: Sequence[Opening] = (),
    allowed: Allowance | None = None,
    count: int = TEN,
    report: Report = silent,
) -> TapeTable:
    """Return the lengths to be taped on the original.

    None lies on or near what was not scanned, none hangs on where the scan ends, and each keeps
    its limit when it is held a little off.

    Parameters
    ----------
    outside : TriMesh
        The face a tape touches, as scanned, paint included, noise out, small holes filled; mm.
    axes : TankAxes
    unsure : (m,) bool, optional
        Faces nobody scanned, and those made from the other side unless the maker says otherwise.
    lines : sequence of CharacterLine
        Found on the scan; ends of tapes are held to them, and their tips, which triangles cut
        off, carry a tape right round.
    openings : sequence of Opening
        On the outside; the round ones of some size are held to.
    allowed : Allowance, optional
        How far a tape may be off; the usual if not given.
    count : int
    report : Report
    """
    limits = Allowance() if allowed is None else allowed
    doubtful = np.zeros(len(outside.faces), bool) if unsure is None else unsure
    skin = TapedSkin(outside, doubtful, axes, lines, openings)
    values: list[TapeValue] = []
    report(0.05, "find places to hold a tape to")
    holds = holds_of(skin)
    marks = marks_of(skin, holds)
    laid = stretches(skin, (*holds, *hole_middles(skin)))
    report(0.2, "tapes right round")
    values += girth_values(skin, limits, laid)
    values += station_values(skin, laid, marks, limits)
    report(0.5, "tapes from place to place")
    values += edge_values(skin, holds, marks, limits)
    values += held_values(skin, (*holds, *hole_middles(skin)), marks, limits)
    report(0.7, "tapes from line to line")
    values += span_values(skin, limits, with_marked=not holds)
    report(0.95, "choose the tapes")
    taken = sorted(chosen(values, count), key=_order)
    shares = sum((v.length_mm * v.spread.diagonal() for v in taken), np.zeros(3))
    report(1.0, "choose the tapes")
    total = sum(value.length_mm for value in taken)
    return TapeTable(
        tuple(taken), count, shares / total if taken else shares, axes.named, skin.size
    )


def _order(value: TapeValue) -> tuple[int, float, float]:
    first = value.places[0].tank
    return (_IN_ORDER.index(value.way), round(-float(first[2]), 3), round(float(first[0]), 3))
