"""The commands that look at a scan: `scan`, `datum`, `lines`; and what `layout` takes of them."""

import math
import time
from pathlib import Path

import numpy as np

from app.command_line.doing import (
    Doing,
    carry,
    read_scan,
    read_sized,
    tell_mended,
    tell_size,
    unit_in_file,
    with_size_asked,
)
from app.command_line.standing_arguments import FillWords
from app.delivery import Json, datum_result, lines_result, scan_result
from app.job import (
    DatumChoice,
    Lines,
    Scanned,
    Tidied,
    failure,
    line_of,
    made,
    read_datum,
    with_datum,
    with_datum_file,
    with_datum_found,
    with_fill,
    with_lines_sought,
    with_only_holes_filled,
    with_side_copied,
    with_sure_lines_locked,
)
from app.messages import sentence_for
from app.units import angle_text, area_text, counted, length_text, mm_text, thickness_text
from geometry.arrays import FloatArray
from geometry.datum import Datum, LeftRight, TrueSize
from geometry.errors import GeometryError
from geometry.polyline import line_length
from geometry.scan import UNIT_WORDS, Hole
from geometry.surface import CharacterLine, FlatFace

_TOLD = 12
_HOLES_TOLD = 60
"""Holes are named by number, so nearly every scan's are told whole."""
"""So many pieces, holes or lines are told one by one; the rest are counted."""

_ALIKE_MM = 0.05
"""Sides nearer to each other than this are told as alike."""


def scan(doing: Doing) -> Json:
    """Report on a scan."""
    asked = doing.asked
    read_scan(doing, asked.file)
    trouble = ""
    if asked.unit is not None or asked.tapes or unit_in_file(doing) is not None:
        with_size_asked(doing)
        carry(doing, "Size")
        trouble = _tried(doing, "Tidy")
    else:
        carry(doing, "Scan")
    scanned: Scanned = made(doing.state, "Scan")
    size: TrueSize | None = made(doing.state, "Size")
    tidied: Tidied | None = made(doing.state, "Tidy")
    report = scanned.report
    doing.tell(f"{asked.file.name}: {report.triangles:,} triangles")
    doing.tell(
        f"  {counted(report.piece_count, 'piece')}, {counted(report.hole_count, 'open edge')}"
    )
    if size is None:
        likely = UNIT_WORDS[report.likely_unit]
        doing.tell(f"  unit: not said in the file; by its size likely {likely}, a guess")
        doing.tell("  sizes: none given until the unit or a tape is (--unit, --tape)")
    else:
        _tell_sized(doing, scanned, size)
    if tidied is not None:
        _tell_tank(doing, tidied)
    tell_mended(doing)
    found = scan_result(report, size, mended=scanned.sound, tidied=tidied)
    doubts = [*found["doubts"], *([trouble] if trouble else [])]
    for doubt in doubts:
        doing.tell(f"  look: {doubt}")
    return {**found, "doubts": doubts}


def _tried(doing: Doing, name: str) -> str:
    """Make the steps up to one that may fail; return the sentence of what went wrong, or ""."""
    try:
        carry(doing, name)
    except GeometryError as error:
        said = sentence_for(error)
        if said is None:
            raise
        return said
    error_kept = failure(doing.state, name)
    return "" if error_kept is None else (sentence_for(error_kept) or str(error_kept))


def _tell_sized(doing: Doing, scanned: Scanned, size: TrueSize) -> None:
    mm, report = size.mm_per_unit, scanned.report
    largest = max(report.pieces, key=lambda piece: piece.area)
    across = " x ".join(length_text(value * mm, doing.show) for value in largest.size)
    doing.tell(f"  largest piece: {across}; area {area_text(largest.area * mm * mm, doing.show)}")
    doing.tell(f"  noise: {mm_text(report.noise * mm, 3)} (points about the smooth surface)")
    doing.tell(f"  points about {mm_text(report.spacing * mm, 2)} apart")
    tell_size(doing, size)


def _tell_tank(doing: Doing, tidied: Tidied) -> None:
    """Tell which pieces are the tank, and every hole of it with what becomes of it."""
    pieces = list(zip(tidied.pieces, tidied.kept, strict=True))
    if len(pieces) > 1:
        for number, (piece, kept) in enumerate(pieces[:_TOLD], start=1):
            size = " x ".join(length_text(value, doing.show) for value in piece.size)
            fate = "kept" if kept else "left out"
            doing.tell(f"  piece {number}: {size}, at {_place(piece.centre)}: {fate}")
        _tell_rest(doing, len(pieces), "piece")
    fates = list(zip(tidied.holes, tidied.hole_fates, strict=True))
    for number, (hole, fate) in enumerate(fates[:_HOLES_TOLD], start=1):
        doing.tell(f"  hole {number}: {_hole_words(hole, doing)}: {_FATES[fate]}")
    if len(fates) > _HOLES_TOLD:
        doing.tell(f"  and {counted(len(fates) - _HOLES_TOLD, 'hole')} more: --json lists them")


