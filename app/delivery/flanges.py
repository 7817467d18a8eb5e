"""Flanges as they leave the program: run sheets, tallies at full size, numbers."""

import math

from app.delivery.findings import Json
from app.delivery.rest_job import RestJob
from app.delivery.rounding import told_mm, told_place
from app.exports import (
    FlangeSheet,
    Plate,
    Sheaf,
    flange_plates,
    sheaf_of_flanges,
)
from app.job import FlangeMade, Flanges, JobState, Metals, made, metal_or_none
from geometry.metal import METALS, flange_guide
from geometry.tank import FlangeStation

_STRAIGHT = 1e-6
"""1/mm: a radius of a kilometre."""

FLANGES_JSON = "flanges.json"


def plates_of_flanges(job: RestJob) -> tuple[Plate, ...]:
    """Return the tallies of a job's flanges, full size."""
    return flange_plates(made(job.state, "Flanges"), job.facts)


def sheaves_of_flanges(job: RestJob) -> tuple[Sheaf, ...]:
    """Return the run sheets of a job's flanges."""
    metal = metal_or_none(job.state.metal.alloy, job.metals)
    return (sheaf_of_flanges(FlangeSheet(job.facts, made(job.state, "Flanges"), metal)),)


def told_of_flanges(job: RestJob) -> Json:
    """Return the numbers of a job's flanges, by the metals whose figures are known."""
    return flanges_told(job.state, job.metals)


def flanges_told(state: JobState, metals: Metals = METALS) -> Json:
    """Return the numbers of a job's flanges: lengths in mm, angles in degrees, tank axes."""
    flanges: Flanges = made(state, "Flanges")
    return {
        "centre_plane": flanges.has_plane,
        "guessed": list(flanges.guessed),
        "runs": [_run(each, state, metals) for each in flanges.made],
    }


def _run(found: FlangeMade, state: JobState, metals: Metals) -> Json:
    choice, run = found.choice, found.run
    told: Json = {
        "edge": choice.edge,
        "lip_in_scan": found.lip is not None,
        "lip_kept": found.is_kept_lip,
        "width": told_mm(choice.width_mm),
        "lies": choice.lies,
        "to": choice.to,
        "image_on": run.mirrored,
        "scatter": told_mm(run.noise_mm),
        "hands": [
            {"hand": hand, "root": told_mm(length), "gains": told_mm(gain)}
            for (hand, length), (_, gain) in zip(run.lengths_mm, run.gains_mm, strict=True)
        ],
        "counted_twice": [list(each) for each in found.twice],
        "stations": [
            _station(station, guessed, state, metals)
            for station, guessed in zip(run.stations, found.guessed, strict=True)
        ],
    }
    if found.lip is not None:
        told["lip_length"] = told_mm(found.lip.length_mm)
    return told


def _signed_radius(bend: float) -> float | None:
    """Return the radius of a bend, below 0 where its middle lies off the lip; None of no bend."""
    return None if abs(bend) < _STRAIGHT else told_mm(1.0 / bend)


def _station(station: FlangeStation, guessed: bool, state: JobState, metals: Metals) -> Json:
    thickness = state.metal.thickness_mm
    metal = metal_or_none(state.metal.alloy, metals)
    straight = not math.isfinite(station.radius_mm)
    turn_deg = round(math.degrees(station.turn_rad), 2)
    return {
        "station": station.number,
        "hand": station.hand,
        "along": told_mm(station.along_mm),
        "place": told_place(station.place),
        "turn": turn_deg,
        "turn_deg": turn_deg,
        "radius": None if straight else told_mm(station.radius_mm),
        "radius_in_skin": _signed_radius(station.bend_in_skin),
        "radius_in_lip": _signed_radius(station.bend_in_lip),
        "case": station.case,
        "curve": station.curve,
        "width": told_mm(station.width_mm),
        "flat": told_mm(station.flat_mm),
        "edge_change": round(station.stretch - 1.0, 6),
        "change_per_root": round(station.per_root, 6),
        "sure_to": round(station.spread, 6),
        "free_width": told_mm(station.free_mm),
        "lip_thickness": told_mm(station.lip_thickness * thickness),
        "metal": flange_guide(station.stretch, metal, thickness).verdict,
        "not_scanned": guessed,
    }
