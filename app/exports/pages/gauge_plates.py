"""Gauges as plates at full size: every board with its number, hand, level, centre and marks.

What nobody scanned is drawn along the edge it bears on, and told in words on every tile.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry import Polygon

from app.exports.drawing import Line, Meaning, curved, straight
from app.exports.facts import JobFacts
from app.exports.pages.sweep_plates import sweep_plates
from app.exports.plate import Plate, PlateNote
from app.job import (
    Gauges,
    back_words,
    clearing_words,
    face_words,
    hand_words,
    long_words,
    tight_words,
    torn_words,
)
from app.units import counted, length_text, mm_text
from geometry.arrays import FloatArray
from geometry.gauges import (
    LEVEL_STEP_MM,
    FrameBoard,
    LongGauge,
    StationGauge,
    Template,
    seen,
)
from geometry.pattern import fitted_curve

_OUTLINE_MM = 0.014
"""How far a drawn outline may be from the board's: that may be 0.005 off the section, and a
template is to be read back within 0.02 mm of it."""

OFF_CENTRE_MM = 0.05
"""A board of the frame further off the middle of its slot was not slotted rightly."""

_MARK_MM = 2.0
_NEAR_MM = 0.1
_LEAST_RUN_MM = 2.0
_TICK_MM = 8.0
_TORN_MM = 20.0
_MATERIAL = "Card, ply or sheet"
_NO_CUT = "SIZE NOT TAPED"
_BACK = "MARKED FACE LOOKS BACK"
_AHEAD = ", MARKS AHEAD"
"""How a board lies that is turned over for the right hand."""


_UNSEEN = (
    (Meaning.NO_DATA, "along it: not scanned, filled by guess"),
    (Meaning.COPIED, "along it: made from the other side"),
)

_SEEN = {"side": "THE SIDE", "plan": "ABOVE"}

_HANDS = {
    "left": "LEFT HAND",
    "right": "RIGHT HAND",
    "both": "LEFT HAND, TURNED OVER RIGHT",
    "whole": "WHOLE",
}


@dataclass(frozen=True, eq=False)
class _Marked:
    """Lines, notes and remarks gathered for a board."""

    lines: list[Line]
    notes: list[PlateNote]
    remarks: list[str]


@lru_cache(maxsize=4)
def gauge_plates(gauges: Gauges, job: JobFacts) -> tuple[Plate, ...]:
    """Return the plates of all gauges: stations from the front, long ones, bars, frame, sweeps.

    Parameters
    ----------
    gauges : Gauges
    job : JobFacts
    """
    stations = [
        _station_plate(gauges, job, each, hand, board)
        for each in gauges.cut.stations
        for hand, board in each.boards
    ]
    longs = [_long_plate(gauges, job, each) for each in gauges.cut.longs]
    bars = [_bar_plate(gauges, job, k) for k in range(len(gauges.cut.bars))]
    frame = [_frame_plate(gauges, job, each) for each in gauges.cut.frame]
    return (*stations, *longs, *bars, *frame, *sweep_plates(gauges, job))


# ---- stations


def _station_plate(
    gauges: Gauges, job: JobFacts, each: StationGauge, hand: str, board: Template
) -> Plate:
    station = each.station
    marked = _started(board, job)
    _levels(marked, board, job)
    if hand == "whole":
        _centre_line(marked, board)
    else:
        _say_centre_edge(marked, board)
    _not_scanned(marked, board, each.section.filled, each.section.copied, job)
    name = f"station {station.number:02d}" + (f" {hand}" if hand in ("left", "right") else "")
    where = back_words(gauges, station.at_mm, job.show)
    return _plate(
        job,
        name,
        board,
        marked,
        makes=f"{gauges.choice.kind.upper()}, {_HANDS[hand]}" + _AHEAD * (hand == "both"),
        where=where.upper(),
        face=_BACK,
        facts=(
            f"Station {station.number}, {where}; levels are counted up from the tank's lowest "
            "place. Seen from behind.",
            _thickness_words(gauges, each, hand),
            *_station_facts(gauges, each, board, tight_words(gauges, each, hand, job.show)),
        ),
        legend=((Meaning.STATION, f"levels every {mm_text(LEVEL_STEP_MM, 0)}"),),
    )


def _station_facts(
    gauges: Gauges, each: StationGauge, board: Template, tight: str
) -> tuple[str, ...]:
    """Return what is told of a station's board."""
    told = [face_words(gauges), clearing_words(board)]
    if each.difference is not None:
        told.append(hand_words(each.difference, gauges.choice.turn_over_mm, gauges.has_plane))
    if each.section.folds:
        told.append(
            f"In {counted(each.section.folds, 'bend')} the sheet is thicker than the bend is "
            "round: its inside is drawn to a corner."
        )
    told.append(tight)
    return tuple(words for words in told if words)


