"""What is told of gauges in words: on boards, in their list, at the command, in the window."""

from app.job.rest.gauges_step import Gauges
from app.units import length_text, mm_text
from geometry.gauges import HandDifference, LongGauge, StationGauge, Template, TornPlace

TIGHT_WORDS = (
    "Tight bend: the line is not kept crisp, the scan's points are too far apart for it, and the "
    "board may be rounded off there by so much. Keep the line crisp at Lines and make the gauges "
    "anew."
)


def back_words(gauges: Gauges, at_mm: float, show: str) -> str:
    """Return where a station stands."""
    return f"{length_text(gauges.cut.front_mm - at_mm, show)} back from the front end"


def face_words(gauges: Gauges) -> str:
    """Return which face of the sheet the boards are for."""
    if gauges.inside:
        return (
            f"For the inside of the new metal: {mm_text(gauges.inward_mm, 2)} under the scan, "
            f"the full sheet of {mm_text(gauges.sheet_mm, 2)} taken off square to the skin."
        )
    if abs(gauges.inward_mm) < 1e-9:
        return "For the outside, as scanned."
    way = "under" if gauges.inward_mm > 0.0 else "over"
    return f"For the outside of the new metal, {mm_text(abs(gauges.inward_mm), 2)} {way} the scan."


def clearing_words(board: Template) -> str:
    """Return where a board does not touch, so that it comes off; "" where it touches all along."""
    if board.cleared_length_mm < 1.0:
        return ""
    return (
        f"So that it comes off, its edge is relieved over {mm_text(board.cleared_length_mm, 0)}, "
        f"by up to {mm_text(board.cleared_mm, 1)}: it does not touch there."
    )


def hand_words(found: HandDifference, limit_mm: float, has_plane: bool = True) -> str:
    """Return whether a board turned over fits the other hand."""
    apart = f"left and right differ by up to {apart_words(found, limit_mm)} here"
    middle = "" if has_plane else " The middle of the width stands for the centre plane."
    if found.turns_over(limit_mm):
        return (
            f"Turned over it serves for the other hand: {apart}, your limit is "
            f"{mm_text(limit_mm, 1)}.{middle}"
        )
    return (
        f"Turned over it does NOT fit the other hand: {apart}, over your limit of "
        f"{mm_text(limit_mm, 1)}. There is one for each hand.{middle}"
    )


def apart_words(found: HandDifference, limit_mm: float) -> str:
    """Return how far the hands differ, their ends where that is over the limit."""
    words = mm_text(found.largest_mm, 1)
    if found.ends_mm <= limit_mm:
        return words
    return f"{words}, their ends by {mm_text(found.ends_mm, 1)}"


def long_words(gauges: Gauges, each: LongGauge) -> list[str]:
    """Return how far the hands differ along a long board, and which of them it was made from."""
    limit, apart = gauges.choice.turn_over_mm, each.difference.largest_mm
    bridged = (
        ""
        if each.but_torn_mm is None
        else (f"With torn places bridged they differ by up to {mm_text(each.but_torn_mm, 1)}.")
    )
    source = gauges.choice.bottom_from
    if each.of == "bottom" and source != "each":
        told = [
            f"Made from the {source} edge for both hands, as asked: left and right differ by up to "
            f"{mm_text(apart, 1)}.",
            bridged,
        ]
        return [words for words in told if words]
    told = [hand_words(each.difference, limit, gauges.has_plane), bridged]
    better = better_edge(gauges)
    if apart > limit and each.but_torn_mm is not None and each.but_torn_mm <= limit and better:
        told.append(
            f"If the tank itself is whole there, have both boards made of the {better} edge."
        )
    return [words for words in told if words]


def better_edge(gauges: Gauges) -> str:
    """Return the hand whose bottom edge is not torn while the other's is; "" for neither."""
    torn = {place.hand for place in gauges.cut.torn}
    if len(torn) != 1:
        return ""
    return "right" if "left" in torn else "left"


def torn_words(gauges: Gauges, place: TornPlace, show: str) -> str:
    """Return where an edge is torn, how far off it is, and what to do."""
    at = gauges.cut.front_mm - float(place.at[0])
    how = "a gap of the scan closed by guess" if place.guessed else "torn in the scan, or damaged"
    return (
        f"EDGE TORN, {place.hand} hand, {length_text(at, show)} back: {how}. It leaves its course "
        f"by {mm_text(place.off_mm, 1)} over {mm_text(place.over_mm, 0)}, the other hand does not: "
        "compare with the tank."
    )


def tight_words(gauges: Gauges, each: StationGauge, hand: str, show: str) -> str:
    """Return where a station's board may be rounded off, as the line there is not kept crisp.

    "" for nowhere.
    """
    side = {"left": -1.0, "right": 1.0}.get(hand, 0.0)
    found = [bend for bend in each.tight if side * bend.at[0] >= 0.0]
    if not found:
        return ""
    most = max(bend.off_mm for bend in found)
    levels = dict.fromkeys(
        f"level {length_text(float(bend.at[1]), show, decimals=0)}, "
        f"{'left' if bend.at[0] < 0.0 else 'right'}"
        for bend in found
    )
    return (
        f"TIGHT BEND NOT KEPT CRISP ({'; '.join(levels)}): the scan's points are too far apart for "
        f"it, and the board may be rounded off there by about {mm_text(most, 1)}. Keep the line "
        "crisp at Lines and make the gauges anew."
    )
