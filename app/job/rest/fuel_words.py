"""What is told of capacity and fittings, in the shaper's words; window, paper and command alike."""

from collections.abc import Iterable

from app.job.rest.fittings_step import Fitted, OldFiller
from app.job.rest.fuel_step import Fuel, StanceFound, TapFound
from app.job.rest.part_words import leant_words, part_head, part_words
from app.job.rest.place_words import place_words
from app.job.rest.stood import StoodTank
from app.units import (
    angle_text,
    counted,
    decimal_inch_text,
    length_text,
    mass_text,
    mm_text,
    volume_text,
)
from geometry.tank import (
    AirPocket,
    BossSet,
    FillerSet,
    LowPoint,
    Thread,
    Trapped,
)

PETROL_KG_PER_LITRE = (0.720, 0.775)
"""Petrol at 15 degrees C. Source: [en228]."""

STANDS_UP_LIMIT_MM = 15.0
"""By how much a cap's rear edge may stand over the skin behind it: an older European wording for
two-wheelers, an example; the local rule counts."""

_MM3_PER_LITRE = 1e6
_TOLD_GUESS = 0.001
_TO_A_SIDE_MM = 10.0
_LEAST_TOLD_MM3 = 5e3


def stands_words(stood: StoodTank) -> list[str]:
    """Return what is not sure of how the tank stands, a sentence each."""
    words = []
    if stood.guessed:
        told = " AND ".join(name.upper() for name in stood.guessed)
        words.append(f"{told} GUESSED: places, low points and stances hang on it. Say which way.")
    if not stood.has_plane:
        words.append("No centre plane: the middle of the width stands for it.")
    return words


def capacity_words(fuel: Fuel, show: str = "mm") -> list[str]:
    """Return how much a tank holds and what was counted, a sentence each."""
    words = [f"Holds {volume_text(fuel.held_mm3, show)} to the brim."]
    if fuel.to_filler_mm3 is not None:
        to_filler = min(fuel.to_filler_mm3, fuel.held_mm3)
        words.append(
            f"Up to the filler's lower edge, on the level: {volume_text(to_filler, show)}."
        )
    light, heavy = (share * fuel.held_mm3 / _MM3_PER_LITRE for share in PETROL_KG_PER_LITRE)
    words.append(f"That much petrol weighs {mass_text(light, show)} to {mass_text(heavy, show)}.")
    tunnel = fuel.space.tunnel_mm3
    taken = f"; the tunnel takes {volume_text(tunnel, show)}" if tunnel > 0.0 else ""
    words.append(
        f"Counted inside the metal, {mm_text(fuel.wall_mm, 2)} ({decimal_inch_text(fuel.wall_mm)}) "
        f"under what was scanned{taken}."
    )
    if fuel.taken_mm3 > 0.0:
        words.append(f"Baffles and the filler's recess take {volume_text(fuel.taken_mm3, show)}.")
    words += [
        f"Edge {rim.number}, {length_text(rim.length_mm, show, decimals=0)} round, was closed by a "
        f"sheet as asked for; it leaves a flat by up to {mm_text(rim.off_flat_mm)}."
        for rim in fuel.rims
    ]
    words += [
        f"The tunnel's {scribe.end} end stops {length_text(scribe.short_mm, show)} short of the "
        "skin: counted as if a plate closed it where it was asked to end."
        for scribe in fuel.ends_inside
    ]
    if fuel.space.parts > 1:
        words.append(f"THE TUNNEL PARTS IT INTO {fuel.space.parts} TANKS that share no fuel.")
    if fuel.guessed_share > _TOLD_GUESS:
        words.append(
            f"About 1 part in {max(1, round(1.0 / fuel.guessed_share))} of the skin was NOT "
            "SCANNED, FILLED BY GUESS: the figures hang on it."
        )
    return words


def stick_words(fuel: Fuel, show: str = "mm") -> list[str]:
    """Return what stands lower than the dip stick's foot, in a sentence; nothing where little."""
    below = float(fuel.chart.volume_mm3[0])
    if below < _LEAST_TOLD_MM3:
        return []
    return [
        f"AT 0 {volume_text(below, show)} STANDS lower than its foot: the stick shows none of it."
    ]


def low_point_words(number: int, point: LowPoint, show: str = "mm") -> str:
    """Return where fuel gathers and how much before it runs over."""
    told = f"low point {number}: {place_words(point.place, show)}"
    if point.runs_over_mm == float("inf"):
        return f"{told}; all fuel runs there"
    deep = length_text(point.runs_over_mm, show, decimals=0)
    return f"{told}; holds {volume_text(point.holds_mm3, show)}, {deep} deep, before it runs over"


