"""Discs, rings and sticks at full size: what filler, bosses and dip stick are cut from."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from app.exports.drawing import Line, Meaning, curved, straight
from app.exports.facts import JobFacts
from app.exports.pages import RECEIVING
from app.exports.plate import Plate, PlateNote, outermost
from app.job import Fitted, Fuel
from app.units import decimal_inch_text, length_text, mm_text, plain_number
from geometry.arrays import FloatArray
from geometry.pattern import circle_curve, fitted_curve
from geometry.tank import (
    BossSet,
    FillerSet,
    PlainTunnel,
    RecessBlank,
    Tunnel,
    bottom_opening,
)

_STICK_WIDE_MM = 25.0
_STICK_OVER_MM = 40.0
_AT_END_MM = 5.0
_BETWEEN_MM = 12.0
_TOLD_GUESS = 0.001
_ORIGIN = np.zeros(2)
_NAMED_AT_RAD = tuple(np.radians([35.0, 145.0, -145.0, -35.0]).tolist())
"""Where the circles of the recess have their numbers: a quarter each."""


def fitting_plates(job: JobFacts, fitted: Fitted) -> tuple[Plate, ...]:
    """Return what filler and bosses are cut from, each at full size."""
    plates: list[Plate] = []
    if fitted.filler is not None:
        plates.append(_marking_disc(job, fitted.filler))
        if fitted.filler.recess is not None:
            plates.append(_recess(job, fitted.filler, fitted.filler.recess))
        plates.append(_ring(job, fitted.filler))
    if fitted.old is not None and not fitted.old.runs_in:
        plates.append(_patch(job, fitted.old.patch_mm, fitted.old.crown_mm))
    if fitted.bosses:
        plates.append(_bosses(job, fitted.bosses))
    return tuple(plates)


def _edge(job: JobFacts) -> Meaning:
    return Meaning.CUT if job.size_proved else Meaning.NET


def _circle(meaning: Meaning, across_mm: float, centre: FloatArray = _ORIGIN) -> Line:
    return curved(meaning, circle_curve(centre, across_mm / 2.0))


def _rounded(meaning: Meaning, outline: FloatArray) -> Line:
    """Return a smooth closed line along a template's outline."""
    none = np.empty(0, np.int64)
    return curved(meaning, fitted_curve(outline, closed=True, kind="arcs", corners=none).curve)


def _cross(reach_mm: float, centre: FloatArray = _ORIGIN) -> tuple[Line, Line]:
    x, y = (float(value) for value in centre)
    return (
        straight(x - reach_mm, y, x + reach_mm, y, Meaning.CENTRE),
        straight(x, y - reach_mm, x, y + reach_mm, Meaning.CENTRE),
    )


def _plate(
    job: JobFacts,
    names: tuple[str, str],
    lines: Sequence[Line],
    notes: Sequence[PlateNote],
    facts: Sequence[str],
    *,
    material: str = "",
    front: FloatArray | None = None,
    outline: FloatArray | None = None,
) -> Plate:
    edge = _edge(job)
    if outline is None:
        outline = outermost(lines, edge)
    meanings = dict.fromkeys(line.meaning for line in lines)
    return Plate(
        job,
        names[0],
        names[1],
        "Either face",
        material or f"{job.alloy}, {mm_text(job.thickness_mm, 2)}",
        tuple(lines),
        outline,
        tuple(notes),
        facts=tuple(facts),
        legend=tuple((meaning, _LEGEND[meaning]) for meaning in meanings),
        remarks=(RECEIVING,),
        no_cut=None if job.size_proved else "SIZE NOT TAPED",
        front=front,
    )


_LEGEND = {
    Meaning.CUT: "cut",
    Meaning.NET: "edge, not to be cut from",
    Meaning.SCRIBE: "scribe, do not cut",
    Meaning.AFTER_FORMING: "cut after forming",
    Meaning.CENTRE: "centre line",
    Meaning.TANK_CENTRE: "centre line of the tank",
    Meaning.HOLE_CENTRE: "drill here",
    Meaning.STATION: "notch",
}


