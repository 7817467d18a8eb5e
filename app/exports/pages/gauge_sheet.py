"""The list of a tank's gauges: where every station stands, from the side and from above, reduced.

Not full size: the boards themselves are plates.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from app.exports.drawing import Drawing, Line, Meaning, Page, Text
from app.exports.facts import JobFacts
from app.exports.pages.gauge_plates import OFF_CENTRE_MM
from app.exports.pages.reduced_page import (
    TEXT_MM,
    WIDE_MM,
    column_names,
    flowed,
    list_head,
    numbered_pages,
    page_foot,
)
from app.exports.pages.sweep_rows import (
    sweep_board_names,
    sweep_board_rows,
    sweep_head,
    sweep_place_names,
    sweep_place_rows,
)
from app.exports.pages.title import Cell, paragraph, ruled_row, stacked
from app.exports.words import CAUTION, proof_and_level, revision_words
from app.job import TIGHT_WORDS, Gauges, face_words, long_words, torn_words
from app.units import counted, length_text, mm_text
from geometry.arrays import FloatArray
from geometry.gauges import StationGauge

_COLUMNS = (0.0, 10.0, 56.0, 78.0, 104.0)
"""Where number, distance, why, the hands and the rest of a station's row begin."""

_NAMES = ("no.", "back from the front end", "why there", "hands differ", "boards")

_WHY = {
    "every": "regular",
    "tight": "tight bend",
    "widest": "widest",
    "highest": "highest",
    "asked": "yours",
}
_HIGHEST_PICTURE_MM = 50.0
_NUMBERS_MM = -9.6
_BELOW_MM = 0.8
_APART_MM = 1.2
"""Between two stations' numbers that would lie over each other."""


@dataclass(frozen=True, eq=False)
class GaugeSheet:
    """What the list is made from.

    Attributes
    ----------
    job : JobFacts
    gauges : Gauges
    """

    job: JobFacts
    gauges: Gauges


def gauge_pages(sheet: GaugeSheet) -> list[Page]:
    """Return the list of gauges: upright A4, as many pages as the stations need."""
    foot = page_foot([*proof_and_level(sheet.job), CAUTION])
    names = column_names(_NAMES, _COLUMNS)
    rows = [_row(sheet, each) for each in sheet.gauges.cut.stations]
    told = [paragraph([words], WIDE_MM, TEXT_MM) for tell in _TELLING for words in tell(sheet)]
    groups = flowed([_which(sheet), _pictures(sheet), names], rows, names, foot)
    groups += flowed(groups.pop(), told, Cell(Drawing(), 0.0), foot)
    groups = _with_sweeps(sheet, groups, foot)
    title = f"GAUGES  {sheet.job.job}"

    def head_of(at: int, numbered: str) -> Cell:
        return list_head(title, revision_words(sheet.job), numbered)

    return numbered_pages(groups, head_of, foot)


def _with_sweeps(sheet: GaugeSheet, groups: list[list[Cell]], foot: Cell) -> list[list[Cell]]:
    """Return the cells of every page with the sweeps after them, where there are any."""
    head = sweep_head(sheet.gauges, sheet.job.show)
    if not head:
        return groups
    boards, places = sweep_board_names(), sweep_place_names()
    board_rows = sweep_board_rows(sheet.gauges, sheet.job.show)
    place_rows = sweep_place_rows(sheet.gauges, sheet.job.show)
    groups = [*groups[:-1], *flowed(groups[-1], [*head, boards, *board_rows], boards, foot)]
    return [*groups[:-1], *flowed(groups[-1], [places, *place_rows], places, foot)]


def _which(sheet: GaugeSheet) -> Cell:
    """Return what boards these are, and that this page is not one of them."""
    kind = {"female": "Female boards, over the outside", "male": "Male boards, into the inside"}
    told = f"{kind[sheet.gauges.choice.kind]}. {face_words(sheet.gauges)}"
    return paragraph([f"NOT FULL SIZE: the boards' own pages are. {told}"], WIDE_MM, TEXT_MM)


def _pictures(sheet: GaugeSheet) -> Cell:
    """Return the tank from the side and from above, reduced, with its stations."""
    cut = sheet.gauges.cut
    girth = cut.girth
    side = [np.column_stack([girth.at_mm, girth.top])]
    plan = [np.column_stack([girth.at_mm, each[:, 0]]) for each in (girth.left, girth.right)]
    if cut.profile is not None:
        edges = (cut.profile.left, cut.profile.right)
        side += [edge[:, [0, 2]] for edge in edges]
        plan += [edge[:, :2] for edge in edges]
    high = max(float(np.ptp(np.concatenate(lines)[:, 1])) for lines in (side, plan))
    scale = min((WIDE_MM - 8.0) / cut.length_mm, _HIGHEST_PICTURE_MM / high)
    words = ("From the side, front on the right, reduced", "From above, reduced")
    cells = [
        _picture(sheet, lines, scale, said) for lines, said in zip((side, plan), words, strict=True)
    ]
    return stacked(cells)


def _picture(sheet: GaugeSheet, lines: Sequence[FloatArray], scale: float, words: str) -> Cell:
    cut = sheet.gauges.cut
    rear = cut.front_mm - cut.length_mm
    every = np.concatenate(lines)
    low, high = float(every[:, 1].min()), float(every[:, 1].max())

    def on_page(points: FloatArray) -> FloatArray:
        return (points - [rear, high]) * scale + [4.0, -13.2]

    drawn = [Line(Meaning.NET, on_page(line)) for line in lines]
    texts = [Text(words, (0.0, -4.0), TEXT_MM, bold=True)]
    ends = [
        on_page(np.array([[each.station.at_mm, low], [each.station.at_mm, high]]))
        for each in cut.stations
    ]
    names = [
        Text(str(each.station.number), (float(end[1, 0]), _NUMBERS_MM), TEXT_MM, "middle")
        for each, end in zip(cut.stations, ends, strict=True)
    ]
    for name, end in zip(_spread(names), ends, strict=True):
        below = (name.place[0], name.place[1] - _BELOW_MM)
        drawn += [Line(Meaning.STATION, end), Line(Meaning.LEADER, np.array([end[1], below]))]
        texts.append(name)
    return Cell(Drawing(tuple(drawn), tuple(texts)), 16.8 + (high - low) * scale)


