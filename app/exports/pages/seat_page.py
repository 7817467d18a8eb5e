"""The seat face on paper: its map, where it fits full size; templates of face and line."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely

from app.exports.drawing import Drawing, Line, Meaning, Page, Text, curved, together
from app.exports.drawing import straight as ruled
from app.exports.facts import JobFacts
from app.exports.pages.reduced_page import TEXT_MM, WIDE_MM, list_head, page_foot, reduced_page
from app.exports.pages.title import Cell, bars, paragraph, stacked
from app.exports.plate import Plate, PlateNote
from app.exports.words import CAUTION, proof_and_level, revision_words
from app.job import Seat
from app.units import angle_text, length_text, mm_text, upward_text
from geometry.arrays import BoolArray, FloatArray
from geometry.gauges import template_over
from geometry.mesh import TriMesh, section
from geometry.pattern import fitted_curve

LEVEL_MM = 0.1
_BARS_MM = 14.0
"""Room for the bars on either side of the map and below it."""

_LONGEST_BAR_MM = 101.6
_MAP_MM = (184.0, 150.0)
_NUMBER_MM = 16.0
_FIT_MM = 0.02
_SURE_MM = 0.2
_NO_CUT = "SIZE NOT TAPED"
_UNSEEN = (
    (Meaning.NO_DATA, "not scanned - filled by guess"),
    (Meaning.COPIED, "made from the other side"),
)
OnPage = Callable[[FloatArray], FloatArray]
_TOP = np.array([0.0, 1.0])


@dataclass(frozen=True, eq=False)
class SeatSheet:
    """What the page is made from.

    Attributes
    ----------
    job : JobFacts
    seat : Seat
    """

    job: JobFacts
    seat: Seat


def seat_pages(sheet: SeatSheet) -> list[Page]:
    """Return the page of the seat face: upright A4."""
    rows = paragraph(seat_sentences(sheet.seat, sheet.job.show), WIDE_MM, 2.9)
    legend = [
        "Full lines: the skin stands out of the plane, a line each 0.1 mm; "
        "broken lines: it lies in. Numbers are tenths of a millimetre, + out, - in. Thick: where "
        "face and wall would meet unrounded. Thin: where the flat ends.",
        *proof_and_level(sheet.job),
    ]
    head = list_head(f"SEAT FACE  {sheet.job.job}", revision_words(sheet.job))
    return [reduced_page(head, stacked([rows, _map(sheet)]), page_foot(legend, [CAUTION]))]


def seat_plates(sheet: SeatSheet) -> tuple[Plate, ...]:
    """Return the templates at full size: of the face, and over the line ahead of it."""
    return (_face_plate(sheet), _line_plate(sheet))


def seat_sentences(seat: Seat, show: str) -> list[str]:
    """Return what is told of a seat face, a sentence each."""
    plane, choice = seat.plane, seat.choice
    wide, tall = np.ptp(plane.flat(plane.corner), axis=0)
    told = []
    if choice.held is not None:
        told.append("HELD: plane and edge are the job's own numbers. " + moved_words(seat, show))
    told.append(
        f"Leans {angle_text(plane.lean_rad)} ahead of upright, as the tank stands; "
        f"{length_text(float(wide), show)} across, {length_text(float(tall), show)} up the face."
    )
    if seat.face is not None:
        told.append(
            f"Flat within {mm_text(seat.face.flatness_mm, 1)}, noise taken off; yours may show "
            f"{mm_text(choice.gap_mm, 1)} between face and seat."
        )
        if seat.face.flatness_mm > choice.gap_mm:
            told.append(
                "It is out of flat by more than that: dress it, or let the seat take it up."
            )
    told.append(
        f"The line the seat's lip follows lies {length_text(choice.line_ahead_mm, show)} ahead of "
        f"the face, level with it. Both outlines are sure to {upward_text(_SURE_MM, show)} of the "
        "scan where it is clean; where the flat fades into its round is seen to 1 mm at best."
    )
    if seat.guessed:
        told.append(f"Nobody said which way is {' and '.join(seat.guessed)}: guessed.")
    if seat.line_filled.any():
        told.append("NOT SCANNED - FILLED BY GUESS: part of the line. Check it on the tank.")
    if seat.line_copied.any():
        told.append("MADE FROM THE OTHER SIDE: part of the line.")
    return told


def moved_words(seat: Seat, show: str) -> str:
    """Return what the skin's own face does against the one held."""
    if seat.moved is None:
        return "The skin has no flat there any more."
    way = "out" if seat.moved.out_mm > 0.0 else "in"
    told = (
        f"The skin's own face lies {length_text(abs(seat.moved.out_mm), show)} {way} in its "
        f"middle, turned by {angle_text(seat.moved.tilt_rad, 2)}, its edge off by up to "
        f"{length_text(seat.moved.edge_mm, show)}."
    )
    return told if seat.has_moved else "The skin's own face still lies there."


