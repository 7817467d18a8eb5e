"""The sentences every page carries, made from the facts."""

from collections.abc import Sequence

import numpy as np

from app.exports.facts import JobFacts, PanelSheet, ProofTape, reason_not_to_cut, thinnest_mm
from app.job import counted_twice_words
from app.units import (
    MM_PER_INCH,
    area_text,
    change_text,
    counted,
    fraction_text,
    fraction_with_rest_text,
    gain_text,
    length_text,
    mm_text,
    plain_number,
    size_text,
    thickness_text,
)
from geometry.arrays import FloatArray
from geometry.pattern import Mating, PatternEdge

LEAST_TOLD_MM = 0.5
"""A soft tape tells no less."""

LONGEST_NAME = 40
"""Longer names are cut short on paper; files and lists keep them whole."""

CAUTION = "Shop aid, not an approval. Check fit and safety on the machine; follow local code."
FILLED_BY_GUESS = "NOT SCANNED - FILLED BY GUESS"
AFTER_FORMING = "CUT AFTER FORMING"


def copied_words(job: JobFacts) -> str:
    """Return what is said of a patch made from the tank's other side."""
    side = f"THE {job.copied_from.upper()}" if job.copied_from else "THE OTHER"
    return f"MIRRORED FROM {side} SIDE"


def face_words(job: JobFacts) -> str:
    """Return which face to mark."""
    return f"MARK THIS FACE: {job.marked_face.upper()}"


def shortened(name: str, most: int) -> str:
    """Return a name as it is, or its beginning and dots where it is longer than a page has room.

    >>> shortened("left side", 40), shortened("a name far too long for it", 12)
    ('left side', 'a name fa...')
    """
    return name if len(name) <= most else f"{name[: most - 3].rstrip()}..."


def panel_words(panel: str) -> str:
    """Return a panel's name as it stands on pages."""
    return shortened(panel, LONGEST_NAME).upper()


def makes_words(panel: str) -> str:
    """Return what the blank becomes, so that no left is made for a right.

    >>> makes_words("left side")
    'MAKES THE LEFT SIDE'
    """
    return f"MAKES THE {panel_words(panel)}"


def sheet_words(job: JobFacts) -> str:
    """Return alloy and thickness."""
    return f"{job.alloy} {thickness_text(job.thickness_mm, job.show)}"


def revision_words(job: JobFacts) -> str:
    """Return revision and date, and which prints they make worthless."""
    words = f"Rev {job.revision} {job.dated.isoformat()}"
    if not job.replaces:
        return words
    return f"{words}, replaces rev {job.replaces}: throw older prints away"


def job_words(job: JobFacts) -> str:
    """Return the job's name and the model it is for."""
    name = shortened(job.job, 2 * LONGEST_NAME)
    return f"{name}, {shortened(job.model, LONGEST_NAME)}" if job.model else name


def sure_words(sheet: PanelSheet) -> str:
    """Return how sure the size is and what else the maker must read, in one row."""
    return " ".join(sheet.remarks) or "How sure the size is: not worked out."


GRAIN_WORDS = {"along": "ALONG FRONT", "across": "ACROSS FRONT", "any": "ANY WAY"}


def grain_words(job: JobFacts) -> str:
    """Return how the sheet's grain is to run on the blank."""
    return f"GRAIN: {GRAIN_WORDS[job.grain]}"


def forming_words(job: JobFacts) -> str:
    """Return how the panel is to be formed."""
    return "Made in a form." if job.forming == "form" else "Made freehand."


def proof_words(job: JobFacts) -> str:
    """Return how the size is proved."""
    if not job.size_proved:
        if not job.tapes:
            return "SIZE NOT TAPED"
        return f"SIZE NOT TAPED enough to cut: {_tapes(job)}"
    if not job.tapes:
        return "SIZES AS TYPED: no scan, nothing to tape"
    return f"SIZE PROVED by {counted(len(job.tapes), 'tape')}: {_tapes(job)}"


def proof_and_level(job: JobFacts) -> list[str]:
    """Return how the size is proved, and how sure level is, for pages whose figures hang on it."""
    return [words for words in (proof_words(job), job.level) if words]


def scan_words(job: JobFacts) -> str:
    """Return what a coordinate of the scan means; that there is no scan, where sizes were typed."""
    return f"Scan file in {job.scan_unit}" if job.scan_unit else "No scan: sizes as typed"


LAID_WORDS = {"straight": "", "over": " over", "girth": " girth", "along": " along"}
"""How a tape lay, after its length."""


def _tapes(job: JobFacts) -> str:
    return "; ".join(
        f"taped {_taped_words(tape, job.show)}, "
        f"scan {_reading_words(tape.scan_mm, job.show).removesuffix(' mm')}"
        for tape in job.tapes
    )


