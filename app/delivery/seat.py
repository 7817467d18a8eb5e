"""The seat face as it leaves the program: templates, its page, its numbers."""

import math

from app.delivery.findings import Json
from app.delivery.rest_job import RestJob
from app.delivery.rounding import told_mm, told_place
from app.exports import Plate, SeatSheet, Sheaf, seat_plates, sheaf_of_seat
from app.job import SEAT_FACE, JobState, Seat, made

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
        "point": told_place(plane.point),
        "normal": [round(float(part), 6) for part in plane.normal],
        "lean_deg": round(math.degrees(plane.lean_rad), 3),
        "corner": [told_place(point) for point in plane.corner],
        "edge": [told_place(point) for point in plane.edge],
        "flatness": None if seat.face is None else told_mm(seat.face.flatness_mm),
        "line": {
            "ahead": seat.choice.line_ahead_mm,
            "points": [told_place(point) for point in seat.line],
            "not_scanned": bool(seat.line_filled.any()),
        },
        "held": seat.choice.held is not None,
        "guessed": list(seat.guessed),
    }
    if seat.choice.held is not None:
        found["moved"] = {
            "off": seat.has_moved,
            "out": None if moved is None else told_mm(moved.out_mm),
            "tilt_deg": None if moved is None else round(math.degrees(moved.tilt_rad), 3),
            "edge": None if moved is None else told_mm(moved.edge_mm),
        }
    return found