def _map(sheet: SeatSheet) -> Cell:
    """Return the face seen from behind with levels and numbers, its reduction told."""
    plane = sheet.seat.plane
    outline = plane.flat(plane.corner)
    low, high = outline.min(axis=0), outline.max(axis=0)
    room = np.array(_MAP_MM) - [2.0 * _BARS_MM, _BARS_MM]
    scale = float(min(1.0, *(room / (high - low))))
    middle = (low + high) / 2.0
    at = np.array([_MAP_MM[0] / 2.0 + 3.0, -8.0 - scale * (high[1] - low[1]) / 2.0])

    def on_page(points: FloatArray) -> FloatArray:
        return np.asarray((points - middle) * scale + at)

    lines = [
        Line(Meaning.NET, on_page(outline[:-1]), closed=True),
        Line(Meaning.SCRIBE, on_page(plane.flat(plane.edge)[:-1]), closed=True),
        Line(Meaning.TANK_CENTRE, on_page(np.array([[0.0, low[1] - 4.0], [0.0, high[1] + 4.0]]))),
    ]
    words = "Seen from behind, up is up"
    is_full = scale == 1.0
    size = (
        "full size at 100 %: measure the bars"
        if is_full
        else f"NOT FULL SIZE, 1 : {1.0 / scale:.2f}"
    )
    texts = [Text(f"{words}; {size}", (0.0, -3.0), TEXT_MM, bold=True)]
    if sheet.seat.face is not None:
        levels, numbers = _heights(sheet.seat, on_page)
        lines += levels
        texts += numbers
    drawn, deep = Drawing(tuple(lines), tuple(texts)), 12.0 + scale * float(high[1] - low[1])
    if not is_full:
        return Cell(drawn, deep)
    return Cell(together([drawn, *_bars_beside(deep)]), max(deep, _LONGEST_BAR_MM) + _BARS_MM)


def _bars_beside(deep_mm: float) -> tuple[Drawing, Drawing]:
    """Return the bars a map at full size is measured by: upright beside it, level below it."""
    upright = bars(vertical=True).moved(4.0, -8.0 - _LONGEST_BAR_MM)
    below = max(deep_mm, 8.0 + _LONGEST_BAR_MM)
    return upright, bars(vertical=False).moved(_BARS_MM, -below - 8.0)


def _heights(seat: Seat, on_page: OnPage) -> tuple[list[Line], list[Text]]:
    """Return lines of one height each 0.1 mm, and heights in numbers."""
    face = seat.face
    if face is None:
        return [], []
    height = _at_vertices(face.skin, face.off_mm)
    flat = seat.plane.flat(face.skin.vertices)
    field = TriMesh(np.column_stack([flat, height]), face.skin.faces)
    steps = np.arange(np.floor(height.min() / LEVEL_MM), np.ceil(height.max() / LEVEL_MM) + 1.0)
    lines = []
    for step in steps.tolist():
        if step == 0.0:
            continue
        meaning = Meaning.STRETCH_CONTOUR if step > 0.0 else Meaning.SHRINK_CONTOUR
        level = np.array([0.0, 0.0, step * LEVEL_MM + 1e-9])
        for part in section(field, level, np.array([0.0, 0.0, 1.0])):
            lines.append(Line(meaning, on_page(part[:, :2])))
    return lines, _numbers(flat, height, shapely.Polygon(seat.plane.flat(seat.plane.edge)), on_page)


def _at_vertices(skin: TriMesh, of_face: FloatArray) -> FloatArray:
    """Return the mean over the faces at each vertex."""
    total, count = np.zeros(len(skin.vertices)), np.zeros(len(skin.vertices))
    for corner in range(3):
        np.add.at(total, skin.faces[:, corner], of_face)
        np.add.at(count, skin.faces[:, corner], 1.0)
    return np.asarray(total / np.maximum(count, 1.0))


def _numbers(
    flat: FloatArray, height: FloatArray, shape: shapely.Polygon, on_page: OnPage
) -> list[Text]:
    """Return heights in tenths of a millimetre, on a square grid within the flat."""
    inner = shape.buffer(-3.0)
    low, high = flat.min(axis=0), flat.max(axis=0)
    texts = []
    for x in np.arange(np.ceil(low[0] / _NUMBER_MM), high[0] / _NUMBER_MM) * _NUMBER_MM:
        for y in np.arange(np.ceil(low[1] / _NUMBER_MM), high[1] / _NUMBER_MM) * _NUMBER_MM:
            place = np.array([x, y])
            if not inner.contains(shapely.Point(place)):
                continue
            tenths = round(float(height[np.linalg.norm(flat - place, axis=1).argmin()]) * 10.0)
            across, up = on_page(place[None])[0]
            said = f"{tenths:+d}" if tenths else "0"
            texts.append(Text(said, (across, up - 1.2), TEXT_MM, "middle", masked=True))
    return texts