def _note(words: str, x: float, y: float) -> PlateNote:
    return PlateNote(words, np.array([x, y]))


def _marking_disc(job: JobFacts, filler: FillerSet) -> Plate:
    """Return a disc of card laid on the skin: its hole and circles are marked round."""
    spec = filler.spec
    across = f"{length_text(spec.cut_mm, job.show)} across"
    outer, hole = filler.lines[-1].laid, filler.lines[0].laid
    lines = [
        _rounded(_edge(job), outer),
        _rounded(Meaning.SCRIBE, hole),
        *_cross(spec.reach_mm / 2.0),
    ]
    plate = _plate(
        job,
        ("filler marking disc", "MARKS THE FILLER ON THE SKIN"),
        lines,
        [_note("FILLER", 3.0, 6.0)],
        [
            f"Hole in the skin {across}: CUT AFTER FORMING.",
            f"Centre {length_text(float(filler.seat.centre[0]), job.show)} ahead of the rear end.",
            "Its lines are as long as the skin is from the middle: press it down all round, FRONT "
            "ahead, and mark along it; seen from above they stand in circles.",
        ],
        material="Card or thin sheet",
        front=np.array([1.0, 0.0]),
    )
    return replace(plate, face="This face up")


def _recess(job: JobFacts, filler: FillerSet, recess: RecessBlank) -> Plate:
    spec = filler.spec
    half = recess.blank_mm / 2.0
    rings = (recess.lip_mm, recess.edge_mm, recess.wall_mm, recess.floor_mm)
    lines = [
        _circle(_edge(job), recess.blank_mm),
        *(_circle(Meaning.SCRIBE, across) for across in rings),
        _circle(Meaning.AFTER_FORMING, spec.hole_mm),
        *_cross(half),
    ]
    told = ("flange begins", "beaten edge begins", "wall begins", "floor ends")
    notes = [
        _note(str(number), *(across / 2.0 * np.array([np.cos(angle), np.sin(angle)])))
        for number, (across, angle) in enumerate(zip(rings, _NAMED_AT_RAD, strict=True), start=1)
    ]
    return _plate(
        job,
        ("filler recess blank", "FILLER RECESS"),
        lines,
        [*notes, _note("RECESS", 3.0, 6.0)],
        [
            f"Cup {length_text(spec.recess_mm, job.show)} across inside, its floor "
            f"{length_text(spec.depth_mm, job.show)} under the skin's outside, its flange flat "
            "under the skin; blank by equal area, nothing thinned.",
            *(
                f"Circle {number}: {name}, {length_text(across, job.show)} across."
                for number, (name, across) in enumerate(zip(told, rings, strict=True), start=1)
            ),
            f"Hole for the neck {length_text(spec.hole_mm, job.show)}: CUT AFTER FORMING.",
        ],
    )


