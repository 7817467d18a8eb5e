"""A tunnel's flat pieces at full size: its nets with all that is marked on them, its plates."""

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

from app.exports.drawing import Line, Meaning, curved
from app.exports.facts import JobFacts
from app.exports.marks import hatch
from app.exports.pages import FRAME, RECEIVING
from app.exports.plate import Plate, PlateNote
from app.job import (
    GUESSED_BOTTOM,
    SCRIBE_NOTE,
    SCRIBE_WORDS,
    TUNNEL_BEND_RULE,
    TunnelLaid,
    bend_words,
    folded_words,
    tunnel_form_words,
    tunnel_warnings,
)
from app.units import length_text, thickness_text
from geometry.arrays import FloatArray, IntArray
from geometry.pattern import fitted_curve, straight_curve
from geometry.tank import (
    BendLine,
    CutOff,
    StepPlate,
    Tunnel,
    TunnelPiece,
    guessed_bands,
    roll_lines,
)

Scribed = tuple[str, list[FloatArray]]
"""An end of the tunnel, and the lines it is scribed to."""

_FIT_MM = 0.005
_LEAST_MM = 1.0
_BESIDE_MM = 6.0
_HATCH_MM, _HATCH_BESIDE_MM = 3.0, 1.5


def tunnel_plates(job: JobFacts, laid: TunnelLaid) -> tuple[Plate, ...]:
    """Return the net of every piece from the rear ahead, then the plates of the steps."""
    tunnel = laid.tunnel
    nets = [_net(job, laid, piece) for piece in tunnel.pieces]
    return (*nets, *(_step_plate(job, tunnel, plate) for plate in tunnel.plates))


def _edge(job: JobFacts) -> Meaning:
    return Meaning.CUT if job.size_proved else Meaning.NET


def _outline(job: JobFacts, points: FloatArray, corners: IntArray) -> Line:
    """Return the edge of a piece: straight legs, fitted ends, its corners kept."""
    fit = fitted_curve(points, closed=True, kind="arcs", tolerance_mm=_FIT_MM, corners=corners)
    return curved(_edge(job), fit.curve)


def _smooth(meaning: Meaning, points: FloatArray) -> Line:
    fit = fitted_curve(points, closed=False, kind="arcs", tolerance_mm=_FIT_MM)
    return curved(meaning, fit.curve)


def _ruled(meaning: Meaning, points: FloatArray) -> Line:
    return curved(meaning, straight_curve(points, closed=False))


def _net(job: JobFacts, laid: TunnelLaid, piece: TunnelPiece) -> Plate:
    tunnel = laid.tunnel
    scribes, guessed = _scribes_of(tunnel, piece), _guessed_parts(tunnel, piece)
    lines = [
        _outline(job, piece.outline, piece.corners),
        _ruled(Meaning.CENTRE, piece.centre),
        *(line for bend in piece.bends for line in _bend_lines(bend)),
        *(_ruled(Meaning.ROLL, line) for line in roll_lines(piece)),
        *(line for off in piece.cut_offs for line in _band(off)),
        *(_smooth(Meaning.SCRIBE, line) for _, parts in scribes for line in parts),
        *(line for x in _end_lines(tunnel, piece) for line in x),
        *(line for part in guessed for slope in (1.0, -1.0) for line in _hatched(part, slope)),
    ]
    legend = [(_edge(job), _edge_words(job)), (Meaning.CENTRE, "centre line of the top")]
    if piece.net.first_bent == 0:
        legend += [(Meaning.ROLL, "roll along these, tangent lines outermost")]
    else:
        legend += [(Meaning.BEND_UP, "bend up along this"), (Meaning.ROLL, "tangent lines")]
    legend += [(Meaning.SCRIBE, f"cut-off band, ends at the skin: {SCRIBE_WORDS}")]
    if _end_lines(tunnel, piece):
        legend += [(Meaning.TICK, "end as asked for; beyond it run-out")]
    if guessed:
        legend += [(Meaning.NO_DATA, GUESSED_BOTTOM.lower())]
    return Plate(
        job,
        f"{piece.name} net",
        "MAKES THE TUNNEL" if len(tunnel.pieces) == 1 else f"MAKES {piece.name.upper()}",
        "MARK THIS FACE: TUBE SIDE",
        f"{tunnel.sheet.name}, {thickness_text(tunnel.sheet.thickness_mm, job.show)}",
        tuple(lines),
        piece.outline,
        (*_notes(tunnel, piece, scribes, job.show), *_guessed_notes(guessed)),
        facts=_facts(tunnel, piece, job.show),
        legend=tuple(legend),
        remarks=_remarks(laid, job.show),
        no_cut=None if job.size_proved else "SIZE NOT TAPED",
        front=np.array([0.0, 1.0]),
    )