_FATES = {"filled": "to be filled by guess", "left": "left open"}


def _hole_words(hole: Hole, doing: Doing) -> str:
    rim = f"rim {length_text(hole.rim_length, doing.show)}, about {_place(hole.centre)}"
    if hole.is_edge:
        return f"the open edge of the skin, {rim}"
    return f"{length_text(hole.across, doing.show)} across, {rim}"


def _tell_rest(doing: Doing, count: int, thing: str) -> None:
    if count > _TOLD:
        doing.tell(f"  and {counted(count - _TOLD, thing)} more")


def _place(point: FloatArray) -> str:
    return "(" + ", ".join(f"{value:.1f}" for value in point) + ")"


# ---- datum


def datum(doing: Doing) -> Json:
    """Find how the tank stands, and lay left against right."""
    asked = doing.asked
    read_sized(doing)
    begun = time.perf_counter()
    picked = bool(asked.on_centre or asked.pairs)
    doing.state = with_datum(
        doing.state,
        DatumChoice(
            "picks" if picked else "auto",
            on_centre=tuple(asked.on_centre),
            pairs=tuple(asked.pairs),
            level=asked.level.how,
            level_picks=asked.level.picks,
            up=asked.up,
            front=asked.front,
        ),
    )
    carry(doing, "Datum")
    _raise_failure(doing, "Datum")
    trouble = _tried(doing, "Sides")
    found: Datum = made(doing.state, "Datum")
    sides = made(doing.state, "Sides")
    size: TrueSize = made(doing.state, "Size")
    triangles = made(doing.state, "Scan").report.triangles
    doing.tell(f"{asked.file.name}: {triangles:,} triangles")
    _tell_datum(doing, found)
    if trouble:
        doing.tell(f"  left against right: {trouble}")
    left_right = None if sides is None else sides.left_right
    if left_right is not None:
        _tell_left_right(doing, left_right)
    tell_size(doing, size)
    result = datum_result(found, left_right, size, triangles, doing.state.scan)
    return {**result, "seconds": round(time.perf_counter() - begun, 3)}


def _raise_failure(doing: Doing, name: str) -> None:
    """Raise the error a step that may fail ended in."""
    error = failure(doing.state, name)
    if error is not None:
        raise error


def _tell_datum(doing: Doing, found: Datum) -> None:
    plane = found.plane
    doing.tell(f"  {line_of(doing.state, 'Datum')}")
    for weak in plane.weak[1:]:  # the first is in the line above
        doing.tell(f"    not held by the shape: {weak}")
    if plane.matched_share is not None:
        tenths = round(10.0 * plane.matched_share)
        doing.tell(
            f"    {tenths} parts in 10 of the skin have their like on the other side, within "
            f"{mm_text(plane.residual_mm, 2)}"
        )
    doing.tell(f"    through {_place(plane.point)}, left is {_way(plane.normal)}")
    doing.tell(f"  up is {_way(found.up)}, front is {_way(found.front)}")
    if found.level_spread_rad is not None:
        doing.tell(f"    level sure to {angle_text(found.level_spread_rad, 2)}")
    for name, option in (("front", "--front"), ("up", "--up"), ("level", "--level")):
        if name in found.guessed:
            doing.tell(f"    {name} is a guess: say it with {option} where it is wrong")


def _way(direction: FloatArray) -> str:
    return ",".join(f"{value:.4f}" for value in direction)


def _tell_left_right(doing: Doing, found: LeftRight) -> None:
    doing.tell(
        f"  left against right: half of the skin is alike to {_small(doing, found.median)}, 95 "
        f"parts of 100 to {_small(doing, found.p95)}"
    )
    doing.tell(
        f"    the {found.further_out} stands out most, by {_small(doing, found.largest)}, at "
        f"{_place(found.largest_at)}"
    )
    for station in found.stations:
        if math.isfinite(station.median):
            where = length_text(station.station_mm, doing.show)
            doing.tell(f"    {where} from the rear: {_stands(doing, station.median)}")


