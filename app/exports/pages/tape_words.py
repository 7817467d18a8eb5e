"""What a tape is, where it is held and how it is read, in the shaper's words."""

import numpy as np

from app.units import Fractions, fraction_text, fraction_with_rest_text, listed, mm_text
from geometry.arrays import FloatArray
from geometry.gauges import TapePlace, TapeTable, TapeValue, least_shown, shown_by

_NOTHING_ACROSS = 1e-3

_SIZES = ("length", "width", "height")
_FAULT_WORDS = {
    **{name: name for name in _SIZES},
    "twist": "twist",
    "sides": "left against right",
    "skew": "out of square",
    "rake": "out of square",
    "lean": "out of square",
}

_MIDDLE_MM = 8.0
"""A place this near to the middle is on the centre line."""


def heading_words(value: TapeValue) -> str:
    """Return what kind of tape it is, short."""
    if value.way == "round":
        if value.through is not None or value.places[0].set_out is not None:
            return "RIGHT ROUND, LENGTHWISE" if _is_lengthwise(value) else "RIGHT ROUND"
        if _is_lengthwise(value):
            return "RIGHT ROUND, LENGTHWISE"
        return "ROUND THE WAIST" if _is_waist(value) else "RIGHT ROUND"
    return {
        "straight": "STRAIGHT",
        "callipers": "STRAIGHT, CALLIPERS",
        "over": "OVER THE SKIN",
        "edge": "ALONG THE EDGE",
    }[value.way]


def where_words(value: TapeValue, table: TapeTable, show: str = "mm") -> list[str]:
    """Return where a tape is held, how it is read and what it shows, sentence by sentence."""
    shown = _shown_words(value)
    if value.way == "round":
        through = _round_words(value, table, show)
        return [through, "Pull it tight; it bridges hollows." + _read_words(value), *shown]
    start, end = (place_words(place, table, show) for place in value.places)
    held = f"From A, {start}, to B, {end}."
    first, last = value.places
    if _is_mirrored(first, last) and first.set_out is not None:
        held = f"From A to B: {_both_words(first, last, table, show)}."
    how = {
        "straight": "Pulled straight.",
        "callipers": "Metal is in the way: big callipers, or two squares.",
        "over": "Pulled tight over the skin.",
        "edge": _along_words(value, table),
    }[value.way]
    return [held, how + _read_words(value), *shown]


def _along_words(value: TapeValue, table: TapeTable) -> str:
    if value.along is None:
        return "All along the edge."
    return f"All along {_what_words(value.along, table.is_named)}, pressed on it."


def held_points(value: TapeValue) -> FloatArray:
    """Return (k, 3) the places a tape is held at, A, B and C as the words name them, mm."""
    if value.way != "round":
        return np.stack([place.point for place in value.places])
    if value.through is not None:
        return np.stack([place.point for place in (*value.places, value.through)])
    if value.reading == "least" and value.places[0].set_out is not None:
        return value.places[0].point[None]
    if _is_waist(value) and not _is_lengthwise(value):
        return np.stack([place.point for place in value.places])
    return np.empty((0, 3))


def _read_words(value: TapeValue) -> str:
    return {
        "greatest": " Slide it till it reads most.",
        "least": " Swing it till it reads least.",
        "as marked": "",
    }[value.reading]


def _shown_words(value: TapeValue) -> list[str]:
    """Return what a tape shows of a tank that is not as scanned."""
    shown = shown_by(value)
    words = list(dict.fromkeys(_FAULT_WORDS[name] for name in shown))
    return [f"Shows {listed(words)}."] if words else []


def _is_lengthwise(value: TapeValue) -> bool:
    """Return whether a tape right round runs along the tank: nothing of it runs across."""
    return float(value.spread[1, 1]) < _NOTHING_ACROSS


def _is_waist(value: TapeValue) -> bool:
    """Return whether a tape right round crosses the middle of the tank in front and behind."""
    first, last = (place.tank for place in value.places)
    return bool(abs(first[0] - last[0]) > abs(first[2] - last[2]))