def _edge_words(job: JobFacts) -> str:
    return "cut along this line only" if job.size_proved else "edge, not to be cut from"


def _scribes_of(tunnel: Tunnel, piece: TunnelPiece) -> list[Scribed]:
    """Return each end of the tunnel on this piece, with the parts of its line that are on metal."""
    ends = {"front": tunnel.pieces[-1], "rear": tunnel.pieces[0]}
    metal = Polygon(piece.outline)
    found = []
    for scribe in tunnel.scribes:
        if ends[scribe.end] is not piece:
            continue
        on_metal = [metal.intersection(LineString(line)) for line in scribe.lines]
        lines = [part for each in on_metal for part in getattr(each, "geoms", [each])]
        parts = [np.array(line.coords) for line in lines if line.length > _LEAST_MM]
        if parts:
            found.append((scribe.end, parts))
    return found


def _guessed_parts(tunnel: Tunnel, piece: TunnelPiece) -> list[shapely.Geometry]:
    """Return the stretches of cut-off bands and scribed ends over skin nobody scanned."""
    bands = [np.concatenate([high, low[::-1]]) for high, low in guessed_bands(piece)]
    parts = [shapely.buffer(shapely.make_valid(Polygon(band)), _HATCH_BESIDE_MM) for band in bands]
    metal = Polygon(piece.outline)
    ends = {"front": tunnel.pieces[-1], "rear": tunnel.pieces[0]}
    for scribe in tunnel.scribes:
        if ends[scribe.end] is piece:
            lines = [LineString(line) for line in scribe.guessed_lines]
            parts += [shapely.buffer(line, _HATCH_BESIDE_MM) for line in lines]
    shown = [shapely.intersection(part, metal) for part in parts]
    return [part for part in shown if not shapely.is_empty(part)]


def _hatched(part: shapely.Geometry, slope: float) -> list[Line]:
    return hatch(part, _HATCH_MM, slope, Meaning.NO_DATA)


def _guessed_notes(parts: list[shapely.Geometry]) -> tuple[PlateNote, ...]:
    """Return the words at every stretch nobody scanned."""
    places = [shapely.get_coordinates(shapely.point_on_surface(part))[0] for part in parts]
    return tuple(PlateNote(GUESSED_BOTTOM, place, 2.5, bold=True) for place in places)


def _bend_lines(bend: BendLine) -> list[Line]:
    tangents = [_ruled(Meaning.ROLL, bend.starts), _ruled(Meaning.ROLL, bend.ends)]
    return tangents if bend.rolled else [_ruled(Meaning.BEND_UP, bend.points), *tangents]


def _band(off: CutOff) -> list[Line]:
    return [_smooth(Meaning.SCRIBE, line) for line in (off.highest, off.lowest)]


def _end_lines(tunnel: Tunnel, piece: TunnelPiece) -> list[list[Line]]:
    """Return short ticks at the ends as asked for, where run-out goes past them."""
    net, found = piece.net, []
    for x, past in zip((piece.span.behind_mm, piece.span.ahead_mm), piece.reach_mm, strict=True):
        if abs(past - x) < 1.0:
            continue
        half = net.flat_at(x)
        ticks = []
        for sign in (1.0, -1.0):
            foot = np.stack([half[-1], half[-1] + 8.0 * net.leg_flat]) * [sign, 1.0]
            ticks.append(_ruled(Meaning.TICK, foot))
        crown = np.array([[-4.0, half[0, 1]], [4.0, half[0, 1]]])
        found.append([*ticks, _ruled(Meaning.TICK, crown)])
    return found