def _stands(doing: Doing, left_over: float) -> str:
    if abs(left_over) < _ALIKE_MM:
        return "alike"
    side = "left" if left_over > 0.0 else "right"
    return f"the {side} stands {_small(doing, abs(left_over))} further out as a rule"


def _small(doing: Doing, value: float) -> str:
    return thickness_text(value, doing.show)


# ---- lines


def lines(doing: Doing) -> Json:
    """Find character lines and flat faces."""
    asked = doing.asked
    read_sized(doing)
    begun = time.perf_counter()
    doing.state = with_lines_sought(doing.state, True)
    carry(doing, "Flat faces")
    _raise_failure(doing, "Lines")
    found: Lines = made(doing.state, "Lines")
    flats: tuple[FlatFace, ...] = made(doing.state, "Flat faces")
    size: TrueSize = made(doing.state, "Size")
    triangles = made(doing.state, "Scan").report.triangles
    doing.tell(f"{asked.file.name}: {triangles:,} triangles")
    doing.tell(f"  {counted(len(found.found), 'character line')}")
    for number, line in enumerate(found.found[:_TOLD], start=1):
        doing.tell(f"  line {number}: {_line_words(doing, line)}")
    _tell_rest(doing, len(found.found), "line")
    for number, flat in enumerate(flats[:_TOLD], start=1):
        doing.tell(
            f"  flat face {number}: {area_text(flat.area, doing.show)}, flat to "
            f"{_small(doing, flat.flatness_mm)}, about {_place(flat.point)}"
        )
    _tell_rest(doing, len(flats), "flat face")
    tell_size(doing, size)
    return {
        **lines_result(found, flats, size, triangles),
        "seconds": round(time.perf_counter() - begun, 3),
    }


def _line_words(doing: Doing, line: CharacterLine) -> str:
    length = line_length(line.points)
    ring = ", a ring" if line.is_closed else ""
    return (
        f"{line.standing}{ring}, {length_text(length, doing.show)} long, R "
        f"{_small(doing, float(np.median(line.radius_mm)))}, "
        f"{angle_text(float(np.median(line.opening_rad)), 0)} between the flanks, "
        f"{round(10 * line.confidence)} in 10 sure, from {_place(line.points[0])}"
    )


# ---- what layout takes on


def take_standing(doing: Doing) -> None:
    """Take on datum, holes, lines and the side to copy as asked for; the size is made."""
    asked = doing.asked
    size: TrueSize = made(doing.state, "Size")
    if isinstance(asked.datum, Path):
        doing.state = with_datum_file(doing.state, read_datum(asked.datum), size.mm_per_unit)
    elif asked.datum == "auto":
        doing.state = with_datum_found(doing.state, "auto")
    if asked.fill is not None:
        _take_fill(doing, asked.fill)
    if asked.copy_side is not None:
        doing.state = with_side_copied(doing.state, asked.copy_side)
    if doing.state.datum.how != "none":
        stand_up(doing)
    if asked.lines == "auto":
        lock_lines(doing)


def lock_lines(doing: Doing) -> None:
    """Look for character lines and hold those that are sure."""
    doing.state = with_lines_sought(doing.state, True)
    trouble = _tried(doing, "Flat faces")  # found beside the lines
    doing.state = with_sure_lines_locked(doing.state)
    doing.tell(f"  lines: {trouble or line_of(doing.state, 'Lines')}")


def stand_up(doing: Doing) -> None:
    """Stand the tank up; where that cannot be, say so and go on without, unless a side is copied.

    Raises
    ------
    GeometryError
    """
    trouble = _tried(doing, "Datum")
    if not trouble:
        said = _given_datum(doing) or line_of(doing.state, "Datum")
        doing.tell(f"  datum: {said}")
        return
    if doing.state.sides.copies or doing.state.datum.how == "given":
        _raise_failure(doing, "Datum")
        carry(doing, "Datum")
    doing.tell(f"  datum: none. {trouble}")
    doing.state = with_datum_found(doing.state, "none")


def _given_datum(doing: Doing) -> str:
    """Return that the tank stands as a file says, or ""."""
    given = getattr(doing.asked, "datum", None)
    return f'as "{given}" says' if isinstance(given, Path) else ""


def _take_fill(doing: Doing, asked: FillWords) -> None:
    doing.state = with_fill(doing.state, asked.rule)
    if not asked.numbers:
        return
    carry(doing, "Tidy")
    doing.state = with_only_holes_filled(doing.state, asked.numbers)
