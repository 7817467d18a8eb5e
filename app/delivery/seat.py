"""The seat face as it leaves the program: templates, its page, its numbers."""

import math

from app.delivery.findings import Json
from app.delivery.rest_job import RestJob
from app.exports import Plate, SeatSheet, Sheaf, seat_plates, sheaf_of_seat
from app.job import SEAT_FACE, JobState, Seat, made
from geometry.arrays import FloatArray

SEAT_JSON = "seat.json"


def plates_of_seat(job: RestJob) -> tuple[Plate, ...]:
    """Return the templates of a job's seat face, full size."""
    return seat_plates(SeatSheet(job.facts, made(job.state, SEAT_FACE)))


def sheaves_of_seat(job: RestJob) -> tuple[Sheaf, ...]:
    """Return the page of a job's seat face."""
    return (sheaf_of_seat(SeatSheet(job.facts, made(job.state, SEAT_FACE))),)


def seat_told(state: JobState) -> Json:
    """Return the numbers of a job's seat face: mm and tank axes, the normal out of the tank."""
    seat: Seat = made(state, SEAT_FACE)
    plane, moved = seat.plane, seat.moved
    found: Json = {
        "point": _rounded(plane.point),
        "normal": _rounded(plane.normal, 6),
        "lean_deg": round(math.degrees(plane.lean_rad), 3),
        "corner": [_rounded(point) for point in plane.corner],
        "edge": [_rounded(point) for point in plane.edge],
        "flatness": None if seat.face is None else round(seat.face.flatness_mm, 3),
        "line": {
            "ahead": seat.choice.line_ahead_mm,
            "points": [_rounded(point) for point in seat.line],
            "not_scanned": bool(seat.line_filled.any()),
        },
        "held": seat.choice.held is not None,
        "guessed": list(seat.guessed),
    }
    if seat.choice.held is not None:
        found["moved"] = {
            "off": seat.has_moved,
            "out": None if moved is None else round(moved.out_mm, 3),
            "tilt_deg": None if moved is None else round(math.degrees(moved.tilt_rad), 3),
            "edge": None if moved is None else round(moved.edge_mm, 3),
        }
    return found


def _rounded(values: FloatArray, digits: int = 3) -> list[float]:
    return [round(float(value), digits) for value in values]
