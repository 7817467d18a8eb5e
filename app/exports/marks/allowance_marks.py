"""What is left outside the net line, edge by edge: fold lines, relief holes, and words for both.

Every edge says what its metal is for and how wide it is; the two outlines are named where they run
side by side. All words stand level, or turned by a quarter.
"""

import math
from collections.abc import Sequence

import numpy as np
import shapely

from app.exports.drawing import FreeSpace, Line, Meaning, Text, curved, place_text, ring
from app.exports.facts import PanelSheet, reason_not_to_cut
from app.units import angle_text, length_text, upward_text
from geometry.arrays import FloatArray
from geometry.pattern import BendLine, EdgeCut, PatternEdge, Relief, circle_curve

_TEXT_MM = 2.5
_NAME_MM = 2.5
_BESIDE_MM = 3.2
"""How far the middle of a line's name stands off its line."""

_CROSS_MM = 1.5
"""How far the cross in a hole's middle reaches past it."""

_SAME_MM = 0.05
"""Widths closer than this are one width on paper."""


def allowance_lines(sheet: PanelSheet) -> list[Line]:
    """Return fold lines and relief holes; none where nothing may be cut.

    A hole the cut line runs into is drawn for the drill, any other belongs to what is cut.
    """
    if reason_not_to_cut(sheet) is not None:
        return []
    pattern, on_paper = sheet.pattern, sheet.lay.on_paper
    lines = [Line(_fold_meaning(sheet, fold), on_paper(fold.points)) for fold in pattern.bend_lines]
    for relief in pattern.reliefs:
        lines += _relief_lines(relief, on_paper(relief.place))
    return lines


def allowance_texts(
    sheet: PanelSheet, space: FreeSpace, lines: Sequence[FloatArray]
) -> tuple[list[Text], list[Text]]:
    """Return words on the blank itself, and words in the margin outside the net line.

    Parameters
    ----------
    sheet : PanelSheet
    space : FreeSpace
        Within the net line.
    lines : sequence of (k, 2) float, mm
        Lines that no text may touch, in the maker's view; fold lines and holes among them.
    """
    trim = sheet.pattern.trim
    if reason_not_to_cut(sheet) is not None or trim is None:
        return [], []
    margin = FreeSpace(sheet.lay.on_paper(trim), lines)
    on_blank = _relief_texts(sheet, space)
    outside: list[Text] = []
    for edge, cut in told_edges(sheet):
        wordings = (allowance_words(sheet, cut), _short_words(sheet, cut))
        half = 0.5 * cut.cut_mm
        spots = [_part_way(sheet, edge, part) for part in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8)]
        beside = [place - half * inward for place, inward in spots]
        found = _first_placed(margin, wordings, beside, half - 1.0)
        outside += found
        if not found:
            named = [f"{cut.letter}: {words}" for words in wordings]
            on_blank += _first_placed(space, named, [spots[0][0] + 9.0 * spots[0][1]], 60.0)
    names = _line_names(sheet, space, margin)
    return [*on_blank, *names[0]], [*outside, *names[1]]


def allowance_rows(sheet: PanelSheet) -> list[tuple[bool, Meaning, str]]:
    """Return what a legend says of fold lines and relief holes, and whether there are any."""
    meanings = {line.meaning for line in allowance_lines(sheet)}
    words = {
        Meaning.BEND_UP: "bend UP along the net line, between these tangent lines",
        Meaning.BEND_DOWN: "bend DOWN along the net line, between these tangent lines",
        Meaning.ALLOWANCE: "fold of a hem or joggle: on the net line, or between these",
        Meaning.RELIEF: "relief hole: drill it before bending",
    }
    return [(meaning in meanings, meaning, told) for meaning, told in words.items()]


def told_edges(sheet: PanelSheet) -> list[tuple[PatternEdge, EdgeCut]]:
    """Return the edges whose allowance is written beside them: the longest of those alike."""
    told: list[tuple[PatternEdge, EdgeCut]] = []
    pairs = zip(sheet.pattern.edges, sheet.pattern.allowance_of_edge, strict=True)
    rows = sorted(pairs, key=lambda row: -row[0].flat_mm)
    uniform = is_uniform(sheet)
    for edge, cut in rows:
        if not (uniform and told):
            told.append((edge, cut))
    return told


def is_uniform(sheet: PanelSheet) -> bool:
    """Return whether the cut line lies at one width all round, for trimming."""
    cuts = sheet.pattern.allowance_of_edge
    widths = [cut.cut_mm for cut in cuts]
    trimmed = all(cut.allowance.kind == "trim" for cut in cuts)
    return trimmed and max(widths, default=0.0) - min(widths, default=0.0) < _SAME_MM


def allowance_words(sheet: PanelSheet, cut: EdgeCut) -> str:
    """Return what an edge's metal is for, how wide it is, and what of it is for being not sure."""
    kind, show = cut.allowance.kind, sheet.job.show
    if kind == "none":
        return "NO TRIM: CUT ON THE NET LINE"
    wide = length_text(cut.allowance.width_mm, show)
    big = ""
    if cut.grown_by_mm >= _SAME_MM:
        big = f", CUT BIG BY {upward_text(cut.grown_by_mm, show)}"
    if kind == "trim":
        return f"TRIM {wide}{big}"
    if kind == "lap":
        return f"LAP {wide}{big}"
    if kind == "hem":
        return f"HEM {wide}: FOLD {_way(sheet, 180.0)} FLAT{big}"
    out = f"CUT {length_text(cut.cut_mm, show)} OUT"
    if kind == "joggle":
        return f"JOGGLE {_way(sheet, 1.0)} ONE SHEET, LAP {wide}: {out}"
    angle = cut.allowance.angle_deg
    turned = angle_text(math.radians(abs(angle)))
    return f"FLANGE {wide}: BEND {_way(sheet, angle)} {turned}, {out}"


