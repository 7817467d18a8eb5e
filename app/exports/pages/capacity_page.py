"""What a tank holds on one page: litres and gallons, low points, what stays, the dip chart."""

from dataclasses import dataclass

import numpy as np

from app.exports.drawing import (
    Drawing,
    Line,
    Meaning,
    Page,
    Text,
    straight,
    together,
)
from app.exports.facts import JobFacts, Show
from app.exports.pages.cautions import DEFER, RECEIVING, WELDING
from app.exports.pages.reduced_page import (
    TEXT_MM,
    WIDE_MM,
    page_foot,
    room_mm,
    ruled_head,
    titled_pages,
)
from app.exports.pages.title import Cell, paragraph, stacked
from app.exports.words import CAUTION, proof_and_level
from app.job import (
    Fuel,
    StanceFound,
    StoodTank,
    both_sides_words,
    capacity_words,
    part_head,
    part_words,
    side_words,
    stance_head,
    stands_words,
    stick_words,
    tap_words,
    told_air,
    told_pools,
    vent_helps,
)
from app.units import (
    LITRES_PER_IMPERIAL_GALLON,
    LITRES_PER_US_GALLON,
    decimal_inch_text,
    length_text,
    plain_number,
    volume_text,
)
from geometry.arrays import FloatArray
from geometry.mesh import section

_PLAN_MM = (86.0, 44.0)
_CHART_X_MM = 116.0
_COLUMNS_MM = (0.0, 13.0, 28.0, 43.0, 58.0)
_ROW_MM = 3.9
_CHART_ROWS = 24
_LETTER_MM = 1.6
_LIES_MM = (0.0, 22.0, 98.0, 161.0)
FUEL = (
    "Fuel and its vapour burn: drain, air and prove the tank free of vapour before any heat, and "
    "never try its capacity with petrol near a flame or a hot part. Leave room for fuel to grow "
    "warm: nobody fills to the brim. The vent must let air in and pressure out."
)


@dataclass(frozen=True, eq=False)
class CapacitySheet:
    """What the page is made from.

    Attributes
    ----------
    job : JobFacts
    fuel : Fuel
    stood : StoodTank
        For the plan.
    """

    job: JobFacts
    fuel: Fuel
    stood: StoodTank


def capacity_pages(sheet: CapacitySheet) -> list[Page]:
    """Return the page, upright A4; where fuel lies goes on a second one where it finds no room."""
    show = sheet.job.show
    foot, chart = fuel_foot(sheet.job), _chart(sheet.fuel, show)
    left = stacked([_plan(sheet), _words(sheet, _CHART_X_MM - 5.0)])
    upper = Cell(
        together([left.drawing, chart.drawing.moved(_CHART_X_MM, 0.0)]),
        max(left.height_mm, chart.height_mm) + 3.0,
    )
    lies = stacked([_where_fuel_lies(sheet.fuel, show), _part(sheet.fuel, show)])
    head = ruled_head(sheet.job, "CAPACITY")
    fits = upper.height_mm + lies.height_mm <= room_mm(head, foot)
    groups = [[upper, lies]] if fits else [[upper], [lies]]
    return titled_pages(sheet.job, ("CAPACITY", "WHERE FUEL LIES"), groups, foot)


def fuel_foot(job: JobFacts) -> Cell:
    """Return how the size is proved, how sure level is, and the cautions of fuel."""
    cautions = (FUEL, f"{RECEIVING} {WELDING}", f"{DEFER} {CAUTION}")
    return page_foot([*proof_and_level(job), *cautions])


def _words(sheet: CapacitySheet, width_mm: float) -> Cell:
    fuel, show = sheet.fuel, sheet.job.show
    cells = [
        paragraph(stands_words(sheet.stood), width_mm, TEXT_MM, bold=True),
        paragraph(capacity_words(fuel, show), width_mm, TEXT_MM),
    ]
    if fuel.taps:
        cells.append(paragraph([tap_words(tap, show) for tap in fuel.taps], width_mm, TEXT_MM))
    return stacked(cells)