def stance_head(found: StanceFound) -> str:
    """Return how the tank stands."""
    name = found.stance.name[0].upper() + found.stance.name[1:]
    leant = leant_words(found.stance, named=True)
    return f"{name}, {leant}" if leant else name


def told_pools(found: StanceFound) -> list[Trapped]:
    """Return the pools no tap lets out that are worth telling."""
    return [pool for pool in found.left if pool.volume_mm3 >= _LEAST_TOLD_MM3]


def stance_words(found: StanceFound, tapped: bool, show: str = "mm") -> list[str]:
    """Return where fuel gathers in a stance, and what no tap lets out."""
    rows = [low_point_words(n, point, show) for n, point in enumerate(found.points, start=1)]
    if tapped:
        rows.append(left_words(found, show))
    if found.air is not None:
        rows.append(air_words(found, show))
    return [f"{stance_head(found)}: {counted(len(found.points), 'low point')}.", *rows]


def both_sides_words(pool: Trapped) -> str:
    """Return that a pool lies across the centre; nothing where it lies on one hand."""
    right, left = pool.sides_mm
    return "on both sides" if right < -_TO_A_SIDE_MM and left > _TO_A_SIDE_MM else ""


def left_words(found: StanceFound, show: str = "mm") -> str:
    """Return what stays when the taps have run dry."""
    told = told_pools(found)
    if not told:
        return "the taps leave nothing worth telling"
    places = [_place_of_pool(pool, show) for pool in told]
    total = volume_text(found.left_mm3, show)
    if len(told) == 1:
        return f"the taps leave {total}{places[0]}"
    volumes = [volume_text(pool.volume_mm3, show) for pool in told]
    pools = "; ".join(f"{each}{place}" for each, place in zip(volumes, places, strict=True))
    return f"the taps leave {total}: {pools}"


def _place_of_pool(pool: Trapped, show: str) -> str:
    both = both_sides_words(pool)
    return f"{' ' if both else ''}{both}, lowest {place_words(pool.place, show)}"


def told_air(found: StanceFound) -> list[AirPocket]:
    """Return the pockets of air that are worth telling."""
    return [pocket for pocket in found.air or () if pocket.volume_mm3 >= _LEAST_TOLD_MM3]


def vent_helps(pocket: AirPocket) -> bool:
    """Return whether a vent would let out of a pocket what is worth telling."""
    return pocket.ventable_mm3 >= _LEAST_TOLD_MM3


def air_words(found: StanceFound, show: str = "mm") -> str:
    """Return what stays of air when it is filled to the filler's lowest edge."""
    told = told_air(found)
    if not told:
        return "filled to the filler's lowest edge, no air stays worth telling"
    total = volume_text(sum(pocket.volume_mm3 for pocket in found.air or ()), show)
    places = [_place_of_air(pocket, show) for pocket in told]
    if len(told) == 1:
        pockets = f", {places[0]}"
    else:
        volumes = [volume_text(pocket.volume_mm3, show) for pocket in told]
        rows = (f"{each}, {place}" for each, place in zip(volumes, places, strict=True))
        pockets = f": {'; '.join(rows)}"
    helps = any(vent_helps(each) for each in told)
    rest = "" if helps else "; it lies over that edge, no vent helps"
    return f"filled to the filler's lowest edge, {total} of air stays{pockets}{rest}"


def _place_of_air(pocket: AirPocket, show: str) -> str:
    place = f"highest {place_words(pocket.place, show)}"
    if not vent_helps(pocket):
        return place
    return f"{place} - A VENT BELONGS THERE, it lets out {volume_text(pocket.ventable_mm3, show)}"


def tap_words(tap: TapFound, show: str = "mm") -> str:
    """Return where a tap stands and its reserve."""
    told = f"{tap.spec.name}: {place_words(tap.place, show)}"
    if tap.reserve is None or tap.spec.standpipe_mm is None:
        return told
    pipe = length_text(tap.spec.standpipe_mm, show)
    return (
        f"{told}; standpipe {pipe} over the floor: reserve "
        f"{volume_text(tap.reserve.usable_mm3, show)} on the level"
    )