def bottom_plate(
    job: JobFacts,
    edge: FloatArray,
    fitted: Fitted,
    tunnel: PlainTunnel | Tunnel | None,
    metal_mm: float,
) -> Plate | None:
    """Return where the bottom's holes lie, seen from below; None where nothing goes through it.

    Parameters
    ----------
    job : JobFacts
    edge : (k, 3) float, mm
        The open bottom edge, tank axes.
    fitted : Fitted
    tunnel : PlainTunnel, Tunnel or None
        The outsides of its legs are drawn.
    metal_mm : float
        A plain one's thickness.
    """
    bosses = [boss for boss in fitted.bosses if boss.spec.below]
    if not (bosses or tunnel is not None) or not len(edge):
        return None
    outline, lifts = _from_below(edge), float(np.ptp(edge[:, 2]))
    ends = np.array([[edge[:, 0].min(), 0.0], [edge[:, 0].max(), 0.0]])
    lines = [Line(Meaning.NET, outline, closed=True), Line(Meaning.TANK_CENTRE, ends)]
    notes, facts = [], []
    if tunnel is not None:
        legs = _legs_through(tunnel, outline, metal_mm)
        lines += [Line(Meaning.SCRIBE, leg) for leg in legs]
        facts += [_opening_words(legs, job.show)] if legs else []
    for boss in bosses:
        centre = _from_below(boss.centre[None])[0]
        lines += [_circle(Meaning.AFTER_FORMING, boss.hole_mm, centre), *_cross(18.0, centre)]
        notes.append(_note(boss.spec.name, float(centre[0]) + 6.0, float(centre[1]) + 12.0))
        facts.append(f"{boss.spec.name}: hole {length_text(boss.hole_mm, job.show)}.")
    facts.append(
        f"Drawn flat as it is seen from below; its edge rises and falls by "
        f"{length_text(lifts, job.show)}: mark holes by it, cut no bottom from it."
    )
    plate = _plate(
        job,
        ("bottom marks", "WHERE THE BOTTOM'S HOLES LIE, FROM BELOW"),
        lines,
        notes,
        facts,
        material="Card",
        front=np.array([1.0, 0.0]),
        outline=outline,
    )
    return replace(plate, face="Seen from below", no_cut="MARKS ONLY")


def _legs_through(
    tunnel: PlainTunnel | Tunnel, outline: FloatArray, metal_mm: float
) -> list[FloatArray]:
    """Return the outsides of the legs as they come through the bottom (k, 2), seen from below."""
    if isinstance(tunnel, Tunnel):
        lines = [_from_below(line) for line in bottom_opening(tunnel)]
    else:
        reach = np.array([outline[:, 0].min(), outline[:, 0].max()])
        halves = np.array([tunnel.rear_width_mm, tunnel.front_width_mm]) / 2.0 + metal_mm
        lines = [np.column_stack([reach, side * halves]) for side in (-1, 1)]
    bottom = shapely.make_valid(shapely.Polygon(outline))
    parts = [shapely.get_parts(shapely.intersection(shapely.LineString(x), bottom)) for x in lines]
    longest = [max(part, key=shapely.length) for part in parts if len(part)]
    return [shapely.get_coordinates(part) for part in longest]


def _opening_words(legs: Sequence[FloatArray], show: str) -> str:
    """Return how wide the opening for the tunnel is at both ends of the bottom."""
    places = np.concatenate(legs)
    ends = (places[:, 0].min(), places[:, 0].max())
    rear, front = (
        2.0 * float(np.abs(places[np.abs(places[:, 0] - end) < _AT_END_MM, 1]).max())
        for end in ends
    )
    return (
        f"Tunnel: its legs, metal counted, come through between the scribed lines, "
        f"{length_text(rear, show)} apart behind and {length_text(front, show)} ahead. Scribe it "
        "from the tunnel in its place before it is cut."
    )


def _from_below(points: FloatArray) -> FloatArray:
    """Return places of the tank as they lie seen from below, FRONT to the right."""
    return np.asarray(points[:, :2] * [1.0, -1.0])


def _ring(job: JobFacts, filler: FillerSet) -> Plate:
    spec = filler.spec
    lines = [_circle(_edge(job), spec.ring_mm), _circle(_edge(job), spec.hole_mm)]
    return _plate(
        job,
        ("filler ring", "FILLER RING"),
        [*lines, *_cross(spec.ring_mm / 2.0)],
        [],
        ["Thickness to suit the neck; turn or saw it, and try the cap before it is welded in."],
        material="Plate of the neck's own metal",
    )


def _patch(job: JobFacts, patch_mm: float, crown_mm: float) -> Plate:
    lines = [_circle(_edge(job), patch_mm), *_cross(patch_mm / 2.0)]
    return _plate(
        job,
        ("old filler patch", "BLANKS THE OLD FILLER HOLE"),
        lines,
        [_note("PATCH", 3.0, 6.0)],
        [f"Crown it {length_text(crown_mm, job.show)} in the middle; trim it to the hole."],
    )