def _taped_words(tape: ProofTape, show: str) -> str:
    """Return what a tape read, in both units, and how it lay."""
    other = mm_text(tape.taped_mm) if show == "in" else fraction_text(tape.taped_mm)
    return f"{_reading_words(tape.taped_mm, show)} ({other}){LAID_WORDS[tape.kind]}"


def _reading_words(length_mm: float, show: str) -> str:
    """Return a tape's length in one unit: to 1/32 in and what is left over, or to 0.1 mm."""
    return fraction_with_rest_text(length_mm, 32) if show == "in" else mm_text(length_mm)


def short_proof_words(job: JobFacts) -> str:
    """Return how the size is proved, for a narrow place."""
    if not job.size_proved:
        return "SIZE NOT TAPED"
    if not job.tapes:
        return "SIZES AS TYPED"
    taped = ", ".join(
        f"{_reading_words(tape.taped_mm, job.show)}{LAID_WORDS[tape.kind]}" for tape in job.tapes
    )
    return f"SIZE PROVED by {counted(len(job.tapes), 'tape')}: {taped}"


def cut_words(sheet: PanelSheet) -> str:
    """Return what may be cut."""
    reason = reason_not_to_cut(sheet)
    if reason is not None:
        return f"NO CUT LINE: {reason}"
    least, most = trim_range(sheet)
    wide = trim_words(sheet)
    if most == 0.0:
        return "CUT only the dashed line: it is the net line, nothing is trimmed after."
    if least == most:
        return f"CUT only the dashed trim line: {wide} outside the net line everywhere."
    return f"CUT only the dashed line: {wide} outside the net line, as told along each edge."


def trim_range(sheet: PanelSheet) -> tuple[float, float]:
    """Return the least and the most the cut line lies outside the net line, mm; alike if one."""
    widths = [cut.cut_mm for cut in sheet.pattern.allowance_of_edge] or [sheet.pattern.trim_mm]
    least, most = min(widths), max(widths)
    return (most, most) if most - least < 0.05 else (least, most)


def spacing_text(spacing_mm: float, show: str = "mm") -> str:
    """Return a round spacing both ways, the shown unit first, to the nearest 1/64 in.

    A coarser fraction would make 25 mm an inch.

    >>> spacing_text(25.0), spacing_text(50.0), spacing_text(100.0), spacing_text(25.4, "in")
    ('25 mm (63/64 in)', '50 mm (1 31/32 in)', '100 mm (3 15/16 in)', '1 in (25.4 mm)')
    """
    return length_text(spacing_mm, show, 64)


def trim_words(sheet: PanelSheet) -> str:
    """Return how far the cut line lies outside the net line: one width, or the least and most.

    Two that read the same in the unit shown first are one: the greater.
    """
    widths = trim_range(sheet)
    least, most = (length_text(width, sheet.job.show) for width in widths)
    if widths[0] == 0.0 < widths[1]:
        return f"up to {most}"
    (first, other), (last, another) = least.split(" (", 1), most.split(" (", 1)
    if first == last:
        return most
    if other == another:
        return f"{first.rsplit(' ', 1)[0]} to {last} ({other}"
    return f"{least} to {most}"


def edge_words(edge: PatternEdge, job: JobFacts) -> str:
    """Return an edge's letter, neighbour and what becomes of its length."""
    to = f"to {shortened(edge.other, LONGEST_NAME)}" if edge.other else "free edge"
    return f"{edge.letter}  {to}: {gain_text(edge.flat_mm, edge.formed_mm, job.show)}"


def extent(points: FloatArray) -> tuple[float, float]:
    """Return how wide and how high an outline is, mm."""
    size = points.max(axis=0) - points.min(axis=0)
    return float(size[0]), float(size[1])


def change_sentences(sheet: PanelSheet) -> tuple[str, ...]:
    """Return most stretch, most shrink and thinnest; that they mean nothing if not settled."""
    if not sheet.flat.converged:
        return ("NOT SETTLED: how much it stretches and how thin it ends is not known.",)
    show = sheet.job.show
    largest, smallest = worst_changes(sheet)
    thinnest = thinnest_mm(sheet.flat, sheet.job.thickness_mm)
    return (
        f"Most stretch, where it thins: {change_words(largest, show)}",
        f"Most shrink, where it thickens: {change_words(smallest, show)}",
        f"Thinnest: {thickness_text(thinnest, show)}",
    )


