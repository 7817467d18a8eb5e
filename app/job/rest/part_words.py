"""What is told of a part filling, in the shaper's words: how it stands, what it covers."""

from app.job.rest.fuel_in_part import OutletFound, PartFound
from app.job.rest.place_words import place_words
from app.units import angle_text, length_text, volume_text
from geometry.tank import Stance, StandingPool


def leant_words(stance: Stance, *, named: bool = False) -> str:
    """Return by how much a tank is leant.

    Parameters
    ----------
    stance : Stance
    named : bool
        Whether its name tells of a slope already.

    >>> import math
    >>> leant_words(Stance("", math.radians(15.0), math.radians(-5.0)))
    '15° to the left, nose down 5°'
    """
    words = []
    if stance.lean_left_rad:
        side = "left" if stance.lean_left_rad > 0.0 else "right"
        words.append(f"{angle_text(abs(stance.lean_left_rad))} to the {side}")
    if stance.nose_up_rad:
        way = "nose up " if stance.nose_up_rad > 0.0 else "nose down "
        words.append(f"{'' if named else way}{angle_text(abs(stance.nose_up_rad))}")
    return ", ".join(words)


def part_head(part: PartFound, show: str = "mm") -> str:
    """Return how much is in the tank, and how it is leant.

    As "With 3.5 l in it, 15 degrees to the left, nose up 5 degrees".
    """
    volume = volume_text(part.standing.volume_mm3, show)
    return f"With {volume} in it, {leant_words(part.standing.stance) or 'on the level'}"


def part_words(part: PartFound, show: str = "mm") -> list[str]:
    """Return how a part filling stands and which outlets it covers, a row each."""
    pools = part.standing.pools
    rows = [
        pool_words("the fuel" if len(pools) == 1 else f"pool {number}", pool, show)
        for number, pool in enumerate(pools, start=1)
    ]
    rows += [f"{outlet.name}: {covered_words(outlet, show)}" for outlet in part.outlets]
    under = part.under_filler_mm
    if under is not None:
        far = length_text(abs(under), show)
        rows.append(
            f"the filler's lowest edge lies {far} over the surface"
            if under >= 0.0
            else f"IT RUNS OUT AT THE FILLER, whose lowest edge lies {far} under the surface"
        )
    if len(pools) > 1 and not part.is_joined:
        rows.append(
            "taken to be filled on the level, alike on both sides, and then leant: what runs "
            "over the tunnel is counted"
        )
    return rows


def pool_words(name: str, pool: StandingPool, show: str = "mm") -> str:
    """Return where a pool's surface stands, and how deep it is."""
    (rear, front), (right, left) = pool.reach
    ahead = f"{length_text(rear, show, decimals=0)} to {length_text(front, show, decimals=0)}"
    sides = [
        f"{length_text(abs(float(y)), show, decimals=0)} {'left' if y >= 0.0 else 'right'}"
        for y in (right, left)
    ]
    return (
        f"{name}: {volume_text(pool.volume_mm3, show)}, its surface from {ahead} ahead of the rear "
        f"end and from {sides[0]} to {sides[1]}; deepest, {length_text(pool.deep_mm, show)}, "
        f"{place_words(pool.lowest, show)}"
    )


def covered_words(outlet: OutletFound, show: str = "mm") -> str:
    """Return whether fuel stands over an outlet.

    >>> covered_words(OutletFound("tap", 22.0)), covered_words(OutletFound("tap", -5.0))
    ('covered, 22 mm (7/8 in) under the surface', 'DRY, 5 mm (3/16 in) over the surface')
    """
    far = length_text(abs(outlet.over_mm), show)
    if outlet.over_mm > 0.0:
        return f"covered, {far} under the surface"
    return f"DRY, {far} over the surface"