def _short_words(sheet: PanelSheet, cut: EdgeCut) -> str:
    """Return the same in few words, for a narrow place; the table of edges tells the rest."""
    asked = cut.allowance
    wide = length_text(asked.width_mm, sheet.job.show).partition(" (")[0]
    if asked.kind == "none":
        return "NO TRIM"
    words = f"{asked.kind.upper()} {wide}"
    if asked.kind == "flange":
        return f"{words} {_way(sheet, asked.angle_deg)}"
    return f"{words} {_way(sheet, 1.0)}" if asked.is_folded else words


def _first_placed(
    space: FreeSpace, wordings: Sequence[str], spots: Sequence[FloatArray], reach_mm: float
) -> list[Text]:
    """Return the first wording there is room for, level or turned; nothing without room."""
    for words in wordings:
        for near in spots if reach_mm > 0.0 else ():
            found = place_text(space, words, near, _TEXT_MM, reach_mm)
            if found:
                return found
    return []


def taken_by(texts: Sequence[Text]) -> list[FloatArray]:
    """Return the courses that keep other words out of texts: round each, and along it."""
    courses = []
    for text in texts:
        corners = text.outline
        courses.append(ring(corners))
        courses.append(np.stack([corners[[0, 3]].mean(axis=0), corners[[1, 2]].mean(axis=0)]))
    return courses


def _way(sheet: PanelSheet, angle_deg: float) -> str:
    """Return UP or DOWN for metal turned towards the tank's inside, above 0, or outside."""
    to_maker = (angle_deg > 0.0) == (sheet.job.marked_face == "inside")
    return "UP" if to_maker else "DOWN"


def _fold_meaning(sheet: PanelSheet, fold: BendLine) -> Meaning:
    if fold.kind != "flange":
        return Meaning.ALLOWANCE
    return Meaning.BEND_UP if _way(sheet, fold.angle_deg) == "UP" else Meaning.BEND_DOWN


def _relief_lines(relief: Relief, place: FloatArray) -> list[Line]:
    """Return a hole and the cross in its middle."""
    radius = relief.diameter_mm / 2.0
    meaning = Meaning.RELIEF if relief.on_outline else Meaning.CUT
    arms = [(radius + _CROSS_MM) * np.eye(2)[axis] for axis in (0, 1)]
    cross = [Line(Meaning.HOLE_CENTRE, np.stack([place - arm, place + arm])) for arm in arms]
    return [curved(meaning, circle_curve(place, radius)), *cross]


def _relief_texts(sheet: PanelSheet, space: FreeSpace) -> list[Text]:
    """Return what to drill beside every relief hole."""
    texts: list[Text] = []
    for relief in sheet.pattern.reliefs:
        place = sheet.lay.on_paper(relief.place)
        words = f"DRILL \u00d8 {length_text(relief.diameter_mm, sheet.job.show)}"
        texts += place_text(space, words, place, _TEXT_MM, 40.0)
    return texts


def _line_names(
    sheet: PanelSheet, within: FreeSpace, margin: FreeSpace
) -> tuple[list[Text], list[Text]]:
    """Return NET inside the net line and CUT inside the cut line, beside every longer edge.

    Where a gap closes over no cut line runs beside the edge, and none is named.
    """
    trim = sheet.pattern.trim
    if trim is None:
        return [], []
    ring = shapely.LinearRing(sheet.lay.on_paper(trim))
    names: tuple[list[Text], list[Text]] = [], []
    for edge, cut in zip(sheet.pattern.edges, sheet.pattern.allowance_of_edge, strict=True):
        if edge.flat_mm < 60.0:
            continue
        for part in (0.3, 0.7) if edge.flat_mm > 160.0 else (0.25,):
            place, inward = _part_way(sheet, edge, part)
            near = place - (cut.cut_mm - _BESIDE_MM) * inward
            off = ring.distance(shapely.Point(near))
            if cut.cut_mm > 2.5 * _NAME_MM and abs(off - _BESIDE_MM) < 0.5:
                names[1].extend(place_text(margin, "CUT", near, _NAME_MM, 3.0, bold=True))
            near = place + _BESIDE_MM * inward
            names[0].extend(place_text(within, "NET", near, _NAME_MM, 4.0, bold=True))
    return names


def _part_way(sheet: PanelSheet, edge: PatternEdge, part: float) -> tuple[FloatArray, FloatArray]:
    """Return a place on an edge and the direction into the blank there, on paper."""
    points = sheet.lay.on_paper(edge.points)
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    along = np.concatenate([[0.0], np.cumsum(steps)])

    def at(share: float) -> FloatArray:
        return np.stack([np.interp(share * along[-1], along, points[:, k]) for k in range(2)])

    way = at(part + 0.02) - at(part - 0.02)
    way = way / max(float(np.linalg.norm(way)), 1e-9)
    return at(part), sheet.lay.inward_side * np.array([-way[1], way[0]])
