"""The step "Seat face": plane, edge and line of the face the seat meets; held once it is held."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from app.job.choices import HeldSeat, JobState, SeatChoice, TankSpot
from app.job.making import Reader, Skin, Step, step_besides
from app.job.rest.stood import StoodTank
from app.units import angle_text, mm_text
from geometry.arrays import BoolArray, FloatArray
from geometry.datum import Point3
from geometry.gauges import (
    GaugeSizeError,
    NoSeatFaceError,
    SeatFace,
    SeatMoved,
    SeatPlane,
    TankAxes,
    seat_against,
    seat_face,
    seat_line,
)
from geometry.mesh import TriMesh, nearest_points
from geometry.progress import Report
from geometry.surface import FlatFace

SEAT_FACE = "Seat face"
MOVED_MM = 0.2
"""Held and found count as the same within this: what a template is sure to."""


@dataclass(frozen=True, eq=False)
class Seat:
    """The seat face of a job, in tank axes.

    Attributes
    ----------
    choice : SeatChoice
    plane : SeatPlane
        Held, or as found.
    face : SeatFace or None
        How the skin lies to it; None where a face is held and the skin has none there any more.
    moved : SeatMoved or None
        What the skin's own face does against the one held; None where none is held.
    line : (k, 2) float, mm
        The line ahead of the face, on the face: right and up, as seen from behind.
    line_filled, line_copied : (k,) bool
        Where nobody scanned it, and where it was made from the other side.
    axes : TankAxes
    mm_per_unit : float
    guessed : tuple of str
        "front", "up" where nobody said them.
    """

    choice: SeatChoice
    plane: SeatPlane
    face: SeatFace | None
    moved: SeatMoved | None
    line: FloatArray
    line_filled: BoolArray
    line_copied: BoolArray
    axes: TankAxes
    mm_per_unit: float
    guessed: tuple[str, ...]

    @property
    def has_moved(self) -> bool:
        """Whether the skin's face now lies off the one held by more than a template is sure to."""
        if self.choice.held is None:
            return False
        if self.moved is None:
            return True
        half = float(np.linalg.norm(np.ptp(self.plane.edge, axis=0))) / 2.0
        return (
            abs(self.moved.out_mm) > MOVED_MM
            or half * self.moved.tilt_rad > MOVED_MM
            or self.moved.edge_mm > 5.0 * MOVED_MM
        )


def seat_step(
    stood: StoodTank,
    skin: TriMesh,
    flats: Sequence[FlatFace],
    choice: SeatChoice,
    mm_per_unit: float,
    *,
    report: Report,
) -> Seat:
    """Return the seat face.

    Parameters
    ----------
    stood : StoodTank
        Its smooth skin gives the line.
    skin : TriMesh
        As scanned: the face is measured on it, since cleaning would round its edge.
    flats : sequence of FlatFace
        The flat faces of that skin.
    choice : SeatChoice
    mm_per_unit : float
    report : Report

    Raises
    ------
    NoSeatFaceError, NoSeatLineError
    GaugeSizeError
        A template too narrow or too wide, or a line too far ahead.
    """
    _check_sizes(choice)
    report(0.0, "measure the face")
    scanned = TriMesh(stood.axes.to_tank(skin.vertices), skin.faces)
    standing = _stood_up(flats, stood.axes)
    moved: SeatMoved | None = None
    face: SeatFace | None
    if choice.held is None:
        near = None if choice.near is None else spot_at(choice.near)
        face = seat_face(scanned, near=near, flats=standing)
        plane = face.plane
    else:
        plane = _plane_of(choice.held, stood.axes, mm_per_unit)
        try:
            face, moved = seat_against(scanned, plane, flats=standing)
        except NoSeatFaceError:
            face = None
    report(0.5, "the line the seat follows")
    line = seat_line(stood.outside, plane, choice.line_ahead_mm)
    places = plane.in_space(line) - choice.line_ahead_mm * plane.normal
    under = nearest_points(stood.outside, places).faces
    return Seat(
        choice, plane, face, moved, line, stood.filled[under], stood.copied[under],
        stood.axes, mm_per_unit, stood.guessed,
    )  # fmt: skip


