"""What leaves of capacity and fittings: numbers, pages, discs and the dip stick."""

import numpy as np

from app.delivery.findings import Json
from app.delivery.rest_job import RestJob
from app.delivery.rounding import told_angle
from app.exports import (
    CapacitySheet,
    FittingsSheet,
    Plate,
    Sheaf,
    bottom_plate,
    dip_stick_plate,
    fitting_plates,
    sheaf_of_capacity,
    sheaf_of_fittings,
)
from app.job import (
    Fitted,
    Fuel,
    JobState,
    PartFound,
    StanceFound,
    TapFound,
    TunnelLaid,
    made,
)
from app.units import LITRES_PER_IMPERIAL_GALLON, LITRES_PER_US_GALLON
from geometry.arrays import FloatArray
from geometry.tank import BossSet, PlainTunnel, StandingPool, Tunnel, open_rims

CAPACITY_JSON = "capacity.json"


def capacity_json(state: JobState) -> Json:
    """Return what a tank holds: litres, mm, tank axes."""
    fuel: Fuel = made(state, "Capacity")
    litres = fuel.held_mm3 / 1e6
    to_filler = None if fuel.to_filler_mm3 is None else round(fuel.to_filler_mm3 / 1e6, 4)
    return {
        "litres": round(litres, 4),
        "us_gallons": round(litres / LITRES_PER_US_GALLON, 4),
        "imperial_gallons": round(litres / LITRES_PER_IMPERIAL_GALLON, 4),
        "litres_to_filler": to_filler,
        "litres_of_tunnel": round(fuel.space.tunnel_mm3 / 1e6, 4),
        "parts": fuel.space.parts,
        "wall": round(fuel.wall_mm, 4),
        "guessed_share": round(fuel.guessed_share, 5),
        "closed": [
            {
                "rim": rim.number,
                "length": round(rim.length_mm, 2),
                "centre": _place(rim.centre),
                "off_flat": round(rim.off_flat_mm, 3),
            }
            for rim in fuel.rims
        ],
        "stances": [_stance_json(found) for found in fuel.stances],
        "part": None if fuel.part is None else _part_json(fuel.part),
        "taps": [_tap_json(tap) for tap in fuel.taps],
        "dip_chart": {
            "foot": _place(fuel.chart.foot),
            "depth": [round(float(depth), 3) for depth in fuel.chart.depth_mm],
            "litres": [round(float(volume) / 1e6, 4) for volume in fuel.chart.volume_mm3],
        },
    }


def _place(place: FloatArray) -> list[float]:
    return [round(float(value), 2) for value in place]


def _stance_json(found: StanceFound) -> Json:
    stance = found.stance
    return {
        "name": stance.name,
        **told_angle("lean_left", stance.lean_left_rad),
        **told_angle("nose_up", stance.nose_up_rad),
        "low_points": [
            {
                "place": _place(point.place),
                "litres": round(point.holds_mm3 / 1e6, 4),
                "runs_over": None
                if point.runs_over_mm == float("inf")
                else round(point.runs_over_mm, 2),
            }
            for point in found.points
        ],
        "litres_left": round(found.left_mm3 / 1e6, 4),
        "left": [
            {"place": _place(pool.place), "litres": round(pool.volume_mm3 / 1e6, 4)}
            for pool in found.left
        ],
        "air": None
        if found.air is None
        else [
            {
                "place": _place(pocket.place),
                "litres": round(pocket.volume_mm3 / 1e6, 4),
                "litres_by_vent": round(pocket.ventable_mm3 / 1e6, 4),
            }
            for pocket in found.air
        ],
    }


def _part_json(part: PartFound) -> Json:
    stance, under = part.standing.stance, part.under_filler_mm
    return {
        "litres": round(part.standing.volume_mm3 / 1e6, 4),
        **told_angle("lean_left", stance.lean_left_rad),
        **told_angle("nose_up", stance.nose_up_rad),
        "up": [round(float(value), 6) for value in stance.up],
        "pools": [_pool_json(pool) for pool in part.standing.pools],
        "outlets": [
            {"name": outlet.name, "covered": outlet.over_mm > 0.0, "over": round(outlet.over_mm, 2)}
            for outlet in part.outlets
        ],
        "under_filler": None if under is None else round(under, 2),
    }