def _round_words(value: TapeValue, table: TapeTable, show: str) -> str:
    first, last = value.places
    if value.through is not None:
        marks = _both_words(last, value.through, table, show)
        return f"Through A, {place_words(first, table, show)}, and through B and C: {marks}."
    if value.reading == "least" and first.set_out is not None:
        return f"Through A, {place_words(first, table, show)}, and free underneath."
    rear = "the rear end" if table.is_named else "one end"
    if _is_lengthwise(value):
        off = float(first.tank[1])
        beside = f"{_measured(abs(off), show)} to the {_side(off, table.is_named)} of the"
        which = "on the" if abs(off) < _MIDDLE_MM else beside
        return f"From end to end over the top and underneath, {which} centre line, level with it."
    if _is_waist(value):
        front = "in front" if table.is_named else "at the other end"
        behind = "behind" if table.is_named else "at one end"
        return (
            f"Round the waist, level across: A {front}, {_waist_words(first, table, show)}; "
            f"B {behind}, {_waist_words(last, table, show)}."
        )
    return (
        f"Over the top {_measured(first.tank[0], show)} ahead of {rear}, underneath "
        f"{_measured(last.tank[0], show)} ahead of it, square across."
    )


def _waist_words(place: TapePlace, table: TapeTable, show: str) -> str:
    if place.set_out is None:
        return f"{_measured(place.tank[2], show)} above the foot"
    return _set_out_words(place, table, show)


def place_words(place: TapePlace, table: TapeTable, show: str = "mm") -> str:
    """Return where a place is: on what, on which side, and how it is found on the metal."""
    named = table.is_named
    if place.on == "skin":
        where = "a mark on the centre line" if place.set_out else "the skin"
        return f"{where} {_set_out_words(place, table, show)}".strip()
    what = _what_words(place, named)
    if place.set_out is not None:
        return f"{what}, {_set_out_words(place, table, show)}"
    if place.on in ("hole", "corner"):
        return what
    ahead, left, up = (float(each) for each in place.tank)
    if abs(left) < _MIDDLE_MM and named and place.which:
        front = "front" if ahead > float(table.size[0]) / 2.0 else "rear"
        end = "" if place.which in ("front", "rear") else f", at the {front}"
        return f"{what} on the centre line{end}"
    rear = "the rear end" if named else "one end"
    if place.which:
        told = "" if place.which in ("left", "right") else f" on the {_side(left, named)}"
        return f"{what}{told} about {_measured(ahead, show)} ahead of {rear}"
    side = "on the centre line" if abs(left) < _MIDDLE_MM else f"on the {_side(left, named)}"
    where = f"{_measured(ahead, show)} ahead of {rear}, {_measured(up, show)} up"
    return f"{what} {side} {where}"


def _what_words(place: TapePlace, named: bool) -> str:
    """Return what a place is on."""
    if place.on == "hole":
        return f"the {_hole_side(place, named)} edge of the round hole"
    if place.on == "corner":
        return f"the {place.which} corner" if place.which else _bare_corner(place, named)
    if place.on == "rim":
        return f"the metal's {place.which} edge" if place.which else "the metal's edge"
    if place.which in ("left", "right"):
        return f"the {place.which} side line"
    return f"the {place.which} edge line" if place.which else "the character line"


def _bare_corner(place: TapePlace, named: bool) -> str:
    return f"the corner on the {_side(float(place.tank[1]), named)}"


def _set_out_words(place: TapePlace, table: TapeTable, show: str) -> str:
    """Return how a mark is set out: how far, and from where."""
    out = place.set_out
    if out is None:
        return ""
    way = "straight" if out.way == "straight" else "over the skin"
    return f"{_exactly(out.distance_mm, show)} {way} from {place_words(out.place, table, show)}"


def _is_mirrored(one: TapePlace, other: TapePlace) -> bool:
    """Return whether two marks, one each side, are set out alike."""
    if one.set_out is None or other.set_out is None or one.on != other.on:
        return False
    is_across = float(one.tank[1]) * float(other.tank[1]) < 0.0
    alike = one.set_out.distance_mm == other.set_out.distance_mm
    return is_across and alike and one.set_out.place.on == other.set_out.place.on


