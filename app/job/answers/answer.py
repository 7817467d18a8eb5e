"""The answer to *How will you make it?*: what to cut, how thin it gets, what the edge does.

Numbers are worked out once here and put into the same sentences for window, command line and paper.
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial import cKDTree

from app.job.choices import Directions, JobState
from app.job.making import Blank, Sure, no_cut
from app.job.steps import made
from app.units import area_text, length_text, plain_number, size_text, thickness_text
from geometry.blank import FlatPanel
from geometry.pattern import Pattern, thickness_at_vertices

EDGE_PIECE_MM = 100.0
"""The edge is told in pieces a soft tape can measure, about this long."""

ROUND_ENOUGH = 0.98
"""4 pi area over the edge's length squared, above which a blank counts as round: a regular
octagon has 0.948, an ellipse a quarter longer than wide 0.963."""

AT_EDGE, AT_CROWN = 0.12, 0.6
"""Depth from the edge, as a part of the deepest, below which a place is at the edge, and above
which it is at the crown."""

NO_CHANGE_MM = 0.5
"""Of an edge: less cannot be told with a soft tape."""

NO_THINNING_MM = 0.005


@dataclass(frozen=True)
class Answer:
    """What comes of making a panel one way.

    Attributes
    ----------
    net_mm : (float, float)
        The net blank's extent along and across the sheet, as it lies.
    cut_mm : (float, float)
        The same with the trim all round.
    may_cut : bool
    sheet_mm : float
        Thickness of the sheet.
    thinnest_mm, thickest_mm : float
        After forming, averaged round each vertex.
    thinnest_at, thickest_at : str
        Where, in the shaper's words.
    take_up_mm, let_out_mm : float
        How much the edge has to lose in all, and to gain, over pieces of about 100 mm.
    blank_area, formed_area : float, mm2
    round_mm, equal_round_mm : float or None
        How far a round blank is across, and one of the skin's own area; None for other blanks.
    is_eased, asked_bias : bool, float
        Whether it went only as far as the panel lets, and which way it was asked to go.
    """

    net_mm: tuple[float, float]
    cut_mm: tuple[float, float]
    may_cut: bool
    sheet_mm: float
    thinnest_mm: float
    thinnest_at: str
    thickest_mm: float
    thickest_at: str
    take_up_mm: float
    let_out_mm: float
    blank_area: float
    formed_area: float
    round_mm: float | None
    equal_round_mm: float | None
    is_eased: bool
    asked_bias: float


def answer(
    blank: Blank,
    *,
    sheet_mm: float,
    trim_mm: float,
    directions: Directions | None = None,
    may_cut: bool = True,
) -> Answer:
    """Return what comes of making a panel the way its blank was laid out.

    Parameters
    ----------
    blank : Blank
    sheet_mm : float
    trim_mm : float
    directions : Directions, optional
        Where front and top are, to name places by.
    may_cut : bool
        Whether anything may be cut from it.
    """
    flat = blank.flat
    thickness = sheet_mm * thickness_at_vertices(flat)
    thin, thick = int(np.argmin(thickness)), int(np.argmax(thickness))
    taken, let = edge_changes(flat)
    width, height = flat.blank_size
    is_round = 4.0 * np.pi * flat.blank_area > ROUND_ENOUGH * flat.rim_blank**2
    return Answer(
        net_mm=(width, height),
        cut_mm=(width + 2.0 * trim_mm, height + 2.0 * trim_mm),
        may_cut=may_cut,
        sheet_mm=sheet_mm,
        thinnest_mm=float(thickness[thin]),
        thinnest_at=place_words(flat, thin, directions),
        thickest_mm=float(thickness[thick]),
        thickest_at=place_words(flat, thick, directions),
        take_up_mm=taken,
        let_out_mm=let,
        blank_area=flat.blank_area,
        formed_area=flat.formed_area,
        round_mm=_across(flat.blank_area) if is_round else None,
        equal_round_mm=_across(flat.formed_area) if is_round else None,
        is_eased=blank.is_eased,
        asked_bias=flat.work.bias if blank.asked is None else blank.asked.bias,
    )


def answer_for(state: JobState, blank: Blank, sure: Sure | None = None) -> Answer:
    """Return what comes of a blank of a job, by the job's sheet, trim and proof of size.

    Its size to cut is that of the pattern's own cut line, as paper says it. Before there is a
    pattern it is the net with the widest trim all round of edges without a choice of their own,
    what covers an unsure size included.
    """
    size = made(state, "Size")
    proved = size is not None and size.proved
    known = made(state, "Sure", blank.panel) if sure is None else sure
    pattern: Pattern | None = made(state, "Paper", blank.panel)
    least_mm = state.trim_mm if pattern is None else pattern.trim_mm
    reason = no_cut(blank.flat, size_proved=proved, trim_mm=least_mm)
    found = answer(
        blank,
        sheet_mm=state.metal.thickness_mm,
        trim_mm=state.trim_mm + (0.0 if known is None else known.most_growth_mm),
        directions=state.directions,
        may_cut=reason is None,
    )
    if pattern is None or pattern.trim is None:
        return found
    width, height = np.ptp(pattern.trim, axis=0).tolist()
    return replace(found, cut_mm=(width, height))


def _across(area: float) -> float:
    return float(2.0 * np.sqrt(area / np.pi))


# ---- the numbers


def edge_changes(flat: FlatPanel) -> tuple[float, float]:
    """Return how much the edge has to lose, and how much it has to gain, mm, both not below 0.

    Summed over pieces of about 100 mm of the net line, so that the scatter between neighbouring
    vertices does not count as work; together they differ by blank edge less formed edge.
    """
    rim = flat.rim
    after = np.roll(rim, -1)
    cut = np.linalg.norm(flat.flat_vertices[after] - flat.flat_vertices[rim], axis=1)
    formed = np.linalg.norm(flat.vertices[after] - flat.vertices[rim], axis=1)
    along = np.cumsum(cut) - cut / 2.0
    count = max(1, round(float(cut.sum()) / EDGE_PIECE_MM))
    piece = np.minimum((along / cut.sum() * count).astype(int), count - 1)
    by = np.bincount(piece, weights=cut - formed, minlength=count)
    return float(by[by > 0].sum()), float(-by[by < 0].sum())


def place_words(flat: FlatPanel, vertex: int, directions: Directions | None = None) -> str:
    """Return where a place of the panel is, as a shaper would say it.

    How deep it lies inside the edge comes first; then, unless it is at the crown, towards which end
    of the tank it lies from the panel's middle, where front and top are known.
    """
    net = flat.flat_vertices[flat.rim]
    depth = np.atleast_1d(cKDTree(net).query(flat.flat_vertices)[0])
    share = float(depth[vertex]) / max(float(depth.max()), 1e-12)
    if share >= AT_CROWN:
        return "at the crown"
    toward = _toward(flat, vertex, directions)
    where = "at the edge" if share <= AT_EDGE else "between crown and edge"
    return f"{where}, towards the {toward}" if toward else where


def _toward(flat: FlatPanel, vertex: int, directions: Directions | None) -> str:
    """Return front, back, top, bottom, left or right, whichever a place lies towards; or ""."""
    if directions is None:
        return ""
    ways = {"front": directions.front, "top": directions.top}
    known = {name: np.asarray(way) / np.linalg.norm(way) for name, way in ways.items() if way}
    if len(known) == 2:
        known["left"] = np.cross(known["top"], known["front"])
    other = {"front": "back", "top": "bottom", "left": "right"}
    rim = flat.vertices[flat.rim]
    middle = (rim.max(axis=0) + rim.min(axis=0)) / 2.0
    reach = float(np.linalg.norm(np.ptp(rim, axis=0))) / 2.0
    best, found = 0.35, ""
    for name, way in known.items():
        along = float((flat.vertices[vertex] - middle) @ way) / max(reach, 1e-12)
        if abs(along) > best:
            best, found = abs(along), name if along > 0 else other[name]
    return found


# ---- the sentences


def answer_words(found: Answer, show: str = "mm") -> str:
    """Return the answer: size to cut, thinnest place, what the edge does, area beside the skin."""
    size = size_text(*found.cut_mm, show)
    first = f"Cut {size}." if found.may_cut else f"{size} with its trim; not to be cut yet."
    return " ".join(
        [first, thinnest_words(found, show), edge_words(found, show), area_words(found)]
    )


def area_words(found: Answer) -> str:
    """Return the blank's area beside the skin's."""
    share = plain_number(100.0 * found.blank_area / found.formed_area, 1)
    if share == "100":
        return "Blank the same area as the skin."
    return f"Blank {share} of every 100 of skin area."


def thinnest_words(found: Answer, show: str = "mm") -> str:
    """Return how thin it gets and where."""
    if found.sheet_mm - found.thinnest_mm < NO_THINNING_MM:
        return f"Nowhere thinner than the sheet, {thickness_text(found.sheet_mm, show)}."
    return f"Thinnest {thickness_text(found.thinnest_mm, show)} {found.thinnest_at}."


def edge_words(found: Answer, show: str = "mm") -> str:
    """Return what the edge has to lose or gain in all."""
    take, let = found.take_up_mm, found.let_out_mm
    parts = [
        f"{word} {length_text(by, show, decimals=0 if by >= 10.0 else 1)}"
        for word, by in (("take up", take), ("let out", let))
        if by >= NO_CHANGE_MM and by >= 0.05 * max(take, let)
    ]
    if not parts:
        return "Edge: no change."
    if len(parts) == 1:
        return f"Edge: {parts[0]} all round."
    return f"Edge: {parts[0]}, and {parts[1]} elsewhere."


def equal_area_words(found: Answer, show: str = "mm") -> str:
    """Return what a blank of the skin's own area would be, beside this one."""
    words = f"Laid out by equal area: {area_text(found.formed_area, show)}"
    if found.round_mm is not None and found.equal_round_mm is not None:
        equal, across = (length_text(by, show) for by in (found.equal_round_mm, found.round_mm))
        if equal.split(" (")[0] == across.split(" (")[0]:
            return f"{words}, {equal} across; this one is the same to what a tape tells."
        return f"{words}, {equal} across; this one is {across} across."
    by = 100.0 * (found.blank_area / found.formed_area - 1.0)
    if abs(by) < 0.05:
        return f"{words}; this blank has the same."
    more = "more" if by > 0 else "less"
    return f"{words}; this blank has {plain_number(abs(by), 1)} of every 100 {more}."


def eased_words(found: Answer) -> str:
    """Return that a panel did not let it be made all the way asked for, or ""."""
    if not found.is_eased:
        return ""
    way = "stretch" if found.asked_bias < 0 else "shrink"
    return f"Laid out as far towards {way} as this panel lets."


def thin_words(found: Answer, least_mm: float, show: str = "mm") -> str:
    """Return a warning where the panel ends thinner than the maker's least, or ""."""
    if found.thinnest_mm >= least_mm:
        return ""
    return f"Thinner than your least of {thickness_text(least_mm, show)}, {found.thinnest_at}."