def _thickness_words(gauges: Gauges, each: StationGauge, hand: str) -> str:
    """Return which face of a board stands on the station, on either hand it serves.

    Its thickness lies to the side where the skin leaves it room: a board turned over keeps to that
    side, so that its other face comes to the station.
    """
    at_front = each.station.at_mm >= gauges.cut.girth.widest_mm
    ahead = at_front if gauges.choice.kind == "female" else not at_front
    told = f"{_stands_words(ahead)}, or is bevelled."
    if hand == "both":
        other = "other" if ahead else "marked"
        told += (
            " Turned over for the right hand, its marked face looks ahead and its "
            f"{other} face stands on the station: its thickness still lies "
            f"{'ahead of' if ahead else 'behind'} it."
        )
    return told


def _stands_words(ahead: bool) -> str:
    """Return which face of a board whose marked face looks back stands on its station."""
    if ahead:
        return "Its marked face stands on the station: its thickness lies ahead of it"
    return "Its other face stands on the station: its thickness lies behind it"


# ---- long boards and bars


def _long_plate(gauges: Gauges, job: JobFacts, each: LongGauge) -> Plate:
    board = each.template
    marked = _started(board, job)
    _station_ticks(marked, gauges, each)
    unseen = (_unseen_along(each.filled, each), _unseen_along(each.copied, each))
    _not_scanned(marked, board, *unseen, job)
    _torn(marked, gauges, each, job)
    view = "side view" if each.view == "side" else "plan"
    hand = f" {each.hand}" if each.hand in ("left", "right") else ""
    outward = "" if each.view == "side" else " Outward is up."
    what = "bottom edge" if each.of == "bottom" else _side_words(gauges)
    facts = [
        f"The {what} seen from {'the side' if each.view == 'side' else 'above'}, front on the "
        f"right.{outward} Ticks are the stations, by number.",
        clearing_words(board),
        *long_words(gauges, each),
        *(torn_words(gauges, place, job.show) for place in each.torn),
    ]
    if each.of == "bottom" and gauges.cut.profile is not None:
        facts.append(_widths_words(gauges, job))
    scribed = each.of == "side line" and each.view == "side"
    kind = "SCRIBE" if scribed else gauges.choice.kind.upper()
    seen_from = "ALONG ITS UPPER EDGE" if scribed else f"FROM {_SEEN[each.view]}"
    return _plate(
        job,
        f"{each.of} {view}{hand}",
        board,
        marked,
        makes=f"{kind}, {_HANDS[each.hand]}",
        where=f"{what.upper()}, {seen_from}",
        face="",
        facts=tuple(words for words in facts if words),
        legend=((Meaning.TICK, "stations"),),
        front=np.array([1.0, 0.0]),
        top=np.array([0.0, 1.0]) if each.view == "side" else None,
    )


def _side_words(gauges: Gauges) -> str:
    return "widest line" if gauges.choice.side_line == "widest" else "crisp line of the side"