def _both_words(one: TapePlace, other: TapePlace, table: TapeTable, show: str) -> str:
    """Return where two marks set out alike are, told once."""
    out = one.set_out
    if out is None or not _is_mirrored(one, other):
        return f"{place_words(one, table, show)}, and {place_words(other, table, show)}"
    ahead = "front" if out.place.which.startswith("front") else "rear"
    start = place_words(out.place, table, show)
    if out.place.on == "corner":
        start = f"the {ahead} corner of its side"
    is_side = one.which in ("left", "right")
    what = "each side line" if is_side else f"{_what_words(one, table.is_named)}, left and right"
    way = "straight" if out.way == "straight" else "over the skin"
    return f"{what}, each {_exactly(out.distance_mm, show)} {way} from {start}"


def _side(left: float, named: bool) -> str:
    if not named:
        return "one side" if left > 0.0 else "other side"
    return "left" if left > 0.0 else "right"


def _hole_side(place: TapePlace, named: bool) -> str:
    """Return which edge of a hole a place is, by the way it lies from the hole's middle."""
    ahead, left, _ = (float(each) for each in place.beside)
    if not named:
        return "near"
    words = []
    if abs(ahead) > 0.38:
        words.append("front" if ahead > 0.0 else "rear")
    if abs(left) > 0.38:
        words.append("left" if left > 0.0 else "right")
    return " ".join(words) or "upper"


def _measured(length_mm: float, show: str) -> str:
    """Return a distance to mark off: whole millimetres, or to 1/8 in."""
    length_mm = max(length_mm, 0.0)
    if show == "in":
        return fraction_text(round(length_mm / 25.4 * 8.0) / 8.0 * 25.4)
    return mm_text(length_mm, 0)


def _exactly(length_mm: float, show: str) -> str:
    """Return a distance a mark is set out by: to half a millimetre, or to 1/32 in."""
    if show == "in":
        return fraction_text(round(length_mm / 25.4 * 32.0) / 32.0 * 25.4)
    return mm_text(round(2.0 * length_mm) / 2.0)


def least_words(table: TapeTable, show: str = "mm") -> str:
    """Return what all the tapes together would show of a tank that is not as scanned."""
    least = least_shown(table)
    words = [f"{name} {_short(least[name], show)}" for name in _SIZES if name in least]
    if "twist" in least:
        words.append(f"a twist of {np.rad2deg(least['twist']):.1f}\u00b0 front to rear")
    if "sides" in least:
        words.append(f"one half {_short(least['sides'], show)} wider than the other")
    return f"Together they show: {listed(words)} off." if words else ""


def moved_words(value: TapeValue, show: str = "mm") -> list[str]:
    """Return how little it minds how it is held, and what 3 mm wrong would change."""
    held = f"with care: \u00b1{_short(value.moved_mm, show)}"
    return [held, f"{wrong_place(show)}: \u00b1{_short(value.wrong_mm, show)}"]


def wrong_place(show: str = "mm") -> str:
    """Return how far a tape's end is off in the second of those figures."""
    return "3 mm off" if show == "mm" else "1/8 in off"


def limit_words(value: TapeValue, show: str = "mm") -> str:
    """Return how far a tape may be off."""
    return f"\u00b1{_short(value.limit_mm, show)}"


def _short(length_mm: float, show: str) -> str:
    if show == "in":
        return f"{length_mm / 25.4:.2f} in".replace("0.", ".", 1)
    return mm_text(length_mm)


def ours_words(value: TapeValue, fractions: Fractions, show: str = "mm") -> tuple[str, str]:
    """Return the length in the unit read first, and in the other; what rounding leaves of inches.

    >>> from types import SimpleNamespace
    >>> ours_words(SimpleNamespace(length_mm=412.03), Fractions())
    ('412 mm', '16 7/32 in and .003')
    >>> ours_words(SimpleNamespace(length_mm=412.03), Fractions(fit=16), "in")
    ('16 1/4 in', 'less .028; 412 mm')
    """
    metric = mm_text(value.length_mm)
    inches = fraction_with_rest_text(value.length_mm, fractions.fit)
    if show == "mm":
        return metric, inches
    nearest, _, rest = inches.partition(" in ")
    first = nearest if nearest.endswith(" in") else f"{nearest} in"
    return first, f"{rest}; {metric}" if rest else metric