def _face_plate(sheet: SeatSheet) -> Plate:
    plane, job = sheet.seat.plane, sheet.job
    outline = plane.flat(plane.corner)[:-1]
    low, high = float(outline[:, 1].min()), float(outline[:, 1].max())
    lines = [
        _outline(outline, job),
        Line(Meaning.SCRIBE, plane.flat(plane.edge)[:-1], closed=True),
        _upright(low, high),
    ]
    wide = float(np.ptp(outline[:, 0]))
    middle = (low + high) / 2.0
    notes = [
        PlateNote("LEFT", np.array([-wide / 4.0, middle]), 4.0),
        PlateNote("RIGHT", np.array([wide / 4.0, middle]), 4.0),
    ]
    return Plate(
        job=job,
        name="seat face template",
        makes="LIES ON THE SEAT FACE: ITS EDGE IS WHERE FACE AND WALL MEET, UNROUNDED",
        face="MARKED FACE LOOKS BACK",
        material="Card, ply or sheet",
        lines=tuple(lines),
        outline=outline,
        notes=tuple(notes),
        facts=tuple(seat_sentences(sheet.seat, job.show)),
        legend=(
            _edge_legend(job),
            (Meaning.SCRIBE, "where the flat ends"),
            (Meaning.TANK_CENTRE, "centre of the tank"),
        ),
        remarks=_remarks(sheet.seat),
        no_cut=None if job.size_proved else _NO_CUT,
        top=_TOP,
    )


def _line_plate(sheet: SeatSheet) -> Plate:
    seat, job = sheet.seat, sheet.job
    outline = template_over(seat.line, seat.choice.board_mm)
    crown = float(np.interp(0.0, *_by_height(seat.line)))
    lines = [_outline(outline, job), _upright(crown, crown + seat.choice.board_mm)]
    lines += [Line(Meaning.NO_DATA, run) for run in _runs(seat.line, seat.line_filled)]
    lines += [Line(Meaning.COPIED, run) for run in _runs(seat.line, seat.line_copied)]
    drawn = {line.meaning for line in lines}
    unseen = [row for row in _UNSEEN if row[0] in drawn]
    side = float(np.ptp(seat.line[:, 0])) / 2.0 + seat.choice.board_mm / 2.0
    foot = float(seat.line[[0, -1], 1].max()) + 12.0
    notes = [
        PlateNote("LEFT", np.array([-side, foot]), 3.0),
        PlateNote("RIGHT", np.array([side, foot]), 3.0),
    ]
    return Plate(
        job=job,
        name="seat line template",
        makes=f"GOES OVER THE TANK, {length_text(seat.choice.line_ahead_mm, job.show).upper()} "
        "AHEAD OF THE SEAT FACE, LEVEL WITH IT",
        face="MARKED FACE LOOKS BACK",
        material="Card, ply or sheet",
        lines=tuple(lines),
        outline=outline,
        notes=tuple(notes),
        facts=(
            "Its hollow edge is the line the seat's lip follows, on the outside as scanned.",
            *seat_sentences(seat, job.show),
        ),
        legend=(_edge_legend(job), (Meaning.TANK_CENTRE, "centre of the tank"), *unseen),
        remarks=_remarks(seat),
        no_cut=None if job.size_proved else _NO_CUT,
        top=_TOP,
    )


def _outline(points: FloatArray, job: JobFacts) -> Line:
    """Return a template's outline as few arcs, within 0.02 mm of its points."""
    fit = fitted_curve(points, closed=True, kind="arcs", tolerance_mm=_FIT_MM)
    return curved(Meaning.CUT if job.size_proved else Meaning.NET, fit.curve)


def _edge_legend(job: JobFacts) -> tuple[Meaning, str]:
    if job.size_proved:
        return (Meaning.CUT, "line to cut")
    return (Meaning.NET, "edge, size not taped")


def _upright(low: float, high: float) -> Line:
    return ruled(0.0, low + 2.0, 0.0, high - 2.0, Meaning.TANK_CENTRE)


def _by_height(line: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the upper part of a line, in order across."""
    upper = line[line[:, 1] > line[:, 1].mean()]
    order = np.argsort(upper[:, 0])
    return upper[order, 0], upper[order, 1]


def _runs(line: FloatArray, marked: BoolArray) -> list[FloatArray]:
    """Return the stretches of a line that are marked."""
    padded = np.concatenate([[False], marked, [False]])
    starts = np.flatnonzero(padded[1:] & ~padded[:-1])
    stops = np.flatnonzero(~padded[1:] & padded[:-1])
    pairs = zip(starts.tolist(), stops.tolist(), strict=True)
    return [line[start:stop] for start, stop in pairs if stop - start > 1]


def _remarks(seat: Seat) -> tuple[str, ...]:
    told = []
    if seat.line_filled.any():
        told.append("NOT SCANNED - FILLED BY GUESS: part of the line.")
    if seat.line_copied.any():
        told.append("MADE FROM THE OTHER SIDE: part of the line.")
    if seat.has_moved:
        told.append("The skin has moved off the face held: see the seat page.")
    return tuple(told)