def fact_words(sheet: PanelSheet) -> list[str]:
    """Return the facts of one panel, one sentence a line."""
    job, flat, pattern = sheet.job, sheet.flat, sheet.pattern
    lines = [f"Sheet: {sheet_words(job)}. {revision_words(job)}"]
    lines.append(f"{forming_words(job)} Sheet {grain_words(job)}.")
    lines.append(f"Net blank {size_text(*extent(pattern.net), job.show)}")
    if reason_not_to_cut(sheet) is None and pattern.trim is not None:
        lines.append(f"Cut blank {size_text(*extent(pattern.trim), job.show)}")
    lines += [
        f"Area: blank {area_text(flat.blank_area, job.show)}, "
        f"skin {area_text(flat.formed_area, job.show)}",
        *change_sentences(sheet),
        *_thin_sentences(sheet),
        f"Surface: {job.surface}",
        f"Scan file in {job.scan_unit}. Sizes here in mm and inch.",
        proof_words(job),
        cut_words(sheet),
    ]
    if pattern.trim_closes_over:
        lines.append("The trim line bridges a gap in the net: open that gap by hand.")
    if pattern.trim_passes_nicks and reason_not_to_cut(sheet) is None:
        lines.append("The trim line runs past small nicks of the net: there it is farther out.")
    lines += flange_sentences(sheet)
    if pattern.openings:
        lines.append("Openings stay solid: CUT AFTER FORMING.")
    return [*lines, sure_words(sheet)]


def flange_sentences(sheet: PanelSheet) -> list[str]:
    """Return where the outside faces of flanges end once bent: farther out than the net line."""
    if reason_not_to_cut(sheet) is not None:
        return []
    told: dict[str, list[str]] = {}
    for cut in sheet.pattern.allowance_of_edge:
        if cut.allowance.kind != "flange":
            continue
        words = "off the net line by what your bend takes: bend a strip first and measure"
        if cut.face_beyond_mm is not None:
            far = length_text(cut.face_beyond_mm, sheet.job.show)
            words = f"{far} outside the net line. Let the form or the next panel allow for it"
        told.setdefault(words, []).append(cut.letter)
    bent = [
        f"FLANGE {', '.join(letters)}: bent on the net line, its outside face ends {words}."
        for words, letters in told.items()
    ]
    twice = counted_twice_words(sheet.pattern.lip_edges)
    return [*bent, *([twice] if twice else [])]


def _thin_sentences(sheet: PanelSheet) -> list[str]:
    """Return what the dotted outline means, where there is one: a guide, no verdict."""
    if not sheet.pattern.thin_regions:
        return []
    least = thickness_text(sheet.job.least_mm, sheet.job.show)
    return [f"Thinner than your least of {least} inside the dotted outline. A guide: measure it."]


def worst_changes(sheet: PanelSheet) -> tuple[float, float]:
    """Return the largest and the smallest stretch over the blank, as the shape map shows them."""
    change = sheet.pattern.shape.change
    return 1.0 + max(0.0, float(change.max())), 1.0 + min(0.0, float(change.min()))


def change_words(stretch: float, show: str = "mm") -> str:
    """Return what becomes of 100 or of a foot, written as beside the edges of a blank.

    >>> change_words(1.044), change_words(1.0)
    ('100 \u2192 104.4, stretch 4.4', '100 \u2192 100, leave')
    """
    words = change_text(stretch, show).replace("->", "\u2192")
    for way in ("stretch", "shrink", "leave"):
        words = words.replace(f" {way}", f", {way}")
    return words


def mating_words(pairs: Sequence[Mating], show: str = "mm") -> list[str]:
    """Return what needs a look before metal is cut: mating edges that do not fit; none mostly.

    >>> fits = Mating("A", "top", ("lid", "side"), (412.0, 405.0), (398.2, 398.2), (8, 8), 0.0)
    >>> mating_words([fits])
    []
    >>> from dataclasses import replace
    >>> mating_words([replace(fits, formed_mm=(398.2, 399.4))])
    ['EDGE A DOES NOT FIT: lid forms to 398.2 mm (15 11/16 in), side to 399.4 mm (15 3/4 in).']
    """
    found = []
    for pair in pairs:
        one, other = pair.panels
        if not pair.lengths_fit:
            first, second = (length_text(value, show) for value in pair.formed_mm)
            found.append(
                f"EDGE {pair.letter} DOES NOT FIT: {one} forms to {first}, {other} to {second}."
            )
        elif not pair.marks_fit:
            found.append(
                f"WITNESS MARKS OF EDGE {pair.letter} DO NOT MEET on {one} and {other}: go by the "
                "ends of the edge."
            )
    return found


def short_change_words(stretch: float, show: str = "mm") -> str:
    """Return what becomes of 100, or by how much a foot changes, for a narrow place.

    >>> short_change_words(0.935), short_change_words(0.935, "in"), short_change_words(1.0, "in")
    ('100 \u2192 93.5, shrink 6.5', 'shrink .78 in per foot', 'leave')
    """
    words = change_words(stretch, show)
    return words if show == "mm" else words.rsplit(", ", 1)[-1]


