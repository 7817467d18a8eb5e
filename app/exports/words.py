"""The sentences every page carries, made from the facts."""

import numpy as np

from app.exports.facts import JobFacts, PanelSheet, reason_not_to_cut, thinnest_mm
from app.units import (
    area_text,
    change_text,
    fraction_text,
    gain_text,
    length_text,
    mm_text,
    plain_number,
    size_text,
    thickness_text,
)
from geometry.arrays import FloatArray
from geometry.pattern import Pattern, PatternEdge

LEAST_TOLD_MM = 0.5
"""A soft tape tells no less."""

CAUTION = "Shop aid, not an approval. Check fit and safety on the machine; follow local code."
FILLED_BY_GUESS = "NOT SCANNED - FILLED BY GUESS"
AFTER_FORMING = "CUT AFTER FORMING"


def face_words(job: JobFacts) -> str:
    """Return which face to mark."""
    return f"MARK THIS FACE: {job.marked_face.upper()}"


def makes_words(panel: str) -> str:
    """Return what the blank becomes, so that no left is made for a right.

    >>> makes_words("left side")
    'MAKES THE LEFT SIDE'
    """
    return f"MAKES THE {panel.upper()}"


def sheet_words(job: JobFacts) -> str:
    """Return alloy and thickness."""
    return f"{job.alloy} {thickness_text(job.thickness_mm, job.show)}"


def revision_words(job: JobFacts) -> str:
    """Return revision and date."""
    return f"Rev {job.revision}  {job.dated.isoformat()}"


def proof_words(job: JobFacts) -> str:
    """Return how the size is proved."""
    if not job.size_proved:
        if not job.tapes:
            return "SIZE NOT TAPED"
        return f"SIZE NOT TAPED enough to cut: {_tapes(job)}"
    count = len(job.tapes)
    return f"SIZE PROVED by {count} tape{'s' if count != 1 else ''}: {_tapes(job)}"


def _tapes(job: JobFacts) -> str:
    return "; ".join(
        f"taped {mm_text(tape.taped_mm)} ({fraction_text(tape.taped_mm)}), "
        f"scan {plain_number(tape.scan_mm)}"
        for tape in job.tapes
    )


def short_proof_words(job: JobFacts) -> str:
    """Return how the size is proved, for a narrow place."""
    if not job.size_proved:
        return "SIZE NOT TAPED"
    taped = ", ".join(mm_text(tape.taped_mm) for tape in job.tapes)
    return f"SIZE PROVED by {len(job.tapes)} tape{'s' if len(job.tapes) != 1 else ''}: {taped}"


def cut_words(sheet: PanelSheet) -> str:
    """Return what may be cut."""
    reason = reason_not_to_cut(sheet)
    if reason is not None:
        return f"NO CUT LINE: {reason}"
    allowance = length_text(sheet.pattern.trim_mm, sheet.job.show)
    return f"CUT only the dashed trim line: {allowance} outside the net line everywhere."


def edge_words(edge: PatternEdge, job: JobFacts) -> str:
    """Return an edge's letter, neighbour and what becomes of its length."""
    to = f"to {edge.other}" if edge.other else "free edge"
    return f"{edge.letter}  {to}: {gain_text(edge.flat_mm, edge.formed_mm, job.show)}"


def extent(points: FloatArray) -> tuple[float, float]:
    """Return how wide and how high an outline is, mm."""
    size = points.max(axis=0) - points.min(axis=0)
    return float(size[0]), float(size[1])


def fact_words(sheet: PanelSheet) -> list[str]:
    """Return the facts of one panel, one sentence a line."""
    job, flat, pattern = sheet.job, sheet.flat, sheet.pattern
    largest, smallest = worst_changes(sheet)
    thinnest = thinnest_mm(flat, job.thickness_mm)
    lines = [f"Sheet: {sheet_words(job)}. {revision_words(job)}"]
    lines.append(f"Net blank {size_text(*extent(pattern.net), job.show)}")
    if reason_not_to_cut(sheet) is None and pattern.trim is not None:
        lines.append(f"Cut blank {size_text(*extent(pattern.trim), job.show)}")
    lines += [
        f"Area: blank {area_text(flat.blank_area, job.show)}, "
        f"skin {area_text(flat.formed_area, job.show)}",
        f"Most stretch, where it thins: {change_text(largest, job.show)}",
        f"Most shrink, where it thickens: {change_text(smallest, job.show)}",
        f"Thinnest: {thickness_text(thinnest, job.show)}",
        f"Surface: {job.surface}",
        f"Scan file in {job.scan_unit}. Sizes here in mm and inch.",
        proof_words(job),
        cut_words(sheet),
    ]
    if pattern.trim_closes_over:
        lines.append("The trim line bridges a gap in the net: open that gap by hand.")
    if pattern.openings:
        lines.append("Openings stay solid: CUT AFTER FORMING.")
    return [*lines, *sheet.remarks]


def worst_changes(sheet: PanelSheet) -> tuple[float, float]:
    """Return the largest and the smallest stretch over the blank, as the shape map shows them."""
    change = sheet.pattern.shape.change
    return 1.0 + max(0.0, float(change.max())), 1.0 + min(0.0, float(change.min()))


def _tape_number(length_mm: float, show: str) -> str:
    """Return a length as a soft tape reads: to half a millimetre, or to a sixteenth."""
    if show == "in":
        return fraction_text(length_mm)
    return plain_number(round(2.0 * length_mm) / 2.0)


def gather_words(flat_mm: float, formed_mm: float, show: str = "mm") -> str:
    """Return what a piece of an edge forms to.

    >>> gather_words(100.0, 93.6), gather_words(101.6, 108.0, "in")
    ('100 \u2192 93.5 shrink 6.5', '4 in \u2192 4 1/4 in stretch 1/4 in')
    """
    change = formed_mm - flat_mm
    way = "stretch" if change > 0.0 else "shrink"
    return (
        f"{_tape_number(flat_mm, show)} \u2192 {_tape_number(formed_mm, show)} "
        f"{way} {_tape_number(abs(change), show)}"
    )


def cut_edge_words(pattern: Pattern, letter: str, show: str = "mm") -> str:
    """Return what the margin along a whole edge gathers at the cut line, or nothing."""
    gather = next((each for each in pattern.cut_gathers if each.letter == letter), None)
    if gather is None or abs(gather.total_mm[2]) < LEAST_TOLD_MM:
        return ""
    flat, formed, _ = gather.total_mm
    return f"; along the cut line {gather_words(flat, formed, show)}"


def roll_words(
    radius_mm: float, turn_rad: float, *, up: bool, is_fold: bool, show: str = "mm"
) -> str:
    """Return what to do along a roll line or a fold.

    >>> roll_words(120.0, 0.2, up=True, is_fold=False)
    'roll up, sweep R 120 mm (4 3/4 in)'
    >>> roll_words(0.0, 1.5707963, up=False, is_fold=True)
    'fold down 90\u00b0'
    """
    way = "up" if up else "down"
    if is_fold:
        return f"fold {way} {np.degrees(turn_rad):.0f}\u00b0"
    return f"roll {way}, sweep R {length_text(radius_mm, show, decimals=0)}"