def _widths_words(gauges: Gauges, job: JobFacts) -> str:
    profile = gauges.cut.profile
    if profile is None:
        return ""
    told = [
        f"{length_text(width, job.show)} at {back_words(gauges, float(left[0]), job.show)}"
        for width, (left, _) in zip(profile.widths_mm, profile.across, strict=True)
    ]
    return "Across from bottom edge to bottom edge: " + "; ".join(told) + "."


def _station_ticks(marked: _Marked, gauges: Gauges, each: LongGauge) -> None:
    """Draw a tick into the board at every station its edge passes, with its number."""
    board = Polygon(each.template.outline)
    course = shapely.MultiLineString(list(each.template.edges))
    for station in (gauge.station for gauge in gauges.cut.stations):
        upright = shapely.LineString([[station.at_mm, -1e5], [station.at_mm, 1e5]])
        met = shapely.get_coordinates(shapely.intersection(course, upright))
        if not len(met):
            continue
        at = met[0]
        into = _into(board, at)
        marked.lines.append(Line(Meaning.TICK, np.stack([at, at + [0.0, _TICK_MM * into]])))
        place = at + [0.0, (_TICK_MM + 4.0) * into]
        marked.notes.append(PlateNote(str(station.number), place, 3.0))


def _torn(marked: _Marked, gauges: Gauges, each: LongGauge, job: JobFacts) -> None:
    """Lead words to every place where the board's edge is torn, and tell it on every tile."""
    board = Polygon(each.template.outline)
    for place in each.torn:
        at = seen(place.at[None], each.view)[0]
        into = _into(board, at)
        end = at + [0.0, _TORN_MM * into]
        marked.lines.append(Line(Meaning.LEADER, np.stack([at, end])))
        marked.notes.append(PlateNote("EDGE TORN", end + [0.0, 3.0 * into], 3.0))
        back = length_text(gauges.cut.front_mm - float(place.at[0]), job.show)
        off = mm_text(place.off_mm, 1)
        marked.remarks.append(f"EDGE TORN {back} back, off by {off}: compare with the tank.")


def _into(board: Polygon, at: FloatArray) -> float:
    """Return whether the board lies above (1) or below (-1) a place of its edge."""
    return 1.0 if board.covers(shapely.Point(at + [0.0, 1.0])) else -1.0


def _unseen_along(runs: Sequence[FloatArray], each: LongGauge) -> tuple[FloatArray, ...]:
    """Return stretches of a long board's line as the board shows them."""
    return tuple(seen(run, each.view) for run in runs)


def _bar_plate(gauges: Gauges, job: JobFacts, number: int) -> Plate:
    board, profile = gauges.cut.bars[number], gauges.cut.profile
    if profile is None:
        raise ValueError("a bar without a profile")
    marked = _started(board, job)
    _centre_line(marked, board)
    left, _ = profile.across[number]
    width = length_text(profile.widths_mm[number], job.show)
    where = back_words(gauges, float(left[0]), job.show)
    return _plate(
        job,
        f"bottom across {number + 1}",
        board,
        marked,
        makes="STANDS BETWEEN THE BOTTOM EDGES",
        where=where.upper(),
        face=_BACK,
        facts=(
            f"{width} from bottom edge to bottom edge, {where}. Its upper corners touch the edges; "
            "seen from behind.",
        ),
        legend=(),
        top=np.array([0.0, 1.0]),
    )


# ---- the checking frame