def _stood_up(flats: Sequence[FlatFace], axes: TankAxes) -> tuple[FlatFace, ...]:
    """Return flat faces of a scan as they stand in tank axes."""
    return tuple(
        replace(
            flat,
            point=axes.to_tank(flat.point[None])[0],
            normal=axes.axes @ flat.normal,
            edge=axes.to_tank(flat.edge),
        )
        for flat in flats
    )


def _check_sizes(choice: SeatChoice) -> None:
    for what, given, least, most in (
        ("template over the lip's line", choice.board_mm, 5.0, 300.0),
        ("way from the seat face to the lip's line", choice.line_ahead_mm, 0.0, 200.0),
    ):
        if not least <= given <= most:
            raise GaugeSizeError(what, given, least, most)


def seat_row(read: Reader) -> Step:
    """Return the row of the table of steps."""

    def inputs(state: JobState, part: str) -> tuple[Any, ...] | None:
        stood, size, tidied = (read(state, name) for name in ("Stood", "Size", "Tidy"))
        sides = read(state, "Sides") if state.sides.copies else None
        flats = read(state, "Flat faces")
        lacking = flats is None or (state.sides.copies and sides is None)
        if stood is None or size is None or tidied is None or lacking or state.rest.seat is None:
            return None
        return (stood, Skin(tidied, sides).mesh, flats, state.rest.seat, size.mm_per_unit)

    does = "Hold the flat the seat meets: plane, edge, and the line its lip follows."
    hangs_on = ("Flat faces", "Stood")
    return step_besides(
        SEAT_FACE,
        does,
        inputs=inputs,
        function=seat_step,
        line=lambda seat, _, show: seat_words(seat, show),
        hangs_on=hangs_on,
    )


def seat_words(seat: Seat, show: str) -> str:
    """Return what was found, in a line."""
    if seat.has_moved:
        return "held; the skin has moved off it"
    flat = seat.face.flatness_mm if seat.face is not None else 0.0
    held = "held, " if seat.choice.held is not None else ""
    return f"{held}leans {angle_text(seat.plane.lean_rad)}, flat within {mm_text(flat, 1)}"


def held_seat(seat: Seat) -> HeldSeat:
    """Return a seat face in the file's own numbers, to be kept."""
    plane, origin = seat.plane, seat.axes.from_tank(np.zeros((1, 3)))

    def in_file(points: FloatArray) -> tuple[Point3, ...]:
        found = seat.axes.from_tank(points) / seat.mm_per_unit
        return tuple((float(x), float(y), float(z)) for x, y, z in found)

    x, y, z = (seat.axes.from_tank(plane.normal[None]) - origin)[0]
    return HeldSeat(
        point=in_file(plane.point[None])[0],
        normal=(float(x), float(y), float(z)),
        edge=in_file(plane.edge),
        corner=in_file(plane.corner),
    )


def spot_at(spot: TankSpot) -> FloatArray:
    """Return a place in tank axes, mm."""
    return np.array([spot.ahead_mm, spot.left_mm, spot.up_mm])


def _plane_of(held: HeldSeat, axes: TankAxes, mm_per_unit: float) -> SeatPlane:
    def in_tank(points: tuple[Point3, ...]) -> FloatArray:
        return axes.to_tank(np.array(points) * mm_per_unit)

    origin = axes.to_tank(np.zeros((1, 3)))
    normal = (axes.to_tank(np.array([held.normal])) - origin)[0]
    normal /= np.linalg.norm(normal)
    return SeatPlane(in_tank((held.point,))[0], normal, in_tank(held.edge), in_tank(held.corner))