def _notes(
    tunnel: Tunnel, piece: TunnelPiece, scribes: list[Scribed], show: str
) -> tuple[PlateNote, ...]:
    rear, front = piece.centre
    middle = 0.5 * (rear + front)
    notes = [
        PlateNote("CENTRE LINE", middle + [_BESIDE_MM, 0.2 * (front[1] - rear[1])]),
        PlateNote("FRONT END", front - [0.0, 14.0], bold=True),
        PlateNote("REAR END", rear + [0.0, 14.0], bold=True),
    ]
    for bend in piece.bends:
        at = 0.5 * (bend.points[0] + bend.points[1])
        notes.append(PlateNote(bend_words(bend, show), at - [0.0, 20.0]))
    for off in piece.cut_offs:
        at = off.middle[len(off.middle) // 2]
        inward = -np.sign(at[0]) * _BESIDE_MM
        notes.append(PlateNote(SCRIBE_WORDS, at + [inward, 30.0], bold=True))
        notes.append(PlateNote(f"{off.side.upper()} LEG", at + [3.0 * inward, -30.0], bold=True))
    for end, parts in scribes:
        at = parts[0][len(parts[0]) // 2]
        away = -12.0 if end == "front" else 12.0
        words = f"{end} end at the skin: {SCRIBE_WORDS}"
        notes.append(PlateNote(words, at + [20.0, away], 2.5))
    return tuple(notes)


def _facts(tunnel: Tunnel, piece: TunnelPiece, show: str) -> tuple[str, ...]:
    span = piece.span
    ends = "; ".join(
        f"{name} {length_text(end.height_mm, show)} high, {length_text(end.width_mm, show)} wide"
        for name, end in zip(span.names, (span.behind, span.ahead), strict=True)
    )
    run_out = length_text(tunnel.spec.run_out_mm, show)
    return (
        f"{tunnel_form_words(tunnel).capitalize()}. Inside, tube side: {ends}; "
        f"{length_text(span.ahead_mm - span.behind_mm, show)} long.",
        f"Run-out {run_out} at each end of the tunnel and below the lowest cut-off.",
        SCRIBE_NOTE,
        TUNNEL_BEND_RULE,
        folded_words(tunnel),
    )


def _remarks(laid: TunnelLaid, show: str) -> tuple[str, ...]:
    return (*tunnel_warnings(laid, show), FRAME, RECEIVING)


def _step_plate(job: JobFacts, tunnel: Tunnel, plate: StepPlate) -> Plate:
    outline = plate.outline
    crown = outline[: plate.corners[1] + 1]
    top = crown[np.argmax(crown[:, 1])]
    centre = np.array([[0.0, outline[plate.corners[2] :, 1].max()], [0.0, float(top[1])]])
    corners = np.array(plate.corners)
    return Plate(
        job,
        plate.name,
        "JOINS TWO PIECES OF THE TUNNEL",
        "SEEN FROM THE REAR",
        f"{tunnel.sheet.name}, {thickness_text(tunnel.sheet.thickness_mm, job.show)}",
        (_outline(job, outline, corners), _ruled(Meaning.CENTRE, centre)),
        outline,
        (PlateNote("UP", top - [0.0, 8.0]),),
        facts=(
            f"Stands {length_text(plate.at_mm, job.show)} ahead of the tunnel's rear end, between "
            "the two pieces: each ends half a thickness short of there.",
            "Its outer edge is flush with the larger piece's outside, its inner edge with the "
            "smaller one's inside. Legs go as low as the shorter piece's: trim with it.",
        ),
        legend=((_edge(job), _edge_words(job)), (Meaning.CENTRE, "centre line")),
        remarks=(FRAME, RECEIVING),
        no_cut=None if job.size_proved else "SIZE NOT TAPED",
        top=np.array([0.0, 1.0]),
    )