def _frame_plate(gauges: Gauges, job: JobFacts, each: FrameBoard) -> Plate:
    board = each.template
    clash = "BOARDS RUN INTO EACH OTHER" if _clashes(gauges) else None
    marked = _started(board, job, no_cut=clash)
    _levels(marked, board, job)
    if each.axis == 0:
        _centre_line(marked, board)
    _not_scanned(marked, board, each.section.filled, each.section.copied, job)
    for slot in each.slots:
        over = -6.0 if each.axis == 1 else 6.0
        marked.notes.append(PlateNote(f"board {slot.board}", slot.place + [0.0, over], 3.0))
    where = _frame_where(gauges, each, job)
    slots = "from below" if each.axis == 0 else "from above"
    frame = gauges.choice.frame
    sheet = "" if frame is None else length_text(frame.sheet_mm, job.show)
    front = None if each.axis == 0 else np.array([1.0, 0.0])
    return _plate(
        job,
        f"frame {each.number:02d}",
        board,
        marked,
        makes=f"CHECKING FRAME, BOARD {each.number}",
        where=where.upper(),
        face=_BACK if each.axis == 0 else "MARKED FACE LOOKS RIGHT",
        facts=(
            f"Board of {sheet}, slotted {slots}, half and half; numbers at the slots are the "
            "boards that go in. All boards stand on one level foot.",
            "Its edge is the inside of the new metal. Panels are laid on from outside one by one: "
            "the finished skin does not lift off over what hangs under.",
            *_frame_thickness(gauges, each),
        ),
        legend=((Meaning.STATION, f"levels every {mm_text(LEVEL_STEP_MM, 0)}"),),
        front=front,
        top=np.array([0.0, 1.0]),
        no_cut=clash,
    )


def _clashes(gauges: Gauges) -> bool:
    """Return whether boards of the frame run into each other, stood up by numbers."""
    check = gauges.cut.check
    return check is not None and (check.clash_mm > 0.0 or check.off_centre_mm > OFF_CENTRE_MM)


def _frame_where(gauges: Gauges, each: FrameBoard, job: JobFacts) -> str:
    if each.axis == 0:
        return f"station {each.station}, {back_words(gauges, each.at_mm, job.show)}"
    if each.at_mm == 0.0:
        return "along the centre line"
    hand = "left" if each.at_mm > 0.0 else "right"
    return f"along, {length_text(abs(each.at_mm), job.show)} to the {hand}"


def _frame_thickness(gauges: Gauges, each: FrameBoard) -> tuple[str, ...]:
    if each.axis == 1:
        return ()
    return (f"{_stands_words(each.band[1] > each.at_mm)}.",)


# ---- what all have


def _started(board: Template, job: JobFacts, *, no_cut: str | None = None) -> _Marked:
    """Return a board's outline, drawn within `_OUTLINE_MM`, to be marked."""
    meaning = Meaning.CUT if job.size_proved and no_cut is None else Meaning.NET
    fit = fitted_curve(
        board.outline, closed=True, kind="arcs", tolerance_mm=_OUTLINE_MM, corners=board.corners
    )
    return _Marked([curved(meaning, fit.curve)], [], [])


def _levels(marked: _Marked, board: Template, job: JobFacts) -> None:
    """Draw level lines across the board, and say how high they are."""
    shape = Polygon(board.outline).buffer(-1.0)
    low, high = float(board.outline[:, 1].min()), float(board.outline[:, 1].max())
    first = LEVEL_STEP_MM * np.ceil((low + 3.0) / LEVEL_STEP_MM)
    for height in np.arange(first, high - 3.0, LEVEL_STEP_MM).tolist():
        level = shapely.LineString([[-1e4, height], [1e4, height]])
        parts = [
            part
            for part in shapely.get_parts(shapely.intersection(shape, level))
            if part.length > 10.0
        ]
        for part in parts:
            marked.lines.append(Line(Meaning.STATION, shapely.get_coordinates(part)))
        if parts:
            longest = max(parts, key=lambda part: float(part.length))
            ends = shapely.get_coordinates(longest)
            words = f"level {length_text(height, job.show, decimals=0)}"
            place = (ends[0] + ends[-1]) / 2.0 + [0.0, 3.0]
            marked.notes.append(PlateNote(words, place, 3.0))


def _centre_line(marked: _Marked, board: Template) -> None:
    shape = Polygon(board.outline).buffer(-1.0)
    upright = shapely.LineString([[0.0, -1e4], [0.0, 1e4]])
    for part in shapely.get_parts(shapely.intersection(shape, upright)):
        if part.length > 3.0:
            (_, low), (_, high) = shapely.get_coordinates(part)[[0, -1]].tolist()
            marked.lines.append(straight(0.0, low, 0.0, high, Meaning.TANK_CENTRE))