def filler_words(filler: FillerSet, show: str = "mm") -> list[str]:
    """Return where a filler sits and what it asks for, a sentence each."""
    spec = filler.spec
    words = [
        f"Filler {place_words(filler.seat.centre, show)}, {spec.seat}: hole cut in the skin "
        f"{length_text(spec.cut_mm, show)} across.",
        f"The skin under its outermost line, {length_text(spec.reach_mm, show)} across, leaves a "
        f"flat by up to {mm_text(filler.off_flat_mm)}.",
        f"Cap: its rear edge stands {length_text(filler.rear_stands_mm, show)} over the skin "
        f"behind it, {length_text(filler.most_stands_mm, show)} at the most all round.",
    ]
    if filler.rear_stands_mm > STANDS_UP_LIMIT_MM:
        words.append(
            f"That is more than {length_text(STANDS_UP_LIMIT_MM, show)}, which an older European "
            "wording for two-wheelers allowed unguarded: check your local rule."
        )
    if filler.recess is not None:
        words.append(
            f"Recess: beaten from a disc {length_text(filler.recess.blank_mm, show)} across, "
            "by equal area."
        )
    return words


def old_filler_words(old: OldFiller, show: str = "mm") -> list[str]:
    """Return what the old filler hole needs."""
    words = [
        f"Old filler hole {place_words(old.opening.centre, show)}, "
        f"{length_text(old.opening.diameter_mm, show)} across: TO BE BLANKED. Patch from a disc "
        f"{length_text(old.patch_mm, show)} across, crowned {mm_text(old.crown_mm)}."
    ]
    if old.runs_in:
        words.append(
            "The new filler runs into the old hole: no patch lies between them. On a new panel "
            "leave the old hole out; on the old tank move the filler further."
        )
    return words


def boss_words(boss: BossSet, show: str = "mm") -> str:
    """Return what a boss is turned to and the hole it goes into."""
    spec = boss.spec
    tilt = f", filed to {angle_text(boss.tilt_rad)}" if boss.tilt_rad > 0.01 else ""
    return (
        f"{spec.name}: {place_words(boss.centre, show)}, {boss.thread.name}; boss "
        f"{length_text(boss.outside_mm, show)} across{tilt}; hole in the skin "
        f"{length_text(boss.hole_mm, show)}; {drill_words(boss.thread)}"
    )


def drill_words(thread: Thread) -> str:
    """Return the drill before the tap.

    >>> from geometry.tank import thread_named
    >>> drill_words(thread_named("NPT 3/8")), drill_words(thread_named("G 1/4"))
    ('drill 14.7 mm (37/64 in)', 'drill 11.8 mm (.465 in)')
    """
    name = thread.drill_name or decimal_inch_text(thread.drill_mm)
    return f"drill {mm_text(thread.drill_mm, 1 if thread.drill_name else 2)} ({name})"


def fitted_words(fitted: Fitted, show: str = "mm") -> list[str]:
    """Return what is fitted, a sentence each."""
    words: list[str] = [] if fitted.filler is None else filler_words(fitted.filler, show)
    if fitted.old is not None:
        words += old_filler_words(fitted.old, show)
    words += _as_sentences(boss_words(boss, show) for boss in fitted.bosses)
    return [*words, *guessed_words(fitted), *on_cap_words(fitted)]


def on_cap_words(fitted: Fitted) -> list[str]:
    """Return which holes no panel's blank carries, in a sentence."""
    if not fitted.on_caps:
        return []
    return [
        f"{', '.join(fitted.on_caps)}: THE BOTTOM THERE IS NOT IN THE SCAN, it was closed as asked "
        "for; no blank carries these holes, the sheet of bottom marks shows where they lie."
    ]


def guessed_words(fitted: Fitted) -> list[str]:
    """Return what stands on skin nobody scanned, in a sentence."""
    if not fitted.guessed:
        return []
    return [f"NOT SCANNED - FILLED BY GUESS under {', '.join(fitted.guessed)}: try it on the job."]


def fuel_words(fuel: Fuel, show: str = "mm") -> list[str]:
    """Return all that is told of what a tank holds, a sentence each."""
    words = capacity_words(fuel, show)
    words += _as_sentences(tap_words(tap, show) for tap in fuel.taps)
    for found in fuel.stances:
        head, *rows = stance_words(found, bool(fuel.taps), show)
        words += [head, *_as_sentences(rows)]
    words += stick_words(fuel, show)
    if fuel.part is not None:
        words += [f"{part_head(fuel.part, show)}:", *_as_sentences(part_words(fuel.part, show))]
    return words


def _as_sentences(rows: Iterable[str]) -> list[str]:
    return [f"{row[0].upper()}{row[1:]}." for row in rows]
