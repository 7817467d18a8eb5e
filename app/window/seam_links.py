"""Seams that hang together: mirror images, and ends that follow what they are on. No Qt."""

import re
from dataclasses import replace

import numpy as np

from app.job import JobState, SeamLine, on_seam, seam_it_is_on, with_seam_replaced
from app.window.hands import nearest_on_line
from app.window.seam_ground import Ground
from app.window.seam_hand import all_on
from app.window.seam_snaps import twin_of
from geometry.arrays import FloatArray
from geometry.datum import Datum, point3
from geometry.seams import mirrored

FARTHEST_MM = 12.0
"""How far the other hand's skin may lie off a mirror image."""

_OWN_IMAGE_MM = 1.0
_END_MM = 6.0
_HANDED = re.compile(r"^station ([LR])(\d+)$")


class NoImageError(Exception):
    """A seam has no mirror image: it is its own, or the other hand has no skin there."""

    def __init__(self, why: str) -> None:
        self.why = why
        super().__init__(why)


def image_of(state: JobState, seam: SeamLine, name: str, ground: Ground, datum: Datum) -> SeamLine:
    """Return a seam's mirror image on the other hand, points in the same order.

    Raises
    ------
    NoImageError
    """
    scale, plane = ground.mm_per_unit, datum.plane
    points = np.array(seam.points) * scale
    found = mirrored(ground.in_mm, points, plane.point, plane.normal)
    if np.abs((points - plane.point) @ plane.normal).max() < _OWN_IMAGE_MM:
        raise NoImageError(f"{seam.name} runs on the centre plane: it is its own mirror image.")
    if found.off_mm.max() > FARTHEST_MM:
        raise NoImageError(
            f"The other hand has no skin where the mirror image of {seam.name} would run: it would "
            f"lie {found.off_mm.max():.0f} mm off."
        )
    places = found.points / scale
    on = tuple(_image_on(each, state) for each in all_on(seam))
    for at, each in enumerate(on):
        line = _seam_line(state, seam_it_is_on(each), ground)
        if len(line):
            near = nearest_on_line(line, places[at])
            if float(np.linalg.norm(near - places[at])) * scale <= _END_MM:
                places[at] = near
    return SeamLine(name, tuple(point3(p) for p in places), seam.closed, on if any(on) else ())


def _image_on(on: str, state: JobState) -> str:
    """Return what the image of a point is on: the other hand's station or seam; "" for a line."""
    if on in ("rim", "centre plane"):
        return on
    handed = _HANDED.match(on)
    if handed:
        return f"station {'R' if handed[1] == 'L' else 'L'}{handed[2]}"
    if on.startswith("station"):
        return on
    if on.startswith("mirror: "):
        return on_seam(on.removeprefix("mirror: "))
    name = seam_it_is_on(on)
    names = [seam.name for seam in state.seams]
    if name not in names:
        return ""
    twin = twin_of(state.seams, names.index(name))
    return on_seam(names[twin]) if twin >= 0 else on


def _seam_line(state: JobState, name: str, ground: Ground) -> FloatArray:
    found = [seam for seam in state.seams if name and seam.name == name]
    if not found:
        return np.empty((0, 3))
    return ground.quick(np.array(found[0].points), closed=found[0].closed)


def with_seam_changed(
    state: JobState, place: int, seam: SeamLine, ground: Ground, datum: Datum | None
) -> JobState:
    """Return the job with a seam changed, its linked image too, and what ends on them led after.

    Raises
    ------
    NoImageError
        The linked mirror image has no place on the other hand.
    """
    after = with_seam_replaced(state, place, seam)
    moved = [seam.name]
    twin = twin_of(after.seams, place)
    if twin >= 0 and datum is not None:
        other = after.seams[twin]
        image = image_of(after, seam, other.name, ground, datum)
        after = with_seam_replaced(after, twin, replace(image, mirror_of=other.mirror_of))
        moved.append(other.name)
    return _with_followers(after, moved, ground)


def _with_followers(state: JobState, moved: list[str], ground: Ground) -> JobState:
    """Return the job with the points that are on moved seams led to where those run now."""
    done = set(moved)
    while moved:
        name = moved.pop(0)
        line = _seam_line(state, name, ground)
        for at, seam in enumerate(state.seams):
            follows = [k for k, on in enumerate(all_on(seam)) if on == on_seam(name)]
            if seam.name == name or not follows or not len(line):
                continue
            points = list(seam.points)
            for k in follows:
                points[k] = point3(nearest_on_line(line, np.array(points[k])))
            state = with_seam_replaced(state, at, replace(seam, points=tuple(points)))
            if seam.name not in done:
                done.add(seam.name)
                moved.append(seam.name)
    return state