def _say_centre_edge(marked: _Marked, board: Template) -> None:
    """Say which edge of a half is the centre line."""
    ring = np.concatenate([board.outline, board.outline[:1]])
    on_it = (np.abs(ring[:-1, 0]) < 1e-6) & (np.abs(ring[1:, 0]) < 1e-6)
    if not on_it.any():
        return
    lengths = np.where(on_it, np.abs(np.diff(ring[:, 1])), 0.0)
    k = int(lengths.argmax())
    side = float(np.sign(board.outline[:, 0].mean()))
    middle = (ring[k] + ring[k + 1]) / 2.0 + [side * 12.0, 0.0]
    marked.notes.append(PlateNote("CENTRE LINE: this edge", middle, 3.0))


def _not_scanned(
    marked: _Marked,
    board: Template,
    filled: Sequence[FloatArray],
    copied: Sequence[FloatArray],
    job: JobFacts,
) -> None:
    """Draw the stretches of an edge nobody scanned, or made from the other side, inside it."""
    words = (
        (Meaning.NO_DATA, filled, "NOT SCANNED - FILLED BY GUESS"),
        (Meaning.COPIED, copied, "MADE FROM THE OTHER SIDE"),
    )
    for meaning, runs, said in words:
        stretches = _on_edges(board, runs)
        if not stretches:
            continue
        total = sum(float(part.length) for part in stretches)
        marked.remarks.append(f"{said}: {length_text(total, job.show, decimals=0)} of the edge.")
        longest = max(stretches, key=lambda part: float(part.length))
        for part in stretches:
            beside = part.offset_curve(_MARK_MM)
            for piece in shapely.get_parts(beside):
                marked.lines.append(Line(meaning, shapely.get_coordinates(piece)))
        place = shapely.get_coordinates(longest.interpolate(0.5, normalized=True))[0]
        marked.notes.append(PlateNote(said, place, 3.0))


def _on_edges(board: Template, runs: Sequence[FloatArray]) -> list[shapely.LineString]:
    """Return where a board's edges follow some runs, as lines that run as the outline does."""
    if not runs:
        return []
    near = shapely.union_all([shapely.LineString(run) for run in runs]).buffer(_NEAR_MM)
    found: list[shapely.LineString] = []
    for edge in board.edges:
        met = shapely.intersection(shapely.LineString(edge), near)
        parts = shapely.get_parts(shapely.line_merge(met) if met.geom_type != "LineString" else met)
        found += [
            part
            for part in parts
            if isinstance(part, shapely.LineString) and part.length >= _LEAST_RUN_MM
        ]
    return found


def _plate(
    job: JobFacts,
    name: str,
    board: Template,
    marked: _Marked,
    *,
    makes: str,
    face: str,
    facts: tuple[str, ...],
    legend: tuple[tuple[Meaning, str], ...],
    front: FloatArray | None = None,
    top: FloatArray | None = None,
    no_cut: str | None = None,
    where: str = "",
) -> Plate:
    refused = no_cut if job.size_proved else _NO_CUT
    meaning = Meaning.CUT if refused is None else Meaning.NET
    drawn = {line.meaning for line in marked.lines}
    unseen = tuple((each, words) for each, words in _UNSEEN if each in drawn)
    edge = "line to cut" if refused is None else "edge, not to be cut"
    return Plate(
        job=job,
        name=name,
        makes=makes,
        face=face,
        material=_MATERIAL,
        lines=tuple(marked.lines),
        outline=board.outline,
        notes=tuple(marked.notes),
        facts=facts,
        legend=((meaning, edge), *legend, *unseen),
        remarks=tuple(marked.remarks),
        no_cut=refused,
        front=front,
        top=np.array([0.0, 1.0]) if top is None and front is None else top,
        where=where,
    )