def _pool_json(pool: StandingPool) -> Json:
    (rear, front), (right, left) = pool.reach
    return {
        "litres": round(pool.volume_mm3 / 1e6, 4),
        "level": round(pool.level_mm, 3),
        "lowest": _place(pool.lowest),
        "deep": round(pool.deep_mm, 3),
        "ahead": [round(float(rear), 2), round(float(front), 2)],
        "left": [round(float(right), 2), round(float(left), 2)],
    }


def _tap_json(tap: TapFound) -> Json:
    reserve = tap.reserve
    return {
        "name": tap.spec.name,
        "place": _place(tap.place),
        "room": round(tap.room_mm, 2),
        "standpipe": tap.spec.standpipe_mm,
        "litres_reserve": None if reserve is None else round(reserve.usable_mm3 / 1e6, 4),
    }


def fittings_json(state: JobState) -> Json:
    """Return what is fitted: mm, tank axes."""
    fitted: Fitted = made(state, "Fittings")
    filler, old = fitted.filler, fitted.old
    return {
        "filler": None
        if filler is None
        else {
            "centre": _place(filler.seat.centre),
            "axis": [round(float(value), 6) for value in filler.seat.axis],
            "hole": filler.spec.cut_mm,
            "reach": filler.spec.reach_mm,
            "off_flat": round(filler.off_flat_mm, 3),
            "rear_stands": round(filler.rear_stands_mm, 2),
            "most_stands": round(filler.most_stands_mm, 2),
            "recess_blank": None if filler.recess is None else round(filler.recess.blank_mm, 3),
        },
        "old_filler": None
        if old is None
        else {
            "centre": _place(old.opening.centre),
            "across": round(old.opening.diameter_mm, 2),
            "patch": round(old.patch_mm, 2),
            "runs_in": old.runs_in,
        },
        "bosses": [_boss_json(boss) for boss in fitted.bosses],
        "on_guessed_skin": list(fitted.guessed),
        "on_caps": list(fitted.on_caps),
    }


def _boss_json(boss: BossSet) -> Json:
    return {
        "name": boss.spec.name,
        "kind": boss.spec.kind,
        "thread": boss.thread.name,
        "centre": _place(boss.centre),
        "outside": round(boss.outside_mm, 3),
        "hole": round(boss.hole_mm, 3),
        "drill": round(boss.thread.drill_mm, 3),
        "thread_left": None if boss.thread.depth_left is None else round(boss.thread.depth_left, 4),
        **told_angle("tilt", boss.tilt_rad, decimals=5),
    }


def capacity_sheaves(job: RestJob) -> tuple[Sheaf, ...]:
    """Return the page of what the tank holds."""
    fuel, stood = made(job.state, "Capacity"), made(job.state, "Stood")
    return (sheaf_of_capacity(CapacitySheet(job.facts, fuel, stood)),)


def capacity_plates(job: RestJob) -> tuple[Plate, ...]:
    """Return the dip stick."""
    return (dip_stick_plate(job.facts, made(job.state, "Capacity")),)


def fittings_sheaves(job: RestJob) -> tuple[Sheaf, ...]:
    """Return the page of filler, bosses and threads."""
    fitted, stood = made(job.state, "Fittings"), made(job.state, "Stood")
    return (sheaf_of_fittings(FittingsSheet(job.facts, fitted, stood)),)


def fittings_plates(job: RestJob) -> tuple[Plate, ...]:
    """Return discs, rings and blanks."""
    fitted, stood = made(job.state, "Fittings"), made(job.state, "Stood")
    plates = fitting_plates(job.facts, fitted)
    points = stood.outside.vertices
    half_up = float(points[:, 2].min() + points[:, 2].max()) / 2.0
    below = [rim for rim in open_rims(stood.outside) if rim.centre[2] < half_up]
    choice = job.state.rest.capacity
    tunnel: PlainTunnel | Tunnel | None = None if choice is None else choice.tunnel
    if choice is None or choice.laid_tunnel:
        laid: TunnelLaid | None = made(job.state, "Tunnel")
        tunnel = None if laid is None else laid.tunnel
    edge = points[below[0].vertices] if below else np.empty((0, 3))
    bottom = bottom_plate(job.facts, edge, fitted, tunnel, job.state.metal.thickness_mm)
    return plates if bottom is None else (*plates, bottom)
