"""The JSON of how a tank stands: scan, datum, left against right, lines. A contract, as `results`.

Places are in mm in the axes of the scan's own file; angles in degrees, as a shaper says them.
"""

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from app.delivery.findings import Json
from app.delivery.results import SCHEMA, size_json
from app.job import JobState, LineChoice, Lines, ScanFile, Surface, Tidied, made
from geometry.arrays import FloatArray
from geometry.datum import CentrePlane, Datum, LeftRight, StationDifference, TrueSize
from geometry.mesh import face_areas
from geometry.polyline import line_length
from geometry.scan import Hole, ScanReport, SoundScan
from geometry.surface import CharacterLine, FlatFace


def place(point: Sequence[float] | FloatArray) -> list[float]:
    """Return a point or a direction as plain numbers."""
    return [float(value) for value in point]


def known(value: float | None) -> float | None:
    """Return a number, or null where it is not known.

    >>> known(float("nan")), known(1.5)
    (None, 1.5)
    """
    return None if value is None or not math.isfinite(value) else float(value)


# ---- scan


def scan_result(
    report: ScanReport,
    size: TrueSize | None,
    *,
    mended: SoundScan | None = None,
    tidied: Tidied | None = None,
) -> Json:
    """Return the report on a scan; everything with a size is null while the size is unknown.

    Parameters
    ----------
    report : ScanReport
        Lengths in the file's unit.
    size : TrueSize or None
    mended : SoundScan, optional
        What was mended, and where; null where it is not asked for.
    tidied : Tidied, optional
        The tank alone; None without a size, or where it could not be told from the rest.
    """
    mm = None if size is None else size.mm_per_unit

    def length(value: float) -> float | None:
        return None if mm is None else float(value) * mm

    def lengths(values: FloatArray) -> list[float] | None:
        return None if mm is None else [float(value) * mm for value in values]

    return {
        "schema": SCHEMA,
        "triangles": report.triangles,
        "pieces": [
            {
                "triangles": piece.triangles,
                "area": None if mm is None else float(piece.area) * mm * mm,
                "centre": lengths(piece.centre),
                "size": lengths(piece.size),
                "kept": None if tidied is None else tidied.kept[at],
            }
            for at, piece in enumerate(report.pieces)
        ],
        "piece_count": report.piece_count,
        "holes": [
            {
                "rim_length": length(hole.rim_length),
                "centre": lengths(hole.centre),
                "normal": place(hole.normal),
                "across": length(hole.across),
                "round": hole.is_round,
                "edge": hole.is_edge,
            }
            for hole in report.holes
        ],
        "hole_count": report.hole_count,
        "tank_holes": None if tidied is None else tank_holes_json(tidied),
        "repairs": None if mended is None else dict(vars(mended.repairs)),
        "repair_places": None if mended is None or mm is None else _repair_places(mended, mm),
        "noise": length(report.noise),
        "spacing": length(report.spacing),
        "file_unit": report.unit,
        "likely_unit": report.likely_unit,
        "doubts": list(report.doubts[0 if size is None else report.about_unit :]),
        "size": None if size is None else size_json(size),
    }


def _repair_places(mended: SoundScan, mm_per_unit: float) -> list[Json]:
    """Return where each kind of fault was mended, in mm."""
    return [
        {
            "what": kind.what,
            "count": kind.count,
            "places": [place(point * mm_per_unit) for point in kind.places],
        }
        for kind in mended.places
    ]


def tank_holes_json(tidied: Tidied) -> list[Json]:
    """Return the holes of the tank alone, numbered from 1, with what becomes of each."""
    return [
        {"number": number, **_hole_json(hole), "fate": fate}
        for number, (hole, fate) in enumerate(
            zip(tidied.holes, tidied.hole_fates, strict=True), start=1
        )
    ]


def _hole_json(hole: Hole) -> Json:
    return {
        "rim_length": float(hole.rim_length),
        "centre": place(hole.centre),
        "normal": place(hole.normal),
        "across": float(hole.across),
        "round": hole.is_round,
        "edge": hole.is_edge,
    }


# ---- datum


def datum_result(
    datum: Datum,
    found: LeftRight | None,
    size: TrueSize,
    triangles: int,
    scan: ScanFile | None = None,
) -> Json:
    """Return where a tank stands, and how its two sides differ; null where they were not laid.

    The file it was found on, if given, is marked, so that nobody takes it for another.
    """
    mark = {} if scan is None else {"sha256": scan.sha256, "triangles": len(scan.raw.faces)}
    return {
        "schema": SCHEMA,
        "triangles": triangles,
        **({"scan": mark} if mark else {}),
        **datum_json(datum),
        "others": [_plane_json(plane) for plane in datum.plane.others],
        "left_right": None if found is None else left_right_json(found),
        "size": size_json(size),
    }