def _where_fuel_lies(fuel: Fuel, show: Show) -> Cell:
    """Return the low points of every stance and what no tap lets out, a row each."""
    rows: list[tuple[bool, tuple[str, ...]]] = [
        (True, ("", "WHERE FUEL LIES, ahead of the rear end", "holds before it runs over", "deep"))
    ]
    for found in fuel.stances:
        rows.append((True, (stance_head(found), "", "", "")))
        for number, point in enumerate(found.points, start=1):
            runs = point.runs_over_mm != float("inf")
            deep = length_text(point.runs_over_mm, show, decimals=0) if runs else "all runs there"
            rows.append(
                (
                    False,
                    (
                        f"low point {number}",
                        _place(point.place, show),
                        volume_text(point.holds_mm3, show),
                        deep,
                    ),
                )
            )
        for pool in told_pools(found) if fuel.taps else ():
            row = ("taps leave", _place(pool.place, show), volume_text(pool.volume_mm3, show))
            rows.append((False, (*row, both_sides_words(pool))))
        rows += [(False, row) for row in _air_rows(found, show)]
    texts = [
        Text(word, (x, -_ROW_MM * (number + 1) + 1.0), TEXT_MM, bold=bold)
        for number, (bold, row) in enumerate(rows)
        for word, x in zip(row, _LIES_MM, strict=True)
        if word
    ]
    rules = tuple(
        straight(0.0, -_ROW_MM * n, WIDE_MM, -_ROW_MM * n, Meaning.GRID)
        for n in range(1, len(rows) + 1)
    )
    return Cell(Drawing(rules, tuple(texts)), _ROW_MM * len(rows) + 2.0)


def _air_rows(found: StanceFound, show: Show) -> list[tuple[str, ...]]:
    """Return what stays of air while it is filled, and what a vent would let out of it."""
    rows: list[tuple[str, ...]] = []
    for pocket in told_air(found):
        where = _place(pocket.place, show)
        rows.append(("air stays", where, volume_text(pocket.volume_mm3, show), ""))
        if vent_helps(pocket):
            let_out = volume_text(pocket.ventable_mm3, show)
            rows.append(("VENT HERE", "lets out of that", let_out, ""))
    return rows


def _part(fuel: Fuel, show: Show) -> Cell:
    """Return how the part filling asked for stands."""
    if fuel.part is None:
        return stacked([])
    head = paragraph([part_head(fuel.part, show)], WIDE_MM, TEXT_MM, bold=True)
    return stacked([head, paragraph(part_words(fuel.part, show), WIDE_MM, TEXT_MM)])


def _place(place: FloatArray, show: Show) -> str:
    return f"{length_text(float(place[0]), show, decimals=0)}, {side_words(place, show)}"


def _plan(sheet: CapacitySheet) -> Cell:
    """Return the tank from above, FRONT to the right, its low points and taps numbered."""
    low, high = (f(sheet.stood.outside.vertices, axis=0) for f in (np.min, np.max))
    scale = min(_PLAN_MM[0] / (high[0] - low[0]), _PLAN_MM[1] / (high[1] - low[1]))

    def placed(points: FloatArray) -> FloatArray:
        return np.asarray((points[..., :2] - [low[0], high[1]]) * scale)

    widest = section(
        sheet.stood.outside, np.array([0.0, 0.0, low[2] + 0.4 * (high[2] - low[2])]), np.eye(3)[2]
    )
    edges = [sheet.stood.outside.vertices[rim.vertices] for rim in sheet.fuel.rims]
    lines = [Line(Meaning.FRAME, placed(line)) for line in widest[:1]]
    lines += [Line(Meaning.GRID, placed(np.concatenate([edge, edge[:1]]))) for edge in edges]
    ends = placed(np.array([[low[0], 0.0], [high[0], 0.0]]))
    lines.append(Line(Meaning.TANK_CENTRE, ends))
    texts = [Text("FRONT", (float(ends[1, 0]) + 1.5, float(ends[1, 1]) - 1.2), TEXT_MM)]
    marks = [
        (str(number), point.place)
        for number, point in enumerate(sheet.fuel.stances[0].points, start=1)
    ]
    marks += [(tap.spec.name, tap.place) for tap in sheet.fuel.taps]
    marks.append(("stick", sheet.fuel.chart.foot))
    places = [(name, placed(place)) for name, place in marks]
    for _, (x, y) in places:
        lines += [straight(x - 1.2, y, x + 1.2, y), straight(x, y - 1.2, x, y + 1.2)]
    texts += _named(places)
    tall = float((high[1] - low[1]) * scale)
    drawing = Drawing(tuple(lines), tuple(texts)).moved(0.0, -2.0)
    return Cell(drawing, tall + 5.0)


