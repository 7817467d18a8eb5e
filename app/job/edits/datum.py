"""Changes to how the tank stands, and to which side is copied to the other: pure functions."""

from dataclasses import replace

from app.job.choices import CopiedHand, DatumChoice, HowDatum, HowLevel, JobState, Zone
from geometry.datum import Point3


def with_datum(state: JobState, datum: DatumChoice) -> JobState:
    """Return the job with its centre plane and level found another way."""
    return replace(state, datum=datum)


def with_datum_found(state: JobState, how: HowDatum) -> JobState:
    """Return the job with its centre plane found another way, picks and level kept."""
    return with_datum(state, replace(state.datum, how=how))


def with_on_centre(state: JobState, *points: Point3) -> JobState:
    """Return the job with more points picked on the centre line; picks count from now on."""
    picked = (*state.datum.on_centre, *points)
    return with_datum(state, replace(state.datum, how="picks", on_centre=picked))


def without_on_centre(state: JobState, at: int) -> JobState:
    """Return the job without its pick number `at` on the centre line, counted from 0."""
    picked = state.datum.on_centre
    return with_datum(state, replace(state.datum, on_centre=picked[:at] + picked[at + 1 :]))


def with_pairs(state: JobState, *pairs: tuple[Point3, Point3]) -> JobState:
    """Return the job with more places picked on both sides; picks count from now on."""
    picked = (*state.datum.pairs, *pairs)
    return with_datum(state, replace(state.datum, how="picks", pairs=picked))


def without_pair(state: JobState, at: int) -> JobState:
    """Return the job without its pair number `at`, counted from 0."""
    pairs = state.datum.pairs
    return with_datum(state, replace(state.datum, pairs=pairs[:at] + pairs[at + 1 :]))


def with_plane(state: JobState, point: Point3, normal: Point3) -> JobState:
    """Return the job with its centre plane given; the normal points to the maker's left."""
    return with_datum(state, replace(state.datum, how="given", plane=(point, normal)))


def with_level(
    state: JobState,
    level: HowLevel,
    picks: tuple[Point3, ...] = (),
    up: Point3 | None = None,
) -> JobState:
    """Return the job levelled another way: from `picks` equally high, or by an `up` given."""
    asked = replace(state.datum, level=level, level_picks=picks)
    return with_datum(state, asked if up is None else replace(asked, up=up))


def with_side_copied(state: JobState, copy: CopiedHand) -> JobState:
    """Return the job with one side copied to the other, or neither."""
    return replace(state, sides=replace(state.sides, copy=copy))


def with_zone(state: JobState, zone: Zone) -> JobState:
    """Return the job with one more place where another side is copied."""
    return replace(state, sides=replace(state.sides, zones=(*state.sides.zones, zone)))


def without_zone(state: JobState, at: int) -> JobState:
    """Return the job without its zone number `at`, counted from 0."""
    zones = state.sides.zones
    return replace(state, sides=replace(state.sides, zones=zones[:at] + zones[at + 1 :]))


def with_odd_part(state: JobState, zone: Zone) -> JobState:
    """Return the job with one more place that stays as scanned when a side is copied."""
    return replace(state, sides=replace(state.sides, odd=(*state.sides.odd, zone)))


def without_odd_part(state: JobState, at: int) -> JobState:
    """Return the job without its odd part number `at`, counted from 0."""
    odd = state.sides.odd
    return replace(state, sides=replace(state.sides, odd=odd[:at] + odd[at + 1 :]))