def datum_json(datum: Datum) -> Json:
    """Return the frame a tank stands in."""
    return {
        "plane": _plane_json(datum.plane),
        "up": place(datum.up),
        "front": place(datum.front),
        "left": place(datum.left),
        "origin": place(datum.origin),
        "guessed": list(datum.guessed),
        "level_spread_deg": None
        if datum.level_spread_rad is None
        else known(math.degrees(datum.level_spread_rad)),
    }


def _plane_json(plane: CentrePlane) -> Json:
    return {
        "point": place(plane.point),
        "normal": place(plane.normal),
        "spread_deg": known(math.degrees(plane.spread_rad)),
        "spread_mm": known(plane.spread_mm),
        "weak": list(plane.weak),
        "matched_share": known(plane.matched_share),
        "residual_mm": known(plane.residual_mm),
    }


def left_right_json(found: LeftRight) -> Json:
    """Return how the hands differ about the centre plane."""
    return {
        "median": known(found.median),
        "p95": known(found.p95),
        "largest": known(found.largest),
        "largest_at": place(found.largest_at),
        "largest_on": found.largest_on,
        "further_out": found.further_out,
        "fuller": found.fuller,
        "left_over_right": known(found.left_over_right_mm),
        "faced_share": known(found.faced_share),
        "stations": [_station_json(station) for station in found.stations],
    }


def _station_json(station: StationDifference) -> Json:
    return {
        "station": float(station.station_mm),
        "median": known(station.median),
        "largest": known(station.largest),
        "largest_at": place(station.largest_at),
        "left_width": known(station.left_width),
        "right_width": known(station.right_width),
    }


# ---- lines


def lines_result(found: Lines, flats: Sequence[FlatFace], size: TrueSize, triangles: int) -> Json:
    """Return the character lines and flat faces of a tank."""
    return {
        "schema": SCHEMA,
        "triangles": triangles,
        "lines": [line_json(line) for line in found.found],
        "flat_faces": [_flat_json(flat) for flat in flats],
        "size": size_json(size),
    }


def line_json(line: CharacterLine) -> Json:
    """Return one line: its course, and radius, angle and height, medians and along it."""
    angle_deg = np.degrees(line.opening_rad)
    return {
        "points": [place(point) for point in line.points],
        "length": line_length(line.points),
        "radius": _median(line.radius_mm),
        "angle_deg": _median(angle_deg),
        "height": _median(line.height_mm),
        "confidence": float(line.confidence),
        "standing": line.standing,
        "closed": line.is_closed,
        "along": {
            "radius": [known(value) for value in line.radius_mm],
            "angle_deg": [known(value) for value in angle_deg],
            "height": [known(value) for value in line.height_mm],
        },
    }


def _median(values: FloatArray) -> float | None:
    there = values[np.isfinite(values)]
    return float(np.median(there)) if len(there) else None


def _flat_json(flat: FlatFace) -> Json:
    return {
        "point": place(flat.point),
        "normal": place(flat.normal),
        "flatness": float(flat.flatness_mm),
        "area": float(flat.area),
        "width": float(flat.width),
        "edge": [place(point) for point in flat.edge],
    }


# ---- what a job's summary tells of it


def standing_json(state: JobState) -> Json:
    """Return how a job's tank stands and what of it was not scanned, for its summary."""
    datum: Datum | None = made(state, "Datum")
    size: TrueSize | None = made(state, "Size")
    tidied: Tidied | None = made(state, "Tidy")
    mm = 1.0 if size is None else size.mm_per_unit
    return {
        "datum": None if datum is None else datum_json(datum),
        "lines": [_locked_json(line, mm) for line in state.lines if line.state == "locked"],
        "fill": {
            "rule": state.tidy.fill,
            "holes": [] if tidied is None else tank_holes_json(tidied),
        },
        "copied": _copied_json(state),
    }


def _locked_json(line: LineChoice, mm_per_unit: float) -> Json:
    points = np.array(line.points) * mm_per_unit
    return {
        "points": [place(point) for point in points],
        "length": line_length(points),
        "drawn": line.drawn,
    }


def _copied_json(state: JobState) -> Json | None:
    """Return which side was copied and how much of the surface came of it; null for none."""
    surface: Surface | None = made(state, "Surface")
    sides: Any = made(state, "Sides")
    if surface is None or sides is None or sides.copied is None:
        return None
    mesh = surface.working.mesh
    areas = face_areas(mesh.vertices, mesh.faces)
    return {
        "side": state.sides.copy,
        "zones": len(state.sides.zones),
        "area": float(areas[surface.working.copied].sum()),
        "step": known(sides.copied.step_mm),
    }