def _spread(names: Sequence[Text]) -> list[Text]:
    """Return words in the middle of their places, moved aside as little as keeps them apart.

    Those that would lie over each other stand together about the mean of where each would be.
    """
    order = sorted(range(len(names)), key=lambda k: names[k].place[0])
    wide = [names[k].width_mm + _APART_MM for k in order]
    middles = (np.cumsum(wide) - np.array(wide) / 2.0).tolist()  # were all to stand in one row
    runs: list[list[float]] = []  # of those that touch: where each would have the row begin
    for k, middle in zip(order, middles, strict=True):
        runs.append([names[k].place[0] - middle])
        while len(runs) > 1 and np.mean(runs[-2]) > np.mean(runs[-1]):
            runs[-2:] = [runs[-2] + runs[-1]]
    begins = [float(np.mean(run)) for run in runs for _ in run]
    found = list(names)
    for k, begin, middle in zip(order, begins, middles, strict=True):
        found[k] = replace(names[k], place=(begin + middle, names[k].place[1]))
    return found


def _row(sheet: GaugeSheet, each: StationGauge) -> Cell:
    show = sheet.job.show
    apart = "" if each.difference is None else mm_text(each.difference.largest_mm, 1)
    words = (
        str(each.station.number),
        length_text(each.station.back_mm, show),
        _WHY[each.station.why],
        apart,
        _boards_words(each, sheet.gauges.choice.turn_over_mm),
    )
    return ruled_row(words, _COLUMNS, WIDE_MM)


_BOARDS: dict[str, str] = {
    "both": "turns over",
    "whole": "one, whole",
}


def _boards_words(each: StationGauge, limit_mm: float) -> str:
    """Return what boards a station has, and what of them is guessed, relieved or unsure."""
    hands = [hand for hand, _ in each.boards]
    told = [_BOARDS.get(hands[0], "one for each hand")]
    if each.difference is not None and each.difference.ends_mm > limit_mm:
        told.append(f"lower ends differ by {mm_text(each.difference.ends_mm, 1)}")
    if each.section.filled:
        told.append("NOT SCANNED in part")
    cleared = max(board.cleared_mm for _, board in each.boards)
    if any(board.cleared_length_mm >= 1.0 for _, board in each.boards):
        told.append(f"edge relieved {mm_text(cleared, 1)}")
    if each.tight:
        most = max(bend.off_mm for bend in each.tight)
        told.append(f"tight bend {mm_text(most, 1)} unsure")
    return "; ".join(told)


def _of_all(sheet: GaugeSheet) -> list[str]:
    gauges = sheet.gauges
    told = []
    if gauges.cut.top_open:
        told.append("LOOK: the skin's open edge lies on top. Is up the wrong way round?")
    if gauges.cut.left_out:
        places = ", ".join(
            length_text(each.back_mm, sheet.job.show) for each in gauges.cut.left_out
        )
        told.append(f"No outline to lay a board on at {places} back: left out.")
    if any(board.cleared_length_mm >= 1.0 for g in gauges.cut.stations for _, board in g.boards):
        told.append("Relieved: the edge stands off there by so much, so that the board comes off.")
    if any(each.tight for each in gauges.cut.stations):
        told.append(TIGHT_WORDS)
    if not gauges.has_plane:
        told.append("No centre plane is known: the middle of the width stands for it.")
    return told


def _of_longs(sheet: GaugeSheet) -> list[str]:
    seen_already: set[tuple[str, str]] = set()
    told = []
    for each in sheet.gauges.cut.longs:
        if (each.of, each.view) not in seen_already:
            seen_already.add((each.of, each.view))
            words = " ".join(long_words(sheet.gauges, each))
            view = "from the side" if each.view == "side" else "from above"
            told.append(f"{each.of.capitalize()} {view}: {words}")
    torn = [torn_words(sheet.gauges, place, sheet.job.show) for place in sheet.gauges.cut.torn]
    return [*told, *torn]


def _of_frame(sheet: GaugeSheet) -> list[str]:
    check = sheet.gauges.cut.check
    if check is None:
        return []
    stood = (
        f"Checking frame, stood up by numbers: {counted(len(sheet.gauges.cut.frame), 'board')}, "
        f"{counted(check.crossings, 'crossing')}, "
    )
    if check.clash_mm > 0.0 or check.off_centre_mm > OFF_CENTRE_MM:
        return [stood + "BOARDS RUN INTO EACH OTHER: do not cut it."]
    missing = _without_board(sheet)
    loose = ", ".join(map(str, check.loose))
    end = f" Not held by the others: board {loose}." if loose else ""
    return [f"{stood}none run into each other.{end}{missing}"]


def _without_board(sheet: GaugeSheet) -> str:
    """Return which stations the frame has no board for, in a sentence; "" for none."""
    has = {board.station for board in sheet.gauges.cut.frame}
    names = [
        str(each.station.number)
        for each in sheet.gauges.cut.stations
        if each.station.number not in has
    ]
    if not names:
        return ""
    return f" No board for station {', '.join(names)}: too near the one ahead to be slotted."


_TELLING: tuple[Callable[[GaugeSheet], list[str]], ...] = (_of_all, _of_longs, _of_frame)