def tape_reading(length_mm: float, show: str = "mm") -> float:
    """Return a length as a soft tape reads it: to half a millimetre, or to 1/32 in; in mm.

    >>> tape_reading(93.6), round(tape_reading(93.6, "in"), 3)
    (93.5, 93.662)
    """
    step = MM_PER_INCH / 32.0 if show == "in" else LEAST_TOLD_MM
    return round(length_mm / step) * step


def tells_a_tape(flat_mm: float, formed_mm: float, show: str = "mm") -> bool:
    """Return whether a soft tape tells the two lengths apart."""
    return abs(tape_reading(formed_mm, show) - tape_reading(flat_mm, show)) > 0.1


def _tape_number(length_mm: float, show: str) -> str:
    """Return a tape's reading, without its unit where that is mm."""
    if show == "in":
        return fraction_text(length_mm, 32).removesuffix(" in")
    return plain_number(tape_reading(length_mm))


def gather_words(flat_mm: float, formed_mm: float, show: str = "mm") -> str:
    """Return what a piece of an edge forms to, as a soft tape reads it.

    >>> gather_words(100.0, 93.6), gather_words(101.6, 108.0, "in")
    ('100 \u2192 93.5, shrink 6.5', '4 \u2192 4 1/4, stretch 1/4 in')
    """
    change = tape_reading(formed_mm, show) - tape_reading(flat_mm, show)
    way = "stretch" if change > 0.0 else "shrink"
    unit = " in" if show == "in" else ""
    return (
        f"{_tape_number(flat_mm, show)} \u2192 {_tape_number(formed_mm, show)}, "
        f"{way} {_tape_number(abs(change), show)}{unit}"
    )


def square_words(
    side_mm: float,
    across_mm: float,
    up_mm: float,
    show: str = "mm",
    *,
    signs: tuple[str, str] = ("\u2194", "\u2195"),
) -> list[str]:
    """Return what the lines through a grid square form to: across, then up; told ones only.

    >>> square_words(25.0, 27.1, 24.4), square_words(25.0, 27.1, 25.0)
    (['\u2194 25 \u2192 27', '\u2195 25 \u2192 24.5'], ['\u2194 25 \u2192 27'])
    """
    return [
        f"{sign} {_tape_number(side_mm, show)} \u2192 {_tape_number(formed, show)}"
        for sign, formed in zip(signs, (across_mm, up_mm), strict=True)
        if tells_a_tape(side_mm, formed, show)
    ]


def cut_edge_words(sheet: PanelSheet, letter: str) -> str:
    """Return what the margin along a whole edge gathers at the cut line, or nothing."""
    every = sheet.pattern.cut_gathers if reason_not_to_cut(sheet) is None else ()
    gather = next((each for each in every if each.letter == letter), None)
    if gather is None:
        return ""
    flat, formed, _ = gather.total_mm
    if not tells_a_tape(flat, formed, sheet.job.show):
        return ""
    return f"; along the cut line {gather_words(flat, formed, sheet.job.show)}"


def roll_words(
    radius_mm: float, turn_rad: float, *, up: bool, is_fold: bool, show: str = "mm"
) -> str:
    """Return what to do along a roll line or a fold.

    >>> roll_words(120.0, 0.2, up=True, is_fold=False)
    'inside R 120 mm (4 3/4 in), roll UP'
    >>> roll_words(0.0, 1.5707963, up=False, is_fold=True)
    'bend DOWN 90\u00b0'
    """
    way = "UP" if up else "DOWN"
    if is_fold:
        return f"bend {way} {np.degrees(turn_rad):.0f}\u00b0"
    return f"inside R {length_text(radius_mm, show, decimals=0)}, roll {way}"


def sweep_words(radius_mm: float, show: str = "mm") -> str:
    """Return a sweep radius, short.

    >>> sweep_words(119.7), sweep_words(119.7, "in")
    ('R 120', 'R 4 11/16')
    """
    number = plain_number(radius_mm, 0) if show == "mm" else fraction_text(radius_mm)
    return f"R {number.removesuffix(' in')}"


def thinnest_words(ratio: float, sheet_mm: float, show: str = "mm") -> str:
    """Return how thin the thinnest place gets.

    >>> thinnest_words(0.8, 1.6)
    'thinnest 1.28 mm (.050 in)'
    """
    return f"thinnest {thickness_text(ratio * sheet_mm, show)}"


def thin_region_words(least_mm: float, show: str = "mm") -> str:
    """Return what is the matter within an outline of thin metal.

    >>> thin_region_words(1.2)
    'thinner than your least, 1.2 mm (.047 in)'
    """
    return f"thinner than your least, {thickness_text(least_mm, show)}"
