"""Gauges as they leave the program: boards at full size, their list, their numbers."""

from collections.abc import Sequence

from app.delivery.findings import Json
from app.delivery.rest_job import RestJob
from app.delivery.rounding import told_mm
from app.delivery.sweeps import sweeps_told
from app.exports import (
    GaugeSheet,
    Plate,
    Sheaf,
    gauge_plates,
    sheaf_of_gauges,
)
from app.job import Gauges, JobState, made
from geometry.gauges import FrameBoard, HandDifference, LongGauge, StationGauge, TornPlace

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
        "length": told_mm(cut.length_mm),
        "kind": gauges.choice.kind,
        "face": "inside" if gauges.inside else "outside",
        "below_scan": told_mm(gauges.inward_mm),
        "centre_plane": gauges.has_plane,
        "open_on_top": cut.top_open,
        "turn_over_limit": told_mm(gauges.choice.turn_over_mm),
        "stations": [_station(each) for each in cut.stations],
        "left_out": [told_mm(each.back_mm) for each in cut.left_out],
        "long": [_long(each) for each in cut.longs],
    }
    if cut.profile is not None:
        found["bottom"] = {
            "is_open_edge": cut.profile.is_rim,
            "made_from": gauges.choice.bottom_from,
            "torn": [_torn(cut.front_mm, place) for place in cut.torn],
            "widths": [
                {"back": told_mm(cut.front_mm - float(left[0])), "width": told_mm(width)}
                for width, (left, _) in zip(cut.profile.widths_mm, cut.profile.across, strict=True)
            ],
        }
    if cut.check is not None:
        found["frame"] = {
            "crossings": cut.check.crossings,
            "clash": told_mm(cut.check.clash_mm),
            "off_centre": told_mm(cut.check.off_centre_mm),
            "edges_apart": told_mm(cut.check.tops_apart_mm),
            "not_held": list(cut.check.loose),
            "boards": [_board(each) for each in cut.frame],
        }
    if gauges.sweeps is not None:
        found["sweeps"] = sweeps_told(gauges.sweeps)
    return found


def _torn(front_mm: float, place: TornPlace) -> Json:
    return {
        "hand": place.hand,
        "back": told_mm(front_mm - float(place.at[0])),
        "off": told_mm(place.off_mm),
        "over": told_mm(place.over_mm),
        "filled_by_guess": place.guessed,
    }


def _difference(found: HandDifference | None, hands: Sequence[str]) -> Json:
    if found is None:
        return {}
    return {
        "hands_differ": told_mm(found.largest_mm),
        "ends_differ": told_mm(found.ends_mm),
        "turns_over": "both" in hands,
    }


def _station(each: StationGauge) -> Json:
    hands = [hand for hand, _ in each.boards]
    return {
        "station": each.station.number,
        "back": told_mm(each.station.back_mm),
        "why": each.station.why,
        "level": told_mm(each.level_mm),
        "not_scanned": bool(each.section.filled),
        "corners_inside": each.section.folds,
        "boards": [
            {
                "hand": hand,
                "cleared": told_mm(board.cleared_mm),
                "cleared_over": told_mm(board.cleared_length_mm),
            }
            for hand, board in each.boards
        ],
        "tight_bends": [
            {
                "across": told_mm(-float(bend.at[0])),
                "level": told_mm(float(bend.at[1])),
                "off": told_mm(bend.off_mm),
            }
            for bend in each.tight
        ],
        **_difference(each.difference, hands),
    }


def _long(each: LongGauge) -> Json:
    return {
        "of": each.of,
        "view": each.view,
        "hand": each.hand,
        **(
            {} if each.but_torn_mm is None else {"hands_differ_but_torn": told_mm(each.but_torn_mm)}
        ),
        **_difference(each.difference, [each.hand]),
    }


def _board(each: FrameBoard) -> Json:
    return {
        "board": each.number,
        "station": each.station,
        "across": each.axis == 0,
        "at": told_mm(each.at_mm),
        "slots_for": [slot.board for slot in each.slots],
    }
