"""Flanges in the shaper's words: each run in sentences, each station in short entries."""

import math

from app.job.rest.flanges_step import FlangeMade
from app.units import (
    angle_text,
    counted,
    elongation_text,
    length_text,
    mm_text,
    plain_number,
    signed_change_text,
)
from geometry.metal import (
    FlangeVerdict,
    SheetMetal,
    flange_guide,
    least_radius_mm,
)
from geometry.tank import FlangeStation

VERDICT_WORDS: dict[FlangeVerdict, str] = {
    "straight": "fold only",
    "shrink": "gather",
    "within": "as it is",
    "anneal": "anneal first",
    "beyond": "TOO TIGHT",
    "not known": "not known",
}

_HANDS_APART = 0.005
"""Hands whose edges change by this share apart, or more, are told to differ; common practice."""

_LEAST_SURE = 3.0
_MM_PER_INCH = 25.4
_WIDE_MM = 250.0
_ONE_WAY = 0.1
"""A bend with less of it in skin or lip than this share of the other is told by one radius."""

_NEAR_MM = 100.0
"""A radius below this is told to a tenth: the change hangs on it."""

_FAR_MM = 5000.0
"""A radius beyond this is told as nearly straight."""


def flange_run_words(made: FlangeMade, sheet_mm: float, show: str = "mm") -> list[str]:
    """Return what a flange is and what it takes, a sentence each."""
    told = [_what_words(made, sheet_mm, show)]
    for (hand, length), (_, gain) in zip(made.run.lengths_mm, made.run.gains_mm, strict=True):
        whose = f"{hand.capitalize()} hand" if hand else "In all"
        way = "gathers" if gain < 0.0 else "stretches"
        told.append(
            f"{whose}: root line {length_text(length, show)}; the edge {way} "
            f"{length_text(abs(gain), show)} in all."
        )
    cases = {station.case for station in made.run.stations} - {"straight"}
    told += [_CASES[case] for case in ("lip off a wall", "flat edge tipped") if case in cases]
    told.append(_sure_words(made))
    apart = flange_hands_apart(made)
    if apart:
        told.append(f"Hands differ at {counted(len(apart), 'station')}: {_numbers(apart)}.")
    if made.run.mirrored:
        told.append(
            f"The line of the {made.run.mirrored} hand is the image of the other, on its own skin."
        )
    if made.more_lips:
        told.append(
            f"LOOK: the open edge has {counted(made.more_lips, 'further lip')} beside this one; "
            "they are not in this sheet."
        )
    if any(made.guessed):
        told.append(
            f"NOT SCANNED beside {counted(sum(made.guessed), 'station')}: filled by guess there, "
            "marked with a ?."
        )
    if made.twice:
        edges = "; ".join(f"{panel} {edge}" for panel, edge in made.twice)
        told.append(
            f"COUNTED TWICE: the lip stays in the panel, yet a flange is left on {edges} as well. "
            "Leave it out there, or cut the lip off."
        )
    return told