def _bosses(job: JobFacts, bosses: Sequence[BossSet]) -> Plate:
    """Return a strip with every boss's disc, its drill and the hole it goes into."""
    lines: list[Line] = []
    notes: list[PlateNote] = []
    facts: list[str] = []
    x = 10.0
    tallest = max(boss.outside_mm for boss in bosses)
    for boss in bosses:
        x += boss.outside_mm / 2.0 + _BETWEEN_MM
        centre = np.array([x, 0.0])
        lines += [
            _circle(Meaning.SCRIBE, boss.outside_mm, centre),
            _circle(Meaning.SCRIBE, boss.hole_mm, centre),
            _circle(Meaning.AFTER_FORMING, boss.thread.drill_mm, centre),
            *_cross(boss.outside_mm / 2.0 + 3.0, centre),
        ]
        notes.append(_note(boss.spec.name, x, tallest / 2.0 + 10.0))
        drill = f"drill {mm_text(boss.thread.drill_mm, 2)}"
        facts.append(
            f"{boss.spec.name}: {boss.thread.name}, boss {length_text(boss.outside_mm, job.show)}, "
            f"spigot and hole {length_text(boss.hole_mm, job.show)}, {drill}."
        )
        x += boss.outside_mm / 2.0 + _BETWEEN_MM
    high = tallest / 2.0 + 18.0
    low = -tallest / 2.0 - 55.0
    x = max(x + 10.0, 90.0)
    rim = np.array([[0.0, low], [x, low], [x, high], [0.0, high]])
    return _plate(
        job,
        ("bosses", "BOSSES, EACH AS IT IS SEEN FROM OUTSIDE"),
        [Line(_edge(job), rim, closed=True), *lines],
        notes,
        facts,
        material="Card, to mark bar and skin by",
    )


def dip_stick_plate(job: JobFacts, fuel: Fuel) -> Plate:
    """Return the dip stick: a notch for every litre, from the floor up."""
    tall = float(fuel.chart.depth_mm[-1]) + _STICK_OVER_MM
    wide = _STICK_WIDE_MM
    lines = [
        Line(
            _edge(job),
            np.array([[0.0, 0.0], [tall, 0.0], [tall, wide], [0.0, wide]]),
            closed=True,
        )
    ]
    notes = [_note("FOOT", 1.0, wide / 2.0), _note("HELD HERE", tall - 25.0, wide / 2.0)]
    last = -np.inf
    for litres, notch in enumerate(fuel.notches_mm, start=1):
        lines.append(straight(notch, 0.0, notch, wide / 3.0, Meaning.STATION))
        if notch - last > 7.0:
            notes.append(_note(plain_number(float(litres), 0), notch - 1.5, wide / 2.0))
            last = notch
    foot = fuel.chart.foot
    side = "left" if foot[1] >= 0.0 else "right"
    plate = _plate(
        job,
        ("dip stick", "DIP STICK, LITRES"),
        lines,
        notes,
        [
            "The end marked FOOT stands on the floor; write the litres on this face.",
            f"Its foot stands {length_text(float(foot[0]), job.show)} ahead of the rear end, "
            f"{length_text(abs(float(foot[1])), job.show)} {side}, on the level.",
            f"One litre from the floor: {decimal_inch_text(fuel.notches_mm[0])}."
            if fuel.notches_mm
            else "It holds less than a litre.",
            *(
                ["Part of the skin was NOT SCANNED, FILLED BY GUESS: the litres hang on it."]
                if fuel.guessed_share > _TOLD_GUESS
                else []
            ),
        ],
        material="Wood or plastic that sparks nothing",
    )
    return replace(plate, face="This face up", top=np.array([1.0, 0.0]))
