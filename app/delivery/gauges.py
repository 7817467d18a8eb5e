"""Gauges as they leave the program: boards at full size, their list, their numbers."""

from collections.abc import Sequence

from app.delivery.findings import Json
from app.delivery.rest_job import RestJob
from app.exports import (
    GaugeSheet,
    Plate,
    Sheaf,
    gauge_plates,
    sheaf_of_gauges,
)
from app.job import Gauges, JobState, made
from geometry.gauges import FrameBoard, HandDifference, LongGauge, StationGauge

GAUGES_JSON = "gauges.json"


def plates_of_gauges(job: RestJob) -> tuple[Plate, ...]:
    """Return the boards of a job's gauges, full size."""
    return gauge_plates(made(job.state, "Gauges"), job.facts)


def sheaves_of_gauges(job: RestJob) -> tuple[Sheaf, ...]:
    """Return the list of a job's gauges."""
    return (sheaf_of_gauges(GaugeSheet(job.facts, made(job.state, "Gauges"))),)


def gauges_told(state: JobState) -> Json:
    """Return the numbers of a job's gauges: lengths in mm, stations back from the front end."""
    gauges: Gauges = made(state, "Gauges")
    cut = gauges.cut
    found: Json = {
        "length": _mm(cut.length_mm),
        "kind": gauges.choice.kind,
        "face": "inside" if gauges.inside else "outside",
        "below_scan": _mm(gauges.inward_mm),
        "centre_plane": gauges.has_plane,
        "open_on_top": cut.top_open,
        "turn_over_limit": _mm(gauges.choice.turn_over_mm),
        "stations": [_station(each) for each in cut.stations],
        "left_out": [_mm(each.back_mm) for each in cut.left_out],
        "long": [_long(each) for each in cut.longs],
    }
    if cut.profile is not None:
        found["bottom"] = {
            "is_open_edge": cut.profile.is_rim,
            "widths": [
                {"back": _mm(cut.front_mm - float(left[0])), "width": _mm(width)}
                for width, (left, _) in zip(cut.profile.widths_mm, cut.profile.across, strict=True)
            ],
        }
    if cut.check is not None:
        found["frame"] = {
            "crossings": cut.check.crossings,
            "clash": _mm(cut.check.clash_mm),
            "off_centre": _mm(cut.check.off_centre_mm),
            "edges_apart": _mm(cut.check.tops_apart_mm),
            "not_held": list(cut.check.loose),
            "boards": [_board(each) for each in cut.frame],
        }
    return found


def _mm(length: float) -> float:
    return round(float(length), 3)


def _difference(found: HandDifference | None, hands: Sequence[str]) -> Json:
    if found is None:
        return {}
    return {"hands_differ": _mm(found.largest_mm), "turns_over": "both" in hands}


def _station(each: StationGauge) -> Json:
    hands = [hand for hand, _ in each.boards]
    return {
        "station": each.station.number,
        "back": _mm(each.station.back_mm),
        "why": each.station.why,
        "level": _mm(each.level_mm),
        "not_scanned": bool(each.section.filled),
        "corners_inside": each.section.folds,
        "boards": [
            {
                "hand": hand,
                "cleared": _mm(board.cleared_mm),
                "cleared_over": _mm(board.cleared_length_mm),
            }
            for hand, board in each.boards
        ],
        **_difference(each.difference, hands),
    }


def _long(each: LongGauge) -> Json:
    return {
        "of": each.of,
        "view": each.view,
        "hand": each.hand,
        **_difference(each.difference, [each.hand]),
    }


def _board(each: FrameBoard) -> Json:
    return {
        "board": each.number,
        "station": each.station,
        "across": each.axis == 0,
        "at": _mm(each.at_mm),
        "slots_for": [slot.board for slot in each.slots],
    }