def _in_each(volume_mm3: float) -> tuple[str, str, str]:
    """Return a volume in litres, US and imperial gallons."""
    litres = volume_mm3 / 1e6
    scales = (1.0, LITRES_PER_US_GALLON, LITRES_PER_IMPERIAL_GALLON)
    one, american, imperial = (f"{litres / scale:.2f}" for scale in scales)
    return one, american, imperial


def _named(places: list[tuple[str, FloatArray]]) -> list[Text]:
    """Return names beside their crosses, none over another or over a cross."""
    taken = [(x - 1.4, y - 1.4, x + 1.4, y + 1.4) for _, (x, y) in places]
    texts = []
    for name, (x, y) in places:
        wide = _LETTER_MM * len(name)
        tried = [
            (x + aside, y + up)
            for far in (0.0, 3.2, 6.4)
            for aside in (1.8, -1.8 - wide)
            for up in (-3.2 - far, 1.0 + far)
        ]
        boxes = [(left - 0.4, low - 0.8, left + wide, low + TEXT_MM + 0.4) for left, low in tried]
        free = [not any(_overlap(box, other) for other in taken) for box in boxes]
        at = free.index(True) if True in free else 0
        taken.append(boxes[at])
        texts.append(Text(name, tried[at], TEXT_MM, masked=True))
    return texts


def _overlap(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _chart(fuel: Fuel, show: Show) -> Cell:
    """Return the dip chart: wetted length of the stick, litres, US and imperial gallons."""
    chart = fuel.chart
    foot = f"at {plain_number(float(chart.foot[0]), 0)} mm ahead of the rear end, "
    side = "left" if chart.foot[1] >= 0.0 else "right"
    foot += f"{plain_number(abs(float(chart.foot[1])), 0)} mm {side}, on the level"
    wide = WIDE_MM - _CHART_X_MM
    title = stacked(
        [
            paragraph(["DIP CHART"], wide, 3.0, bold=True),
            paragraph([f"Stick {foot}.", *stick_words(fuel, show)], wide, TEXT_MM),
        ]
    )
    step = max(1, -(-len(chart.depth_mm) // _CHART_ROWS))
    kept = [*range(0, len(chart.depth_mm) - 1, step), len(chart.depth_mm) - 1]
    names = ("mm", "in", "litres", "US gal", "imp gal")
    rows = [names]
    for at in kept:
        depth, volume = float(chart.depth_mm[at]), float(chart.volume_mm3[at])
        inches = decimal_inch_text(depth).removesuffix(" in")
        rows.append((plain_number(depth, 1), inches, *_in_each(volume)))
    rows.append(("brim", "", *_in_each(fuel.held_mm3)))
    texts = [
        Text(word, (x + 11.0, -_ROW_MM * (number + 1) + 1.0), TEXT_MM, "end", bold=number == 0)
        for number, row in enumerate(rows)
        for word, x in zip(row, _COLUMNS_MM, strict=True)
    ]
    rules = tuple(
        straight(0.0, -_ROW_MM * n, wide - 4.0, -_ROW_MM * n, Meaning.GRID)
        for n in range(1, len(rows) + 1)
    )
    tall = _ROW_MM * len(rows)
    return stacked([title, Cell(together([Drawing(rules, tuple(texts))]), tall)])
