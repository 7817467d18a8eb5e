"""The frame fit as it leaves the program: the gap list and its numbers."""

import math
from pathlib import PurePath

from app.delivery.findings import Json
from app.delivery.rest_job import RestJob
from app.delivery.rounding import told_place
from app.exports import FrameSheet, Sheaf, sheaf_of_frame
from app.job import FRAME_FIT, FrameFit, FrameGap, JobState, made

FIT_JSON = "fit.json"


def sheaves_of_frame(job: RestJob) -> tuple[Sheaf, ...]:
    """Return the gap list of a job."""
    return (sheaf_of_frame(FrameSheet(job.facts, job.tank, made(job.state, FRAME_FIT))),)


def frame_told(state: JobState) -> Json:
    """Return a job's gaps, the nearest first: mm and tank axes."""
    fit: FrameFit = made(state, FRAME_FIT)
    return {
        "gaps": [
            _gap(each, filled) for each, filled in zip(fit.gaps, fit.filled_near, strict=True)
        ],
        "bottom_held": fit.bottom_held,
        "sheet": fit.sheet_mm,
        "guessed": list(fit.guessed),
        "second": _second(fit),
    }


def _second(fit: FrameFit) -> Json | None:
    """Return the second scan: its file, its unit, and how far each place it is placed by is off."""
    second = fit.choice.second
    if second is None or not second.path:
        return None
    return {
        "file": PurePath(second.path).name,
        "unit": second.unit,
        "places_off": [round(off, 3) for off in fit.places_off_mm],
    }


def _gap(each: FrameGap, filled: bool) -> Json:
    turned = None if each.turn_rad is None else round(math.degrees(each.turn_rad), 3)
    return {
        "body": each.body.name,
        "kind": each.body.kind,
        "against": each.against,
        "hand": each.hand or None,
        "bars_turned_left_deg": turned,
        "gap": round(each.gap_mm, 3),
        "gap_to_skin": round(each.gap.distance_mm, 3),
        "wanted": each.wanted_mm,
        "verdict": each.verdict,
        "side": each.gap.side,
        "reaches_through": round(each.gap.reach_mm, 3),
        "on_tank": told_place(each.gap.on_skin),
        "on_body": told_place(each.gap.on_body),
        "deepest": told_place(each.gap.deepest),
        "not_scanned": filled,
    }
