"""Sweeps as numbers: boards, places served, what none serves."""

import math

from app.delivery.findings import Json
from app.delivery.rounding import told_mm
from geometry.gauges import SweepSet, SweepUse


def sweeps_told(found: SweepSet) -> Json:
    """Return the numbers of sweeps: lengths in mm, places along outlines from the centre line."""
    return {
        "face": "inside" if found.inside else "outside",
        "gap_asked": told_mm(found.wishes.gap_mm),
        "chord_asked": told_mm(found.wishes.chord_mm),
        "radii_typed": [told_mm(radius) for radius in found.wishes.radii_mm],
        "boards": [
            {
                "sweep": board.number,
                "radius": told_mm(board.radius_mm),
                "chord": told_mm(board.chord_mm),
                "places": len(found.uses_of(board)),
            }
            for board in found.boards
        ],
        "places": [_use(use) for use in found.uses],
        "left_out": [
            {"station": each.station, "hand": each.hand, "length": told_mm(each.length_mm)}
            for each in found.missing
        ],
    }


def _use(use: SweepUse) -> Json:
    return {
        "station": use.place.station,
        "hand": use.place.hand,
        "from": told_mm(use.place.from_mm),
        "to": told_mm(use.place.to_mm),
        "sweep": None if use.board is None else use.board.number,
        "edge": use.edge,
        "gap": _gap(use.gap_mm),
        "gap_other_face": _gap(use.other_gap_mm),
        "not_scanned": use.place.not_scanned,
    }


def _gap(gap_mm: float) -> float | None:
    """Return a gap as it is told; None where the edge does not reach over the place."""
    return told_mm(gap_mm) if math.isfinite(gap_mm) else None