def _sure_words(made: FlangeMade) -> str:
    worst = max(made.run.stations, key=lambda station: station.spread)
    spreads = sorted(station.spread for station in made.run.stations)
    usual = max(100.0 * spreads[len(spreads) // 2], 0.1)
    return (
        f"By the scan's scatter the changes are sure to about {usual:.1f} of 100, at worst "
        f"{max(100.0 * worst.spread, usual):.1f} at {_numbers([worst])}."
    )


_CASES = {
    "lip off a wall": (
        "Lip turned off a wall: the edge gathers (or stretches) width over radius for each length "
        "of ROOT, less what a leaning wall gives; the column is of the CUT EDGE."
    ),
    "flat edge tipped": (
        "Flat edge tipped up: h / (R - h) along a hollow line, h / (R + h) along a round one, for "
        "each length of CUT EDGE."
    ),
}


def _what_words(made: FlangeMade, sheet_mm: float, show: str) -> str:
    choice = made.choice
    if made.is_kept_lip and made.lip is not None:
        turns = [abs(float(each)) for each in made.lip.turn_rad]
        wide = float(sorted(made.lip.width_mm.tolist())[len(made.lip.width_mm) // 2])
        return (
            f"The lip that is in the scan, about {length_text(wide, show)} wide, turned "
            f"{angle_text(min(turns), 0)} to {angle_text(max(turns), 0)}: it stays part of the "
            "panel and nothing is added; the sheet tells what it takes to form it."
        )
    turn = "level" if choice.lies == "level" else f"turned {angle_text(choice.turn_rad, 0)}"
    flats = [station.flat_mm for station in made.run.stations]
    flat = f"{mm_text(min(flats))}"
    if max(flats) - min(flats) > 0.1:
        flat += f" to {mm_text(max(flats))}"
    cut = "; the lip in the scan is cut off at this line" if made.lip is not None else ""
    return (
        f"{length_text(choice.width_mm, show)} wide from the outside of the bend, {turn} to the "
        f"{choice.to}, inside radius {mm_text(choice.root_radius_mm)}, sheet "
        f"{mm_text(sheet_mm, 2)}: "
        f"leave {flat} of flat metal beyond the bend line{cut}."
    )


def flange_metal_words(
    made: FlangeMade, metal: SheetMetal | None, sheet_mm: float, show: str = "mm"
) -> str:
    """Return what the metal's figures say to a flange: a guide."""
    figure = None if metal is None else metal.elongation_at(sheet_mm)
    if metal is None or figure is None:
        return "No figure is known for this metal at this thickness: the last column is empty."
    soft = metal.annealed_at(sheet_mm)
    most = made.run.most_stretched
    told = (
        f"{metal.name}, {mm_text(sheet_mm, 2)}: a tensile test must show "
        f"{elongation_text(figure.value, show)} as bought"
    )
    if soft is not None:
        told += f", {elongation_text(soft.value, show)} annealed"
    case = most.case if most.stretch > 1.0 and most.case != "straight" else "lip off a wall"
    wide = most.width_mm if case == "lip off a wall" else most.flat_mm
    least = least_radius_mm(wide, figure.value, case, min(most.turn_rad, math.pi / 2.0))
    told += (
        f". Guide only. A stretch flange this wide wants a radius of {length_text(least, show)} "
        "or more as bought"
    )
    if soft is not None:
        eased = least_radius_mm(wide, soft.value, case, min(most.turn_rad, math.pi / 2.0))
        told += f", {length_text(eased, show)} annealed"
    return told + "."


def flange_warning_words(made: FlangeMade, metal: SheetMetal | None, sheet_mm: float) -> list[str]:
    """Return where a flange stretches more than the metal gives, as bought or at all."""
    found: dict[str, list[FlangeStation]] = {"anneal": [], "beyond": []}
    for station in made.run.stations:
        verdict = flange_guide(station.stretch, metal, sheet_mm).verdict
        if verdict in found:
            found[verdict].append(station)
    told = []
    if found["beyond"]:
        told.append(
            f"TOO TIGHT even annealed, by the metal's figures: {_numbers(found['beyond'])}. Make "
            "the flange narrower there, cut it, or weld in a strip."
        )
    if found["anneal"]:
        told.append(
            f"Tighter than the metal gives as bought: {_numbers(found['anneal'])}. Anneal first, "
            "and stretch in passes."
        )
    return told


def flange_hands_apart(made: FlangeMade) -> list[FlangeStation]:
    """Return the stations of the left hand whose right hand changes otherwise, beyond scatter."""
    right = {station.number: station for station in made.run.of_hand("right")}
    found = []
    for station in made.run.of_hand("left"):
        other = right.get(station.number)
        if other is None or other is station:
            continue
        apart = abs(station.stretch - other.stretch)
        if apart > max(_HANDS_APART, _LEAST_SURE * math.hypot(station.spread, other.spread)):
            found.append(station)
    return found


def _numbers(stations: list[FlangeStation]) -> str:
    """Return stations by hand and number.

    >>> _numbers([])
    ''
    """
    return ", ".join(f"{station.hand} {station.number}".strip() for station in stations)


def flange_entries(
    station: FlangeStation, metal: SheetMetal | None, sheet_mm: float, show: str = "mm"
) -> tuple[str, str, str, str, str]:
    """Return a station's turn, radius, change of cut edge, lip thickness and the metal's say."""
    return (
        angle_text(station.turn_rad, 0),
        _radius(station, show),
        _change(station.stretch - 1.0, show),
        f"{station.lip_thickness * sheet_mm:.2f}",
        VERDICT_WORDS[flange_guide(station.stretch, metal, sheet_mm).verdict],
    )


def flange_bends(station: FlangeStation, show: str = "mm") -> str:
    """Return both radii of a station whose line bends in the skin and across it; "" of others."""
    bends = (station.bend_in_skin, station.bend_in_lip)
    if station.case == "straight" or min(map(abs, bends)) < _ONE_WAY * max(map(abs, bends)):
        return ""
    skin, lip = (_bend_words(bend, show) for bend in bends)
    return f"skin {skin}, lip {lip}"


def _bend_words(bend: float, show: str) -> str:
    """Return the radius of a bend in one unit, and which way it bends.

    >>> _bend_words(-1 / 44, "mm"), _bend_words(1 / 50.8, "in"), _bend_words(1e-5, "mm")
    ('44 round', '2.00 hollow', 'straight')
    """
    if abs(bend) * _FAR_MM < 1.0:
        return "straight"
    radius = 1.0 / abs(bend)
    number = (
        plain_number(radius, 1 if radius < _NEAR_MM else 0)
        if show == "mm"
        else f"{radius / _MM_PER_INCH:.2f}"
    )
    return f"{number} {'hollow' if bend > 0.0 else 'round'}"


def _radius(station: FlangeStation, show: str = "mm") -> str:
    """Return a station's radius, mm and inches, with the side its middle lies on."""
    if not math.isfinite(station.radius_mm) or station.radius_mm > _FAR_MM:
        return "straight"
    both = _both(station.radius_mm, show, 1 if station.radius_mm < _WIDE_MM else 0)
    return f"{both} {_CURVES[station.curve]}".strip()


_CURVES = {"inside": "inner", "outside": "outer", "concave": "hollow", "convex": "round", "": ""}


def flange_along(length_mm: float, show: str = "mm") -> str:
    """Return a length as bare numbers, the other unit in brackets.

    >>> flange_along(152.4), flange_along(152.4, "in")
    ('152 (6.00)', '6.00 (152)')
    """
    return _both(length_mm, show, 2)


def _both(length_mm: float, show: str, decimals: int) -> str:
    metric, inch = plain_number(length_mm, 0), f"{length_mm / _MM_PER_INCH:.{decimals}f}"
    return f"{metric} ({inch})" if show == "mm" else f"{inch} ({metric})"


def _change(change: float, show: str = "mm") -> str:
    """Return a change per 100 mm and in inches per foot, as bare numbers.

    >>> _change(-0.104), _change(0.0)
    ('\u221210.4 / \u22121.25', '0 / 0')
    """
    metric, inch = signed_change_text(change), signed_change_text(change, "in")
    return f"{metric} / {inch}" if show == "mm" else f"{inch} / {metric}"
