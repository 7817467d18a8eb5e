"""What leaves of the tunnel: its numbers, its page, its nets and step plates at full size."""

from datetime import date

from app.delivery.findings import Json
from app.delivery.numbered import numbered_files
from app.delivery.rest_job import RestJob
from app.delivery.rounding import told_angle
from app.exports import (
    JobFacts,
    Output,
    Plate,
    Sheaf,
    Show,
    TunnelPageSheet,
    sheaf_of_tunnel,
    tunnel_plates,
)
from app.job import (
    JobState,
    MetalChoice,
    StoodTank,
    TunnelLaid,
    made,
    tunnel_form_words,
    tunnel_warnings,
)
from geometry.progress import Report, silent
from geometry.tank import Gap, Tunnel, TunnelPiece, TunnelSpec

TUNNEL_JSON = "tunnel.json"


def tunnel_told_json(state: JobState) -> Json:
    """Return the numbers of the job's tunnel."""
    laid: TunnelLaid = made(state, "Tunnel")
    return tunnel_json(laid)


def tunnel_json(laid: TunnelLaid) -> Json:
    """Return a tunnel's numbers: mm, tank axes, angles in radians and in degrees."""
    tunnel = laid.tunnel
    seat, total = tunnel.seat, tunnel.spec.room.total
    return {
        "form": tunnel_form_words(tunnel),
        "in_tank": tunnel.in_tank,
        "sheet": {
            "metal": tunnel.sheet.name,
            "thickness": tunnel.sheet.thickness_mm,
            "least_radius": tunnel.sheet.least_radius_mm,
        },
        "seat": {
            "rear": round(seat.rear_mm, 4),
            "foot": round(seat.foot_mm, 4),
            **told_angle("nose_up", seat.nose_up_rad, decimals=8),
        },
        "clearance": {"over": total.over_mm, "side": total.side_mm},
        "pieces": [_piece_json(piece) for piece in tunnel.pieces],
        "step_plates": [
            {"name": plate.name, "at": plate.at_mm, "outline": plate.outline.round(4).tolist()}
            for plate in tunnel.plates
        ],
        "gaps": [_gap_json(gap) for gap in tunnel.gaps],
        "ends_at_skin": _scribes_json(tunnel),
        "tube": _tube_json(tunnel.spec),
        "folded_off": round(tunnel.folded_off_mm, 7),
        "warnings": list(tunnel_warnings(laid)),
    }


def _piece_json(piece: TunnelPiece) -> Json:
    span = piece.span
    return {
        "name": piece.name,
        "ends": [
            {"name": name, "height": round(end.height_mm, 4), "width": round(end.width_mm, 4)}
            for name, end in zip(span.names, (span.behind, span.ahead), strict=True)
        ],
        "reach": [round(x, 4) for x in piece.reach_mm],
        "outline": piece.outline.round(4).tolist(),
        "bends": [
            {
                "line": bend.points.round(4).tolist(),
                "tangents": [line.round(4).tolist() for line in (bend.starts, bend.ends)],
                **told_angle("angle", bend.angle_rad, decimals=8),
                "direction": "up, seen from the tube's side",
                "inside_radius": [round(radius, 4) for radius in bend.inside_radius_mm],
                "rolled": bend.rolled,
                "flat": None if bend.take_mm is None else round(bend.take_mm, 4),
            }
            for bend in piece.bends
        ],
        "cut_off": {
            off.side: {
                "drawn": off.middle.round(4).tolist(),
                "highest": off.highest.round(4).tolist(),
                "lowest": off.lowest.round(4).tolist(),
                "guessed": [[round(x, 3) for x in stretch] for stretch in off.guessed_mm],
            }
            for off in piece.cut_offs
        },
    }


def _tube_json(spec: TunnelSpec) -> Json | None:
    """Return the frame tube, in tank axes: what it was scanned in, and how far points lie off."""
    tube, scanned = spec.tube, spec.scanned_tube
    if tube is None:
        return None
    off = None if scanned is None else scanned.scatter / scanned.diameter * tube.diameter_mm
    return {
        "name": tube.name,
        "start": [round(value, 4) for value in tube.start_mm],
        "end": [round(value, 4) for value in tube.end_mm],
        "diameter": round(tube.diameter_mm, 4),
        "scanned": None if scanned is None else scanned.file_name,
        "scatter": None if off is None else round(off, 4),
    }


def _gap_json(gap: Gap) -> Json:
    return {
        "body": gap.body,
        "part": gap.part,
        "before": round(gap.before_mm, 4),
        "after": round(gap.after_mm, 4),
        "at": [round(value, 3) for value in gap.at],
    }


def _scribes_json(tunnel: Tunnel) -> list[Json]:
    return [
        {
            "end": scribe.end,
            "lines": [line.round(4).tolist() for line in scribe.lines],
            "short": round(scribe.short_mm, 4),
            "guessed": scribe.guessed,
        }
        for scribe in tunnel.scribes
    ]


def tunnel_plates_of(job: RestJob) -> tuple[Plate, ...]:
    """Return the nets and step plates."""
    return tunnel_plates(job.facts, made(job.state, "Tunnel"))


def tunnel_sheaves(job: RestJob) -> tuple[Sheaf, ...]:
    """Return the tunnel's page."""
    stood: StoodTank | None = made(job.state, "Stood")
    laid: TunnelLaid = made(job.state, "Tunnel")
    if stood is None:
        return (sheaf_of_tunnel(TunnelPageSheet(job.facts, laid)),)
    sheet = TunnelPageSheet(job.facts, laid, stood.outside, stood.filled, stood.copied)
    return (sheaf_of_tunnel(sheet),)


def tunnel_files_alone(
    laid: TunnelLaid, facts: JobFacts, *, output: Output | None = None, report: Report = silent
) -> dict[str, bytes]:
    """Return the files of a tunnel laid out without a tank, by name."""
    sheaves = (sheaf_of_tunnel(TunnelPageSheet(facts, laid)),)
    told = {"tunnel": tunnel_json(laid)}
    plates = tunnel_plates(facts, laid)
    return numbered_files(told, TUNNEL_JSON, sheaves, plates, output=output, report=report)


def typed_facts(
    name: str, metal: MetalChoice, thickness_mm: float, *, dated: date, show: Show = "mm"
) -> JobFacts:
    """Return what pages say of a thing laid out from typed sizes: there is no scan to prove."""
    return JobFacts(
        job=name,
        alloy=metal.alloy,
        thickness_mm=thickness_mm,
        revision="1",
        dated=dated,
        scan_unit="",
        tapes=(),
        size_proved=True,
        surface="",
        show=show,
    )
